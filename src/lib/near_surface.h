/* near_surface.h - echoes that the front echo covers, laid bare where the pulse is known
 */
#ifndef PLYECHO_LIB_NEAR_SURFACE_H
#define PLYECHO_LIB_NEAR_SURFACE_H

#include <plyecho/condition.h>
#include <plyecho/plate_fit.h>

enum { PE_NEAR_ROOM = 512 };

/* The trace about its front echo with that echo taken off. */
struct pe_near {
    size_t first, samples; /* stretch of the record; samples 0: nothing could be taken off */
    double reflection; /* front echo over the pulse: its share of a full reflector, signed */
    double front_s;    /* its envelope peak, told from its leading edge alone */
    float in_phase[PE_NEAR_ROOM], quadrature[PE_NEAR_ROOM], envelope[PE_NEAR_ROOM];
};

/* The pulse is fitted, in amplitude and time, to the leading edge of the echo whose envelope peaks
 * at front_s, which no later echo reaches, and taken off up to reach_s behind it. */
void pe_near_surface(const struct plyecho_conditioned *trace,
                     const struct plyecho_pulse_shape *shape, double front_s, double reach_s,
                     struct pe_near *near);

#endif
