/* What an inspection finds in traces whose faults are known. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/inspect.h>

#include "failing_alloc.h"

#define PI 3.14159265358979323846

enum { SAMPLES = 2048 };

static const double rate = 100e6;
static uint32_t seed;

static double gaussian(void)
{
    double sum = -6.0;
    for (int k = 0; k < 12; k++) {
        seed = seed * 1664525u + 1013904223u;
        sum += (double)(seed >> 8) / 16777216.0;
    }
    return sum;
}

static void add_echo(float *x, size_t n, double centre, double height, double hz)
{
    for (size_t i = 0; i < n; i++) {
        double t = ((double)i - centre) / rate, alpha = 0.88 * hz * hz;
        x[i] += (float)(height * exp(-alpha * t * t) * cos(2.0 * PI * hz * t + 0.4));
    }
}

/* Echoes of a wall at 10 MHz, noise 46 dB below the largest. */
static void plain(float *x)
{
    seed = 11;
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = (float)(0.005 * gaussian());
    add_echo(x, SAMPLES, 400.0, 1.0, 10e6);
    add_echo(x, SAMPLES, 603.3, -0.5, 10e6);
    add_echo(x, SAMPLES, 806.6, 0.15, 10e6);
}

static struct plyecho_trace view(const float *x)
{
    return (struct plyecho_trace){.amplitude = x,
                                  .samples = SAMPLES,
                                  .sample_rate_hz = rate,
                                  .start_s = 3e-6,
                                  .channel = 1};
}

static struct plyecho_inspection inspect(const struct plyecho_trace *trace)
{
    struct plyecho_inspector *inspector;
    struct plyecho_inspection inspection;
    struct plyecho_error err;
    if (plyecho_inspector_new(&inspector, trace->samples, trace->sample_rate_hz, &err) !=
        PLYECHO_OK)
        fail_msg("%s", err.text);
    assert_int_equal(plyecho_inspector_run(inspector, trace, &inspection, &err), PLYECHO_OK);
    plyecho_inspector_free(inspector);
    return inspection;
}

static const char *words(const struct plyecho_inspection *inspection,
                         const struct plyecho_trace *trace)
{
    static char text[600];
    return plyecho_inspection_words(inspection, trace, text, sizeof text);
}

static void expect(const float *x, unsigned doubts, const char *says)
{
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    const char *text = words(&in, &trace);
    if (in.doubts != doubts || strstr(text, says) == NULL)
        fail_msg("doubts %#x, expected %#x: %s", in.doubts, doubts, text);
}

static void sound_trace_is_measured_and_not_doubted(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    assert_int_equal(in.doubts, 0);
    assert_string_equal(words(&in, &trace), "");
    assert_float_equal(in.peak, 1.0, 0.02);
    assert_float_equal(in.peak_s, 7e-6, 1.5e-8);
    /* A fifth of 32 stretches with 63 degrees of freedom: 4 standard errors are about 20 %. */
    assert_float_equal(in.noise_rms, 0.005, 0.001);
    assert_float_equal(in.snr_db, 46.0, 2.0);
    assert_float_equal(in.offset, 0.0, 0.005);
    /* Closed form: half at 10 MHz -+ sqrt(0.88 ln 2) / pi x 10 MHz = 7.514 and 12.486 MHz. */
    assert_float_equal(in.band.peak_hz, 10e6, 0.15e6);
    assert_float_equal(in.band.lower_hz, 7.514e6, 0.15e6);
    assert_float_equal(in.band.upper_hz, 12.486e6, 0.15e6);
    assert_true(isnan(in.step) && isnan(in.peak_counts) && isnan(in.line_hz));
    assert_int_equal(in.clipping.samples, 0);
}

static void each_fault_is_found_and_no_other(void **state)
{
    (void)state;
    float good[SAMPLES], x[SAMPLES];
    plain(good);
#define EACH(value)                                                                            \
    for (size_t i = 0; i < SAMPLES; i++)                                                       \
    x[i] = (float)(value)
    EACH(good[i] + 0.2);
    expect(x, PLYECHO_DOUBT_OFFSET, "offset of 0.2");
    EACH(good[i] + 0.15 * (double)i / SAMPLES - 0.075);
    expect(x, PLYECHO_DOUBT_DRIFT, "drifts");
    EACH(good[i] + 0.3 * exp(-(double)i / 150.0) - 0.02);
    expect(x, PLYECHO_DOUBT_DRIFT, "drifts");
    EACH(good[i] + (i < 1300 ? -0.04 : 0.07));
    expect(x, PLYECHO_DOUBT_STEP, "jumps by 11 %");
    EACH(good[i] + 0.02 * cos(2.0 * PI * 13.57e6 * (double)i / rate));
    expect(x, PLYECHO_DOUBT_LINE, "line at 13.57 MHz, 2 %");
    EACH(fmax(-0.6, fmin(0.6, good[i])));
    expect(x, PLYECHO_DOUBT_CLIPPED, "clipped");
    EACH(round(good[i] * 10.0));
    expect(x, PLYECHO_DOUBT_FEW_COUNTS | PLYECHO_DOUBT_FLAT, "counts");
    EACH(round(good[i] * 100.0)); /* noise of half a count is still there */
    expect(x, 0, "");
    EACH(fabs(good[i]));
    expect(x, PLYECHO_DOUBT_ONE_SIDED, "rectified");
    EACH(good[i] * 0.0 + 0.01 * gaussian());
    expect(x, PLYECHO_DOUBT_NO_ECHO, "no echo");
    EACH(0.005 * gaussian());
    add_echo(x, SAMPLES, 400.0, 1.0, 30e6);
    expect(x, PLYECHO_DOUBT_RATE, "samples a period at");
#undef EACH
}

/* Noise of 0.2 counts stays between two steps of the converter in half of the stretches of 64
 * samples: (1 - 2 Q(2.5))^64 = 0.45. An echo then has no signal-to-noise. */
static void noise_below_the_converter_is_no_silence(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = (float)round(x[i] * 40.0);
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    assert_int_equal(in.doubts, PLYECHO_DOUBT_FLAT);
    assert_non_null(strstr(words(&in, &trace), "exactly flat"));
    assert_true(in.noise_rms == 0.0 && isnan(in.snr_db));
    assert_float_equal(in.flat_share, 0.45, 0.3); /* of 32 stretches, 3.4 standard errors */
}

/* The recorder's clock is 100 MHz, the file says 48 kHz. */
static void a_scaled_rate_is_seen(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    struct plyecho_trace trace = view(x);
    trace.sample_rate_hz = 48e3;
    trace.start_s = 0.0;
    struct plyecho_inspection in = inspect(&trace);
    assert_int_equal(in.doubts, PLYECHO_DOUBT_SCALED);
    assert_non_null(strstr(words(&in, &trace), "echoes at 4.8"));
    assert_non_null(strstr(words(&in, &trace), "--sample-rate"));
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = fabsf(x[i]);
    trace.signal = PLYECHO_SIGNAL_RECTIFIED;
    in = inspect(&trace);
    assert_int_equal(in.doubts, PLYECHO_DOUBT_SCALED);
    assert_non_null(strstr(words(&in, &trace), "sample rate 48000 Hz"));
}

static void lines_that_do_not_last_are_none(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x); /* a probe that rings down */
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] += (float)(0.3 * exp(-(double)i / 700.0) * cos(2.0 * PI * 6e6 * (double)i / rate));
    expect(x, 0, "");
    plain(x); /* a tone in the quietest stretch only */
    for (size_t i = 1500; i < SAMPLES; i++)
        x[i] = (float)(0.006 * cos(2.0 * PI * 13e6 * (double)i / rate));
    expect(x, 0, "");
}

static void smooth_moves_and_lopsided_echoes_are_no_jumps(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] += (float)(0.06 * tanh(((double)i - 1000.0) / 21.0));
    expect(x, PLYECHO_DOUBT_DRIFT, "drifts");
    struct plyecho_trace trace = view(x);
    trace.samples = 500;
    for (int k = 0; k < 400; k++) { /* a burst that is cut: its mean is not zero */
        size_t begin = 150 + (size_t)(k % 150);
        for (size_t i = 0; i < 500; i++) {
            double t = (double)i - (double)begin;
            double burst = t < 0 ? 0.0 : 2.0 * exp(-t / 20.0) * sin(0.2 * PI * t + 0.1 * k);
            x[i] = (float)fmax(-1.0, fmin(1.0, burst + 0.004 * gaussian()));
        }
        if (inspect(&trace).doubts & PLYECHO_DOUBT_STEP)
            fail_msg("burst %d called a jump", k);
    }
}

static void quantised_trace_shows_its_counts(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = (float)(round(x[i] * 1000.0) * 0.00048828125);
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    assert_float_equal(in.step, 0.00048828125, 1e-9);
    assert_float_equal(in.peak_counts, 1000.0, 25.0);
    assert_int_equal(in.doubts, 0);
    trace.step = 0.5; /* what the file says goes first */
    in = inspect(&trace);
    assert_true(in.step == 0.5);
}

static void grids_are_told_from_values_without_one(void **state)
{
    (void)state;
    const float rounded[] = {-0.0146f, -0.0098f, -0.0049f, 0.0f, 0.0049f, 0.0146f, 0.0195f};
    assert_float_equal(plyecho_count_step(rounded, 7), 0.00487, 2e-5);
    float decimals[400]; /* four digits after the point, as floats hold them, with wide gaps */
    for (int i = 0; i < 400; i++)
        decimals[i] = (float)(round(-7000.0 + 0.045 * i * i + 3.0 * i) * 1e-4);
    decimals[399] = 0.9001f;
    assert_float_equal(plyecho_count_step(decimals, 400), 1e-4, 1e-8);
    const float none[] = {0.0f, 1.0f, 2.4f, 3.1f};
    assert_true(isnan(plyecho_count_step(none, 4)));
    const float equal[] = {2.0f, 2.0f};
    assert_true(isnan(plyecho_count_step(equal, 2)));
    const float fine[] = {1.0f, 1.0000001f, 1.0000002f};
    assert_true(isnan(plyecho_count_step(fine, 3)));
}

static void constant_traces_say_so(void **state)
{
    (void)state;
    float x[SAMPLES] = {0};
    expect(x, PLYECHO_DOUBT_CONSTANT, "constant, all samples are 0:");
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = 0.3f;
    expect(x, PLYECHO_DOUBT_CONSTANT, "constant");
    x[1000] = 0.4f; /* one sample alone must not make anything infinite */
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    assert_false(in.doubts & PLYECHO_DOUBT_CONSTANT);
    assert_true(!isinf(in.snr_db) && !isinf(in.peak_counts) && in.peak > 0.0);
}

static void envelopes_have_no_frequency(void **state)
{
    (void)state;
    float x[SAMPLES];
    for (size_t i = 0; i < SAMPLES; i++) {
        double t = ((double)i - 500.0) / 20.0;
        x[i] = (float)(exp(-t * t) + 0.01 * fabs(gaussian()));
    }
    struct plyecho_trace trace = view(x);
    trace.signal = PLYECHO_SIGNAL_ENVELOPE;
    struct plyecho_inspection in = inspect(&trace);
    assert_int_equal(in.doubts, 0);
    assert_true(isnan(in.band.peak_hz) && isnan(in.drift));
    assert_float_equal(in.peak_s, 8e-6, 5e-8);
    x[900] = -0.3f;
    in = inspect(&trace);
    assert_int_equal(in.doubts, PLYECHO_DOUBT_TWO_SIDED);
    assert_non_null(strstr(words(&in, &trace), "said to be envelope"));
    trace.signal = PLYECHO_SIGNAL_LOG; /* dB go below zero */
    in = inspect(&trace);
    assert_int_equal(in.doubts, 0);
    assert_true(isnan(in.noise_rms) && isnan(in.snr_db));
}

static void short_records_work(void **state)
{
    (void)state;
    float x[SAMPLES];
    for (size_t n = 2; n < 300; n++) {
        for (size_t i = 0; i < n; i++)
            x[i] = (float)gaussian();
        struct plyecho_trace trace = view(x);
        trace.samples = n;
        struct plyecho_inspection in = inspect(&trace);
        assert_true(isfinite(in.peak) && isfinite(in.offset) && !isinf(in.snr_db));
    }
}

static void words_are_cut_not_overrun(void **state)
{
    (void)state;
    char text[40];
    float x[SAMPLES] = {0};
    struct plyecho_trace trace = view(x);
    struct plyecho_inspection in = inspect(&trace);
    in.doubts = 0x7ff;
    for (size_t room = 1; room < sizeof text; room++) {
        memset(text, '#', sizeof text);
        plyecho_inspection_words(&in, &trace, text, room);
        assert_true(strlen(text) < room);
        assert_int_equal(text[room], '#');
    }
}

static void trouble_is_said(void **state)
{
    (void)state;
    float x[SAMPLES];
    plain(x);
    struct plyecho_inspector *inspector;
    struct plyecho_inspection in;
    struct plyecho_error err;
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    for (long failing = 0; code != PLYECHO_OK; failing++) {
        fail_allocation(failing);
        code = plyecho_inspector_new(&inspector, SAMPLES, rate, &err);
        fail_no_allocation();
        if (code != PLYECHO_OK) {
            assert_int_equal(code, PLYECHO_NO_MEMORY);
            assert_null(inspector);
        }
        assert_true(failing < 100);
    }
    struct plyecho_trace trace = view(x);
    trace.samples = 100;
    assert_int_equal(plyecho_inspector_run(inspector, &trace, &in, &err), PLYECHO_BAD_ARGUMENT);
    plyecho_inspector_free(inspector);
    plyecho_inspector_free(NULL);
    assert_int_equal(plyecho_inspector_new(&inspector, 1, rate, &err), PLYECHO_BAD_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sound_trace_is_measured_and_not_doubted),
        cmocka_unit_test(each_fault_is_found_and_no_other),
        cmocka_unit_test(noise_below_the_converter_is_no_silence),
        cmocka_unit_test(a_scaled_rate_is_seen),
        cmocka_unit_test(lines_that_do_not_last_are_none),
        cmocka_unit_test(smooth_moves_and_lopsided_echoes_are_no_jumps),
        cmocka_unit_test(quantised_trace_shows_its_counts),
        cmocka_unit_test(grids_are_told_from_values_without_one),
        cmocka_unit_test(constant_traces_say_so),
        cmocka_unit_test(envelopes_have_no_frequency),
        cmocka_unit_test(short_records_work),
        cmocka_unit_test(words_are_cut_not_overrun),
        cmocka_unit_test(trouble_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
