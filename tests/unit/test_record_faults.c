/* What recorders do to a record, and that whole records show none of it. */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_trace.h"
#include "record_faults.h"

/* Three echoes and noise at 40 dB under the highest. */
static struct plyecho_traces a_record(unsigned long seed)
{
    struct plyecho_traces t = made_empty();
    made_burst(&t, 7.0, 0.5, 10.0, 25.0, 0.4);
    made_burst(&t, 9.0, -1.0, 10.0, 25.0, 0.4);
    made_burst(&t, 11.0, 0.2, 10.0, 25.0, 0.4);
    made_noise(&t, 0.01, seed);
    return t;
}

static void a_whole_record_shows_nothing(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 50; seed++) {
        struct plyecho_traces t = a_record(seed);
        struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
        struct pe_level_change change;
        pe_level_change_find(&raw, 0, t.samples, &change);
        assert_true(fabs(change.height) < 0.05);
        assert_false(pe_held_samples(&raw, 0, t.samples));
        assert_false(pe_one_sided(&raw));
        plyecho_traces_clear(&t);
    }
}

static void a_jump_of_the_base_line_is_found_with_its_height(void **state)
{
    (void)state;
    for (size_t at = 500; at < 1500; at += 83) {
        struct plyecho_traces t = a_record(3);
        for (size_t i = at; i < t.samples; i++)
            t.amplitude[i] -= 0.3f;
        struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
        struct pe_level_change change;
        pe_level_change_find(&raw, 0, t.samples, &change);
        assert_float_equal(change.height, -0.3, 0.1);
        assert_true(change.sample + 32 > at && change.sample < at + 32);
        pe_level_change_find(&raw, at + 200, t.samples, &change);
        assert_true(fabs(change.height) < 0.1);
        plyecho_traces_clear(&t);
    }
}

/* Samples that a converter rounds to the same count are no lost block; eight of one value among noise
 * of a count and more are. */
static void a_held_block_is_told_from_quiet_counts(void **state)
{
    (void)state;
    const double counts[] = {0.005, 0.02, 0.1};
    for (size_t c = 0; c < 3; c++) {
        struct plyecho_traces t = a_record(5);
        for (size_t i = 0; i < t.samples; i++)
            t.amplitude[i] = (float)(counts[c] * round((double)t.amplitude[i] / counts[c]));
        struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
        assert_false(pe_held_samples(&raw, 650, 1200));
        assert_float_equal(pe_count_size(&raw, 0, t.samples), counts[c], 1e-6);
        plyecho_traces_clear(&t);
    }
    struct plyecho_traces t = a_record(5);
    for (size_t i = 800; i < 808; i++)
        t.amplitude[i] = 0.0f;
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    assert_true(pe_held_samples(&raw, 650, 1200));
    assert_false(pe_held_samples(&raw, 900, 1200));
    plyecho_traces_clear(&t);
}

static void what_is_rectified_is_one_sided_unless_it_says_so(void **state)
{
    (void)state;
    struct plyecho_traces t = a_record(7);
    for (size_t i = 0; i < t.samples; i++)
        t.amplitude[i] = 0.1f - fabsf(t.amplitude[i]);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    assert_true(pe_one_sided(&raw));
    raw.signal = PLYECHO_SIGNAL_RECTIFIED;
    assert_false(pe_one_sided(&raw));
    plyecho_traces_clear(&t);
}

/* A sine cut symmetrically at a half of its height holds 0.138 / 0.609 of the third harmonic (its
 * Fourier series: clipping angle 30 degrees, b1 = (2/pi)(a + sin a cos a), b3 = (4/3pi) sin a cos^3 a,
 * a = asin 0.5). */
static void a_limited_sine_holds_its_third_harmonic(void **state)
{
    (void)state;
    struct plyecho_traces t = made_empty();
    for (size_t i = 0; i < t.samples; i++) {
        double x = sin(2.0 * 3.14159265358979 * 2.0e6 * (double)i / MADE_RATE_HZ) + 0.0;
        t.amplitude[i] = (float)(4.0 + fmin(0.5, fmax(-0.5, x)));
    }
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    double a = asin(0.5), share;
    double first = cabs(pe_line_at(&raw, 1000, 250, 2.0e6, &share));
    double third = cabs(pe_line_at(&raw, 1000, 250, 6.0e6, &share));
    double b1 = 2.0 / 3.14159265358979 * (a + sin(a) * cos(a));
    double b3 = 4.0 / (3.0 * 3.14159265358979) * sin(a) * pow(cos(a), 3.0);
    assert_float_equal(first, b1, 0.005);
    assert_float_equal(third, b3, 0.005);
    /* raised cosine over N samples: rms 2 sqrt(1.5 / N) of white noise, from its sums N/2 and 3N/8 */
    assert_float_equal(share, 2.0 * sqrt(1.5 / 502.0), 0.002);
    plyecho_traces_clear(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_record_shows_nothing),
        cmocka_unit_test(a_jump_of_the_base_line_is_found_with_its_height),
        cmocka_unit_test(a_held_block_is_told_from_quiet_counts),
        cmocka_unit_test(what_is_rectified_is_one_sided_unless_it_says_so),
        cmocka_unit_test(a_limited_sine_holds_its_third_harmonic),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
