/* Fixed and time-corrected gain: what happens to samples, scale and labels. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/gain.h>

#include "failing_alloc.h"

/* Two channels of 11 samples, 1 us apart, from 0 us on; all ones. */
static struct plyecho_traces ones(void)
{
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, 2, 11, NULL), PLYECHO_OK);
    traces.sample_rate_hz = 1e6;
    for (size_t i = 0; i < 22; i++)
        traces.amplitude[i] = 1.0f;
    return traces;
}

static void label(struct plyecho_traces *traces, const char *key, size_t channel,
                  const char *value)
{
    assert_int_equal(plyecho_labels_set(&traces->labels, key, channel, value, NULL),
                     PLYECHO_OK);
}

static void fixed_gain_scales_samples_and_scale(void **state)
{
    (void)state;
    struct plyecho_traces traces = ones();
    traces.full_scale = 2.0;
    traces.step = 0.25;
    label(&traces, "gain_db", 0, "30");
    label(&traces, "gain_db", 2, "12.5");
    assert_int_equal(plyecho_gain_fixed(&traces, 20.0, NULL), PLYECHO_OK);
    for (size_t i = 0; i < 22; i++)
        assert_float_equal(traces.amplitude[i], 10.0, 1e-6);
    assert_float_equal(traces.full_scale, 20.0, 1e-9);
    assert_float_equal(traces.step, 2.5, 1e-9);
    assert_string_equal(plyecho_labels_get(&traces.labels, "gain_db", 1), "50");
    assert_string_equal(plyecho_labels_get(&traces.labels, "gain_db", 2), "32.5");
    assert_null(plyecho_labels_get(&traces.labels, "added_gain_db", 0));
    plyecho_traces_clear(&traces);
}

static void unknown_gain_stays_unknown(void **state)
{
    (void)state;
    struct plyecho_traces traces = ones();
    assert_int_equal(plyecho_gain_fixed(&traces, 6.0, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_gain_fixed(&traces, -2.5, NULL), PLYECHO_OK);
    assert_null(plyecho_labels_get(&traces.labels, "gain_db", 0));
    assert_string_equal(plyecho_labels_get(&traces.labels, "added_gain_db", 0), "3.5");
    assert_true(traces.full_scale == 0.0);
    plyecho_traces_clear(&traces);
}

static void gain_is_added_to_a_logarithm(void **state)
{
    (void)state;
    struct plyecho_traces traces = ones();
    traces.signal = PLYECHO_SIGNAL_LOG;
    traces.step = 0.5;
    assert_int_equal(plyecho_gain_fixed(&traces, 20.0, NULL), PLYECHO_OK);
    assert_float_equal(traces.amplitude[0], 21.0, 1e-6);
    assert_float_equal(traces.step, 0.5, 1e-9);
    plyecho_traces_clear(&traces);
}

static void trouble_leaves_the_traces_as_they_were(void **state)
{
    (void)state;
    struct plyecho_error err;
    struct plyecho_traces traces = ones();
    traces.amplitude[21] = 1e38f;
    label(&traces, "gain_db", 0, "30");
    assert_int_equal(plyecho_gain_fixed(&traces, 40.0, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_gain_fixed(&traces, 201.0, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_gain_fixed(&traces, NAN, &err), PLYECHO_BAD_ARGUMENT);
    label(&traces, "gain_db", 2, "loud");
    assert_int_equal(plyecho_gain_fixed(&traces, 1.0, &err), PLYECHO_BAD_NUMBER);
    assert_int_equal(plyecho_gain_slope(&traces, 50.0, 0.0, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_gain_table(&traces, NULL, 0, &err), PLYECHO_BAD_ARGUMENT);
    const struct plyecho_gain_point beyond[] = {{0.0, 0.0}, {1.0, -201.0}};
    assert_int_equal(plyecho_gain_table(&traces, beyond, 2, &err), PLYECHO_BAD_ARGUMENT);
    assert_true(traces.amplitude[0] == 1.0f && traces.amplitude[21] == 1e38f);
    assert_string_equal(plyecho_labels_get(&traces.labels, "gain_db", 0), "30");
    plyecho_traces_clear(&traces);
}

static void table_is_straight_in_db_and_flat_outside(void **state)
{
    (void)state;
    const struct plyecho_gain_point points[] = {{2e-6, -6.0}, {4e-6, 0.0}, {8e-6, 20.0}};
    const double expected_db[] = {-6, -6, -6, -3, 0, 5, 10, 15, 20, 20, 20};
    struct plyecho_traces traces = ones();
    traces.full_scale = 1.0;
    label(&traces, "gain_db", 2, "12");
    label(&traces, "full_scale", 0, "1");
    assert_int_equal(plyecho_gain_table(&traces, points, 3, NULL), PLYECHO_OK);
    for (size_t i = 0; i < 22; i++)
        assert_float_equal(20.0 * log10((double)traces.amplitude[i]), expected_db[i % 11],
                           1e-5);
    assert_true(traces.full_scale == 0.0);
    assert_null(plyecho_labels_get(&traces.labels, "full_scale", 0));
    assert_null(plyecho_labels_get(&traces.labels, "gain_db", 2));
    assert_string_equal(plyecho_labels_get(&traces.labels, "gain_before_tcg_db", 2), "12");
    assert_string_equal(plyecho_labels_get(&traces.labels, "tcg", 0),
                        "table of 3 points, -6 dB at 2 us to 20 dB at 8 us");
    plyecho_traces_clear(&traces);
}

static void slope_begins_where_it_is_told(void **state)
{
    (void)state;
    struct plyecho_traces traces = ones();
    traces.start_s = 1e-6;
    label(&traces, "tcg", 0, "by hand");
    assert_int_equal(plyecho_gain_slope(&traces, 2.0, 4e-6, NULL), PLYECHO_OK);
    for (size_t i = 0; i < 22; i++) {
        double time_us = 1.0 + (double)(i % 11);
        assert_float_equal(20.0 * log10((double)traces.amplitude[i]),
                           2.0 * fmax(0.0, time_us - 4.0), 1e-5);
    }
    assert_string_equal(plyecho_labels_get(&traces.labels, "tcg", 0),
                        "by hand, then 2 dB/us from 4 us");
    plyecho_traces_clear(&traces);
}

/* What was done before stays whole, and a channel's own word does not hide what came after it. */
static void every_step_of_gain_stays_in_words(void **state)
{
    (void)state;
    char first[500], expected[600];
    struct plyecho_traces traces = ones();
    memset(first, 'w', sizeof first - 1);
    first[sizeof first - 1] = '\0';
    label(&traces, "tcg", 2, first);
    assert_int_equal(plyecho_gain_slope(&traces, 2.0, 4e-6, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_gain_slope(&traces, -1.0, 0.0, NULL), PLYECHO_OK);
    snprintf(expected, sizeof expected, "%s, then 2 dB/us from 4 us, then -1 dB/us from 0 us",
             first);
    assert_string_equal(plyecho_labels_get(&traces.labels, "tcg", 2), expected);
    assert_string_equal(plyecho_labels_get(&traces.labels, "tcg", 1),
                        "2 dB/us from 4 us, then -1 dB/us from 0 us");
    plyecho_traces_clear(&traces);
}

static void table_is_read(void **state)
{
    (void)state;
    const char text[] =
        "\n# by the step block\r\n time_us,gain_db\r\n0,0\n 2.5 , -6e0 \n\n4,12.25";
    struct plyecho_gain_point *points;
    size_t count;
    assert_int_equal(plyecho_gain_table_read(text, sizeof text - 1, &points, &count, NULL),
                     PLYECHO_OK);
    assert_int_equal(count, 3);
    assert_float_equal(points[1].time_s, 2.5e-6, 1e-15);
    assert_float_equal(points[1].gain_db, -6.0, 1e-12);
    assert_float_equal(plyecho_gain_at(points, count, 3.25e-6), 3.125, 1e-9);
    free(points);
}

static void broken_tables_are_refused_by_line(void **state)
{
    (void)state;
    const struct {
        const char *text;
        enum plyecho_code code;
        long line;
        const char *says;
    } bad[] = {
        {"", PLYECHO_BAD_FILE, 0, "without a row"},
        {"time_us,gain_db\n", PLYECHO_BAD_FILE, 0, "without a row"},
        {"0,1\n", PLYECHO_BAD_FILE, 1, "header"},
        {"time_us;gain_db\n0;1\n", PLYECHO_BAD_FILE, 1, "header"},
        {"time_us,gain_db\n0,1\n1\n", PLYECHO_BAD_NUMBER, 3, "'1'"},
        {"time_us,gain_db\n0,1,2\n", PLYECHO_BAD_NUMBER, 2, "'0,1,2'"},
        {"time_us,gain_db\n0,six\n", PLYECHO_BAD_NUMBER, 2, "six"},
        {"time_us,gain_db\nnan,1\n", PLYECHO_BAD_NUMBER, 2, "nan"},
        {"time_us,gain_db\n0,1\n0,2\n", PLYECHO_BAD_ARGUMENT, 3, "sort"},
        {"time_us,gain_db\n0,1\n\n-1,2\n", PLYECHO_BAD_ARGUMENT, 4, "-1 us"},
        {"time_us,gain_db\n0,1000\n", PLYECHO_BAD_ARGUMENT, 2, "200"},
    };
    for (size_t b = 0; b < sizeof bad / sizeof *bad; b++) {
        struct plyecho_gain_point *points;
        struct plyecho_error err;
        size_t count;
        assert_int_equal(
            plyecho_gain_table_read(bad[b].text, strlen(bad[b].text), &points, &count, &err),
            bad[b].code);
        assert_null(points);
        assert_int_equal(count, 0);
        assert_int_equal(err.line, bad[b].line);
        assert_non_null(strstr(err.text, bad[b].says));
    }
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    const struct plyecho_gain_point points[] = {{2e-6, -6.0}, {4e-6, 0.0}};
    for (int kind = 0; kind < 2; kind++) {
        enum plyecho_code code = PLYECHO_NO_MEMORY;
        long failing = 0;
        for (; code != PLYECHO_OK; failing++) {
            struct plyecho_traces traces = ones();
            label(&traces, "gain_db", 0, "30");
            label(&traces, "part", 0, "tube 4");
            label(&traces, "tcg", 2, "by hand");
            fail_allocation(failing);
            code = kind == 0 ? plyecho_gain_fixed(&traces, 6.0, NULL)
                             : plyecho_gain_table(&traces, points, 2, NULL);
            fail_no_allocation();
            if (code != PLYECHO_OK)
                assert_int_equal(code, PLYECHO_NO_MEMORY);
            if (code != PLYECHO_OK) {
                assert_true(traces.amplitude[0] == 1.0f);
                assert_string_equal(plyecho_labels_get(&traces.labels, "gain_db", 0), "30");
                assert_null(plyecho_labels_get(&traces.labels, "tcg", 0));
            }
            plyecho_traces_clear(&traces);
        }
        assert_true(failing > 3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fixed_gain_scales_samples_and_scale),
        cmocka_unit_test(unknown_gain_stays_unknown),
        cmocka_unit_test(gain_is_added_to_a_logarithm),
        cmocka_unit_test(trouble_leaves_the_traces_as_they_were),
        cmocka_unit_test(table_is_straight_in_db_and_flat_outside),
        cmocka_unit_test(slope_begins_where_it_is_told),
        cmocka_unit_test(every_step_of_gain_stays_in_words),
        cmocka_unit_test(table_is_read),
        cmocka_unit_test(broken_tables_are_refused_by_line),
        cmocka_unit_test(every_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
