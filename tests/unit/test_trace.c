/* Traces in memory: room, views, and the exact way between fields and labels. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/trace.h>

#include "failing_alloc.h"

static void channels_are_views_of_one_block(void **state)
{
    (void)state;
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, 3, 5, NULL), PLYECHO_OK);
    traces.sample_rate_hz = 100e6;
    traces.start_s = 2e-6;
    for (int i = 0; i < 15; i++) {
        assert_true(traces.amplitude[i] == 0.0F);
        traces.amplitude[i] = (float)i;
    }
    plyecho_traces_samples(&traces, 3)[4] = -1.0F;
    struct plyecho_trace third = plyecho_traces_channel(&traces, 3);
    assert_int_equal(third.channel, 3);
    assert_int_equal(third.samples, 5);
    assert_true(third.amplitude[0] == 10.0F && third.amplitude[4] == -1.0F);
    assert_true(third.labels == &traces.labels);
    assert_true(plyecho_trace_time_s(&third, 2.5) == 2e-6 + 2.5 / 100e6);
    plyecho_traces_clear(&traces);
    plyecho_traces_clear(&traces);
}

static void impossible_sizes_are_refused(void **state)
{
    (void)state;
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, 0, 5, NULL), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_traces_init(&traces, 1, 1, NULL), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_traces_init(&traces, 1025, 2, NULL), PLYECHO_TOO_LARGE);
    assert_int_equal(plyecho_traces_init(&traces, 1024, SIZE_MAX / 16, NULL),
                     PLYECHO_NO_MEMORY);
    assert_null(traces.amplitude);
    plyecho_traces_clear(&traces);
}

static void signal_words_go_both_ways(void **state)
{
    (void)state;
    enum plyecho_signal signal = PLYECHO_SIGNAL_LOG;
    for (int i = 0; i < 4; i++) {
        assert_true(
            plyecho_signal_from_word(plyecho_signal_word((enum plyecho_signal)i), &signal));
        assert_int_equal(signal, i);
    }
    assert_false(plyecho_signal_from_word("RF", &signal));
    assert_string_equal(plyecho_signal_word((enum plyecho_signal)17), "unknown");
}

static void fields_survive_the_way_through_labels_bit_for_bit(void **state)
{
    (void)state;
    static const double rates[] = {1e8, 79.972e6, 1e9 / 3.0, 44100.0, 1.0 / 3e-9};
    static const double starts[] = {0.0, 1e-8, 12.34e-6, 1e-6 / 3.0, -7.1e-7, 2.0000001e-5};
    for (int r = 0; r < 5; r++)
        for (int s = 0; s < 6; s++) {
            struct plyecho_traces traces, back;
            assert_int_equal(plyecho_traces_init(&traces, 1, 2, NULL), PLYECHO_OK);
            traces.sample_rate_hz = rates[r];
            traces.start_s = starts[s];
            traces.signal = (enum plyecho_signal)(s % 4);
            traces.full_scale = s % 2 == 0 ? 0.0 : 0.1 * (r + 1);
            traces.step = traces.full_scale / 2048;
            assert_int_equal(plyecho_traces_fields_to_labels(&traces, NULL), PLYECHO_OK);
            assert_int_equal(plyecho_traces_init(&back, 1, 2, NULL), PLYECHO_OK);
            back.labels = traces.labels;
            assert_int_equal(plyecho_traces_labels_to_fields(&back, NULL), PLYECHO_OK);
            assert_true(back.sample_rate_hz == traces.sample_rate_hz);
            assert_true(back.start_s == traces.start_s);
            assert_int_equal(back.signal, traces.signal);
            assert_true(back.full_scale == traces.full_scale);
            assert_true(back.step == traces.step);
            back.labels = (struct plyecho_labels){0};
            plyecho_traces_clear(&back);
            plyecho_traces_clear(&traces);
        }
}

static void labels_of_fields_read_as_a_person_expects(void **state)
{
    (void)state;
    struct plyecho_traces traces;
    plyecho_traces_init(&traces, 1, 2, NULL);
    traces.sample_rate_hz = 100e6;
    traces.start_s = 12.34e-6;
    traces.full_scale = 0.5;
    plyecho_traces_fields_to_labels(&traces, NULL);
    assert_string_equal(plyecho_labels_get(&traces.labels, "sample_rate_hz", 0), "100000000");
    assert_string_equal(plyecho_labels_get(&traces.labels, "start_us", 0), "12.34");
    assert_string_equal(plyecho_labels_get(&traces.labels, "signal", 0), "rf");
    assert_string_equal(plyecho_labels_get(&traces.labels, "full_scale", 0), "0.5");
    traces.full_scale = 0.0;
    plyecho_traces_fields_to_labels(&traces, NULL);
    assert_null(plyecho_labels_get(&traces.labels, "full_scale", 0));
    plyecho_traces_clear(&traces);
}

static void impossible_labels_are_a_bad_file(void **state)
{
    (void)state;
    static const char *const bad[][2] = {
        {"sample_rate_hz", "0"},  {"sample_rate_hz", "-1"}, {"sample_rate_hz", "fast"},
        {"start_us", "early"},    {"signal", "loud"},       {"full_scale", "0"},
        {"full_scale", "1e9999"}, {"step", "-1"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct plyecho_traces traces;
        struct plyecho_error err;
        plyecho_traces_init(&traces, 1, 2, NULL);
        plyecho_labels_set(&traces.labels, bad[i][0], 0, bad[i][1], NULL);
        assert_int_equal(plyecho_traces_labels_to_fields(&traces, &err), PLYECHO_BAD_FILE);
        assert_int_equal(err.code, PLYECHO_BAD_FILE);
        assert_non_null(strstr(err.text, bad[i][0]));
        plyecho_traces_clear(&traces);
    }
}

static void a_likeness_has_everything_but_the_samples(void **state)
{
    (void)state;
    struct plyecho_traces from, to;
    plyecho_traces_init(&from, 2, 4, NULL);
    from.amplitude[3] = 1.0F;
    from.sample_rate_hz = 5e7;
    from.start_s = 1e-6;
    from.signal = PLYECHO_SIGNAL_ENVELOPE;
    from.full_scale = 2.0;
    from.step = 0.01;
    from.container = PLYECHO_CONTAINER_CSV;
    strcpy(from.note, "time in us");
    plyecho_labels_set(&from.labels, "part", 0, "T-104", NULL);
    enum plyecho_code last = PLYECHO_NO_MEMORY;
    for (long n = 0; last != PLYECHO_OK; n++) {
        fail_allocation(n);
        enum plyecho_code code = plyecho_traces_like(&to, &from, NULL);
        fail_no_allocation();
        assert_true(code == PLYECHO_NO_MEMORY || (code == PLYECHO_OK && n > 2));
        last = code;
        if (code != PLYECHO_OK)
            assert_null(to.amplitude);
    }
    assert_int_equal(to.channels, 2);
    assert_int_equal(to.samples, 4);
    assert_true(to.amplitude[3] == 0.0F);
    assert_true(to.sample_rate_hz == 5e7 && to.start_s == 1e-6);
    assert_true(to.full_scale == 2.0 && to.step == 0.01);
    assert_int_equal(to.signal, PLYECHO_SIGNAL_ENVELOPE);
    assert_int_equal(to.container, PLYECHO_CONTAINER_CSV);
    assert_string_equal(to.note, "time in us");
    assert_string_equal(plyecho_labels_get(&to.labels, "part", 0), "T-104");
    plyecho_traces_clear(&to);
    plyecho_traces_clear(&from);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(channels_are_views_of_one_block),
        cmocka_unit_test(impossible_sizes_are_refused),
        cmocka_unit_test(signal_words_go_both_ways),
        cmocka_unit_test(fields_survive_the_way_through_labels_bit_for_bit),
        cmocka_unit_test(labels_of_fields_read_as_a_person_expects),
        cmocka_unit_test(impossible_labels_are_a_bad_file),
        cmocka_unit_test(a_likeness_has_everything_but_the_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
