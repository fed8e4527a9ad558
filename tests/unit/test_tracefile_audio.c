/* Audio containers: exact round trips, labels in the comment or a chunk, levels of the sample
 * formats, and headers that lie. Files other than our own are made with libsndfile itself. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sndfile.h>

#include <plyecho/tracefile.h>

#include "audio_memory.h"
#include "failing_alloc.h"
#include "formats.h"

static struct plyecho_traces ramp(size_t channels, size_t samples)
{
    struct plyecho_traces t;
    assert_int_equal(plyecho_traces_init(&t, channels, samples, NULL), PLYECHO_OK);
    for (size_t c = 0; c < channels; c++)
        for (size_t i = 0; i < samples; i++)
            t.amplitude[c * samples + i] = (float)(0.001 * (double)i - 0.1 * (double)c);
    t.sample_rate_hz = 100e6;
    return t;
}

struct bytes {
    void *data;
    size_t size;
};

static struct bytes written(const struct plyecho_traces *t)
{
    struct bytes b;
    struct plyecho_error err;
    if (plyecho_tracefile_write(t, PLYECHO_CONTAINER_WAV, &b.data, &b.size, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return b;
}

/* A file of another program: any container and sample format, 1 or 2 channels, with an optional
 * comment. */
static struct bytes made(int format, int channels, int frames, int rate, const char *comment)
{
    struct pe_audio_memory memory = {.input = NULL};
    SF_VIRTUAL_IO io = pe_audio_memory_io();
    SF_INFO info = {.samplerate = rate, .channels = channels, .format = format};
    SNDFILE *file = sf_open_virtual(&io, SFM_WRITE, &info, &memory);
    if (file == NULL)
        fail_msg("format %x: %s", (unsigned)format, sf_strerror(NULL));
    if (comment != NULL)
        assert_int_equal(sf_set_string(file, SF_STR_COMMENT, comment), 0);
    for (int i = 0; i < frames; i++) {
        double frame[2] = {(i - 50) / 128.0, -0.5};
        assert_int_equal(sf_writef_double(file, frame, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
    return (struct bytes){memory.output, memory.size};
}

static void assert_reads(const struct bytes *b, struct plyecho_traces *t)
{
    struct plyecho_error err;
    if (plyecho_tracefile_read(b->data, b->size, NULL, t, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

static void every_container_and_format_is_read(void **state)
{
    (void)state;
    static const struct {
        int format;
        double step, tolerance;
    } cases[] = {
        {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1.0 / 128, 0},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1.0 / 32768, 2e-5},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_24, 1.0 / 8388608, 1e-7},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_32, 1.0 / 2147483648.0, 1e-7},
        {SF_FORMAT_WAV | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 0, 0},
        {SF_FORMAT_WAV | SF_FORMAT_ULAW, 0, 0.03},
        {SF_FORMAT_WAVEX | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 1.0 / 32768, 2e-5},
        {SF_FORMAT_RF64 | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_W64 | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_W64 | SF_FORMAT_PCM_16, 1.0 / 32768, 2e-5},
        {SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 1.0 / 32768, 2e-5},
        {SF_FORMAT_AIFF | SF_FORMAT_PCM_S8, 1.0 / 128, 0},
        {SF_FORMAT_AIFF | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_CAF | SF_FORMAT_FLOAT, 0, 0},
        {SF_FORMAT_CAF | SF_FORMAT_PCM_24, 1.0 / 8388608, 1e-7},
        {SF_FORMAT_AU | SF_FORMAT_PCM_16, 1.0 / 32768, 2e-5},
        {SF_FORMAT_AU | SF_FORMAT_FLOAT | SF_ENDIAN_LITTLE, 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct bytes b = made(cases[i].format, 2, 101, 100000000, NULL);
        struct plyecho_traces t;
        assert_reads(&b, &t);
        assert_int_equal(t.channels, 2);
        assert_int_equal(t.samples, 101);
        assert_true(t.sample_rate_hz == 1e8 && t.start_s == 0.0);
        assert_int_equal(t.signal, PLYECHO_SIGNAL_RF);
        assert_int_equal(t.container, PLYECHO_CONTAINER_WAV);
        bool bounded = cases[i].step > 0 || (cases[i].format & 0xffff) == SF_FORMAT_ULAW;
        if (t.step != cases[i].step || t.full_scale != (bounded ? 1.0 : 0.0))
            fail_msg("%zu: step %g, full scale %g", i, t.step, t.full_scale);
        for (int s = 0; s < 101; s++)
            if (fabs((double)t.amplitude[s] - (s - 50) / 128.0) > cases[i].tolerance + 1e-9 &&
                cases[i].step < 1.0 / 200)
                fail_msg("%zu: sample %d is %g", i, s, (double)t.amplitude[s]);
        plyecho_traces_clear(&t);
        free(b.data);
    }
}

static void what_we_write_comes_back_bit_for_bit(void **state)
{
    (void)state;
    static const double rates[] = {100e6, 79.972e6, 3e9, 0.25, 1e9 / 3};
    for (int i = 0; i < 5; i++) {
        struct plyecho_traces t = ramp(1 + (size_t)i, 2 + 700 * (size_t)i), back;
        t.sample_rate_hz = rates[i];
        t.start_s = 1e-6 / 3 * i;
        t.amplitude[0] = 3.0e38F;
        t.amplitude[1] = -1e-45F;
        plyecho_labels_set(&t.labels, "part", 0,
                           "T-104: \xc3\xa4u\xc3\x9f"
                           "ere",
                           NULL);
        plyecho_labels_set(&t.labels, "angle_deg", 1, "52.5", NULL);
        struct bytes b = written(&t), again = written(&t);
        assert_int_equal(b.size, again.size);
        assert_memory_equal(b.data, again.data, b.size);
        assert_reads(&b, &back);
        assert_memory_equal(back.amplitude, t.amplitude,
                            t.channels * t.samples * sizeof(float));
        assert_true(back.sample_rate_hz == rates[i] && back.start_s == t.start_s);
        assert_string_equal(plyecho_labels_get(&back.labels, "part", 0),
                            "T-104: \xc3\xa4u\xc3\x9f"
                            "ere");
        assert_string_equal(plyecho_labels_get(&back.labels, "angle_deg", 1), "52.5");
        assert_int_equal(back.labels.count, 5);
        free(b.data);
        free(again.data);
        plyecho_traces_clear(&back);
        plyecho_traces_clear(&t);
    }
}

static void no_chunk_with_the_time_of_day_is_written(void **state)
{
    (void)state;
    struct plyecho_traces t = ramp(1, 50);
    struct bytes b = written(&t);
    for (size_t i = 0; i + 4 <= b.size; i++)
        assert_memory_not_equal((char *)b.data + i, "PEAK", 4);
    free(b.data);
    plyecho_traces_clear(&t);
}

/* Labels of any length up to the limit come back; beyond it is an error, never a loss. */
static void labels_of_any_length_come_back_or_are_refused(void **state)
{
    (void)state;
    static const size_t sizes[] = {1,    100,   1900,  1940,  1950,  2000,  2045,
                                   2100, 10000, 30001, 49000, 49900, 50000, 70000};
    for (int large = 0; large < 2; large++)
        for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
            struct plyecho_traces t = ramp(3, 20), back;
            struct plyecho_error err;
            struct bytes b;
            char *value = malloc(sizes[i] + 1);
            assert_non_null(value);
            for (size_t k = 0; k < sizes[i]; k++)
                value[k] = (char)('a' + k % 26);
            value[sizes[i]] = '\0';
            plyecho_labels_set(&t.labels, "remark", 2, value, NULL);
            enum plyecho_code code = large ? pe_audio_write(&t, true, &b.data, &b.size, &err)
                                           : plyecho_tracefile_write(&t, PLYECHO_CONTAINER_WAV,
                                                                     &b.data, &b.size, &err);
            if (sizes[i] >= 50000) {
                assert_int_equal(code, PLYECHO_NO_LABEL_ROOM);
            } else {
                if (code != PLYECHO_OK)
                    fail_msg("%zu: %s", sizes[i], err.text);
                assert_reads(&b, &back);
                assert_string_equal(plyecho_labels_get(&back.labels, "remark", 2), value);
                assert_memory_equal(back.amplitude, t.amplitude, 60 * sizeof(float));
                plyecho_traces_clear(&back);
                free(b.data);
            }
            free(value);
            plyecho_traces_clear(&t);
        }
}

static void a_foreign_comment_is_kept(void **state)
{
    (void)state;
    static const struct {
        const char *comment, *key, *value;
    } cases[] = {
        {"recorded on the bench", "comment", "recorded on the bench"},
        {"line one\r\nline two", "comment", "line one  line two"},
        {"part: T-104\r\ngain_db: 40", "gain_db", "40"},
        {"sample_rate_hz: 79972000\nnot a label", "comment",
         "sample_rate_hz: 79972000 not a label"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct bytes b = made(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1, 10, 48000, cases[i].comment);
        struct plyecho_traces t;
        assert_reads(&b, &t);
        assert_string_equal(plyecho_labels_get(&t.labels, cases[i].key, 0), cases[i].value);
        assert_true(t.sample_rate_hz == 48000);
        plyecho_traces_clear(&t);
        free(b.data);
    }
}

static void labels_and_options_win_over_the_header(void **state)
{
    (void)state;
    struct bytes b = made(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1, 101, 100000,
                          "sample_rate_hz: 79972000\nstart_us: 2.5\nsignal: rectified\n"
                          "full_scale: 0.5\nreference_reflection: -1");
    struct plyecho_traces t;
    const struct plyecho_read_options options = {.sample_rate_hz = 80e6};
    assert_reads(&b, &t);
    assert_true(t.sample_rate_hz == 79972000 && t.start_s == 2.5e-6);
    assert_int_equal(t.signal, PLYECHO_SIGNAL_RECTIFIED);
    assert_true(t.full_scale == 0.5 && t.step == 0.5 / 32768);
    assert_true(fabs((double)t.amplitude[0] - 0.5 * -50.0 / 128) < 2e-5);
    struct bytes float_file = written(&t); /* floats are not scaled a second time */
    struct plyecho_traces back;
    assert_reads(&float_file, &back);
    assert_memory_equal(back.amplitude, t.amplitude, 101 * sizeof(float));
    assert_true(back.full_scale == 0.5 && back.step == 0.5 / 32768);
    plyecho_traces_clear(&back);
    plyecho_traces_clear(&t);
    assert_int_equal(plyecho_tracefile_read(b.data, b.size, &options, &t, NULL), PLYECHO_OK);
    assert_true(t.sample_rate_hz == 80e6);
    assert_string_equal(plyecho_labels_get(&t.labels, "sample_rate_hz", 0), "80000000");
    plyecho_traces_clear(&t);
    free(float_file.data);
    free(b.data);
}

static void assert_refused(const struct bytes *b, size_t size, enum plyecho_code code,
                           const char *said)
{
    struct plyecho_traces t;
    struct plyecho_error err = {.text = ""};
    enum plyecho_code got = plyecho_tracefile_read(b->data, size, NULL, &t, &err);
    if (got != code || strstr(err.text, said) == NULL)
        fail_msg("code %d: %s (expected '%s')", (int)got, err.text, said);
    assert_null(t.amplitude);
}

static size_t find_bytes(const struct bytes *b, const char *what, size_t size)
{
    for (size_t i = 0; i + size <= b->size; i++)
        if (memcmp((char *)b->data + i, what, size) == 0)
            return i;
    fail_msg("no '%s'", what);
    return 0;
}

static void every_truncation_is_an_error(void **state)
{
    (void)state;
    static const int formats[] = {
        SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_RF64 | SF_FORMAT_FLOAT,
        SF_FORMAT_W64 | SF_FORMAT_FLOAT,  SF_FORMAT_AIFF | SF_FORMAT_PCM_16,
        SF_FORMAT_CAF | SF_FORMAT_PCM_24, SF_FORMAT_AU | SF_FORMAT_PCM_16};
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        struct bytes b = made(formats[i], 1, 64, 48000, NULL);
        for (size_t size = 1; size < b.size; size++) {
            struct plyecho_traces t;
            struct plyecho_error err;
            char *exact = malloc(size); /* so that a sanitizer sees a byte read too many */
            assert_non_null(exact);
            memcpy(exact, b.data, size);
            if (plyecho_tracefile_read(exact, size, NULL, &t, &err) == PLYECHO_OK)
                fail_msg("format %x cut to %zu of %zu bytes was read", (unsigned)formats[i],
                         size, b.size);
            free(exact);
        }
        free(b.data);
    }
}

static void lying_headers_are_told_in_frames(void **state)
{
    (void)state;
    struct bytes b = made(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, 100, 48000, NULL);
    assert_refused(&b, b.size - 8, PLYECHO_BAD_FILE, "promises 100 frames, but 98 are there");
    unsigned char *length = (unsigned char *)b.data + find_bytes(&b, "data", 4) + 4;
    memcpy(length, "\x90\x01\x00\x00", 4); /* 400 bytes, as it was */
    assert_refused(&b, b.size - 1, PLYECHO_BAD_FILE, "100 frames, but 99");
    memcpy(length, "\x20\x03\x00\x00", 4);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "promises 200 frames, but 100 are there");
    memcpy(length, "\x00\x00\x00\x00", 4);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "promises 0 frames, but 100");
    memcpy(length, "\xff\xff\xff\xff", 4);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "promises 1073741823 frames, but 100");
    memcpy(length, "\x64\x00\x00\x00", 4);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "promises 25 frames, but ");
    free(b.data);
}

static void files_without_a_trace_are_refused(void **state)
{
    (void)state;
    struct bytes b = made(SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1, 0, 48000, NULL);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "0 samples");
    free(b.data);
    b = made(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1, 1, 48000, NULL);
    assert_refused(&b, b.size, PLYECHO_BAD_FILE, "1 samples");
    free(b.data);
    b = made(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1, 20, 48000, NULL);
    size_t samples = find_bytes(&b, "data", 4) + 8;
    static const float broken[] = {NAN, INFINITY};
    for (int i = 0; i < 2; i++) {
        struct plyecho_traces t;
        struct plyecho_error err;
        memcpy((char *)b.data + samples + 4 * (7 + i), &broken[i], 4);
        assert_int_equal(plyecho_tracefile_read(b.data, b.size, NULL, &t, &err),
                         PLYECHO_BAD_FILE);
        assert_int_equal(err.sample, 7 + i);
        assert_non_null(strstr(err.text, i == 0 ? "sample 7 of" : "sample 8 of channel 1"));
        if (i == 0)
            memset((char *)b.data + samples + 4 * 7, 0, 4);
    }
    free(b.data);
    b = made(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1, 20, 48000, NULL);
    unsigned char *channels = (unsigned char *)b.data + find_bytes(&b, "fmt ", 4) + 10;
    channels[0] = 0x01;
    channels[1] = 0x04;
    assert_refused(&b, b.size, PLYECHO_TOO_LARGE, "1025 channels");
    free(b.data);
}

static void up_to_1024_channels_go_both_ways(void **state)
{
    (void)state;
    struct plyecho_traces t = ramp(1024, 4), back;
    struct bytes b = written(&t);
    assert_reads(&b, &back);
    assert_int_equal(back.channels, 1024);
    assert_memory_equal(back.amplitude, t.amplitude, 4096 * sizeof(float));
    plyecho_traces_clear(&back);
    plyecho_traces_clear(&t);
    free(b.data);
}

static void the_large_form_is_taken_from_four_gigabytes_on(void **state)
{
    (void)state;
    assert_false(pe_audio_is_large(1, 1000000));
    assert_false(pe_audio_is_large(1024, 1000000));
    assert_false(pe_audio_is_large(1, 1073000000));
    assert_true(pe_audio_is_large(1, 1073741824));
    assert_true(pe_audio_is_large(1024, 1048576));
    struct plyecho_traces t = ramp(2, 300), back;
    struct plyecho_error err;
    struct bytes b;
    assert_int_equal(pe_audio_write(&t, true, &b.data, &b.size, &err), PLYECHO_OK);
    assert_memory_equal(b.data, "RF64", 4);
    assert_reads(&b, &back);
    assert_memory_equal(back.amplitude, t.amplitude, 600 * sizeof(float));
    plyecho_traces_clear(&back);
    plyecho_traces_clear(&t);
    free(b.data);
}

/* Bytes behind a true beginning: no crash, and nothing that is not there is made up. */
static void damaged_headers_never_crash(void **state)
{
    (void)state;
    static const int formats[] = {
        SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_RF64 | SF_FORMAT_FLOAT,
        SF_FORMAT_W64 | SF_FORMAT_FLOAT,  SF_FORMAT_AIFF | SF_FORMAT_PCM_16,
        SF_FORMAT_CAF | SF_FORMAT_PCM_24, SF_FORMAT_AU | SF_FORMAT_PCM_16};
    uint64_t word = 20261125;
    for (size_t f = 0; f < sizeof formats / sizeof formats[0]; f++) {
        struct bytes b = made(formats[f], 1, 32, 48000, NULL);
        unsigned char *copy = malloc(b.size);
        assert_non_null(copy);
        for (int round = 0; round < 3000; round++) {
            memcpy(copy, b.data, b.size);
            for (int k = 0; k < 1 + round % 4; k++) {
                word = word * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
                copy[4 + (word >> 40) % (b.size - 4)] = (unsigned char)(word >> 32);
            }
            struct plyecho_traces t;
            if (plyecho_tracefile_read(copy, b.size, NULL, &t, NULL) == PLYECHO_OK)
                assert_true(t.channels * t.samples <= 16 * b.size);
            plyecho_traces_clear(&t);
        }
        free(copy);
        free(b.data);
    }
}

static void failing_allocations_are_reported_and_leak_nothing(void **state)
{
    (void)state;
    for (int long_labels = 0; long_labels < 2; long_labels++) {
        struct plyecho_traces t = ramp(2, 3000);
        char value[2500];
        memset(value, 'x', sizeof value - 1);
        value[sizeof value - 1] = '\0';
        plyecho_labels_set(&t.labels, "remark", 1, long_labels ? value : "short", NULL);
        enum plyecho_code code = PLYECHO_NO_MEMORY;
        long n = 0;
        for (; code == PLYECHO_NO_MEMORY; n++) {
            struct plyecho_traces back = {0};
            struct plyecho_error err = {.text = ""};
            struct bytes b = {NULL, 0};
            fail_allocation(n);
            code = plyecho_tracefile_write(&t, PLYECHO_CONTAINER_WAV, &b.data, &b.size, &err);
            if (code == PLYECHO_OK)
                code = plyecho_tracefile_read(b.data, b.size, NULL, &back, &err);
            fail_no_allocation();
            if (code != PLYECHO_OK && code != PLYECHO_NO_MEMORY)
                fail_msg("%ld: %s", n, err.text);
            free(b.data);
            plyecho_traces_clear(&back);
        }
        assert_true(n > 20);
        plyecho_traces_clear(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_container_and_format_is_read),
        cmocka_unit_test(what_we_write_comes_back_bit_for_bit),
        cmocka_unit_test(no_chunk_with_the_time_of_day_is_written),
        cmocka_unit_test(labels_of_any_length_come_back_or_are_refused),
        cmocka_unit_test(a_foreign_comment_is_kept),
        cmocka_unit_test(labels_and_options_win_over_the_header),
        cmocka_unit_test(every_truncation_is_an_error),
        cmocka_unit_test(lying_headers_are_told_in_frames),
        cmocka_unit_test(files_without_a_trace_are_refused),
        cmocka_unit_test(up_to_1024_channels_go_both_ways),
        cmocka_unit_test(the_large_form_is_taken_from_four_gigabytes_on),
        cmocka_unit_test(damaged_headers_never_crash),
        cmocka_unit_test(failing_allocations_are_reported_and_leak_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
