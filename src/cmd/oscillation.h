/* oscillation.h - what bandpass and envelope share: traces that still oscillate, and their plan */
#ifndef PLYECHO_CMD_OSCILLATION_H
#define PLYECHO_CMD_OSCILLATION_H

#include <plyecho/analytic.h>
#include <plyecho/trace.h>

#include "time_base.h"

/* Set band (NULL: all frequencies) and zero the rest. */
struct oscillation {
    const struct plyecho_band *band;
    struct plyecho_analytic *analytic;
    struct time_base time_base;
};

/* Plan for these traces, where the plan at hand does not serve. PLYECHO_UNSUITABLE where they are
 * rectified, an envelope or its logarithm. */
enum plyecho_code oscillation_plan(struct oscillation *oscillation,
                                   const struct plyecho_traces *traces,
                                   struct plyecho_error *err);

void oscillation_clear(struct oscillation *oscillation);

#endif
