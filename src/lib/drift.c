#include <plyecho/drift.h>

#include <math.h>
#include <stdbool.h>

#include <plyecho/labels.h>

/* The echo that is compared, in pulse lengths about its peak. */
static const double echo_before = 0.75, echo_after = 1.25;

static void cut_echo(const struct plyecho_conditioned *t, const struct plyecho_echo *echo,
                     double pulse_s, struct plyecho_block *block)
{
    double rate = t->sample_rate_hz, at = (echo->time_s - t->start_s) * rate;
    size_t first = (size_t)fmax(0.0, at - echo_before * pulse_s * rate);
    size_t last = (size_t)fmin((double)t->samples, at + echo_after * pulse_s * rate + 1.0);
    for (size_t i = first; i < last && block->samples < PLYECHO_BLOCK_ECHO_ROOM; i++)
        block->echo[block->samples++] = t->in_phase[i];
}

static enum plyecho_code take_level(const struct plyecho_trace *raw, double amplitude,
                                    struct plyecho_block *block, struct plyecho_error *err)
{
    enum plyecho_code code =
        plyecho_labels_known(raw->labels, "gain_db", raw->channel, &block->gain_db, err);
    block->level = amplitude * pow(10.0, -block->gain_db.value / 20.0);
    return code;
}

enum plyecho_code plyecho_block_take(const struct plyecho_conditioned *t,
                                     const struct plyecho_trace *raw,
                                     const struct plyecho_wall_options *options,
                                     struct plyecho_block *block, struct plyecho_error *err)
{
    struct plyecho_picks p;
    struct plyecho_thickness wall;
    *block = (struct plyecho_block){.sample_rate_hz = t->sample_rate_hz};
    plyecho_wall_pick(t, options, &p);
    plyecho_wall_measure(t, raw, options, &p, &wall);
    if (p.back < 0 || !(wall.time_s > 0.0))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the block was not timed (%s); couple the probe to it again",
                            plyecho_reason_word(wall.reason));
    if (plyecho_echo_clipped(raw, &p, p.back))
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "the back-wall echo is clipped; lower the gain and record it again");
    const struct plyecho_echo *first = &p.echoes[p.front >= 0 ? p.front : p.back];
    block->transit_s = (struct plyecho_known){wall.mode != PLYECHO_MODE_1, wall.time_s};
    block->transit_u_s = wall.time_u_s;
    block->arrival_s = first->time_s;
    cut_echo(t, first, p.pulse_s, block);
    return take_level(raw, p.echoes[p.back].amplitude, block, err);
}

static double product(const struct plyecho_block *a, const struct plyecho_block *b, int lag)
{
    double sum = 0.0;
    for (size_t i = 0; i < a->samples; i++) {
        long j = (long)i + lag;
        if (j >= 0 && j < (long)b->samples)
            sum += (double)a->echo[i] * (double)b->echo[j];
    }
    return sum;
}

/* Largest correlation over shifts of an eighth of the echo either way, between samples by a parabola.
 * Not over more: a period further two different pulses may be more alike. */
static double correlation(const struct plyecho_block *a, const struct plyecho_block *b)
{
    int reach = (int)(a->samples / 8), best = 0;
    double scale = sqrt(product(a, a, 0) * product(b, b, 0)), high = -INFINITY;
    for (int lag = -reach; lag <= reach; lag++) {
        double here = product(a, b, lag);
        if (here > high) {
            high = here;
            best = lag;
        }
    }
    double before = product(a, b, best - 1), after = product(a, b, best + 1);
    double bend = before - 2.0 * high + after, slope = 0.5 * (after - before);
    if (bend < 0.0 && before < high && after < high)
        high -= 0.5 * slope * slope / bend;
    return scale > 0.0 ? fmin(1.0, high / scale) : 0.0;
}

enum plyecho_code plyecho_drift_compare(const struct plyecho_block *reference,
                                        const struct plyecho_block *now,
                                        struct plyecho_drift *drift, struct plyecho_error *err)
{
    *drift = (struct plyecho_drift){.zero_s = 0.0};
    if (reference->sample_rate_hz != now->sample_rate_hz)
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "sample rate %g MHz, the reference trace %g MHz; record it with the "
            "setting of the reference",
            now->sample_rate_hz * 1e-6, reference->sample_rate_hz * 1e-6);
    if (reference->gain_db.known != now->gain_db.known)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "only one of trace and reference states its gain, so their levels "
                            "cannot be compared; set the label gain_db in both");
    drift->velocity.known = reference->transit_s.known && now->transit_s.known;
    if (drift->velocity.known) {
        drift->velocity.value = reference->transit_s.value / now->transit_s.value - 1.0;
        drift->velocity_u = hypot(reference->transit_u_s / reference->transit_s.value,
                                  now->transit_u_s / now->transit_s.value);
    }
    drift->zero_s = now->arrival_s - reference->arrival_s;
    drift->sensitivity_db = 20.0 * log10(now->level / reference->level);
    drift->shape = 1.0 - correlation(reference, now);
    return PLYECHO_OK;
}
