/* The noise of a trace is told from the trace itself, echoes or not. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/analytic.h>
#include <plyecho/noise.h>

#include "made_trace.h"

enum { SCRATCH = MADE_SAMPLES / PLYECHO_NOISE_BLOCK + 1 };

/* 32 stretches of 63 degrees of freedom: a quantile at 0.2 scatters by about
 * 1 / (density x sqrt(32)) in variance, 5 % in deviation; 40 records average to below 1 %, and the
 * quantile's own approximation adds 2 %. */
static double mean_over_records(bool with_echoes)
{
    float scratch[SCRATCH];
    double sum = 0.0;
    for (unsigned long seed = 1; seed <= 40; seed++) {
        struct plyecho_traces t = made_empty();
        if (with_echoes)
            for (double us = 6.0; us < 18.0; us += 1.0)
                made_burst(&t, us, 50.0, 10.0, 25.0, 0.0);
        made_noise(&t, 2.0, seed);
        sum += plyecho_noise_rms(t.amplitude, t.samples, 1.0, scratch);
        plyecho_traces_clear(&t);
    }
    return sum / 40.0;
}

static void white_noise_is_measured(void **state)
{
    (void)state;
    assert_float_equal(mean_over_records(false), 2.0, 0.06);
}

static void echoes_over_most_of_the_record_hardly_matter(void **state)
{
    (void)state;
    assert_float_equal(mean_over_records(true), 2.0, 0.3);
}

static void filtered_noise_has_fewer_degrees_of_freedom(void **state)
{
    (void)state;
    float scratch[SCRATCH];
    double from_stretches = 0.0, true_square = 0.0;
    struct plyecho_analytic *filter;
    struct plyecho_band band = {6e6, 14e6};
    assert_int_equal(plyecho_analytic_new(&filter, MADE_SAMPLES, MADE_RATE_HZ, &band, NULL),
                     PLYECHO_OK);
    for (unsigned long seed = 1; seed <= 40; seed++) {
        struct plyecho_traces t = made_empty();
        made_noise(&t, 1.0, seed);
        plyecho_analytic_run(filter, t.amplitude, t.amplitude, NULL);
        from_stretches += plyecho_noise_rms(t.amplitude, t.samples, 8.0 / 50.0, scratch) / 40.0;
        for (size_t i = 0; i < t.samples; i++)
            true_square += t.amplitude[i] * t.amplitude[i] / (40.0 * MADE_SAMPLES);
        plyecho_traces_clear(&t);
    }
    plyecho_analytic_free(filter);
    assert_float_equal(from_stretches / sqrt(true_square), 1.0, 0.08);
}

static void short_and_constant_records_are_harmless(void **state)
{
    (void)state;
    float scratch[2], x[3] = {1.0f, 1.0f, 1.0f};
    assert_true(plyecho_noise_rms(x, 3, 1.0, scratch) == 0.0);
    assert_true(plyecho_noise_rms(x, 0, 1.0, scratch) == 0.0);
    x[1] = 4.0f;
    assert_float_equal(plyecho_noise_rms(x, 3, 1.0, scratch), sqrt(3.0), 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(white_noise_is_measured),
        cmocka_unit_test(echoes_over_most_of_the_record_hardly_matter),
        cmocka_unit_test(filtered_noise_has_fewer_degrees_of_freedom),
        cmocka_unit_test(short_and_constant_records_are_harmless),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
