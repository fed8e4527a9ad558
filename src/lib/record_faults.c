#include "record_faults.h"

#include <complex.h>
#include <math.h>

#include "fourier.h"

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
    float least = INFINITY;
    for (size_t i = from + 1; i < to; i++) {
        float step = fabsf(trace->amplitude[i] - trace->amplitude[i - 1]);
        if (step > 0.0f && step < least)
            least = step;
    }
    return (double)least;
}

bool pe_one_sided(const struct plyecho_trace *trace)
{
    if (trace->signal != PLYECHO_SIGNAL_RF)
        return false;
    float least = trace->amplitude[0], most = least;
    double sum = 0.0;
    for (size_t i = 0; i < trace->samples; i++) {
        least = fminf(least, trace->amplitude[i]);
        most = fmaxf(most, trace->amplitude[i]);
        sum += (double)trace->amplitude[i];
    }
    double mean = sum / (double)trace->samples;
    double up = (double)most - mean, down = mean - (double)least;
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
    for (size_t k = 0; k < count; k++) {
        double sum = 0.0;
        for (size_t i = k * length; i < (k + 1) * length; i++)
            sum += (double)trace->amplitude[i];
        mean[k] = sum / (double)length;
    }
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
    double complex turn = cexp(-2.0 * PE_PI * I * hz / trace->sample_rate_hz), phasor;
    double complex slow = cexp(PE_PI * I / ((double)reach + 1.0)), bell = 1.0;
    double complex sum = 0.0, weighted_phasor = 0.0;
    double mean = 0.0, weights = 0.0, squares = 0.0;
    phasor = cpow(turn, -(double)(sample - from));
    for (size_t k = 0; k < sample - from; k++)
        bell /= slow;
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
