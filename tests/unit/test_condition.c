/* The band is that of the echoes, whatever else the record begins with. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/condition.h>

#include "failing_alloc.h"
#include "made_trace.h"

static void the_band_holds_the_echoes(void **state)
{
    (void)state;
    for (double centre = 2.0; centre <= 15.0; centre += 1.0) {
        struct plyecho_traces t = made_empty();
        double alpha = 0.6 * 0.6 * centre * centre; /* relative bandwidth 0.32 */
        made_burst(&t, 8.0, 1.0, centre, alpha, 0.4);
        made_burst(&t, 10.0, -0.8, centre, alpha, 0.4); /* two echoes: fringes of 0.5 MHz */
        made_noise(&t, 0.005, 3);
        struct plyecho_conditioned c;
        struct plyecho_conditioner *conditioner = made_ready(&t, &c);
        assert_true(c.has_sign);
        assert_float_equal(c.centre_hz * 1e-6 / centre, 1.0, 0.06);
        assert_true(c.band.low_hz * 1e-6 < 0.8 * centre &&
                    c.band.high_hz * 1e-6 > 1.2 * centre);
        assert_true(c.band.high_hz * 1e-6 < 2.5 * centre);
        plyecho_conditioner_free(conditioner);
        plyecho_traces_clear(&t);
    }
}

/* From ten periods in the record to where the floor is taken from, in steps of a fifth of a bin. */
static void a_pure_tone_has_a_band_round_it(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_error err = {.text = ""};
    double bin = 1.0 / (double)t.samples; /* in periods a sample */
    assert_int_equal(plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, NULL, NULL),
                     PLYECHO_OK);
    for (double tone = 10.0 * bin; tone < 0.37; tone += 0.2 * bin) {
        struct plyecho_conditioned c;
        for (size_t i = 0; i < t.samples; i++)
            t.amplitude[i] = (float)sin(2.0 * 3.14159265358979 * tone * (double)i + 0.3);
        assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, &err), PLYECHO_OK);
        assert_true(c.band.low_hz < tone * MADE_RATE_HZ);
        assert_true(c.band.high_hz > tone * MADE_RATE_HZ);
    }
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void a_ringing_transmission_pulse_does_not_choose_the_band(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    for (size_t i = 0; i < t.samples; i++) {
        double us = (double)i * 1e6 / MADE_RATE_HZ;
        t.amplitude[i] = (float)(exp(-us / 1.2) * cos(2.0 * 3.14159265358979 * 2.2 * us));
    }
    made_burst(&t, 9.0, 0.2, 10.0, 60.0, 0.0);
    made_burst(&t, 11.0, -0.3, 10.0, 60.0, 0.0);
    made_noise(&t, 0.002, 4);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    assert_float_equal(c.centre_hz * 1e-6, 10.0, 1.0);
    assert_float_equal(c.first_rise_s * 1e6, 8.5, 0.5);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void a_given_band_is_taken_as_it_is(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    made_burst(&t, 9.0, 1.0, 5.0, 25.0, 0.0);
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct plyecho_band band = {3e6, 8e6};
    assert_int_equal(
        plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &band, NULL),
        PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, NULL), PLYECHO_OK);
    assert_true(c.band.low_hz == 3e6 && c.band.high_hz == 8e6);
    plyecho_conditioner_free(conditioner);
    struct plyecho_error err;
    band.high_hz = 60e6;
    assert_int_equal(
        plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &band, &err),
        PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, "Nyquist"));
    plyecho_traces_clear(&t);
}

static void the_own_band_is_told_whatever_band_was_given(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    made_burst(&t, 9.0, 1.0, 5.0, 25.0, 0.0);
    made_noise(&t, 0.005, 3);
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *automatic, *conditioner;
    struct plyecho_conditioned c, given;
    struct plyecho_band band = {8e6, 20e6}, own;
    automatic = made_ready(&t, &c);
    assert_int_equal(
        plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &band, NULL),
        PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &given, NULL), PLYECHO_OK);
    float before = given.envelope[900];
    assert_int_equal(plyecho_conditioner_own_band(conditioner, &trace, &own, NULL), PLYECHO_OK);
    assert_true(own.low_hz == c.band.low_hz && own.high_hz == c.band.high_hz);
    assert_true(given.envelope[900] == before);
    trace.signal = PLYECHO_SIGNAL_ENVELOPE;
    assert_int_equal(plyecho_conditioner_own_band(conditioner, &trace, &own, NULL),
                     PLYECHO_UNSUITABLE);
    plyecho_conditioner_free(automatic);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void a_result_does_not_depend_on_the_traces_before(void **state)
{
    (void)state;
    struct plyecho_traces a = made_empty(), b = made_empty();
    made_burst(&a, 9.0, 1.0, 5.0, 25.0, 0.0);
    made_burst(&b, 9.0, 1.0, 10.0, 60.0, 0.0);
    struct plyecho_trace ta = plyecho_traces_channel(&a, 1), tb = plyecho_traces_channel(&b, 1);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&a, &c);
    float first[MADE_SAMPLES];
    memcpy(first, c.envelope, sizeof first);
    assert_int_equal(plyecho_conditioner_run(conditioner, &tb, &c, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &ta, &c, NULL), PLYECHO_OK);
    assert_memory_equal(first, c.envelope, sizeof first);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&a);
    plyecho_traces_clear(&b);
}

static void silence_is_said(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct plyecho_error err;
    assert_int_equal(plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, NULL, NULL),
                     PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, &err),
                     PLYECHO_UNSUITABLE);
    trace.samples--;
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, &err),
                     PLYECHO_BAD_ARGUMENT);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void what_has_lost_its_sign_keeps_its_envelope(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    made_burst(&t, 9.0, 1.0, 5.0, 9.0, 0.0);
    made_noise(&t, 0.001, 1);
    for (size_t i = 0; i < t.samples; i++)
        t.amplitude[i] = fabsf(t.amplitude[i]);
    t.signal = PLYECHO_SIGNAL_RECTIFIED;
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    assert_false(c.has_sign);
    size_t top = 0;
    for (size_t i = 0; i < t.samples; i++)
        if (c.envelope[i] > c.envelope[top])
            top = i;
    assert_in_range(top, 895, 905);
    assert_float_equal(c.envelope[top], 1.0, 0.15);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    struct plyecho_conditioner *conditioner;
    struct plyecho_band band = {3e6, 8e6};
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long n = 0;
    for (; code != PLYECHO_OK && n < 100; n++) {
        fail_allocation(n);
        code = plyecho_conditioner_new(&conditioner, 1000, MADE_RATE_HZ, &band, NULL);
        fail_no_allocation();
        assert_true(code == PLYECHO_OK || code == PLYECHO_NO_MEMORY);
        plyecho_conditioner_free(code == PLYECHO_OK ? conditioner : NULL);
    }
    assert_in_range(n, 6, 99);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_band_holds_the_echoes),
        cmocka_unit_test(a_pure_tone_has_a_band_round_it),
        cmocka_unit_test(a_ringing_transmission_pulse_does_not_choose_the_band),
        cmocka_unit_test(a_given_band_is_taken_as_it_is),
        cmocka_unit_test(the_own_band_is_told_whatever_band_was_given),
        cmocka_unit_test(a_result_does_not_depend_on_the_traces_before),
        cmocka_unit_test(silence_is_said),
        cmocka_unit_test(what_has_lost_its_sign_keeps_its_envelope),
        cmocka_unit_test(every_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
