#include "profile_take.h"

#include <math.h>

/* The delay line's repeat stands at twice the time of its end. */
static double end_of(const struct plyecho_conditioned *t, const struct pe_evidence *e)
{
    double end = t->start_s + (double)t->samples / t->sample_rate_hz;
    return e->front_s > 0.0 ? fmin(end, 2.0 * e->front_s - e->picks.pulse_s) : end;
}

/* The first sample at or behind a time within the record. */
static size_t sample_from(const struct plyecho_conditioned *t, double time_s)
{
    return (size_t)fmax(0.0, ceil((time_s - t->start_s) * t->sample_rate_hz));
}

/* Of the samples within; at a low rate there may be none, then of the next. */
static double highest(const struct plyecho_conditioned *t, double from_s, double to_s)
{
    size_t first = sample_from(t, from_s), end = sample_from(t, to_s);
    double highest = 0.0;
    for (size_t i = first; i < t->samples && (i < end || i == first); i++)
        highest = fmax(highest, t->envelope[i]);
    return highest;
}

void pe_profile_take(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                     double velocity_m_s, struct plyecho_profile *p)
{
    *p = (struct plyecho_profile){.step_m = 0.5 * velocity_m_s * PLYECHO_PROFILE_STEP_S};
    if (e->picks.front < 0 || e->front_s < t->start_s || !(e->scale > 0.0))
        return;
    double end = end_of(t, e);
    for (size_t k = 0; k < PLYECHO_PROFILE_STEPS; k++) {
        double from = (double)k * PLYECHO_PROFILE_STEP_S, to = from + PLYECHO_PROFILE_STEP_S;
        if (e->front_s + to > end)
            break;
        double full = e->scale * exp(-e->loss_np_s * 0.5 * (from + to));
        p->strength[p->count++] =
            (float)(highest(t, e->front_s + from, e->front_s + to) / full);
    }
}
