/* pulse.h - probe pulses from a few numbers
 *
 * p(t) = e(t) cos(2 pi centre t + phase), with e(t) an exponential decay smoothed by a
 * Gaussian: it rises within `rise_s` (standard deviation) and falls with the time constant
 * `fall_s`. A fall of 0 leaves the Gaussian alone, the symmetric pulse. Its spectrum E(w) =
 * exp(-(w rise)^2 / 2) / (1 + j w fall) is band-limited like a Gaussian whatever the fall. Time
 * 0 is the envelope's maximum, which is 1.
 */
#ifndef PLYECHO_PULSE_H
#define PLYECHO_PULSE_H

#include <complex.h>
#include <stddef.h>

#include <plyecho/error.h>

/* Filled by the functions below. */
struct plyecho_pulse {
    double centre_hz;
    double phase_rad;
    double rise_s;
    double fall_s;
    double peak_s; /* from the start of the decay to the envelope's maximum */
    double scale;  /* makes that maximum 1 */
};

enum { PLYECHO_MAX_TAIL = 20 };

/* A pulse of the given centre frequency (> 0) and relative -6 dB (half amplitude) bandwidth
 * (0.05 to 1.2), which is the width of |E| over the centre frequency. tail is fall/rise: 0 for
 * a symmetric pulse, or 0.01 to PLYECHO_MAX_TAIL; about 2 is a probe that rings down. Where
 * bandwidth x tail is above 1.8 the spectrum reaches 0 Hz and the band of the real pulse is off
 * by more than 2 %. */
PLYECHO_API enum plyecho_code plyecho_pulse_from_band(struct plyecho_pulse *pulse,
                                                      double centre_hz, double bandwidth,
                                                      double phase_rad, double tail,
                                                      struct plyecho_error *err);

/* A pulse of the given rise (> 0) and fall (>= 0) times: the same limits on fall/rise, but up
 * to any length. */
PLYECHO_API enum plyecho_code plyecho_pulse_from_times(struct plyecho_pulse *pulse,
                                                       double centre_hz, double phase_rad,
                                                       double rise_s, double fall_s,
                                                       struct plyecho_error *err);

PLYECHO_API double plyecho_pulse_envelope(const struct plyecho_pulse *pulse, double time_s);

PLYECHO_API double plyecho_pulse_value(const struct plyecho_pulse *pulse, double time_s);

/* Fourier transform, the integral of p(t) exp(-j 2 pi f t) dt, in 1/Hz. */
PLYECHO_API double complex plyecho_pulse_spectrum(const struct plyecho_pulse *pulse,
                                                  double frequency_hz);

/* Outside -before_s to after_s the envelope is below `level` (0 to 1, exclusive). */
PLYECHO_API void plyecho_pulse_extent(const struct plyecho_pulse *pulse, double level,
                                      double *before_s, double *after_s);

/* value[i] = p(start_s + i / sample_rate_hz) for i < samples. */
PLYECHO_API void plyecho_pulse_samples(const struct plyecho_pulse *pulse, double sample_rate_hz,
                                       double start_s, size_t samples, double *value);

#endif
