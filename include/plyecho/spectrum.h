/* spectrum.h - power spectrum of a stretch of trace, and what it says of an echo
 */
#ifndef PLYECHO_SPECTRUM_H
#define PLYECHO_SPECTRUM_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

/* Window that a stretch is multiplied with before it is transformed (Harris, Proc. IEEE 66
 * (1978) 51-83, from memory). */
enum plyecho_taper {
    PLYECHO_TAPER_NONE, /* for an echo that begins and ends within the stretch */
    PLYECHO_TAPER_ENDS, /* raised cosine over each end's tenth: for an echo among others */
    PLYECHO_TAPER_HANN  /* raised cosine over all of it: for lines and noise */
};

struct plyecho_spectrum;

/* Plan for stretches of up to `samples` (at least 2) at sample_rate_hz. The stretch is padded
 * with zeros to at least `padding` (at least 1) times `samples`, which narrows the bins: 4 and
 * more read a peak well. Errors and threads as plyecho_analytic_new. */
PLYECHO_API enum plyecho_code plyecho_spectrum_new(struct plyecho_spectrum **spectrum,
                                                   size_t samples, size_t padding,
                                                   double sample_rate_hz,
                                                   struct plyecho_error *err);

/* Bin k stands for k x bin_hz; the last bin for the Nyquist frequency. */
PLYECHO_API size_t plyecho_spectrum_bins(const struct plyecho_spectrum *spectrum);
PLYECHO_API double plyecho_spectrum_bin_hz(const struct plyecho_spectrum *spectrum);

/* One-sided energy spectral density of amplitude[0..samples), 2 <= samples <= planned, its mean
 * taken off first: power[k], in amplitude^2 s/Hz, `bins` long. Without a taper its sum times
 * bin_hz is the stretch's energy, the sum of squares over the sample rate (Parseval). */
PLYECHO_API void plyecho_spectrum_run(struct plyecho_spectrum *spectrum, const float *amplitude,
                                      size_t samples, enum plyecho_taper taper, float *power);

/* NULL is fine. */
PLYECHO_API void plyecho_spectrum_free(struct plyecho_spectrum *spectrum);

/* The band of an echo: from the highest bin outwards to where the amplitude first falls to half
 * (-6.02 dB). Trade usage has both centres; they differ by several per cent in a wide band, so
 * each has its name. */
struct plyecho_spectral_band {
    double peak_hz;             /* highest point, read between the bins */
    double lower_hz;            /* f_l; 0 where the spectrum does not fall to half below */
    double upper_hz;            /* f_u; the Nyquist frequency likewise */
    double centre_hz;           /* arithmetic: (f_l + f_u) / 2 */
    double geometric_centre_hz; /* sqrt(f_l f_u) */
    double bandwidth_hz;        /* f_u - f_l */
    double relative_bandwidth;  /* (f_u - f_l) / centre_hz, 0 to 2 */
};

/* Measure it between from_hz and the Nyquist frequency. false, and *band all zero, where there
 * is no power there. */
PLYECHO_API bool plyecho_spectral_band_find(const float *power, size_t bins, double bin_hz,
                                            double from_hz, struct plyecho_spectral_band *band);

#endif
