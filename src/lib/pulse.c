#include <plyecho/pulse.h>

#include <math.h>

#include <gsl/gsl_sf_erf.h>

#include "pi.h"

/* Logarithm of the envelope before shift and scale: of exp(-t/fall) from 0 on, smoothed by a
 * Gaussian of unit area. The logarithm of erfc keeps short falls from overflowing. */
static double log_decay(double rise, double fall, double t)
{
    if (fall == 0.0)
        return -0.5 * (t / rise) * (t / rise);
    double ratio = rise / fall;
    return 0.5 * ratio * ratio - t / fall + gsl_sf_log_erfc((ratio - t / rise) / sqrt(2.0)) -
           log(2.0);
}

/* The envelope is log-concave, so it has one maximum: ternary search between the decay's start,
 * before which it rises, and the time by which it has fallen. */
static double find_peak(double rise, double fall)
{
    double low = 0.0, high = fall == 0.0 ? 0.0 : fall + 6.0 * rise;
    for (int i = 0; i < 200; i++) {
        double third = (high - low) / 3.0;
        if (log_decay(rise, fall, low + third) < log_decay(rise, fall, high - third))
            low += third;
        else
            high -= third;
    }
    return 0.5 * (low + high);
}

enum plyecho_code plyecho_pulse_from_times(struct plyecho_pulse *pulse, double centre_hz,
                                           double phase_rad, double rise_s, double fall_s,
                                           struct plyecho_error *err)
{
    if (!(isfinite(centre_hz) && centre_hz > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a centre frequency of %g Hz; it must be above 0", centre_hz);
    if (!isfinite(phase_rad))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "the pulse's phase is not a number");
    if (!(isfinite(rise_s) && rise_s > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a pulse that rises in %g s; it must be above 0", rise_s);
    if (!(isfinite(fall_s) && (fall_s == 0.0 || fall_s >= 0.01 * rise_s)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a pulse that falls in %g of its rise; give 0, or 0.01 and more",
                            fall_s / rise_s);
    *pulse = (struct plyecho_pulse){
        .centre_hz = centre_hz, .phase_rad = phase_rad, .rise_s = rise_s, .fall_s = fall_s};
    pulse->peak_s = find_peak(rise_s, fall_s);
    pulse->scale = exp(-log_decay(rise_s, fall_s, pulse->peak_s));
    return PLYECHO_OK;
}

/* The x = w rise at which |E| is one half: x^2/2 + ln(1 + (tail x)^2)/2 = ln 2, by bisection.
 */
static double half_amplitude_point(double tail)
{
    double low = 0.0, high = sqrt(2.0 * log(2.0));
    for (int i = 0; i < 100; i++) {
        double x = 0.5 * (low + high);
        if (0.5 * x * x + 0.5 * log1p(tail * tail * x * x) < log(2.0))
            low = x;
        else
            high = x;
    }
    return 0.5 * (low + high);
}

enum plyecho_code plyecho_pulse_from_band(struct plyecho_pulse *pulse, double centre_hz,
                                          double bandwidth, double phase_rad, double tail,
                                          struct plyecho_error *err)
{
    if (!(bandwidth >= 0.05 && bandwidth <= 1.2))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a relative bandwidth of %g; give 0.05 to 1.2", bandwidth);
    if (!(tail >= 0.0 && tail <= PLYECHO_MAX_TAIL))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a tail of %g; give 0 to %d", tail,
                            PLYECHO_MAX_TAIL);
    double rise = half_amplitude_point(tail) / (PE_PI * bandwidth * centre_hz);
    return plyecho_pulse_from_times(pulse, centre_hz, phase_rad, rise, tail * rise, err);
}

double plyecho_pulse_envelope(const struct plyecho_pulse *pulse, double time_s)
{
    return pulse->scale * exp(log_decay(pulse->rise_s, pulse->fall_s, time_s + pulse->peak_s));
}

double plyecho_pulse_value(const struct plyecho_pulse *pulse, double time_s)
{
    return plyecho_pulse_envelope(pulse, time_s) *
           cos(2.0 * PE_PI * pulse->centre_hz * time_s + pulse->phase_rad);
}

static double complex envelope_spectrum(const struct plyecho_pulse *pulse, double frequency_hz)
{
    double omega = 2.0 * PE_PI * frequency_hz;
    double gauss = exp(-0.5 * omega * omega * pulse->rise_s * pulse->rise_s);
    double complex decay = pulse->fall_s == 0.0
                               ? pulse->rise_s * PE_SQRT_TWO_PI
                               : pulse->fall_s / (1.0 + I * omega * pulse->fall_s);
    return pulse->scale * gauss * decay * cexp(I * omega * pulse->peak_s);
}

double complex plyecho_pulse_spectrum(const struct plyecho_pulse *pulse, double frequency_hz)
{
    double complex turn = cexp(I * pulse->phase_rad);
    return 0.5 * (turn * envelope_spectrum(pulse, frequency_hz - pulse->centre_hz) +
                  conj(turn) * envelope_spectrum(pulse, frequency_hz + pulse->centre_hz));
}

/* Where the envelope, on the side of `sign`, has come down to `level`. */
static double reach(const struct plyecho_pulse *pulse, double sign, double level)
{
    double low = 0.0, high = pulse->rise_s;
    while (plyecho_pulse_envelope(pulse, sign * high) >= level)
        high *= 2.0;
    for (int i = 0; i < 60; i++) {
        double t = 0.5 * (low + high);
        if (plyecho_pulse_envelope(pulse, sign * t) >= level)
            low = t;
        else
            high = t;
    }
    return high;
}

void plyecho_pulse_extent(const struct plyecho_pulse *pulse, double level, double *before_s,
                          double *after_s)
{
    *before_s = reach(pulse, -1.0, level);
    *after_s = reach(pulse, 1.0, level);
}

void plyecho_pulse_samples(const struct plyecho_pulse *pulse, double sample_rate_hz,
                           double start_s, size_t samples, double *value)
{
    for (size_t i = 0; i < samples; i++)
        value[i] = plyecho_pulse_value(pulse, start_s + (double)i / sample_rate_hz);
}
