#include <plyecho/condition.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include <plyecho/noise.h>

#include "alloc.h"
#include "fourier.h"

/* How far the pass band reaches beyond the -6 dB band, as a share of its width: 0.35 on each
 * side is where a Gaussian spectrum is down by 17 dB. */
static const double band_margin = 0.35;

/* Steps an octave to which found band edges are rounded. */
static const double band_grid = 16.0;

struct plyecho_conditioner {
    size_t samples;
    double sample_rate_hz;
    bool band_given;
    struct plyecho_band band;          /* of `analytic` as it stands */
    struct plyecho_analytic *analytic; /* NULL until the first band is known */
    float *signal, *quadrature, *envelope, *scratch;
    float *spectrum; /* samples / 2 + 1 */
    float *fft_in;
    fftwf_complex *fft_out;
    fftwf_plan forward;
};

void plyecho_conditioner_free(struct plyecho_conditioner *c)
{
    if (c == NULL)
        return;
    plyecho_analytic_free(c->analytic);
    if (c->forward != NULL)
        fftwf_destroy_plan(c->forward);
    fftwf_free(c->fft_in);
    fftwf_free(c->fft_out);
    free(c->signal);
    free(c->quadrature);
    free(c->envelope);
    free(c->scratch);
    free(c->spectrum);
    free(c);
}

static bool make_buffers(struct plyecho_conditioner *c)
{
    size_t n = c->samples;
    c->signal = pe_alloc(n, sizeof *c->signal);
    c->quadrature = pe_alloc(n, sizeof *c->quadrature);
    c->envelope = pe_alloc(n, sizeof *c->envelope);
    c->scratch = pe_alloc(n / PLYECHO_NOISE_BLOCK + 1, sizeof *c->scratch);
    c->spectrum = pe_alloc(n / 2 + 1, sizeof *c->spectrum);
    c->fft_in = fftwf_alloc_real(n);
    c->fft_out = fftwf_alloc_complex(n / 2 + 1);
    if (c->signal == NULL || c->quadrature == NULL || c->envelope == NULL ||
        c->scratch == NULL || c->spectrum == NULL || c->fft_in == NULL || c->fft_out == NULL)
        return false;
    c->forward = fftwf_plan_dft_r2c_1d((int)n, c->fft_in, c->fft_out, FFTW_ESTIMATE);
    return c->forward != NULL;
}

enum plyecho_code plyecho_conditioner_new(struct plyecho_conditioner **conditioner,
                                          size_t samples, double sample_rate_hz,
                                          const struct plyecho_band *band,
                                          struct plyecho_error *err)
{
    *conditioner = NULL;
    if (samples < 2 || samples > (size_t)1 << 28)
        return plyecho_fail(err, PLYECHO_TOO_LARGE, "%zu samples: 2 to 2^28 can be analysed",
                            samples);
    struct plyecho_conditioner *c = pe_alloc(1, sizeof *c);
    if (c == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to analyse traces");
    c->samples = samples;
    c->sample_rate_hz = sample_rate_hz;
    enum plyecho_code code = PLYECHO_OK;
    if (!make_buffers(c)) {
        code =
            plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to analyse %zu samples", samples);
    } else if (band != NULL) {
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

/* Mean power in [f / r, f * r], from the running sum of the spectrum. */
static double smoothed(const float *spectrum, size_t bins, double bin_hz, double f)
{
    static const double half_width = 1.0594630943592953; /* a twelfth of an octave */
    size_t low = (size_t)ceil(f / half_width / bin_hz);
    size_t high = (size_t)floor(f * half_width / bin_hz);
    if (high >= bins)
        high = bins - 1;
    if (low > high)
        low = high;
    double sum = 0.0;
    for (size_t k = low; k <= high; k++)
        sum += spectrum[k];
    return sum / (double)(high - low + 1);
}

static double floor_of_upper_quarter(const float *spectrum, size_t bins)
{
    double sum = 0.0;
    size_t from = bins * 3 / 4, count = 0;
    for (size_t k = from; k + 1 < bins; k++, count++)
        sum += spectrum[k];
    return count > 0 ? sum / (double)count : 0.0;
}

bool plyecho_band_find(const float *spectrum, size_t bins, double bin_hz, double from_hz,
                       struct plyecho_band *band)
{
    static const double step = 1.0293022366434921; /* a twenty-fourth of an octave */
    double top_hz = bin_hz * (double)(bins - 1);
    double floor_power = floor_of_upper_quarter(spectrum, bins);
    double peak_hz = 0.0, peak = 0.0, best = 0.0;
    for (double f = from_hz; f < 0.95 * top_hz; f *= step) {
        double power = smoothed(spectrum, bins, bin_hz, f) - floor_power;
        /* energy rather than density decides, so that drift at the lower end does not win */
        if (power * f > best) {
            best = power * f;
            peak = power;
            peak_hz = f;
        }
    }
    if (peak_hz <= 0.0 || peak < floor_power)
        return false;
    double low = peak_hz, high = peak_hz;
    while (low > from_hz && smoothed(spectrum, bins, bin_hz, low) - floor_power > peak / 4.0)
        low /= step;
    while (high < top_hz && smoothed(spectrum, bins, bin_hz, high) - floor_power > peak / 4.0)
        high *= step;
    *band = (struct plyecho_band){low, fmin(high, top_hz)};
    return true;
}

static double on_grid(double hz)
{
    return exp2(round(log2(hz) * band_grid) / band_grid);
}

/* The -6 dB band with its margins, on the grid. */
static struct plyecho_band pass_band(const struct plyecho_band *half_power, double nyquist_hz)
{
    double margin = band_margin * (half_power->high_hz - half_power->low_hz);
    struct plyecho_band band = {
        on_grid(fmax(half_power->low_hz - margin, 0.3 * half_power->low_hz)),
        on_grid(half_power->high_hz + margin)};
    if (band.high_hz > 0.98 * nyquist_hz)
        band.high_hz = nyquist_hz;
    return band;
}

/* Power spectrum of the record about the line through its ends. */
static void take_spectrum(struct plyecho_conditioner *c, const float *x)
{
    size_t n = c->samples;
    double first = x[0], slope = (x[n - 1] - x[0]) / (double)(n - 1);
    for (size_t i = 0; i < n; i++)
        c->fft_in[i] = (float)(x[i] - (first + slope * (double)i));
    fftwf_execute(c->forward);
    for (size_t k = 0; k <= n / 2; k++)
        c->spectrum[k] =
            c->fft_out[k][0] * c->fft_out[k][0] + c->fft_out[k][1] * c->fft_out[k][1];
}

static enum plyecho_code use_band(struct plyecho_conditioner *c,
                                  const struct plyecho_band *band, struct plyecho_error *err)
{
    if (c->analytic != NULL && c->band.low_hz == band->low_hz &&
        c->band.high_hz == band->high_hz)
        return PLYECHO_OK;
    plyecho_analytic_free(c->analytic);
    c->analytic = NULL;
    c->band = *band;
    return plyecho_analytic_new(&c->analytic, c->samples, c->sample_rate_hz, band, err);
}

/* Lowest frequency that a record can tell from drift: ten periods in it. */
static double lowest_hz(const struct plyecho_conditioner *c)
{
    return 10.0 * c->sample_rate_hz / (double)c->samples;
}

static enum plyecho_code choose_band(struct plyecho_conditioner *c, const float *x,
                                     struct plyecho_error *err)
{
    if (c->band_given)
        return PLYECHO_OK;
    struct plyecho_band found;
    take_spectrum(c, x);
    double bin_hz = c->sample_rate_hz / (double)c->samples;
    if (!plyecho_band_find(c->spectrum, c->samples / 2 + 1, bin_hz, lowest_hz(c), &found))
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "no oscillation stands out of the noise; check the coupling and the "
            "gain, or give --band");
    struct plyecho_band band = pass_band(&found, c->sample_rate_hz / 2.0);
    return use_band(c, &band, err);
}

/* ---- one trace ---- */

/* What the record says of the envelope where the oscillation is lost: an envelope as it stands,
 * a logarithm undone, a rectified one times pi/2 (the mean of |cos|) and smoothed below its
 * carrier.
 */
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
        struct plyecho_band carrier;
        take_spectrum(c, c->signal);
        double bin_hz = c->sample_rate_hz / (double)n;
        /* rectifying doubles the frequency: the lines of the envelope lie far below it */
        if (!plyecho_band_find(c->spectrum, n / 2 + 1, bin_hz, lowest_hz(c), &carrier))
            return plyecho_fail(err, PLYECHO_UNSUITABLE, "no echo stands out of the noise");
        struct plyecho_band below = {0.0, fmin(carrier.high_hz, 0.25 * c->sample_rate_hz)};
        enum plyecho_code code = use_band(c, &below, err);
        if (code != PLYECHO_OK)
            return code;
        plyecho_analytic_run(c->analytic, c->signal, c->signal, NULL);
        for (size_t i = 0; i < n; i++)
            c->signal[i] = fmaxf(0.0f, (float)(PE_PI / 2.0) * c->signal[i]);
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

enum plyecho_code plyecho_conditioner_run(struct plyecho_conditioner *c,
                                          const struct plyecho_trace *trace,
                                          struct plyecho_conditioned *out,
                                          struct plyecho_error *err)
{
    if (trace->samples != c->samples || trace->sample_rate_hz != c->sample_rate_hz)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a trace of %zu samples at %g Hz, planned were %zu at %g Hz",
                            trace->samples, trace->sample_rate_hz, c->samples,
                            c->sample_rate_hz);
    bool has_sign = trace->signal == PLYECHO_SIGNAL_RF;
    enum plyecho_code code =
        has_sign ? oscillation(c, trace, err) : envelope_without_sign(c, trace, err);
    if (code != PLYECHO_OK)
        return code;
    double nyquist = c->sample_rate_hz / 2.0;
    struct plyecho_band band = has_sign ? c->band : (struct plyecho_band){0.0, nyquist};
    double share = has_sign ? (band.high_hz - band.low_hz) / nyquist : 1.0;
    *out = (struct plyecho_conditioned){
        .samples = c->samples,
        .sample_rate_hz = c->sample_rate_hz,
        .start_s = trace->start_s,
        .has_sign = has_sign,
        .band = band,
        .centre_hz = 0.5 * (band.low_hz + band.high_hz),
        .in_phase = c->signal,
        .quadrature = c->quadrature,
        .envelope = c->envelope,
        .noise = plyecho_noise_rms(c->signal, c->samples, share, c->scratch),
    };
    return PLYECHO_OK;
}
