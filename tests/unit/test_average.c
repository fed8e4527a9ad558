/* The coherent mean: what is taken, what is left out and why, what happens to noise and labels. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/average.h>

#include "failing_alloc.h"

enum { SAMPLES = 500 };

static uint32_t seed;

/* Sum of twelve uniform values: standard deviation 1. */
static double gaussian(void)
{
    double sum = -6.0;
    for (int k = 0; k < 12; k++) {
        seed = seed * 1664525u + 1013904223u;
        sum += (double)(seed >> 8) / 16777216.0;
    }
    return sum;
}

static double burst(size_t i)
{
    double t = ((double)i - 200.0) / 8.0;
    return 3.0 * exp(-t * t) * cos(t * 5.0);
}

static struct plyecho_traces shots(size_t channels)
{
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, channels, SAMPLES, NULL), PLYECHO_OK);
    traces.sample_rate_hz = 100e6;
    traces.start_s = 2e-6;
    for (size_t i = 0; i < channels * SAMPLES; i++)
        traces.amplitude[i] = (float)(burst(i % SAMPLES) + gaussian());
    return traces;
}

static void label(struct plyecho_traces *traces, const char *key, size_t channel,
                  const char *value)
{
    assert_int_equal(plyecho_labels_set(&traces->labels, key, channel, value, NULL),
                     PLYECHO_OK);
}

static enum plyecho_code add(struct plyecho_average *average,
                             const struct plyecho_traces *traces, size_t channel,
                             struct plyecho_error *err)
{
    struct plyecho_trace trace = plyecho_traces_channel(traces, channel);
    return plyecho_average_add(average, &trace, err);
}

/* 100 shots: noise of 1 falls to 0.1. The variance of 500 residuals has a standard error of
 * sqrt(2 / 500) = 6.3 %; 4 of these are allowed. */
static void noise_falls_and_the_echo_stays(void **state)
{
    (void)state;
    struct plyecho_average *average;
    seed = 7;
    struct plyecho_traces traces = shots(100), mean;
    assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
    for (size_t c = 1; c <= 100; c++)
        assert_int_equal(add(average, &traces, c, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_average_taken(average), 100);
    assert_int_equal(plyecho_average_result(average, &mean, NULL), PLYECHO_OK);
    double variance = 0.0;
    for (size_t i = 0; i < SAMPLES; i++)
        variance += pow((double)mean.amplitude[i] - burst(i), 2.0) / SAMPLES;
    assert_float_equal(variance, 0.01, 0.01 * 0.25);
    assert_int_equal(mean.channels, 1);
    assert_true(mean.sample_rate_hz == 100e6 && mean.start_s == 2e-6);
    assert_string_equal(plyecho_labels_get(&mean.labels, "averaged", 0), "100");
    assert_string_equal(plyecho_labels_get(&mean.labels, "left_out", 0), "0");
    plyecho_traces_clear(&mean);
    plyecho_traces_clear(&traces);
    plyecho_average_free(average);
}

static void what_does_not_fit_is_left_out_with_its_reason(void **state)
{
    (void)state;
    struct plyecho_error err;
    struct plyecho_average *average;
    struct plyecho_traces first = shots(1), other = shots(1), mean;
    struct plyecho_traces good = other;
    assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
    assert_int_equal(add(average, &first, 1, NULL), PLYECHO_OK);
    struct {
        struct plyecho_traces traces;
        const char *says;
    } bad[] = {{good, "sample rate"}, {good, "samples"}, {good, "starts at"},
               {good, "envelope"},    {good, "log"},     {good, "gain_db"}};
    bad[0].traces.sample_rate_hz = 50e6;
    bad[1].traces.samples = SAMPLES - 1;
    bad[2].traces.start_s += 0.2 / 100e6;
    bad[3].traces.signal = PLYECHO_SIGNAL_ENVELOPE;
    bad[4].traces.signal = PLYECHO_SIGNAL_LOG;
    label(&bad[5].traces, "gain_db", 0, "12");
    for (size_t b = 0; b < 6; b++) {
        assert_int_equal(add(average, &bad[b].traces, 1, &err), PLYECHO_UNSUITABLE);
        assert_non_null(strstr(err.text, bad[b].says));
    }
    plyecho_labels_clear(&bad[5].traces.labels);
    other.start_s += 0.05 / 100e6; /* rounding of a time column */
    assert_int_equal(add(average, &other, 1, &err), PLYECHO_OK);
    assert_int_equal(plyecho_average_result(average, &mean, NULL), PLYECHO_OK);
    for (size_t i = 0; i < SAMPLES; i++)
        assert_float_equal(mean.amplitude[i],
                           0.5 * ((double)first.amplitude[i] + (double)other.amplitude[i]),
                           1e-6);
    assert_string_equal(plyecho_labels_get(&mean.labels, "averaged", 0), "2");
    assert_string_equal(plyecho_labels_get(&mean.labels, "left_out", 0), "6");
    plyecho_traces_clear(&mean);
    plyecho_traces_clear(&first);
    plyecho_traces_clear(&other);
    plyecho_average_free(average);
}

/* Cut the echo of channel c (from 1), at sample 200, at 2; full scale is 2. */
static void cut(struct plyecho_traces *traces, size_t c)
{
    float *x = plyecho_traces_samples(traces, c);
    traces->full_scale = 2.0;
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = fmaxf(-2.0f, fminf(2.0f, x[i]));
}

/* One whole shot, of half the height, and two cut ones. */
static struct plyecho_traces whole_and_cut(void)
{
    struct plyecho_traces traces = shots(3);
    for (size_t i = 0; i < 3 * SAMPLES; i++)
        traces.amplitude[i] = (float)(burst(i % SAMPLES) * (i < SAMPLES ? 0.5 : 1.0));
    cut(&traces, 2);
    cut(&traces, 3);
    return traces;
}

static void traces_clipped_where_the_first_is_not_are_left_out(void **state)
{
    (void)state;
    for (int keep = 0; keep < 2; keep++) {
        struct plyecho_error err;
        struct plyecho_average *average;
        struct plyecho_traces traces = whole_and_cut(), mean;
        assert_int_equal(plyecho_average_new(&average, keep, NULL), PLYECHO_OK);
        assert_int_equal(add(average, &traces, 1, &err), PLYECHO_OK);
        assert_int_equal(add(average, &traces, 2, &err),
                         keep ? PLYECHO_OK : PLYECHO_UNSUITABLE);
        if (!keep)
            assert_non_null(strstr(err.text, "clipped"));
        assert_int_equal(plyecho_average_result(average, &mean, &err), PLYECHO_OK);
        assert_true(mean.full_scale == 2.0);
        const char *clipped = plyecho_labels_get(&mean.labels, "clipped", 0);
        assert_true(keep == (clipped != NULL));
        if (keep)
            assert_non_null(strstr(clipped, "1 of 2 traces, 3.9"));
        plyecho_traces_clear(&mean);
        plyecho_traces_clear(&traces);
        plyecho_average_free(average);
    }
}

static void what_is_clipped_alike_is_taken(void **state)
{
    (void)state;
    struct plyecho_error err;
    struct plyecho_average *average;
    struct plyecho_traces traces = whole_and_cut(), mean;
    assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
    assert_int_equal(add(average, &traces, 2, &err), PLYECHO_OK);
    assert_int_equal(add(average, &traces, 3, &err), PLYECHO_OK);
    for (size_t i = 380; i < 400; i++)
        plyecho_traces_samples(&traces, 3)[i] = 2.0f;
    assert_int_equal(add(average, &traces, 3, &err), PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "from 5.8000 us"));
    assert_int_equal(plyecho_average_result(average, &mean, &err), PLYECHO_OK);
    assert_non_null(
        strstr(plyecho_labels_get(&mean.labels, "clipped", 0), "2 of 2 traces, 3.9"));
    plyecho_traces_clear(&mean);
    plyecho_traces_clear(&traces);
    plyecho_average_free(average);
}

static void nothing_averaged_is_said(void **state)
{
    (void)state;
    struct plyecho_error err;
    struct plyecho_average *average;
    struct plyecho_traces traces = shots(1), mean;
    traces.signal = PLYECHO_SIGNAL_LOG;
    assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
    assert_int_equal(add(average, &traces, 1, &err), PLYECHO_UNSUITABLE);
    assert_int_equal(plyecho_average_result(average, &mean, &err), PLYECHO_UNSUITABLE);
    assert_null(mean.amplitude);
    plyecho_traces_clear(&traces);
    plyecho_average_free(average);
}

static void common_labels_are_kept(void **state)
{
    (void)state;
    struct plyecho_average *average;
    struct plyecho_traces traces = shots(2), mean;
    label(&traces, "part", 0, "tube 4");
    label(&traces, "angle_deg", 1, "0");
    label(&traces, "angle_deg", 2, "30");
    label(&traces, "axial_mm", 1, "80"); /* of channels, but the same */
    label(&traces, "axial_mm", 2, "80");
    label(&traces, "couplant", 0, "gel");
    label(&traces, "couplant", 2, "water"); /* the channel's own goes before the file's */
    label(&traces, "position", 1, "A");     /* of one channel only */
    assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
    assert_int_equal(add(average, &traces, 1, NULL), PLYECHO_OK);
    assert_int_equal(add(average, &traces, 2, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_average_result(average, &mean, NULL), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&mean.labels, "part", 1), "tube 4");
    assert_string_equal(plyecho_labels_get(&mean.labels, "axial_mm", 1), "80");
    assert_null(plyecho_labels_get(&mean.labels, "angle_deg", 1));
    assert_null(plyecho_labels_get(&mean.labels, "couplant", 1));
    assert_null(plyecho_labels_get(&mean.labels, "position", 1));
    plyecho_traces_clear(&mean);
    plyecho_traces_clear(&traces);
    plyecho_average_free(average);
}

static void full_scale_stays_only_where_all_agree(void **state)
{
    (void)state;
    for (int agree = 0; agree < 2; agree++) {
        struct plyecho_average *average;
        struct plyecho_traces first = shots(1), other = shots(1), mean;
        first.full_scale = 100.0;
        other.full_scale = agree ? 100.0 : 200.0;
        assert_int_equal(plyecho_average_new(&average, false, NULL), PLYECHO_OK);
        assert_int_equal(add(average, &first, 1, NULL), PLYECHO_OK);
        assert_int_equal(add(average, &other, 1, NULL), PLYECHO_OK);
        assert_int_equal(plyecho_average_result(average, &mean, NULL), PLYECHO_OK);
        assert_true(mean.full_scale == (agree ? 100.0 : 0.0));
        plyecho_traces_clear(&mean);
        plyecho_traces_clear(&first);
        plyecho_traces_clear(&other);
        plyecho_average_free(average);
    }
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    struct plyecho_traces traces = shots(1);
    label(&traces, "part", 0, "tube 4");
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    for (long failing = 0; code != PLYECHO_OK; failing++) {
        struct plyecho_average *average = NULL;
        struct plyecho_traces mean = {0};
        fail_allocation(failing);
        code = plyecho_average_new(&average, false, NULL);
        if (code == PLYECHO_OK)
            code = add(average, &traces, 1, NULL);
        if (code == PLYECHO_OK)
            code = plyecho_average_result(average, &mean, NULL);
        fail_no_allocation();
        if (code != PLYECHO_OK)
            assert_int_equal(code, PLYECHO_NO_MEMORY);
        plyecho_traces_clear(&mean);
        plyecho_average_free(average);
        assert_true(failing < 100);
    }
    plyecho_traces_clear(&traces);
    plyecho_average_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_falls_and_the_echo_stays),
        cmocka_unit_test(what_does_not_fit_is_left_out_with_its_reason),
        cmocka_unit_test(traces_clipped_where_the_first_is_not_are_left_out),
        cmocka_unit_test(what_is_clipped_alike_is_taken),
        cmocka_unit_test(nothing_averaged_is_said),
        cmocka_unit_test(common_labels_are_kept),
        cmocka_unit_test(full_scale_stays_only_where_all_agree),
        cmocka_unit_test(every_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
