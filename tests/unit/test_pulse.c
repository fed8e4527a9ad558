/* Probe pulses: their band and shape are those asked for, and spectrum and samples agree. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/pulse.h>

static const double pi = 3.14159265358979323846;

enum { SAMPLES = 4096 };
static const double rate_hz = 100e6;

/* Spectrum of the samples by its definition, not by the library's formula. */
static double complex sampled_spectrum(const double *value, double start_s, double frequency_hz)
{
    double complex sum = 0.0;
    for (int i = 0; i < SAMPLES; i++)
        sum += value[i] * cexp(-I * (2.0 * pi * frequency_hz * (start_s + i / rate_hz)));
    return sum / rate_hz;
}

static const double bandwidths[] = {0.45, 0.6, 0.8};
static const double tails[] = {0.0, 1.0, 2.0, 3.0};
static const double phases[] = {0.0, 1.0, -pi / 2.0};

/* Upper or lower frequency where the sampled spectrum has half of its maximum's magnitude. */
static double half_amplitude_hz(const double *value, double start_s, double from_hz,
                                double step_hz, double half)
{
    double previous = 0.0;
    for (double f = from_hz; f > 0.0 && f < rate_hz / 2.0; f += step_hz) {
        double level = cabs(sampled_spectrum(value, start_s, f));
        if (level < half)
            return f - step_hz * (half - level) / (previous - level);
        previous = level;
    }
    return NAN;
}

/* Wide bands and long tails together reach down to 0 Hz, where the two sides of the spectrum
 * meet and shift the edges: the header names the limit. */
static void the_measured_band_is_the_one_asked_for(void **state)
{
    (void)state;
    const double start_s = -8e-6;
    double value[SAMPLES];
    for (size_t b = 0; b < 3; b++)
        for (size_t t = 0; t < 4; t++)
            for (size_t k = 0; k < 3 && bandwidths[b] * tails[t] <= 1.8; k++) {
                struct plyecho_pulse pulse;
                assert_int_equal(plyecho_pulse_from_band(&pulse, 10e6, bandwidths[b], phases[k],
                                                         tails[t], NULL),
                                 PLYECHO_OK);
                plyecho_pulse_samples(&pulse, rate_hz, start_s, SAMPLES, value);
                double largest = 0.0;
                for (double f = 8e6; f < 12e6; f += 50e3)
                    largest = fmax(largest, cabs(sampled_spectrum(value, start_s, f)));
                double low = half_amplitude_hz(value, start_s, 9e6, -50e3, 0.5 * largest);
                double high = half_amplitude_hz(value, start_s, 11e6, 50e3, 0.5 * largest);
                assert_true(fabs((high + low) / 2.0 / 10e6 - 1.0) < 0.02);
                assert_true(fabs((high - low) / 10e6 / bandwidths[b] - 1.0) < 0.02);
            }
}

static void spectrum_and_samples_are_one_pulse(void **state)
{
    (void)state;
    double value[SAMPLES];
    for (size_t t = 0; t < 4; t++) {
        struct plyecho_pulse pulse;
        plyecho_pulse_from_band(&pulse, 7e6, 0.6, 0.4, tails[t], NULL);
        plyecho_pulse_samples(&pulse, rate_hz, -8e-6, SAMPLES, value);
        double largest = cabs(plyecho_pulse_spectrum(&pulse, 7e6));
        for (double f = -20e6; f < 20e6; f += 0.9e6)
            assert_true(cabs(plyecho_pulse_spectrum(&pulse, f) -
                             sampled_spectrum(value, -8e-6, f)) < 1e-7 * largest);
    }
}

/* A probe that rings down: up fast, down slowly, the maximum at time 0 and 1. */
static void a_tail_makes_it_lopsided(void **state)
{
    (void)state;
    for (size_t t = 0; t < 4; t++) {
        struct plyecho_pulse pulse;
        plyecho_pulse_from_band(&pulse, 10e6, 0.6, 0.0, tails[t], NULL);
        assert_true(fabs(plyecho_pulse_envelope(&pulse, 0.0) - 1.0) < 1e-12);
        assert_true(plyecho_pulse_envelope(&pulse, 1e-9) < 1.0);
        assert_true(plyecho_pulse_envelope(&pulse, -1e-9) < 1.0);
        double before, after;
        plyecho_pulse_extent(&pulse, 0.1, &before, &after);
        assert_true(fabs(plyecho_pulse_envelope(&pulse, -before) - 0.1) < 1e-9);
        assert_true(fabs(plyecho_pulse_envelope(&pulse, after) - 0.1) < 1e-9);
        if (tails[t] == 0.0)
            assert_true(fabs(after / before - 1.0) < 1e-9);
        else
            assert_true(after / before > 1.0 + 0.2 * tails[t]);
        plyecho_pulse_extent(&pulse, 1e-6, &before, &after);
        assert_true(plyecho_pulse_envelope(&pulse, 2.0 * after) < 1e-6);
        /* far out the tail falls by e in each fall time */
        if (tails[t] > 0.0) {
            double late = plyecho_pulse_envelope(&pulse, after);
            double later = plyecho_pulse_envelope(&pulse, after + pulse.fall_s);
            assert_true(fabs(late / later - exp(1.0)) < 1e-6);
        }
    }
}

/* Short falls must not overflow on the way, and come to the symmetric pulse. */
static void a_short_tail_tends_to_none(void **state)
{
    (void)state;
    struct plyecho_pulse none, little;
    plyecho_pulse_from_band(&none, 10e6, 0.6, 0.0, 0.0, NULL);
    assert_int_equal(plyecho_pulse_from_band(&little, 10e6, 0.6, 0.0, 0.01, NULL), PLYECHO_OK);
    for (double t = -0.3e-6; t < 0.3e-6; t += 7e-9)
        assert_true(fabs(plyecho_pulse_value(&none, t) - plyecho_pulse_value(&little, t)) <
                    1e-3);
}

static void refused(double centre_hz, double bandwidth, double phase, double tail,
                    const char *words)
{
    struct plyecho_pulse pulse;
    struct plyecho_error err;
    assert_int_equal(plyecho_pulse_from_band(&pulse, centre_hz, bandwidth, phase, tail, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, words));
}

static void impossible_pulses_are_refused(void **state)
{
    (void)state;
    refused(0.0, 0.6, 0.0, 0.0, "centre frequency of 0 Hz");
    refused(NAN, 0.6, 0.0, 0.0, "centre frequency");
    refused(10e6, 0.0, 0.0, 0.0, "bandwidth of 0; give 0.05 to 1.2");
    refused(10e6, 0.6, INFINITY, 0.0, "phase");
    refused(10e6, 0.6, 0.0, -1.0, "tail of -1; give 0 to 20");
    refused(10e6, 0.6, 0.0, 1e-3, "0.01 and more");
    struct plyecho_pulse pulse;
    assert_int_equal(plyecho_pulse_from_times(&pulse, 10e6, 0.0, 0.0, 1e-6, NULL),
                     PLYECHO_BAD_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_measured_band_is_the_one_asked_for),
        cmocka_unit_test(spectrum_and_samples_are_one_pulse),
        cmocka_unit_test(a_tail_makes_it_lopsided),
        cmocka_unit_test(a_short_tail_tends_to_none),
        cmocka_unit_test(impossible_pulses_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
