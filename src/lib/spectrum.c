#include <plyecho/spectrum.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "fourier.h"
#include "variance.h"

static const double ends_share = 0.1; /* of PLYECHO_TAPER_ENDS, at each end */

struct plyecho_spectrum {
    size_t samples;
    size_t length; /* of the transform */
    double sample_rate_hz;
    void *block;         /* holds the two arrays below */
    float *padded;       /* length long */
    fftwf_complex *bins; /* length / 2 + 1 long */
    fftwf_plan forward;
};

static enum plyecho_code make_parts(struct plyecho_spectrum *spectrum,
                                    struct plyecho_error *err)
{
    size_t length = spectrum->length;
    size_t real = length * sizeof(float);
    size_t pairs = (length / 2 + 1) * sizeof(fftwf_complex);
    spectrum->block =
        pe_alloc(1, pe_aligned_size(real) + pe_aligned_size(pairs) + pe_aligned_size(0));
    if (spectrum->block == NULL)
        goto no_memory;
    char *at = spectrum->block;
    spectrum->padded = pe_aligned_part(&at, real);
    spectrum->bins = pe_aligned_part(&at, pairs);
    spectrum->forward = fftwf_plan_dft_r2c_1d((int)length, spectrum->padded, spectrum->bins,
                                              FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    if (spectrum->forward != NULL)
        return PLYECHO_OK;
no_memory:
    return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a spectrum of %zu samples",
                        length);
}

enum plyecho_code plyecho_spectrum_new(struct plyecho_spectrum **spectrum, size_t samples,
                                       size_t padding, double sample_rate_hz,
                                       struct plyecho_error *err)
{
    *spectrum = NULL;
    if (samples < 2 || padding < 1)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a spectrum needs at least 2 samples");
    if (!(sample_rate_hz > 0.0 && isfinite(sample_rate_hz)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "sample rate %g Hz: needs to be above 0",
                            sample_rate_hz);
    if (samples > PE_LONGEST_TRANSFORM / padding || pe_good_length(samples * padding) == 0)
        return plyecho_fail(err, PLYECHO_TOO_LARGE, "a spectrum of %zu samples: at most %zu",
                            samples, PE_LONGEST_TRANSFORM / padding);
    struct plyecho_spectrum *made = pe_alloc(1, sizeof *made);
    if (made == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a spectrum");
    made->samples = samples;
    made->length = pe_good_length(samples * padding);
    made->sample_rate_hz = sample_rate_hz;
    enum plyecho_code code = make_parts(made, err);
    if (code != PLYECHO_OK) {
        plyecho_spectrum_free(made);
        return code;
    }
    *spectrum = made;
    return PLYECHO_OK;
}

void plyecho_spectrum_free(struct plyecho_spectrum *spectrum)
{
    if (spectrum == NULL)
        return;
    if (spectrum->forward != NULL)
        fftwf_destroy_plan(spectrum->forward);
    free(spectrum->block);
    free(spectrum);
}

size_t plyecho_spectrum_bins(const struct plyecho_spectrum *spectrum)
{
    return spectrum->length / 2 + 1;
}

double plyecho_spectrum_bin_hz(const struct plyecho_spectrum *spectrum)
{
    return spectrum->sample_rate_hz / (double)spectrum->length;
}

/* Multiply with a window that rises over `edge` samples at each end: 0.5 - 0.5 cos(pi (i + 0.5) / edge),
 * the angle turned on from sample to sample. */
static void taper_ends(float *x, size_t samples, double edge)
{
    double turn_re = cos(PE_PI / edge), turn_im = sin(PE_PI / edge);
    double re = cos(0.5 * PE_PI / edge), im = sin(0.5 * PE_PI / edge);
    for (size_t i = 0; i < samples / 2 && (double)i + 0.5 < edge; i++) {
        float weight = (float)(0.5 - 0.5 * re);
        x[i] *= weight;
        x[samples - 1 - i] *= weight;
        double turned = re * turn_re - im * turn_im;
        im = re * turn_im + im * turn_re;
        re = turned;
    }
}

static void load(struct plyecho_spectrum *spectrum, const float *amplitude, size_t samples,
                 enum plyecho_taper taper)
{
    float mean = (float)(pe_sum(amplitude, samples) / (double)samples);
    for (size_t i = 0; i < samples; i++)
        spectrum->padded[i] = amplitude[i] - mean;
    if (taper == PLYECHO_TAPER_ENDS)
        taper_ends(spectrum->padded, samples, ends_share * (double)samples);
    else if (taper == PLYECHO_TAPER_HANN)
        taper_ends(spectrum->padded, samples, 0.5 * (double)samples);
    memset(spectrum->padded + samples, 0, (spectrum->length - samples) * sizeof(float));
}

void plyecho_spectrum_run(struct plyecho_spectrum *spectrum, const float *amplitude,
                          size_t samples, enum plyecho_taper taper, float *power)
{
    load(spectrum, amplitude, samples, taper);
    fftwf_execute(spectrum->forward);
    size_t bins = spectrum->length / 2 + 1;
    double rate = spectrum->sample_rate_hz;
    float scale = (float)(2.0 / (rate * rate)); /* twice: the negative frequencies' share */
    for (size_t k = 0; k < bins; k++) {
        float re = spectrum->bins[k][0], im = spectrum->bins[k][1];
        power[k] = scale * (re * re + im * im);
    }
    power[0] *= 0.5f;
    if (spectrum->length % 2 == 0)
        power[bins - 1] *= 0.5f;
}

/* ---- the band of an echo ---- */

/* Place of the highest point round bin k: parabola through the logarithms. */
static double peak_between(const float *power, size_t bins, size_t k)
{
    if (k == 0 || k + 1 >= bins || power[k - 1] <= 0.0f || power[k + 1] <= 0.0f)
        return (double)k;
    double a = log(power[k - 1]), b = log(power[k]), c = log(power[k + 1]);
    double bend = a - 2.0 * b + c;
    return bend < 0.0 ? (double)k + 0.5 * (a - c) / bend : (double)k;
}

/* Where between bins `inside` and its neighbour `outside` the amplitude passes through `half`.
 */
static double crossing(const float *power, size_t inside, size_t outside, double half)
{
    double a = sqrt(power[inside]), b = sqrt(power[outside]);
    double share = (a - half) / (a - b);
    return (double)inside + share * ((double)outside - (double)inside);
}

bool plyecho_spectral_band_find(const float *power, size_t bins, double bin_hz, double from_hz,
                                struct plyecho_spectral_band *band)
{
    *band = (struct plyecho_spectral_band){0};
    size_t from = (size_t)fmin(ceil(fmax(from_hz, 0.0) / bin_hz), (double)bins);
    size_t peak = from;
    for (size_t k = from; k < bins; k++)
        if (power[k] > power[peak])
            peak = k;
    if (peak >= bins || power[peak] <= 0.0f)
        return false;
    double half = 0.5 * sqrt(power[peak]);
    double lower = 0.0, upper = (double)(bins - 1);
    for (size_t k = peak; k > from; k--)
        if (sqrt(power[k - 1]) < half) {
            lower = crossing(power, k, k - 1, half);
            break;
        }
    for (size_t k = peak; k + 1 < bins; k++)
        if (sqrt(power[k + 1]) < half) {
            upper = crossing(power, k, k + 1, half);
            break;
        }
    band->peak_hz = bin_hz * peak_between(power, bins, peak);
    band->lower_hz = bin_hz * lower;
    band->upper_hz = bin_hz * upper;
    band->centre_hz = 0.5 * (band->lower_hz + band->upper_hz);
    band->geometric_centre_hz = sqrt(band->lower_hz * band->upper_hz);
    band->bandwidth_hz = band->upper_hz - band->lower_hz;
    band->relative_bandwidth = band->bandwidth_hz / band->centre_hz;
    return true;
}
