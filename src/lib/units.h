/* units.h - factors between units, each with its name once
 */
#ifndef PLYECHO_LIB_UNITS_H
#define PLYECHO_LIB_UNITS_H

#include <math.h>

/* Decibels of one neper: 20 log10(e) (ISO 80000-3). */
#define PE_DB_PER_NP 8.685889638065035

/* One dB/mm/MHz in Np/m/Hz. */
#define PE_NP_M_HZ_PER_DB_MM_MHZ (1e-3 / PE_DB_PER_NP)

/* A ratio of amplitudes in decibels, its sign left out; what is next to nothing counts as -120 dB. */
static inline double pe_decibel(double ratio)
{
    return 20.0 * log10(fmax(fabs(ratio), 1e-6));
}

#endif
