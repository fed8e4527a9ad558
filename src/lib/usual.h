/* usual.h - what laminates and probes are usually like, for want of anything stated
 *
 * Common practice, no source, unless a line says more. Whatever rests on one of these says so in
 * its uncertainty or is not concluded at all.
 */
#ifndef PLYECHO_LIB_USUAL_H
#define PLYECHO_LIB_USUAL_H

#include "units.h"

/* Attenuation of carbon and glass laminates, one way: 0.1 dB/mm/MHz, in Np per m and Hz. */
#define PE_USUAL_LOSS (0.1 * PE_NP_M_HZ_PER_DB_MM_MHZ)

/* Interface echo of a plastic delay line on a laminate, and its relative standard uncertainty:
 * impedances of 2.5 to 3.2 against 4.4 to 4.9 MRayl (handbook ranges, from memory). */
#define PE_USUAL_FRONT_REFLECTION 0.24
#define PE_USUAL_FRONT_U_DB 1.6

/* A lone echo nearer than this share of the nominal is a full shadow: walls a third thinner are not
 * made by accident, delaminations are. */
#define PE_SHADOW_SHARE 0.7

/* Filler and paint in layers: no coat is thicker, there and back. */
#define PE_THICKEST_COAT_S 0.6e-6

/* A back wall this far above expectation, in dB: no wall sends back so much more than it got. */
#define PE_MOST_EXCESS_DB 12.0

#endif
