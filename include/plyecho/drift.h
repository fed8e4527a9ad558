/* drift.h - has a set-up changed since its reference trace was kept?
 *
 * Both traces are of the same block, with the same probe: what differs is the set-up. Time through the
 * block tells the velocity (temperature), the arrival of its front the zero, the echoes' height the
 * sensitivity, the correlation of the echoes the pulse's shape.
 */
#ifndef PLYECHO_DRIFT_H
#define PLYECHO_DRIFT_H

#include <plyecho/condition.h>
#include <plyecho/error.h>
#include <plyecho/known.h>
#include <plyecho/trace.h>
#include <plyecho/wall.h>

enum { PLYECHO_BLOCK_ECHO_ROOM = 1024 };

/* What a trace of the block says. */
struct plyecho_block {
    struct plyecho_known transit_s; /* through the block and back; not known in mode 1 */
    double transit_u_s;
    double arrival_s; /* of the interface echo; in contact of the back-wall echo */
    double
        level; /* height of the back-wall echo in the trace's unit, at a gain of 0 dB if known */
    struct plyecho_known gain_db;
    double sample_rate_hz;
    size_t samples; /* of the echo: the interface echo's, in contact the back-wall echo's */
    float echo[PLYECHO_BLOCK_ECHO_ROOM];
};

/* Take it from a conditioned trace. PLYECHO_UNSUITABLE where there is no back-wall echo, or the block
 * cannot be timed. */
PLYECHO_API enum plyecho_code plyecho_block_take(const struct plyecho_conditioned *trace,
                                                 const struct plyecho_trace *raw,
                                                 const struct plyecho_wall_options *options,
                                                 struct plyecho_block *block,
                                                 struct plyecho_error *err);

struct plyecho_drift {
    struct plyecho_known velocity; /* share: 0.01 is 1 % faster than at the reference */
    double velocity_u;             /* of the two times */
    double zero_s;                 /* later than at the reference */
    double sensitivity_db;         /* higher than at the reference */
    double shape;                  /* 1 less the largest correlation: 0 the same, up to 2 */
};

/* Compare two traces of one block. PLYECHO_UNSUITABLE: other sample rates, or a gain that only one of
 * them states. */
PLYECHO_API enum plyecho_code plyecho_drift_compare(const struct plyecho_block *reference,
                                                    const struct plyecho_block *now,
                                                    struct plyecho_drift *drift,
                                                    struct plyecho_error *err);

#endif
