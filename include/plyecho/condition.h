/* condition.h - a trace made ready for picking: band, in-phase and quadrature parts, envelope,
 * noise
 *
 * trace -> condition -> echo -> wall -> verdict: everything that judges a trace starts from
 * here.
 */
#ifndef PLYECHO_CONDITION_H
#define PLYECHO_CONDITION_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/analytic.h>
#include <plyecho/error.h>
#include <plyecho/trace.h>

/* The arrays belong to the conditioner and hold until its next run. */
struct plyecho_conditioned {
    size_t samples;
    double sample_rate_hz;
    double start_s;
    bool has_sign;            /* false: rectified or an envelope, the oscillation is lost */
    struct plyecho_band band; /* pass band used; of an envelope: all of it */
    double centre_hz; /* middle of the band; of an envelope: what its pulse length suggests */
    double pulse_s;   /* length of the highest echo at -20 dB */
    const float *in_phase;   /* the (filtered) signal; of an envelope: the envelope itself */
    const float *quadrature; /* its Hilbert transform; of an envelope: zero */
    const float *envelope;
    double noise;        /* standard deviation of in_phase's noise */
    double first_rise_s; /* shortly before the first echo: what comes earlier is silence, or the
                            transmission pulse and what it leaves behind */
};

struct plyecho_conditioner;

/* Plan for traces of `samples` at sample_rate_hz. band NULL: found anew from each trace's
 * spectrum, so that a result never depends on the traces before it. Errors as
 * plyecho_analytic_new. */
PLYECHO_API enum plyecho_code plyecho_conditioner_new(struct plyecho_conditioner **conditioner,
                                                      size_t samples, double sample_rate_hz,
                                                      const struct plyecho_band *band,
                                                      struct plyecho_error *err);

/* The trace must have the length and rate that were planned (PLYECHO_BAD_ARGUMENT).
 * A trace without any oscillation (constant, all zero) is PLYECHO_UNSUITABLE. */
PLYECHO_API enum plyecho_code plyecho_conditioner_run(struct plyecho_conditioner *conditioner,
                                                      const struct plyecho_trace *trace,
                                                      struct plyecho_conditioned *out,
                                                      struct plyecho_error *err);

/* The pass band that a conditioner to which none was given would take for this trace; nothing is
 * filtered, and the arrays of the last run stay as they are. PLYECHO_UNSUITABLE where nothing
 * oscillates, or where the trace has lost its oscillation. Other errors as plyecho_conditioner_run. */
PLYECHO_API enum plyecho_code plyecho_conditioner_own_band(
    struct plyecho_conditioner *conditioner, const struct plyecho_trace *trace,
    struct plyecho_band *band, struct plyecho_error *err);

PLYECHO_API void plyecho_conditioner_free(struct plyecho_conditioner *conditioner);

#endif
