/* CSV as we write it, and round trips that lose nothing. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include <plyecho/tracefile.h>

#include "failing_alloc.h"
#include "read_text.h"

static struct plyecho_traces sample_traces(size_t channels, size_t samples, double rate,
                                           double start)
{
    struct plyecho_traces t;
    uint64_t word = 20261125;
    assert_int_equal(plyecho_traces_init(&t, channels, samples, NULL), PLYECHO_OK);
    for (size_t i = 0; i < channels * samples; i++) {
        word = word * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        t.amplitude[i] = (float)ldexp((double)(int64_t)word, -63 - (int)(word % 40));
    }
    t.sample_rate_hz = rate;
    t.start_s = start;
    plyecho_labels_set(&t.labels, "part", 0, "T-104: left", NULL);
    plyecho_labels_set(&t.labels, "angle_deg", 1, "52.5", NULL);
    return t;
}

static void assert_same(const struct plyecho_traces *a, const struct plyecho_traces *b)
{
    assert_int_equal(a->channels, b->channels);
    assert_int_equal(a->samples, b->samples);
    assert_memory_equal(a->amplitude, b->amplitude, a->channels * a->samples * sizeof(float));
    assert_true(a->sample_rate_hz == b->sample_rate_hz);
    assert_true(a->start_s == b->start_s);
    assert_int_equal(a->signal, b->signal);
    assert_true(a->full_scale == b->full_scale);
    assert_true(a->step == b->step);
    assert_string_equal(b->note, "");
}

/* traces -> CSV -> WAV -> CSV: all bits, all labels, the same bytes. */
static void round_trips_are_exact(void **state)
{
    (void)state;
    static const double rates[] = {1e8, 79.972e6, 1e9 / 3.0, 1.0, 44100.7, 5e9};
    static const double starts[] = {0.0, 1.25e-6, 1e-6 / 3.0, -3.1e-7, 0.0, 1e-3};
    for (int i = 0; i < 6; i++) {
        struct plyecho_traces t =
            sample_traces(1 + (size_t)i % 3, 2 + 100 * (size_t)i, rates[i], starts[i]);
        struct plyecho_traces from_csv, from_wav;
        struct plyecho_error err;
        t.signal = (enum plyecho_signal)(i % 4);
        t.full_scale = i % 2 == 0 ? 0.0 : 0.7;
        t.step = i % 2 == 0 ? 0.0 : 0.7 / 2048;
        void *csv, *wav, *again;
        size_t csv_size, wav_size, again_size;
        assert_int_equal(
            plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &csv, &csv_size, &err), 0);
        if (plyecho_tracefile_read(csv, csv_size, NULL, &from_csv, &err) != PLYECHO_OK)
            fail_msg("%d: line %ld: %s", i, err.line, err.text);
        assert_same(&t, &from_csv);
        assert_int_equal(
            plyecho_tracefile_write(&from_csv, PLYECHO_CONTAINER_WAV, &wav, &wav_size, &err),
            0);
        if (plyecho_tracefile_read(wav, wav_size, NULL, &from_wav, &err) != PLYECHO_OK)
            fail_msg("%d: %s", i, err.text);
        assert_same(&t, &from_wav);
        assert_int_equal(plyecho_tracefile_write(&from_wav, PLYECHO_CONTAINER_CSV, &again,
                                                 &again_size, &err),
                         0);
        assert_int_equal(again_size, csv_size);
        assert_memory_equal(again, csv, csv_size);
        free(csv);
        free(wav);
        free(again);
        plyecho_traces_clear(&from_csv);
        plyecho_traces_clear(&from_wav);
        plyecho_traces_clear(&t);
    }
}

static void a_written_file_looks_as_documented(void **state)
{
    (void)state;
    struct plyecho_traces t;
    void *bytes;
    size_t size;
    plyecho_traces_init(&t, 2, 3, NULL);
    t.sample_rate_hz = 79.972e6;
    t.start_s = 1.5e-6;
    t.amplitude[0] = 0.1F;
    t.amplitude[5] = -3.0F;
    plyecho_labels_set(&t.labels, "part", 0, "T-104", NULL);
    assert_int_equal(plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, NULL),
                     PLYECHO_OK);
    static const char expected[] =
        "# part: T-104\n# sample_rate_hz: 79972000\n# start_us: 1.5\n# signal: rf\n"
        "time_us,ch1,ch2\n1.5,0.1,0\n1.51250438,0,0\n1.52500875,0,-3\n";
    assert_int_equal(size, sizeof expected - 1);
    assert_memory_equal(bytes, expected, size);
    free(bytes);
    t.amplitude[2] = NAN;
    assert_int_equal(plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, NULL),
                     PLYECHO_BAD_ARGUMENT);
    assert_null(bytes);
    plyecho_traces_clear(&t);
}

static void failing_allocations_are_reported_and_leak_nothing(void **state)
{
    (void)state;
    static const char text[] = "# part: T-104\n# angle_deg[1]: 5\nt (us);north;south (V)\n"
                               "0,00;-0,5;1\n0,01;0,25;2\n0,03;0,25;2\n0,04;1;1\n";
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long n = 0;
    for (; code == PLYECHO_NO_MEMORY; n++) {
        struct plyecho_traces t;
        struct plyecho_error err = {.text = ""};
        void *bytes = NULL;
        size_t size = 0;
        fail_allocation(n);
        code = read_text(text, &t, &err);
        if (code == PLYECHO_OK)
            code = plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, &err);
        fail_no_allocation();
        if (code != PLYECHO_OK && code != PLYECHO_NO_MEMORY)
            fail_msg("%ld: line %ld: %s", n, err.line, err.text);
        free(bytes);
        plyecho_traces_clear(&t);
    }
    assert_true(n > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(round_trips_are_exact),
        cmocka_unit_test(a_written_file_looks_as_documented),
        cmocka_unit_test(failing_allocations_are_reported_and_leak_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
