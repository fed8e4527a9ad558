#include <plyecho/echo.h>

#include <math.h>
#include <string.h>

#include "extremes.h"
#include "fourier.h"

struct plyecho_echo_options plyecho_echo_defaults(void)
{
    return (struct plyecho_echo_options){
        .least_snr_db = 14.0, .least_level_db = -40.0, .from_s = -INFINITY, .to_s = INFINITY};
}

/* Vertex of the parabola through three logarithms, in samples from the middle one: exact for a
 * Gaussian envelope. */
static double vertex(double before, double middle, double after, double *height)
{
    *height = middle;
    if (before <= 0.0 || middle <= 0.0 || after <= 0.0)
        return 0.0;
    double a = log(before), b = log(middle), c = log(after);
    double curvature = a - 2.0 * b + c;
    if (curvature >= 0.0)
        return 0.0;
    double shift = 0.5 * (a - c) / curvature;
    if (fabs(shift) > 1.0)
        return 0.0;
    *height = exp(b - 0.25 * (a - c) * shift);
    return shift;
}

/* Sign of the highest excursion while the envelope stays above half its peak. */
static int polarity(const struct plyecho_conditioned *t, size_t sample)
{
    float half = 0.5f * t->envelope[sample], highest = t->in_phase[sample];
    for (size_t i = sample; i > 0 && t->envelope[i - 1] > half; i--)
        if (fabsf(t->in_phase[i - 1]) > fabsf(highest))
            highest = t->in_phase[i - 1];
    for (size_t i = sample + 1; i < t->samples && t->envelope[i] > half; i++)
        if (fabsf(t->in_phase[i]) > fabsf(highest))
            highest = t->in_phase[i];
    return highest < 0.0f ? -1 : 1;
}

/* Phase at the peak: that of the nearest sample, carried on by the rotation from one sample to
 * the next. */
static double phase_at(const struct plyecho_conditioned *t, size_t sample, double shift)
{
    size_t a = sample > 0 ? sample - 1 : 0;
    size_t b = sample + 1 < t->samples ? sample + 1 : sample;
    double re =
        (double)t->in_phase[a] * t->in_phase[b] + (double)t->quadrature[a] * t->quadrature[b];
    double im =
        (double)t->in_phase[a] * t->quadrature[b] - (double)t->quadrature[a] * t->in_phase[b];
    double turn = b > a ? atan2(im, re) / (double)(b - a) : 0.0;
    double phase = atan2(t->quadrature[sample], t->in_phase[sample]) + turn * shift;
    return remainder(phase, 2.0 * PE_PI);
}

/* The echo whose envelope peaks at `sample`, without its level. */
static struct plyecho_echo measure(const struct plyecho_conditioned *t, size_t sample)
{
    struct plyecho_echo echo = {.sample = sample};
    double height = t->envelope[sample], shift = 0.0;
    if (sample > 0 && sample + 1 < t->samples)
        shift = vertex(t->envelope[sample - 1], t->envelope[sample], t->envelope[sample + 1],
                       &height);
    echo.time_s = t->start_s + ((double)sample + shift) / t->sample_rate_hz;
    echo.amplitude = height;
    echo.snr_db = t->noise > 0.0 ? 20.0 * log10(height / t->noise) : INFINITY;
    if (t->has_sign) {
        echo.phase_rad = phase_at(t, sample, shift);
        echo.polarity = polarity(t, sample);
    }
    return echo;
}

/* Is there a peak whose first sample is i? *middle is the middle of its equal samples. */
static int is_peak(const float *envelope, size_t samples, size_t i, size_t *middle)
{
    if (i == 0 || !(envelope[i] > envelope[i - 1]))
        return 0;
    size_t last = i;
    while (last + 1 < samples && envelope[last + 1] == envelope[i])
        last++;
    *middle = (i + last) / 2;
    return last + 1 < samples && envelope[last + 1] < envelope[i];
}

struct picked {
    struct plyecho_echo *echoes;
    size_t room, count;
};

static void take_out(struct picked *p, size_t k)
{
    memmove(p->echoes + k, p->echoes + k + 1, (p->count - k - 1) * sizeof *p->echoes);
    p->count--;
}

static size_t lowest(const struct picked *p)
{
    size_t low = 0;
    for (size_t k = 1; k < p->count; k++)
        if (p->echoes[k].amplitude < p->echoes[low].amplitude)
            low = k;
    return low;
}

/* Peaks come in order of time: of those closer than `apart` the higher stays. */
static void add(struct picked *p, const struct plyecho_echo *echo, double apart)
{
    while (p->count > 0 && echo->time_s - p->echoes[p->count - 1].time_s < apart) {
        if (p->echoes[p->count - 1].amplitude >= echo->amplitude)
            return;
        p->count--;
    }
    if (p->count == p->room) {
        size_t low = lowest(p);
        if (p->echoes[low].amplitude >= echo->amplitude)
            return;
        take_out(p, low);
    }
    p->echoes[p->count++] = *echo;
}

static size_t sample_at(const struct plyecho_conditioned *t, double time_s)
{
    double sample = (time_s - t->start_s) * t->sample_rate_hz;
    return sample <= 0.0 ? 0 : (size_t)fmin(sample, (double)t->samples);
}

size_t plyecho_echoes_find(const struct plyecho_conditioned *t,
                           const struct plyecho_echo_options *options,
                           struct plyecho_echo *echoes, size_t room)
{
    struct plyecho_echo_options o = options != NULL ? *options : plyecho_echo_defaults();
    size_t from = sample_at(t, o.from_s), to = sample_at(t, o.to_s);
    double apart = 1.0 / t->centre_hz;
    struct picked picked = {echoes, room, 0};
    if (room == 0)
        return 0;

    float highest = from < to ? pe_highest(t->envelope + from, to - from) : 0.0f;
    float threshold = (float)fmax(t->noise * pow(10.0, o.least_snr_db / 20.0),
                                  highest * pow(10.0, o.least_level_db / 20.0));
    for (size_t i = from; i < to; i++) {
        size_t middle;
        if (t->envelope[i] >= threshold && is_peak(t->envelope, t->samples, i, &middle)) {
            struct plyecho_echo echo = measure(t, middle);
            add(&picked, &echo, apart);
        }
    }
    double largest = 0.0;
    for (size_t k = 0; k < picked.count; k++)
        largest = fmax(largest, echoes[k].amplitude);
    for (size_t k = 0; k < picked.count; k++)
        echoes[k].level_db = 20.0 * log10(echoes[k].amplitude / largest);
    return picked.count;
}
