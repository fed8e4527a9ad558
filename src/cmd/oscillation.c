#include "oscillation.h"

void oscillation_clear(struct oscillation *oscillation)
{
    plyecho_analytic_free(oscillation->analytic);
    oscillation->analytic = NULL;
}

enum plyecho_code oscillation_plan(struct oscillation *oscillation,
                                   const struct plyecho_traces *traces,
                                   struct plyecho_error *err)
{
    if (traces->signal != PLYECHO_SIGNAL_RF)
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "signal is %s, the oscillation is lost; give the trace as recorded (rf)",
            plyecho_signal_word(traces->signal));
    bool stays =
        time_base_stays(&oscillation->time_base, traces->samples, traces->sample_rate_hz);
    if (stays && oscillation->analytic != NULL)
        return PLYECHO_OK;
    oscillation_clear(oscillation);
    return plyecho_analytic_new(&oscillation->analytic, traces->samples, traces->sample_rate_hz,
                                oscillation->band, err);
}
