#include <plyecho/condition.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/noise.h>
#include <plyecho/spectrum.h>

#include "alloc.h"
#include "extremes.h"
#include "fourier.h"
#include "record_faults.h"
#include "variance.h"

/* How far the pass band reaches beyond the -6 dB band, as a share of its width: at 0.75 on each side a
 * side is where a Gaussian spectrum is down by 38 dB. */
static const double band_margin = 0.75;

/* Relative -6 dB bandwidth of probes for thin walls (common practice, no source): tells the
 * frequency of an envelope from the length of its pulse. */
static const double usual_bandwidth = 0.6;

/* Steps an octave to which found band edges are rounded. */
static const double band_grid = 16.0;

/* Over the bins below one: of the power above the floor, of that times the bin, and times its square. */
struct sums {
    double power, first, second;
};

struct plyecho_conditioner {
    size_t samples;
    double sample_rate_hz;
    bool band_given;
    struct plyecho_band band;          /* of `analytic` as it stands */
    struct plyecho_analytic *analytic; /* NULL until the first band is known */
    float *signal, *quadrature, *envelope, *scratch;
    struct plyecho_spectrum *spectrum;
    float *power;      /* of the spectrum's bins */
    struct sums *sums; /* one more than the spectrum's bins */
};

void plyecho_conditioner_free(struct plyecho_conditioner *c)
{
    if (c == NULL)
        return;
    plyecho_analytic_free(c->analytic);
    plyecho_spectrum_free(c->spectrum);
    free(c->signal);
    free(c->quadrature);
    free(c->envelope);
    free(c->scratch);
    free(c->power);
    free(c->sums);
    free(c);
}

static enum plyecho_code make_parts(struct plyecho_conditioner *c, struct plyecho_error *err)
{
    size_t n = c->samples;
    enum plyecho_code code = plyecho_spectrum_new(&c->spectrum, n, 1, c->sample_rate_hz, err);
    if (code != PLYECHO_OK)
        return code;
    c->signal = pe_alloc(n, sizeof *c->signal);
    c->quadrature = pe_alloc(n, sizeof *c->quadrature);
    c->envelope = pe_alloc(n, sizeof *c->envelope);
    c->scratch = pe_alloc(n / PLYECHO_NOISE_BLOCK + 1, sizeof *c->scratch);
    c->power = pe_alloc(plyecho_spectrum_bins(c->spectrum), sizeof *c->power);
    c->sums = pe_alloc(plyecho_spectrum_bins(c->spectrum) + 1, sizeof *c->sums);
    if (c->signal == NULL || c->quadrature == NULL || c->envelope == NULL ||
        c->scratch == NULL || c->power == NULL || c->sums == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to analyse %zu samples", n);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_conditioner_new(struct plyecho_conditioner **conditioner,
                                          size_t samples, double sample_rate_hz,
                                          const struct plyecho_band *band,
                                          struct plyecho_error *err)
{
    *conditioner = NULL;
    struct plyecho_conditioner *c = pe_alloc(1, sizeof *c);
    if (c == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to analyse traces");
    c->samples = samples;
    c->sample_rate_hz = sample_rate_hz;
    enum plyecho_code code = make_parts(c, err);
    if (code == PLYECHO_OK && band != NULL) {
        c->band_given = true;
        c->band = *band;
        code = plyecho_analytic_new(&c->analytic, samples, sample_rate_hz, band, err);
    }
    if (code != PLYECHO_OK) {
        plyecho_conditioner_free(c);
        return code;
    }
    *conditioner = c;
    return PLYECHO_OK;
}

/* ---- the band ---- */

/* Width at -6 dB over the standard deviation of a Gaussian power spectrum: 2 sqrt(2 ln 4). */
static const double width_over_deviation = 3.3302184446307914;

static double floor_of_upper_quarter(const float *spectrum, size_t bins)
{
    size_t from = bins * 3 / 4, count = bins - 1 - from;
    return bins > 1 + from ? pe_sum(spectrum + from, count) / (double)count : 0.0;
}

/* A stretch of the spectrum, in bins. */
struct window {
    double low, high;
};

/* Sums from which those of any stretch are a difference. */
static void sum_up(const float *spectrum, size_t bins, double floor_power, struct sums *sums)
{
    struct sums s = {0.0, 0.0, 0.0};
    for (size_t k = 0; k < bins; k++) {
        double power = spectrum[k] - floor_power, bin = (double)k;
        sums[k] = s;
        s.power += power;
        s.first += power * bin;
        s.second += power * bin * bin;
    }
    sums[bins] = s;
}

/* Energy above the floor within a third of an octave about each frequency: the highest wins. Energy
 * rather than density decides, so that drift at the lower end does not. Frequencies in bins; 0 where
 * there is none. */
static double strongest(const struct sums *sums, size_t bins, double from, double floor_power)
{
    static const double half_width = 1.122462048309373, step = 1.0293022366434921;
    double top = 0.95 * (double)(bins - 1), peak_at = 0.0, peak = 0.0;
    for (double f = from; f * half_width < top; f *= step) {
        size_t low = (size_t)ceil(f / half_width), end = (size_t)(f * half_width) + 1;
        double energy = sums[end].power - sums[low].power;
        if (energy <= peak)
            continue;
        /* what the floor alone scatters to stays below four standard deviations */
        double scatter = 4.0 * floor_power * sqrt((double)(end - low));
        if (energy > scatter) {
            peak = energy;
            peak_at = f;
        }
    }
    return peak_at;
}

/* Middle and standard deviation of the power above the floor in the window, all in bins; false, with both
 * as they were, where there is none. Lines below the floor count against it, so that little power in all
 * may have its middle anywhere. */
static bool moments(const struct sums *sums, size_t bins, const struct window *window,
                    double *middle, double *deviation)
{
    size_t low = (size_t)ceil(window->low);
    size_t end = (size_t)fmin(window->high, (double)(bins - 1)) + 1;
    if (end <= low)
        return false;
    double sum = sums[end].power - sums[low].power;
    double first = sums[end].first - sums[low].first;
    double second = sums[end].second - sums[low].second;
    if (!(sum > 0.0))
        return false;
    double found = first / sum;
    if (found < window->low || found > window->high)
        return false;
    *middle = found;
    *deviation = sqrt(fmax(second / sum - found * found, 1.0));
    return true;
}

/* The -6 dB band of the strongest oscillation in a power spectrum, spectrum[k] at k x bin_hz: from
 * the middle and the standard deviation of the power above the floor (that of the upper quarter),
 * as if it were Gaussian. from_hz is the lowest frequency looked at. false where nothing stands
 * above the floor. */
static bool half_power_band(const float *spectrum, size_t bins, double bin_hz, double from_hz,
                            struct sums *sums, struct plyecho_band *band)
{
    double top = (double)(bins - 1), from = from_hz / bin_hz;
    double floor_power = floor_of_upper_quarter(spectrum, bins);
    sum_up(spectrum, bins, floor_power, sums);
    double middle = strongest(sums, bins, from, floor_power), deviation = 0.0;
    if (!(middle > 0.0))
        return false;
    /* moments, because the fringes of echoes that follow each other move any peak and edge; all
     * in bins */
    struct window window = {0.4 * middle, 1.8 * middle};
    for (int round = 0; round < 6; round++) {
        window.low = fmax(window.low, from);
        window.high = fmin(window.high, top);
        if (!moments(sums, bins, &window, &middle, &deviation)) {
            if (round == 0)
                return false;
            break;
        }
        double reach = fmax(2.4 * deviation, 0.25 * middle);
        window = (struct window){fmax(middle - reach, 0.2 * middle), middle + reach};
    }
    double half = 0.5 * width_over_deviation * deviation;
    *band = (struct plyecho_band){bin_hz * fmax(middle - half, 0.3 * middle),
                                  bin_hz * fmin(middle + half, top)};
    return true;
}

/* rounded: round, floor or ceil */
static double on_grid(double hz, double (*rounded)(double))
{
    return exp2(rounded(log2(hz) * band_grid) / band_grid);
}

/* The -6 dB band with its margins, on the grid, and never inside the -6 dB band: that of a long
 * tone lies between two neighbours of the grid. */
static struct plyecho_band pass_band(const struct plyecho_band *half_power, double nyquist_hz)
{
    double margin = band_margin * (half_power->high_hz - half_power->low_hz);
    double low_hz = fmax(half_power->low_hz - margin, 0.3 * half_power->low_hz);
    double high_hz = half_power->high_hz + margin;
    struct plyecho_band band = {
        fmin(on_grid(low_hz, round), on_grid(half_power->low_hz, floor)),
        fmax(on_grid(high_hz, round), on_grid(half_power->high_hz, ceil))};
    if (band.high_hz > 0.98 * nyquist_hz)
        band.high_hz = nyquist_hz;
    return band;
}

/* A record begins in silence, or with the transmission pulse and what it leaves behind, which falls
 * steadily and may ring at a frequency of its own. The first echo is where the energy of a stretch
 * rises above the least that came before. Returns the first sample of the stretch before it; 0
 * where nothing rises. */
static size_t before_first_rise(const float *x, size_t n, double noise)
{
    /* noise alone, with 16 degrees of freedom or more, stays below (chi-squared, p < 1e-6) */
    static const double rise = 8.0;
    size_t stretch = n / 256 > 64 ? n / 256 : 64;
    double least = INFINITY;
    for (size_t at = 0; at + stretch <= n; at += stretch / 2) {
        double energy = pe_variance(x + at, stretch) + noise * noise;
        if (energy > rise * least)
            return at >= stretch ? at - stretch : 0;
        least = fmin(least, energy);
    }
    return 0;
}

/* The same on the envelope of the filtered record, where an echo is told by its height: once a
 * stretch has been quiet, the first sample above five standard deviations of the noise (by the
 * Rayleigh distribution, chance passes that once in 1000 records); before, a stretch that rises to
 * two and a half times the least one. */
static size_t before_first_echo(const float *envelope, size_t n, double noise)
{
    enum { STRETCH = 16, AHEAD = 32 };
    float limit = (float)(5.0 * noise), least = INFINITY;
    for (size_t at = 0; at < n; at += STRETCH) {
        size_t end = at + STRETCH < n ? at + STRETCH : n;
        float top = pe_highest(envelope + at, end - at);
        if (top > limit && (least < limit || top > 2.5f * least))
            return at > AHEAD ? at - AHEAD : 0;
        least = top < least ? top : least;
    }
    return 0;
}

/* Lowest frequency that a record can tell from drift: ten periods in it. */
static double lowest_hz(const struct plyecho_conditioner *c)
{
    return 10.0 * c->sample_rate_hz / (double)c->samples;
}

/* The band of the record's echoes: from the spectrum behind the transmission pulse. */
static bool find_band(struct plyecho_conditioner *c, const float *x, struct plyecho_band *band)
{
    size_t n = c->samples;
    size_t from = before_first_rise(x, n, plyecho_noise_rms(x, n, 1.0, c->scratch));
    plyecho_spectrum_run(c->spectrum, x + from, n - from, PLYECHO_TAPER_ENDS, c->power);
    return half_power_band(c->power, plyecho_spectrum_bins(c->spectrum),
                           plyecho_spectrum_bin_hz(c->spectrum), lowest_hz(c), c->sums, band);
}

static enum plyecho_code use_band(struct plyecho_conditioner *c,
                                  const struct plyecho_band *band, struct plyecho_error *err)
{
    if (c->analytic != NULL && c->band.low_hz == band->low_hz &&
        c->band.high_hz == band->high_hz)
        return PLYECHO_OK;
    c->band = *band;
    if (c->analytic != NULL && plyecho_analytic_retune(c->analytic, band))
        return PLYECHO_OK;
    plyecho_analytic_free(c->analytic);
    c->analytic = NULL;
    return plyecho_analytic_new(&c->analytic, c->samples, c->sample_rate_hz, band, err);
}

static enum plyecho_code find_pass_band(struct plyecho_conditioner *c, const float *x,
                                        struct plyecho_band *band, struct plyecho_error *err)
{
    struct plyecho_band found;
    if (!find_band(c, x, &found))
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "no oscillation stands out of the noise; check the coupling and the "
            "gain, or give --band");
    *band = pass_band(&found, c->sample_rate_hz / 2.0);
    return PLYECHO_OK;
}

static enum plyecho_code choose_band(struct plyecho_conditioner *c, const float *x,
                                     struct plyecho_error *err)
{
    struct plyecho_band band;
    if (c->band_given)
        return PLYECHO_OK;
    enum plyecho_code code = find_pass_band(c, x, &band, err);
    return code == PLYECHO_OK ? use_band(c, &band, err) : code;
}

/* ---- one trace ---- */

static enum plyecho_code check_time_base(const struct plyecho_conditioner *c,
                                         const struct plyecho_trace *trace,
                                         struct plyecho_error *err)
{
    if (trace->samples == c->samples && trace->sample_rate_hz == c->sample_rate_hz)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                        "a trace of %zu samples at %g Hz, planned were %zu at %g Hz",
                        trace->samples, trace->sample_rate_hz, c->samples, c->sample_rate_hz);
}

enum plyecho_code plyecho_conditioner_own_band(struct plyecho_conditioner *c,
                                               const struct plyecho_trace *trace,
                                               struct plyecho_band *band,
                                               struct plyecho_error *err)
{
    enum plyecho_code code = check_time_base(c, trace, err);
    if (code == PLYECHO_OK && trace->signal != PLYECHO_SIGNAL_RF)
        code = plyecho_fail(err, PLYECHO_UNSUITABLE, "signal is %s: its oscillation is lost",
                            plyecho_signal_word(trace->signal));
    return code == PLYECHO_OK ? find_pass_band(c, trace->amplitude, band, err) : code;
}

/* Rectifying doubles the carrier; the slope of the record, in which the slow envelope is weak, tells
 * where that is. Below 0.4 of it lies the envelope, times 2/pi (the mean of |cos|). */
static enum plyecho_code smooth_rectified(struct plyecho_conditioner *c,
                                          struct plyecho_error *err)
{
    size_t n = c->samples;
    float *slope = c->envelope;
    slope[0] = 0.0f;
    for (size_t i = 1; i < n; i++)
        slope[i] = c->signal[i] - c->signal[i - 1];
    struct plyecho_band doubled;
    if (!find_band(c, slope, &doubled))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "no echo stands out of the noise; check the coupling and the gain");
    struct plyecho_band below = {0.0, 0.4 * 0.5 * (doubled.low_hz + doubled.high_hz)};
    enum plyecho_code code = use_band(c, &below, err);
    if (code != PLYECHO_OK)
        return code;
    plyecho_analytic_run(c->analytic, c->signal, c->signal, NULL);
    for (size_t i = 0; i < n; i++)
        c->signal[i] = fmaxf(0.0f, (float)(PE_PI / 2.0) * c->signal[i]);
    return PLYECHO_OK;
}

/* What the record says of the envelope where the oscillation is lost: an envelope as it stands,
 * a logarithm undone, a rectified one smoothed. */
static enum plyecho_code envelope_without_sign(struct plyecho_conditioner *c,
                                               const struct plyecho_trace *trace,
                                               struct plyecho_error *err)
{
    size_t n = c->samples;
    memcpy(c->signal, trace->amplitude, n * sizeof *c->signal);
    if (trace->signal == PLYECHO_SIGNAL_LOG)
        for (size_t i = 0; i < n; i++)
            c->signal[i] = powf(10.0f, c->signal[i] / 20.0f);
    if (trace->signal == PLYECHO_SIGNAL_RECTIFIED) {
        enum plyecho_code code = smooth_rectified(c, err);
        if (code != PLYECHO_OK)
            return code;
    }
    memset(c->quadrature, 0, n * sizeof *c->quadrature);
    memcpy(c->envelope, c->signal, n * sizeof *c->envelope);
    return PLYECHO_OK;
}

static enum plyecho_code oscillation(struct plyecho_conditioner *c,
                                     const struct plyecho_trace *trace,
                                     struct plyecho_error *err)
{
    enum plyecho_code code = choose_band(c, trace->amplitude, err);
    if (code != PLYECHO_OK)
        return code;
    plyecho_analytic_run(c->analytic, trace->amplitude, c->signal, c->quadrature);
    plyecho_envelope(c->signal, c->quadrature, c->samples, c->envelope);
    return PLYECHO_OK;
}

/* Pulse length at -20 dB: from the width at half height of the highest echo, as if it were Gaussian
 * (sqrt(ln 10 / ln 2) = 1.823 times), but no less than the band allows. */
static double pulse_length_s(const float *envelope, size_t from, size_t n, double rate,
                             double shortest_s)
{
    size_t top = from;
    float highest = pe_extremes_of(envelope + from, n - from).most;
    while (top + 1 < n && envelope[top] != highest)
        top++;
    size_t low = top, high = top;
    while (low > 0 && envelope[low - 1] > 0.5f * envelope[top])
        low--;
    while (high + 1 < n && envelope[high + 1] > 0.5f * envelope[top])
        high++;
    double length_s = 1.823 * (double)(high - low + 1) / rate;
    return fmax(shortest_s, length_s);
}

/* Noise that is less than a count does not show in the quietest stretches, and what is less than half
 * a count not at all: then rounding itself is the noise (a count over the root of 12). */
static double least_noise(const struct plyecho_trace *trace)
{
    if (trace->signal == PLYECHO_SIGNAL_LOG)
        return 0.0;
    double count = pe_count_size(trace, 0, trace->samples);
    return isfinite(count) ? count / sqrt(12.0) : 0.0;
}

enum plyecho_code plyecho_conditioner_run(struct plyecho_conditioner *c,
                                          const struct plyecho_trace *trace,
                                          struct plyecho_conditioned *out,
                                          struct plyecho_error *err)
{
    enum plyecho_code code = check_time_base(c, trace, err);
    bool has_sign = trace->signal == PLYECHO_SIGNAL_RF;
    if (code == PLYECHO_OK)
        code = has_sign ? oscillation(c, trace, err) : envelope_without_sign(c, trace, err);
    if (code != PLYECHO_OK)
        return code;
    double nyquist = c->sample_rate_hz / 2.0;
    struct plyecho_band band = has_sign ? c->band : (struct plyecho_band){0.0, nyquist};
    double share = has_sign ? (band.high_hz - band.low_hz) / nyquist : 1.0;
    double noise =
        fmax(plyecho_noise_rms(c->signal, c->samples, share, c->scratch), least_noise(trace));
    size_t quiet = before_first_echo(c->envelope, c->samples, noise);
    double pulse_s = pulse_length_s(c->envelope, quiet, c->samples, c->sample_rate_hz,
                                    1.6 / (band.high_hz - band.low_hz));
    double centre_hz = 0.5 * (band.low_hz + band.high_hz);
    if (!has_sign)
        centre_hz = c->band_given ? 0.5 * (c->band.low_hz + c->band.high_hz)
                                  : 1.6 / pulse_s / usual_bandwidth;
    *out = (struct plyecho_conditioned){
        .samples = c->samples,
        .sample_rate_hz = c->sample_rate_hz,
        .start_s = trace->start_s,
        .has_sign = has_sign,
        .band = band,
        .centre_hz = centre_hz,
        .pulse_s = pulse_s,
        .in_phase = c->signal,
        .quadrature = c->quadrature,
        .envelope = c->envelope,
        .noise = noise,
        .first_rise_s = trace->start_s + (double)quiet / trace->sample_rate_hz,
    };
    return PLYECHO_OK;
}
