/* The reference echo: amplitude, phase and band of the probe's own pulse. */
#include <plyecho/verdict.h>

#include <complex.h>
#include <math.h>

#include <plyecho/labels.h>

#include "distortion.h"
#include "fourier.h"
#include "record_faults.h"

/* The echo itself, as off a full reflector of positive sign, its ends faded. */
static void cut_shape(const struct plyecho_conditioned *t, const struct plyecho_echo *echo,
                      double pulse_s, double reflection, struct plyecho_pulse_shape *shape)
{
    enum { FADE = 8 };
    double peak = (echo->time_s - t->start_s) * t->sample_rate_hz;
    double before = fmin(1.5 * pulse_s * t->sample_rate_hz, PLYECHO_PULSE_ROOM / 3.0);
    double after = fmin(3.0 * pulse_s * t->sample_rate_hz, PLYECHO_PULSE_ROOM / 2.0);
    size_t first = (size_t)fmax(0.0, floor(peak - before));
    size_t last = (size_t)fmin((double)t->samples - 1.0, ceil(peak + after));
    shape->samples = last - first + 1;
    shape->sample_rate_hz = t->sample_rate_hz;
    shape->peak_sample = peak - (double)first;
    for (size_t i = 0; i < shape->samples; i++) {
        size_t end = i < shape->samples - 1 - i ? i : shape->samples - 1 - i;
        double fade = end < FADE ? 0.5 - 0.5 * cos(PE_PI * ((double)end + 0.5) / FADE) : 1.0;
        shape->amplitude[i] = (float)(fade * t->in_phase[first + i] / reflection);
        shape->quadrature[i] = (float)(fade * t->quadrature[first + i] / reflection);
    }
}

enum plyecho_code plyecho_reference_take(const struct plyecho_conditioned *t,
                                         const struct plyecho_trace *raw,
                                         struct plyecho_reference *r, struct plyecho_error *err)
{
    struct plyecho_wall_options none = plyecho_wall_defaults();
    struct plyecho_picks picks;
    *r = (struct plyecho_reference){.reflection = -1.0};
    if (!t->has_sign)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "a reference pulse must be an RF trace, this one is an envelope or "
                            "rectified");
    plyecho_wall_pick(t, &none, &picks);
    int best = -1;
    for (int k = 0; k < picks.count; k++)
        if (best < 0 || picks.echoes[k].amplitude > picks.echoes[best].amplitude)
            best = k;
    if (best < 0)
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "no echo behind the transmission pulse; a reference pulse needs one "
            "clean echo, best the delay line's end in air");
    const struct plyecho_echo *echo = &picks.echoes[best];
    if (plyecho_echo_clipped(raw, &picks, best))
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "the reference echo is clipped; lower the gain and record it again");
    r->amplitude = echo->amplitude;
    r->time_s = echo->time_s;
    r->phase_rad = echo->phase_rad;
    r->full_scale = raw->full_scale;
    r->band = t->band;
    r->pulse_s = t->pulse_s;
    r->third = pe_third_harmonic(raw, echo->sample, t->centre_hz).share;
    enum plyecho_code code =
        plyecho_labels_known(raw->labels, "gain_db", raw->channel, &r->gain_db, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_number(raw->labels, "reference_reflection", raw->channel,
                                     &r->reflection, err);
    if (code == PLYECHO_OK && (r->reflection == 0.0 || fabs(r->reflection) > 1.0))
        code = plyecho_fail(err, PLYECHO_BAD_FILE,
                            "label reference_reflection %g: it is between -1 and 1 and not 0",
                            r->reflection);
    if (code == PLYECHO_OK)
        cut_shape(t, echo, picks.pulse_s, r->reflection, &r->shape);
    return code;
}

/* Mean frequency of the oscillation about an echo's peak, from its turn between neighbours. */
static double frequency_at(const struct plyecho_conditioned *t, const struct plyecho_echo *echo,
                           double pulse_s)
{
    double reach = 0.4 * pulse_s * t->sample_rate_hz;
    double last = (double)t->samples - 2.0, at = (double)echo->sample;
    double complex turn = 0.0;
    for (size_t i = (size_t)fmax(0.0, at - reach); (double)i <= fmin(last, at + reach); i++) {
        double complex now = t->in_phase[i] + I * (double)t->quadrature[i];
        double complex next = t->in_phase[i + 1] + I * (double)t->quadrature[i + 1];
        turn += next * conj(now);
    }
    return carg(turn) / (2.0 * PE_PI) * t->sample_rate_hz;
}

bool plyecho_reference_fits(const struct plyecho_conditioned *t,
                            const struct plyecho_trace *raw, const struct plyecho_reference *r,
                            double share)
{
    static const double least_height = 0.3; /* of the highest: lower ones run into each other */
    struct plyecho_wall_options none = plyecho_wall_defaults();
    struct plyecho_picks picks;
    double highest = 0.0, pulse_hz = 0.5 * (r->band.low_hz + r->band.high_hz);
    if (!t->has_sign || pe_one_sided(raw))
        return true;
    plyecho_wall_pick(t, &none, &picks);
    for (int k = 0; k < picks.count; k++)
        highest = fmax(highest, picks.echoes[k].amplitude);
    for (int k = 0; k < picks.count; k++) {
        double hz = frequency_at(t, &picks.echoes[k], r->pulse_s);
        if (picks.echoes[k].amplitude > least_height * highest &&
            fabs(hz / pulse_hz - 1.0) < share)
            return true;
    }
    return picks.count == 0;
}

/* Smaller over larger excursion from the record's mean within a stretch; 0 where there is none. */
static double balance(const struct plyecho_trace *raw, double from, double to)
{
    size_t first = (size_t)fmax(0.0, from), end = (size_t)fmin((double)raw->samples, to);
    double sum = 0.0, most = 0.0, least = 0.0;
    for (size_t i = 0; i < raw->samples; i++)
        sum += (double)raw->amplitude[i];
    double mean = sum / (double)raw->samples;
    for (size_t i = first; i < end; i++) {
        most = fmax(most, (double)raw->amplitude[i] - mean);
        least = fmin(least, (double)raw->amplitude[i] - mean);
    }
    return most > 0.0 ? fmin(most, -least) / fmax(most, -least) : 0.0;
}

bool plyecho_echoes_whole(const struct plyecho_conditioned *t, const struct plyecho_trace *raw)
{
    static const double above_noise = 10.0, both_ways = 0.4, most_change = 0.5, second = 0.1;
    struct plyecho_wall_options none = plyecho_wall_defaults();
    struct plyecho_picks picks;
    struct pe_level_change change;
    if (!t->has_sign || pe_one_sided(raw))
        return false;
    plyecho_wall_pick(t, &none, &picks);
    int best = -1, high = 0;
    for (int k = 0; k < picks.count; k++)
        if (best < 0 || picks.echoes[k].amplitude > picks.echoes[best].amplitude)
            best = k;
    if (best < 0)
        return false;
    double height = picks.echoes[best].amplitude, at = (double)picks.echoes[best].sample;
    double pulse = picks.pulse_s * raw->sample_rate_hz;
    for (int k = 0; k < picks.count; k++)
        high += picks.echoes[k].amplitude > second * height;
    pe_level_change_find(raw, 0, raw->samples, &change);
    return high > 1 && height > above_noise * t->noise && at + pulse < (double)raw->samples &&
           balance(raw, at - pulse, at + pulse) > both_ways &&
           fabs(change.height) < most_change * height;
}
