/* Echoes are found where they are, between samples, and measured as they are. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/echo.h>

#include "made_trace.h"

static const double pi = 3.14159265358979323846;

static void bursts_are_found_between_samples(void **state)
{
    (void)state;
    for (double shift = 0.0; shift < 0.01; shift += 0.0013) {
        struct plyecho_traces t = made_empty();
        made_burst(&t, 8.0 + shift, 1.0, 5.0, 25.0, 0.7);
        made_burst(&t, 11.0 - shift, 0.25, 5.0, 25.0, 0.7 + pi);
        made_noise(&t, 1e-4, 5);
        struct plyecho_conditioned c;
        struct plyecho_conditioner *conditioner = made_ready(&t, &c);
        struct plyecho_echo echoes[8];
        assert_int_equal(plyecho_echoes_find(&c, NULL, echoes, 8), 2);
        assert_float_equal(echoes[0].time_s * 1e6, 8.0 + shift, 0.001);
        assert_float_equal(echoes[1].time_s * 1e6, 11.0 - shift, 0.001);
        assert_float_equal(echoes[0].amplitude, 1.0, 0.015); /* the pass band takes 1 % */
        assert_float_equal(echoes[0].level_db, 0.0, 1e-9);
        assert_float_equal(echoes[1].level_db, 20.0 * log10(0.25), 0.1);
        assert_float_equal(echoes[0].phase_rad, 0.7, 0.03);
        assert_float_equal(remainder(echoes[1].phase_rad - 0.7 - pi, 2.0 * pi), 0.0, 0.03);
        assert_int_equal(echoes[0].polarity, 1);
        assert_int_equal(echoes[1].polarity, -1);
        plyecho_conditioner_free(conditioner);
        plyecho_traces_clear(&t);
    }
}

static void signal_to_noise_is_peak_over_deviation(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    made_burst(&t, 8.0, 1.0, 5.0, 25.0, 0.0);
    made_noise(&t, 0.01, 6);
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct plyecho_band band = {1e6, 49e6}; /* nearly all of the noise */
    assert_int_equal(
        plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &band, NULL),
        PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, NULL), PLYECHO_OK);
    struct plyecho_echo echo;
    assert_int_equal(plyecho_echoes_find(&c, NULL, &echo, 1), 1);
    assert_float_equal(echo.snr_db, 40.0, 1.5);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void noise_alone_gives_no_echo(void **state)
{
    (void)state;
    int found = 0;
    for (unsigned long seed = 1; seed <= 60; seed++) {
        struct plyecho_traces t = made_empty();
        made_noise(&t, 1.0, seed);
        struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
        struct plyecho_conditioner *conditioner;
        struct plyecho_conditioned c;
        struct plyecho_band band = {5e6, 15e6};
        assert_int_equal(
            plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &band, NULL),
            PLYECHO_OK);
        assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, NULL), PLYECHO_OK);
        struct plyecho_echo echoes[8];
        found += (int)plyecho_echoes_find(&c, NULL, echoes, 8);
        plyecho_conditioner_free(conditioner);
        plyecho_traces_clear(&t);
    }
    /* 5 deviations, Rayleigh: exp(-12.5) for each of some 400 independent values a record: 0.1 in
     * 60 records, more where the noise is underestimated; 4 or more has p < 1e-3 even at 0.5 */
    assert_in_range(found, 0, 3);
}

/* An envelope made by hand; its in-phase part is itself. */
static struct plyecho_conditioned by_hand(const float *envelope, size_t samples)
{
    return (struct plyecho_conditioned){.samples = samples,
                                        .sample_rate_hz = 1e6,
                                        .centre_hz = 1e5,
                                        .in_phase = envelope,
                                        .quadrature = envelope,
                                        .envelope = envelope,
                                        .noise = 0.1};
}

static void equal_top_samples_are_one_echo_at_their_middle(void **state)
{
    (void)state;
    float envelope[64] = {0};
    for (size_t i = 0; i < 64; i++)
        envelope[i] = 1.0f + 0.001f * (float)i;
    envelope[30] = envelope[31] = envelope[32] = 9.0f;
    envelope[29] = envelope[33] = 5.0f;
    struct plyecho_conditioned c = by_hand(envelope, 64);
    struct plyecho_echo echoes[4];
    assert_int_equal(plyecho_echoes_find(&c, NULL, echoes, 4), 1);
    assert_float_equal(echoes[0].time_s * 1e6, 31.0, 0.5);
}

/* The parabola through the logarithms is exact for a Gaussian, so only float's rounding is left. */
static void a_gaussian_envelope_is_measured_exactly(void **state)
{
    (void)state;
    for (double shift = -0.5; shift <= 0.5; shift += 0.125) {
        float envelope[64];
        for (size_t i = 0; i < 64; i++)
            envelope[i] = (float)(7.0 * exp(-pow(((double)i - 31.0 - shift) / 1.5, 2.0)));
        struct plyecho_conditioned c = by_hand(envelope, 64);
        struct plyecho_echo echo;
        assert_int_equal(plyecho_echoes_find(&c, NULL, &echo, 1), 1);
        assert_float_equal(echo.time_s * 1e6, 31.0 + shift, 1e-5);
        assert_float_equal(echo.amplitude, 7.0, 1e-5);
    }
}

/* Of two peaks 6 samples apart, where a period has 10, the higher counts, whichever comes first. */
static void of_peaks_within_a_period_the_higher_counts(void **state)
{
    (void)state;
    for (int late = 0; late < 2; late++) {
        float envelope[64] = {0};
        envelope[30] = late ? 5.0f : 8.0f;
        envelope[36] = late ? 8.0f : 5.0f;
        struct plyecho_conditioned c = by_hand(envelope, 64);
        struct plyecho_echo echoes[4];
        struct plyecho_echo_options o = plyecho_echo_defaults();
        assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 1);
        assert_int_equal(echoes[0].sample, late ? 36 : 30);
        c.centre_hz = 2e5; /* a period of 5 samples */
        assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 2);
    }
}

static void without_noise_the_ratio_to_it_is_infinite(void **state)
{
    (void)state;
    float envelope[64] = {0};
    envelope[30] = 8.0f;
    struct plyecho_conditioned c = by_hand(envelope, 64);
    c.noise = 0.0;
    struct plyecho_echo echo;
    assert_int_equal(plyecho_echoes_find(&c, NULL, &echo, 1), 1);
    assert_true(isinf(echo.snr_db) && echo.snr_db > 0.0);
}

/* Zero is a time like any other: a gate may begin, end, or be empty there. */
static void a_gate_at_time_zero_is_a_gate(void **state)
{
    (void)state;
    float envelope[64] = {0};
    envelope[10] = envelope[50] = 8.0f;
    struct plyecho_conditioned c = by_hand(envelope, 64);
    c.start_s = -32e-6;
    struct plyecho_echo echoes[4];
    struct plyecho_echo_options o = plyecho_echo_defaults();
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 2);
    o.from_s = 0.0;
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 1);
    assert_int_equal(echoes[0].sample, 50);
    o.to_s = 0.0;
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 0);
    o.from_s = -INFINITY;
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 4), 1);
    assert_int_equal(echoes[0].sample, 10);
}

static void gates_and_room_hold(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    for (int k = 0; k < 6; k++)
        made_burst(&t, 4.0 + 2.0 * k, 1.0 - 0.1 * k, 5.0, 25.0, 0.0);
    made_noise(&t, 1e-4, 5);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    struct plyecho_echo echoes[8];
    struct plyecho_echo_options o = plyecho_echo_defaults();
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 8), 6);
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 3), 3);
    assert_float_equal(echoes[2].time_s * 1e6, 8.0, 0.01); /* the three highest, in order */
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 0), 0);
    o.from_s = 7e-6;
    o.to_s = 11e-6;
    assert_int_equal(plyecho_echoes_find(&c, &o, echoes, 8), 2);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void gain_moves_no_echo(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    made_burst(&t, 8.003, 0.5, 7.0, 25.0, 0.2);
    made_noise(&t, 1e-3, 7);
    struct plyecho_conditioned c;
    struct plyecho_echo once, twice;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    assert_int_equal(plyecho_echoes_find(&c, NULL, &once, 1), 1);
    plyecho_conditioner_free(conditioner);
    for (size_t i = 0; i < t.samples; i++)
        t.amplitude[i] *= 2.0f;
    conditioner = made_ready(&t, &c);
    assert_int_equal(plyecho_echoes_find(&c, NULL, &twice, 1), 1);
    assert_float_equal(once.time_s * 1e6, twice.time_s * 1e6, 1e-6);
    assert_float_equal(twice.amplitude / once.amplitude, 2.0, 1e-5);
    assert_float_equal(twice.snr_db, once.snr_db, 1e-3);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bursts_are_found_between_samples),
        cmocka_unit_test(signal_to_noise_is_peak_over_deviation),
        cmocka_unit_test(noise_alone_gives_no_echo),
        cmocka_unit_test(equal_top_samples_are_one_echo_at_their_middle),
        cmocka_unit_test(a_gaussian_envelope_is_measured_exactly),
        cmocka_unit_test(of_peaks_within_a_period_the_higher_counts),
        cmocka_unit_test(without_noise_the_ratio_to_it_is_infinite),
        cmocka_unit_test(a_gate_at_time_zero_is_a_gate),
        cmocka_unit_test(gates_and_room_hold),
        cmocka_unit_test(gain_moves_no_echo),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
