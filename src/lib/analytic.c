#include <plyecho/analytic.h>

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "band_gain.h"
#include "fourier.h"
#include "variance.h"

/* The padding ends where the filter's impulse response has fallen to this share of its peak. */
#define RESPONSE_FLOOR 1e-4 /* -80 dB */

/* Padding beyond this is refused: 16 Mi samples ring longer than any trace lasts. */
#define LONGEST_PADDING ((size_t)1 << 24)

/* With a band the transform's length is a multiple of this, so that one plan serves many bands. */
#define LENGTH_STEP 256

struct plyecho_analytic {
    size_t samples;
    double sample_rate_hz;
    size_t length;      /* of the transform */
    size_t end_samples; /* each end of the straight line is a mean over these; 0: no line */
    size_t first_bin; /* bins first_bin <= k < last_bin pass, each times gain[k - first_bin] */
    size_t last_bin;
    bool shaped;            /* false: all bins pass as they are */
    void *block;            /* holds the four arrays below */
    float *padded;          /* length long; zero from `samples` on, and stays so */
    float *gain;            /* of the bins that pass */
    fftwf_complex *bins;    /* length long; zero above length / 2, and stays so */
    fftwf_complex *signal;  /* length long: in-phase and quadrature, or in-phase alone */
    fftwf_plan forward;     /* padded -> bins */
    fftwf_plan to_analytic; /* bins -> signal */
    fftwf_plan to_in_phase; /* bins -> signal as real numbers; spoils bins 0 to length / 2 */
};

/* ---- the band ---- */

struct edges {
    double lower_width;
    double upper_width;
};

static struct edges band_edges(const struct plyecho_band *band, double nyquist)
{
    double width = PLYECHO_EDGE_SHARE * (band->high_hz - band->low_hz);
    return (struct edges){fmin(width, 2.0 * band->low_hz),
                          fmin(width, 2.0 * (nyquist - band->high_hz))};
}

/* Raised cosine from 0 to 1, a half at `distance` 0. */
static double edge_gain(double distance, double width)
{
    if (distance >= width / 2.0)
        return 1.0;
    if (distance <= -width / 2.0)
        return 0.0;
    return 0.5 + 0.5 * sin(PE_PI * distance / width);
}

static double gain_at(const struct plyecho_band *band, const struct edges *edges, double hz)
{
    return edge_gain(hz - band->low_hz, edges->lower_width) *
           edge_gain(band->high_hz - hz, edges->upper_width);
}

double pe_band_gain(const struct plyecho_band *band, double nyquist_hz, double hz)
{
    struct edges edges = band_edges(band, nyquist_hz);
    return gain_at(band, &edges, hz);
}

double pe_band_power_share(const struct plyecho_band *band, double nyquist_hz)
{
    struct edges edges = band_edges(band, nyquist_hz);
    double lost = (edges.lower_width + edges.upper_width) / 8.0;
    return (band->high_hz - band->low_hz - lost) / nyquist_hz;
}

static enum plyecho_code check_band(const struct plyecho_band *band, double nyquist,
                                    struct plyecho_error *err)
{
    if (!(band->low_hz >= 0.0 && band->low_hz < band->high_hz && band->high_hz <= nyquist))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "band %.10g to %.10g MHz: needs 0 <= low < high <= %.10g MHz, half "
                            "the sample rate (the Nyquist frequency)",
                            band->low_hz * 1e-6, band->high_hz * 1e-6, nyquist * 1e-6);
    return PLYECHO_OK;
}

/* Bound of one edge's share in the impulse response at time t. A raised-cosine edge of width w
 * has the response cos(pi w t) / (2 pi t (1 - (2 w t)^2)), the pulse of Proakis, Digital
 * Communications, section 9.2.1 (from memory), here for an edge between 0 and 1. */
static double edge_response(double t, double width)
{
    double steepness = 4.0 * width * width * t * t - 1.0;
    return 1.0 / (2.0 * PE_PI * t * fmax(steepness, 1.0));
}

/* Time after which the impulse response of the pass band stays below RESPONSE_FLOOR of its
 * peak. The peak is the band's width (the area under its gain); the two edges' bounds are
 * added. With both edges of full width this is 23.4 / (high - low). An edge at 0 Hz or Nyquist
 * does not count: the in-phase part has none there. */
static double response_time(const struct plyecho_band *band, double nyquist)
{
    struct edges edges = band_edges(band, nyquist);
    double peak = band->high_hz - band->low_hz;
    double low = 0.0;
    double high = 1.0 / (PE_PI * peak * RESPONSE_FLOOR); /* where two steep edges get there */
    for (int i = 0; i < 60; i++) {
        double t = 0.5 * (low + high);
        double response =
            (edges.lower_width > 0.0 ? edge_response(t, edges.lower_width) : 0.0) +
            (edges.upper_width > 0.0 ? edge_response(t, edges.upper_width) : 0.0);
        if (response > RESPONSE_FLOOR * peak)
            low = t;
        else
            high = t;
    }
    return high;
}

/* ---- planning ---- */

static enum plyecho_code choose_length(size_t samples, double sample_rate_hz,
                                       const struct plyecho_band *band, size_t *length,
                                       struct plyecho_error *err)
{
    if (samples > PE_LONGEST_TRANSFORM)
        return plyecho_fail(err, PLYECHO_TOO_LARGE, "a trace of %zu samples: at most %zu",
                            samples, PE_LONGEST_TRANSFORM);
    *length = samples;
    if (band == NULL)
        return PLYECHO_OK;
    double padding = ceil(response_time(band, sample_rate_hz / 2.0) * sample_rate_hz);
    if (padding > (double)LONGEST_PADDING)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "band %.10g to %.10g MHz: so narrow that it rings for %.0f "
                            "samples; widen it",
                            band->low_hz * 1e-6, band->high_hz * 1e-6, padding);
    size_t needed = samples + (size_t)padding;
    *length = pe_good_length((needed + LENGTH_STEP - 1) / LENGTH_STEP * LENGTH_STEP);
    if (*length == 0)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "a trace of %zu samples with %.0f samples of padding: at most %zu",
                            samples, padding, PE_LONGEST_TRANSFORM);
    return PLYECHO_OK;
}

static bool take_memory(struct plyecho_analytic *analytic)
{
    size_t length = analytic->length;
    size_t real = length * sizeof(float);
    size_t pairs = length * sizeof(fftwf_complex);
    analytic->block = pe_alloc(1, 2 * pe_aligned_size(real) + 2 * pe_aligned_size(pairs) +
                                      pe_aligned_size(0));
    if (analytic->block == NULL)
        return false;
    char *at = analytic->block;
    analytic->padded = pe_aligned_part(&at, real);
    analytic->gain = pe_aligned_part(&at, real);
    analytic->bins = pe_aligned_part(&at, pairs);
    analytic->signal = pe_aligned_part(&at, pairs);
    return true;
}

static bool make_plans(struct plyecho_analytic *analytic)
{
    int length = (int)analytic->length;
    analytic->forward = fftwf_plan_dft_r2c_1d(length, analytic->padded, analytic->bins,
                                              FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    analytic->to_analytic =
        fftwf_plan_dft_1d(length, analytic->bins, analytic->signal, FFTW_BACKWARD,
                          FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    analytic->to_in_phase =
        fftwf_plan_dft_c2r_1d(length, analytic->bins, (float *)analytic->signal, FFTW_ESTIMATE);
    return analytic->forward != NULL && analytic->to_analytic != NULL &&
           analytic->to_in_phase != NULL;
}

static void shape_band(struct plyecho_analytic *analytic, const struct plyecho_band *band)
{
    double sample_rate_hz = analytic->sample_rate_hz, nyquist = sample_rate_hz / 2.0;
    struct edges edges = band_edges(band, nyquist);
    size_t bins = analytic->length / 2 + 1;
    analytic->shaped = true;
    analytic->first_bin = bins;
    analytic->last_bin = bins;
    for (size_t k = 0; k < bins; k++) {
        double f = (double)k * sample_rate_hz / (double)analytic->length;
        double gain = gain_at(band, &edges, f);
        if (gain > 0.0 && analytic->first_bin == bins)
            analytic->first_bin = k;
        if (gain == 0.0 && analytic->first_bin < bins) {
            analytic->last_bin = k;
            break;
        }
        if (analytic->first_bin < bins)
            analytic->gain[k - analytic->first_bin] = (float)gain;
    }
}

/* The line's ends are means over one period of low_hz, so that an echo at an end, whose waves
 * are shorter, hardly tilts the line; over a quarter of the record at most. */
static size_t line_end_samples(size_t samples, double sample_rate_hz,
                               const struct plyecho_band *band)
{
    if (band->low_hz <= 0.0)
        return 0;
    double most = ceil((double)samples / 4.0);
    return (size_t)fmin(ceil(sample_rate_hz / band->low_hz), most);
}

static void take_band(struct plyecho_analytic *analytic, const struct plyecho_band *band)
{
    shape_band(analytic, band);
    analytic->end_samples = line_end_samples(analytic->samples, analytic->sample_rate_hz, band);
}

bool plyecho_analytic_retune(struct plyecho_analytic *analytic, const struct plyecho_band *band)
{
    size_t length;
    if (!analytic->shaped ||
        check_band(band, analytic->sample_rate_hz / 2.0, NULL) != PLYECHO_OK ||
        choose_length(analytic->samples, analytic->sample_rate_hz, band, &length, NULL) !=
            PLYECHO_OK ||
        length != analytic->length)
        return false;
    take_band(analytic, band);
    return true;
}

enum plyecho_code plyecho_analytic_new(struct plyecho_analytic **analytic, size_t samples,
                                       double sample_rate_hz, const struct plyecho_band *band,
                                       struct plyecho_error *err)
{
    *analytic = NULL;
    if (samples < 2)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a trace needs at least 2 samples");
    if (!(sample_rate_hz > 0.0 && isfinite(sample_rate_hz)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "sample rate %g Hz: needs to be above 0",
                            sample_rate_hz);
    enum plyecho_code code =
        band == NULL ? PLYECHO_OK : check_band(band, sample_rate_hz / 2.0, err);
    if (code != PLYECHO_OK)
        return code;
    struct plyecho_analytic *made = pe_alloc(1, sizeof *made);
    if (made == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a filter");
    made->samples = samples;
    made->sample_rate_hz = sample_rate_hz;
    code = choose_length(samples, sample_rate_hz, band, &made->length, err);
    if (code != PLYECHO_OK)
        goto fail;
    if (!take_memory(made) || !make_plans(made)) {
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a filter of %zu samples",
                            made->length);
        goto fail;
    }
    /* An estimating planner leaves the arrays alone, so far; FFTW does not promise it. */
    memset(made->padded, 0, made->length * sizeof *made->padded);
    memset(made->bins, 0, made->length * sizeof *made->bins);
    if (band != NULL)
        take_band(made, band);
    *analytic = made;
    return PLYECHO_OK;
fail:
    plyecho_analytic_free(made);
    return code;
}

void plyecho_analytic_free(struct plyecho_analytic *analytic)
{
    if (analytic == NULL)
        return;
    if (analytic->forward != NULL)
        fftwf_destroy_plan(analytic->forward);
    if (analytic->to_analytic != NULL)
        fftwf_destroy_plan(analytic->to_analytic);
    if (analytic->to_in_phase != NULL)
        fftwf_destroy_plan(analytic->to_in_phase);
    free(analytic->block);
    free(analytic);
}

/* ---- running ---- */

static float mean(const float *x, size_t n)
{
    return (float)(pe_sum(x, n) / (double)n);
}

/* Copy into the padded scratch, less the straight line through the ends' means. */
static void load(struct plyecho_analytic *analytic, const float *amplitude)
{
    size_t samples = analytic->samples;
    size_t ends = analytic->end_samples;
    float *padded = analytic->padded;
    if (ends == 0) {
        memcpy(padded, amplitude, samples * sizeof *padded);
        return;
    }
    float first = mean(amplitude, ends);
    float last = mean(amplitude + samples - ends, ends);
    float middle = 0.5f * (float)(ends - 1); /* where the first mean stands */
    float slope = (last - first) / (float)(samples - ends);
    int count = (int)samples; /* an int turns into a float faster than a size_t */
    for (int i = 0; i < count; i++)
        padded[i] = amplitude[i] - (first + slope * ((float)i - middle));
}

static void shape(struct plyecho_analytic *analytic)
{
    if (!analytic->shaped)
        return;
    size_t bins = analytic->length / 2 + 1;
    size_t first = analytic->first_bin;
    size_t count = analytic->last_bin - first;
    float *pass = (float *)(analytic->bins + first);
    const float *gain = analytic->gain;
    memset(analytic->bins, 0, first * sizeof *analytic->bins);
    for (size_t k = 0; k < count; k++) {
        pass[2 * k] *= gain[k];
        pass[2 * k + 1] *= gain[k];
    }
    memset(analytic->bins + analytic->last_bin, 0,
           (bins - analytic->last_bin) * sizeof *analytic->bins);
}

static void run_in_phase(struct plyecho_analytic *analytic, float *in_phase)
{
    fftwf_execute(analytic->to_in_phase);
    const float *signal = (const float *)analytic->signal;
    float scale = 1.0f / (float)analytic->length;
    for (size_t i = 0; i < analytic->samples; i++)
        in_phase[i] = scale * signal[i];
}

/* Positive frequencies count twice, 0 Hz and the Nyquist frequency once, negative ones not. */
static void run_both(struct plyecho_analytic *analytic, float *in_phase, float *quadrature)
{
    size_t length = analytic->length;
    analytic->bins[0][0] *= 0.5f;
    if (length % 2 == 0)
        analytic->bins[length / 2][0] *= 0.5f;
    fftwf_execute(analytic->to_analytic);
    const float *signal = (const float *)analytic->signal;
    float scale = 2.0f / (float)length;
    for (size_t i = 0; i < analytic->samples; i++) {
        in_phase[i] = scale * signal[2 * i];
        quadrature[i] = scale * signal[2 * i + 1];
    }
}

void plyecho_analytic_run(struct plyecho_analytic *analytic, const float *amplitude,
                          float *in_phase, float *quadrature)
{
    load(analytic, amplitude);
    fftwf_execute(analytic->forward);
    shape(analytic);
    if (quadrature == NULL)
        run_in_phase(analytic, in_phase);
    else
        run_both(analytic, in_phase, quadrature);
}

void plyecho_envelope(const float *in_phase, const float *quadrature, size_t samples,
                      float *envelope)
{
    for (size_t i = 0; i < samples; i++)
        envelope[i] = sqrtf(in_phase[i] * in_phase[i] + quadrature[i] * quadrature[i]);
}
