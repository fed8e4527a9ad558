#include "record_faults.h"

#include <complex.h>
#include <math.h>

#include "extremes.h"
#include "fourier.h"
#include "variance.h"

/* Smaller over larger excursion from the mean, below which a trace is one-sided. */
static const double one_sided = 0.08;

/* Chance of a run of equal samples, over the whole record. */
static const double rare_run = 1e-3;

/* Neighbours are equal in the quiet parts, which make up that much of a record at least; where they are
 * so too often, noise is below a count and a run says nothing. */
static const double quiet_share = 0.7, most_equal = 0.4;

enum { LEAST_RUN = 5 };

double pe_count_size(const struct plyecho_trace *trace, size_t from, size_t to)
{
    if (trace->step > 0.0)
        return trace->step;
    float least[PE_EXTREMES_ABREAST];
    const float *x = trace->amplitude;
    for (size_t k = 0; k < PE_EXTREMES_ABREAST; k++)
        least[k] = INFINITY;
    size_t i = from + 1;
    for (; i + PE_EXTREMES_ABREAST <= to; i += PE_EXTREMES_ABREAST)
        for (size_t k = 0; k < PE_EXTREMES_ABREAST; k++) {
            float step = fabsf(x[i + k] - x[i + k - 1]);
            step = step > 0.0f ? step : INFINITY;
            least[k] = step < least[k] ? step : least[k];
        }
    for (; i < to; i++) {
        float step = fabsf(x[i] - x[i - 1]);
        if (step > 0.0f && step < least[0])
            least[0] = step;
    }
    return (double)pe_extremes_of(least, PE_EXTREMES_ABREAST).least;
}

bool pe_one_sided(const struct plyecho_trace *trace)
{
    if (trace->signal != PLYECHO_SIGNAL_RF)
        return false;
    struct pe_extremes extremes = pe_extremes_of(trace->amplitude, trace->samples);
    double mean = pe_sum(trace->amplitude, trace->samples) / (double)trace->samples;
    double up = (double)extremes.most - mean, down = mean - (double)extremes.least;
    return fmin(up, down) < one_sided * fmax(up, down);
}

bool pe_held_samples(const struct plyecho_trace *trace, size_t from, size_t to)
{
    const float *x = trace->amplitude;
    size_t equal = 0, run = 1, longest = 1;
    for (size_t i = 1; i < trace->samples; i++)
        equal += x[i] == x[i - 1];
    for (size_t i = from + 1; i < to; i++) {
        run = x[i] == x[i - 1] ? run + 1 : 1;
        longest = run > longest ? run : longest;
    }
    /* the longest run itself says nothing of how often chance makes one */
    equal -= equal < longest - 1 ? equal : longest - 1;
    double share = ((double)equal + 1.0) / (quiet_share * (double)trace->samples);
    double chance = (double)trace->samples * pow(share, (double)longest - 1.0);
    return longest >= LEAST_RUN && share < most_equal && chance < rare_run;
}

enum { STRETCHES = 256, NEAR = 3, FAR = 6 };

static double mean_of(const double *mean, size_t from, size_t count)
{
    double sum = 0.0;
    for (size_t k = from; k < from + count; k++)
        sum += mean[k];
    return sum / (double)count;
}

/* The smallest of the differences, if all have one sign: near, far and all together. */
static double lasting(const double *mean, size_t k)
{
    double near = mean_of(mean, k + 1, NEAR) - mean_of(mean, k - NEAR, NEAR);
    double far = mean_of(mean, k + 1 + NEAR, NEAR) - mean_of(mean, k - FAR, NEAR);
    if (near * far <= 0.0)
        return 0.0;
    return fabs(near) < fabs(far) ? near : far;
}

void pe_level_change_find(const struct plyecho_trace *trace, size_t from, size_t to,
                          struct pe_level_change *change)
{
    double mean[STRETCHES];
    size_t n = trace->samples, length = n / STRETCHES > 16 ? n / STRETCHES : 16;
    size_t count = n / length < STRETCHES ? n / length : STRETCHES;
    *change = (struct pe_level_change){0};
    for (size_t k = 0; k < count; k++)
        mean[k] = pe_sum(trace->amplitude + k * length, length) / (double)length;
    size_t first = from / length > FAR ? from / length : FAR;
    for (size_t k = first; k + FAR < count && k * length < to; k++) {
        double height = lasting(mean, k);
        if (fabs(height) > fabs(change->height))
            *change = (struct pe_level_change){height, k * length + length / 2};
    }
}

double complex pe_line_at(const struct plyecho_trace *trace, size_t sample, size_t reach,
                          double hz, double *noise_share)
{
    size_t from = sample > reach ? sample - reach : 0;
    size_t to = sample + reach + 1 < trace->samples ? sample + reach + 1 : trace->samples;
    double ahead = (double)(sample - from), radians = 2.0 * PE_PI * hz / trace->sample_rate_hz;
    double complex turn = cexp(-I * radians), phasor = cexp(I * radians * ahead);
    double slow_radians = PE_PI / ((double)reach + 1.0);
    double complex slow = cexp(I * slow_radians), bell = cexp(-I * slow_radians * ahead);
    double complex sum = 0.0, weighted_phasor = 0.0;
    double mean = 0.0, weights = 0.0, squares = 0.0;
    for (size_t i = from; i < to; i++) {
        double weight = 0.5 + 0.5 * creal(bell);
        sum += weight * (double)trace->amplitude[i] * phasor;
        mean += weight * (double)trace->amplitude[i];
        weighted_phasor += weight * phasor;
        weights += weight;
        squares += weight * weight;
        phasor *= turn;
        bell *= slow;
    }
    *noise_share = 2.0 * sqrt(squares) / weights;
    return 2.0 * (sum - mean / weights * weighted_phasor) / weights;
}
