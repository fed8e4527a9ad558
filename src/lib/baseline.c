#include "baseline.h"

#include <math.h>

#include "fourier.h"

/* ---- drift and jumps ---- */

/* Samples on each side that a jump may take. */
enum { JUMP_GAP = 2 };

static double mean_between(const double *sums, size_t from, size_t to)
{
    return (sums[to] - sums[from]) / (double)(to - from);
}

/* Mean over m samples after sample i less mean over m before it. */
static double difference(const double *sums, size_t i, size_t m)
{
    return mean_between(sums, i + JUMP_GAP, i + JUMP_GAP + m) -
           mean_between(sums, i - JUMP_GAP - m, i - JUMP_GAP);
}

static void sum_up(const float *x, size_t n, double *sums)
{
    sums[0] = 0.0;
    for (size_t i = 0; i < n; i++)
        sums[i + 1] = sums[i] + (double)x[i];
}

/* The same less drift, as the stretches further out show it. */
static double jump_height(const double *sums, size_t i, size_t m)
{
    size_t apart = m + 2 * JUMP_GAP;
    double drift = 0.5 * (difference(sums, i - apart, m) + difference(sums, i + apart, m));
    return difference(sums, i, m) - drift;
}

double pe_drift(const float *x, size_t n, double *sums)
{
    size_t m = n / 8 > 0 ? n / 8 : 1;
    double least = INFINITY, most = -INFINITY;
    sum_up(x, n, sums);
    for (size_t i = 0; i + m <= n; i++) {
        double mean = mean_between(sums, i, i + m);
        least = fmin(least, mean);
        most = fmax(most, mean);
    }
    return most - least;
}

bool pe_find_jump(const float *x, size_t n, double noise_rms, double *sums,
                  struct pe_jump *jump)
{
    size_t wide = n / 16, narrow = wide / 8 < 4 ? 4 : wide / 8;
    size_t margin = 2 * wide + 3 * JUMP_GAP;
    *jump = (struct pe_jump){0.0, margin};
    if (n < 64 || n < 2 * margin + 1)
        return false;
    sum_up(x, n, sums);
    for (size_t i = margin; i < n - margin; i++) {
        double height = jump_height(sums, i, wide);
        if (fabs(height) > fabs(jump->height))
            *jump = (struct pe_jump){height, i};
    }
    /* Six standard deviations: four means, two of them halved, make 3 / wide of the variance. */
    if (fabs(jump->height) < 6.0 * noise_rms * sqrt(3.0 / (double)wide) || jump->height == 0.0)
        return false;
    /* What an echo leaves in a mean grows as the stretch shrinks; what drift leaves vanishes. */
    double half = jump_height(sums, jump->sample, wide / 2) / jump->height;
    double sharp = difference(sums, jump->sample, narrow) / jump->height;
    return half > 0.7 && half < 1.4 && sharp > 0.6 && sharp < 1.4;
}

/* ---- lines ---- */

static const double line_over_median = 31.6; /* power: 15 dB */

enum { BLOCKS = 8, LEAST_PERIODS = 3 }; /* eighths; periods of a line in one */

/* Start of the quietest stretch of m samples, by its variance. */
static size_t quietest(const float *x, size_t n, size_t m, double *sums)
{
    double sum = 0.0, squares = 0.0, mean = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += (double)x[i] / (double)n;
    sums[0] = 0.0;
    for (size_t i = 0; i < n; i++) {
        double d = (double)x[i] - mean;
        sums[i + 1] = sums[i] + d * d;
    }
    size_t best = 0;
    double least = INFINITY;
    for (size_t i = 0; i + m <= n; i++) {
        if (i == 0)
            for (size_t k = 0; k < m; k++)
                sum += (double)x[k] - mean;
        else
            sum += (double)x[i + m - 1] - (double)x[i - 1];
        squares = sums[i + m] - sums[i];
        double variance = squares - sum * sum / (double)m;
        if (variance < least) {
            least = variance;
            best = i;
        }
    }
    return best;
}

/* Amplitude of a line in x[0..n), by a transform under a raised-cosine window. */
static double line_amplitude(const float *x, size_t n, double radians_a_sample)
{
    double re = 0.0, im = 0.0, weights = 0.0;
    for (size_t i = 0; i < n; i++) {
        double w = 0.5 - 0.5 * cos(2.0 * PE_PI * ((double)i + 0.5) / (double)n);
        re += w * (double)x[i] * cos(radians_a_sample * (double)i);
        im += w * (double)x[i] * sin(radians_a_sample * (double)i);
        weights += w;
    }
    return 2.0 * hypot(re, im) / weights;
}

/* Is the line as strong in the whole record as in its quietest quarter? */
static bool is_steady(const float *x, size_t n, double radians_a_sample, double amplitude)
{
    size_t block = n / BLOCKS, alike = 0;
    for (size_t b = 0; b < BLOCKS; b++) {
        double here = line_amplitude(x + b * block, block, radians_a_sample) / amplitude;
        alike += here > 0.7 && here < 1.4;
    }
    return alike >= BLOCKS / 2;
}

/* Mean power within a factor of 1.5 round bin k, without the line's own bins. Its logarithm is
 * averaged: other lines and slopes count little, and of noise it is 0.9 dB below the median. */
static double surroundings(const float *power, size_t bins, size_t k, size_t own)
{
    size_t from = k * 2 / 3, to = k * 3 / 2 < bins ? k * 3 / 2 : bins - 1, count = 0;
    double sum = 0.0;
    for (size_t i = from; i <= to; i++) {
        if ((i < k ? k - i : i - k) <= own || power[i] <= 0.0f)
            continue;
        sum += log((double)power[i]);
        count++;
    }
    return count > 0 ? exp(sum / (double)count) : INFINITY;
}

bool pe_find_line(const struct plyecho_trace *trace, struct plyecho_spectrum *spectrum,
                  float *power, double *sums, struct pe_line *line)
{
    size_t n = trace->samples, quarter = n / 4;
    size_t bins = plyecho_spectrum_bins(spectrum);
    double bin_hz = plyecho_spectrum_bin_hz(spectrum), rate = trace->sample_rate_hz;
    if (quarter < 64)
        return false;
    const float *quiet = trace->amplitude + quietest(trace->amplitude, n, quarter, sums);
    plyecho_spectrum_run(spectrum, quiet, quarter, PLYECHO_TAPER_HANN, power);
    struct plyecho_spectral_band band;
    double from_hz = (double)(LEAST_PERIODS * BLOCKS) * rate / (double)n;
    if (!plyecho_spectral_band_find(power, bins, bin_hz, from_hz, &band))
        return false;
    size_t k = (size_t)round(band.peak_hz / bin_hz);
    size_t own = (size_t)ceil(3.0 * rate / (double)quarter / bin_hz); /* past the main lobe */
    if (k >= bins || power[k] < line_over_median * surroundings(power, bins, k, own))
        return false;
    double radians = 2.0 * PE_PI * band.peak_hz / rate;
    line->hz = band.peak_hz;
    line->amplitude = line_amplitude(quiet, quarter, radians);
    return is_steady(trace->amplitude, n, radians, line->amplitude);
}
