/* A probe's pulse measured on echoes whose character is known in closed form. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/probe_character.h>
#include <plyecho/pulse.h>

#include "failing_alloc.h"

static const double pi = 3.14159265358979323846;
static const struct plyecho_probe_options anywhere = {-INFINITY, INFINITY, {false, 0.0}};

enum { SAMPLES = 2000 };

/* Gaussian echoes A exp(-alpha u^2) cos(2 pi f u + phase), time in us, frequency in MHz, on a record that
 * begins at 2 us; alpha 25 /us^2 and 5 MHz have the closed-form values below. */
static void add_echo(struct plyecho_traces *traces, double at_us, double height, double alpha,
                     double mhz, double phase_rad)
{
    for (size_t i = 0; i < traces->samples; i++) {
        double u = traces->start_s * 1e6 + (double)i / (traces->sample_rate_hz * 1e-6) - at_us;
        traces->amplitude[i] +=
            (float)(height * exp(-alpha * u * u) * cos(2.0 * pi * mhz * u + phase_rad));
    }
}

static struct plyecho_traces record_of(double sample_rate_hz)
{
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, 1, SAMPLES, NULL), PLYECHO_OK);
    traces.sample_rate_hz = sample_rate_hz;
    traces.start_s = 2e-6;
    traces.full_scale = 1.0;
    return traces;
}

static void take(const struct plyecho_traces *traces,
                 const struct plyecho_probe_options *options, struct plyecho_probe_echo *echo)
{
    struct plyecho_trace trace = plyecho_traces_channel(traces, 1);
    struct plyecho_error err = {0};
    enum plyecho_code code = plyecho_probe_echo_take(echo, &trace, options, &err);
    assert_string_equal(err.text, "");
    assert_int_equal(code, PLYECHO_OK);
}

static bool near(double value, double expected, double share)
{
    return fabs(value / expected - 1.0) < share;
}

/* Half-amplitude band f -+ sqrt(alpha ln 2)/pi, and the envelope's length at a share s of its peak
 * 2 sqrt(ln(1/s)/alpha): 3.6749 to 6.3251 MHz, arithmetic centre 5.000, geometric 4.821 MHz, 0.6070
 * us at a tenth. */
static void a_gaussian_echo_is_as_its_closed_form(void **state)
{
    (void)state;
    const double rates[] = {50e6, 79.972e6, 100e6}, phases[] = {0.0, 0.7, pi / 2.0};
    for (size_t r = 0; r < 3; r++)
        for (size_t p = 0; p < 3; p++) {
            struct plyecho_traces traces = record_of(rates[r]);
            struct plyecho_probe_echo echo;
            add_echo(&traces, 9.1234, 0.8, 25.0, 5.0, phases[p]);
            take(&traces, &anywhere, &echo);
            const struct plyecho_probe_character *c = &echo.character;
            assert_true(fabs(c->time_s * 1e6 - 9.1234) < 0.002);
            assert_true(near(c->amplitude, 0.8, 0.004));
            assert_true(near(c->band.lower_hz, 3.6749e6, 0.002));
            assert_true(near(c->band.upper_hz, 6.3251e6, 0.002));
            assert_true(near(c->band.centre_hz, 5.0e6, 0.002));
            assert_true(near(c->band.geometric_centre_hz, 4.821e6, 0.002));
            assert_true(near(c->band.peak_hz, 5.0e6, 0.003));
            assert_true(near(c->band.relative_bandwidth, 2.6501 / 5.0, 0.003));
            assert_true(c->length_6db_s.known &&
                        near(c->length_6db_s.value, 2e-6 * sqrt(log(2.0) / 25.0), 0.004));
            assert_true(c->length_20db_s.known &&
                        near(c->length_20db_s.value, 0.6070e-6, 0.003));
            assert_true(c->length_40db_s.known &&
                        near(c->length_40db_s.value, 2e-6 * sqrt(log(100.0) / 25.0), 0.01));
            assert_true(near(c->rise_20db_s, 0.3035e-6, 0.05));
            assert_true(!c->crowded && c->reflection == -1.0);
            plyecho_probe_echo_clear(&echo);
            plyecho_traces_clear(&traces);
        }
}

/* With a crest on the peak the crests of half waves k lie near 0.1 k us and fall as exp(-0.25 k^2): a
 * tenth or more for k from -3 to 3, seven half waves. Their outermost level crossings, solved for with
 * another tool (scipy.optimize.brentq on exp(-25 u^2) |cos(10 pi u)| = 0.1), lie at 0.30316 us. */
static void cycles_and_the_waveforms_length_are_counted(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_probe_echo echo;
    add_echo(&traces, 9.0, 0.8, 25.0, 5.0, 0.0);
    take(&traces, &anywhere, &echo);
    assert_true(echo.character.cycles_20db.known);
    assert_true(echo.character.cycles_20db.value == 3.5);
    assert_true(fabs(echo.character.waveform_20db_s.value * 1e6 - 2.0 * 0.30316) < 0.004);
    /* trough to crest: exp(-0.25) below, 1 above */
    assert_true(near(echo.character.peak_to_peak, 0.8 * (1.0 + exp(-0.25)), 0.01));
    plyecho_probe_echo_clear(&echo);
    plyecho_traces_clear(&traces);
}

/* The simulator's pulses state their -6 dB band, and the level of their envelope in closed form. */
static void a_ringing_pulse_has_the_band_and_length_it_was_made_with(void **state)
{
    (void)state;
    const double tails[] = {0.0, 1.0, 2.0};
    for (size_t k = 0; k < 3; k++) {
        struct plyecho_traces traces = record_of(200e6);
        struct plyecho_pulse pulse;
        struct plyecho_probe_echo echo;
        double value[SAMPLES], before, after;
        assert_int_equal(plyecho_pulse_from_band(&pulse, 10e6, 0.6, 0.3, tails[k], NULL),
                         PLYECHO_OK);
        plyecho_pulse_samples(&pulse, 200e6, -5e-6, SAMPLES, value);
        for (size_t i = 0; i < SAMPLES; i++)
            traces.amplitude[i] = (float)value[i];
        take(&traces, &anywhere, &echo);
        plyecho_pulse_extent(&pulse, 0.1, &before, &after);
        assert_true(near(echo.character.band.bandwidth_hz, 6e6, 0.02));
        assert_true(near(echo.character.band.centre_hz, 10e6, 0.02));
        assert_true(near(echo.character.length_20db_s.value, before + after, 0.02));
        assert_true(fabs(echo.character.rise_20db_s - before) < 6e-9);
        plyecho_probe_echo_clear(&echo);
        plyecho_traces_clear(&traces);
    }
}

static void a_higher_transmission_pulse_is_not_taken(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_probe_echo echo;
    traces.start_s = 0.0;
    add_echo(&traces, 0.0, 3.0, 9.0, 4.0, 0.0);
    add_echo(&traces, 8.0, 0.5, 25.0, 5.0, 0.0);
    add_echo(&traces, 15.9, 0.2, 25.0, 5.0, pi);
    traces.full_scale = 0.0;
    take(&traces, &anywhere, &echo);
    assert_true(fabs(echo.character.time_s - 8.0e-6) < 0.01e-6);
    assert_true(echo.character.clear_from_s > 0.2e-6 && echo.character.clear_from_s < 7e-6);
    assert_true(echo.character.clear_to_s > 9e-6 && echo.character.clear_to_s < 15.8e-6);
    plyecho_probe_echo_clear(&echo);
    struct plyecho_probe_options late = {12e-6, INFINITY, {true, 1.0}};
    take(&traces, &late, &echo);
    assert_true(fabs(echo.character.time_s - 15.9e-6) < 0.01e-6);
    assert_true(echo.character.reflection == 1.0);
    plyecho_probe_echo_clear(&echo);
    plyecho_traces_clear(&traces);
}

/* An echo half a microsecond behind, a third as high: the -20 dB length is not the pulse's. */
static void another_echo_close_by_is_told(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_probe_echo echo;
    add_echo(&traces, 9.0, 0.8, 25.0, 5.0, 0.0);
    add_echo(&traces, 9.75, 0.3, 25.0, 5.0, 0.0);
    take(&traces, &anywhere, &echo);
    assert_true(echo.character.crowded);
    assert_true(echo.character.length_6db_s.known);
    assert_true(!echo.character.length_40db_s.known);
    plyecho_probe_echo_clear(&echo);
    plyecho_traces_clear(&traces);
}

/* White noise at 26 dB hides a hundredth, not a tenth; at 40 dB with a fixed seed the band holds to 3 %. */
static void noise_hides_what_lies_below_it(void **state)
{
    (void)state;
    const double levels[] = {0.05, 0.01};
    for (size_t k = 0; k < 2; k++) {
        struct plyecho_traces traces = record_of(100e6);
        struct plyecho_probe_echo echo;
        unsigned seed = 12345;
        add_echo(&traces, 9.0, 1.0, 25.0, 5.0, 0.0);
        for (size_t i = 0; i < SAMPLES; i++) {
            double sum = 0.0; /* of twelve uniform numbers: near enough to normal */
            for (int j = 0; j < 12; j++) {
                seed = seed * 1664525u + 1013904223u;
                sum += (double)(seed >> 8) / 16777216.0 - 0.5;
            }
            traces.amplitude[i] += (float)(levels[k] * sum);
        }
        traces.full_scale = 4.0;
        take(&traces, &anywhere, &echo);
        /* looked at from 0.5 to 20 of the 50 MHz that white noise fills */
        assert_true(near(echo.character.noise, levels[k] * sqrt(19.5 / 50.0), 0.2));
        assert_true(!echo.character.length_40db_s.known);
        assert_true(near(echo.character.band.centre_hz, 5e6, k == 0 ? 0.08 : 0.03));
        if (k == 1)
            assert_true(near(echo.character.length_20db_s.value, 0.607e-6, 0.06));
        plyecho_probe_echo_clear(&echo);
        plyecho_traces_clear(&traces);
    }
}

static void what_is_no_reference_is_refused(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
    struct plyecho_probe_echo echo;
    struct plyecho_error err;
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &anywhere, &err),
                     PLYECHO_UNSUITABLE); /* silence */
    assert_null(echo.waveform);
    add_echo(&traces, 9.0, 1.6, 25.0, 5.0, 0.0);
    for (size_t i = 0; i < SAMPLES; i++)
        traces.amplitude[i] = fmaxf(-1.0f, fminf(1.0f, traces.amplitude[i]));
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &anywhere, &err),
                     PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "clipped"));
    trace.signal = PLYECHO_SIGNAL_ENVELOPE;
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &anywhere, &err),
                     PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "envelope"));
    trace.signal = PLYECHO_SIGNAL_RF;
    struct plyecho_probe_options before = {2e-6, 5e-6, {false, 0.0}};
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &before, &err), PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "between these times"));
    assert_int_equal(plyecho_labels_set(&traces.labels, "reference_reflection", 0, "1.5", &err),
                     PLYECHO_OK);
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &anywhere, &err),
                     PLYECHO_UNSUITABLE); /* clipped comes first */
    traces.full_scale = 0.0;
    plyecho_traces_clear(&traces);
}

static void a_label_or_an_option_says_what_it_came_off(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_probe_echo echo;
    struct plyecho_error err;
    add_echo(&traces, 9.0, 0.5, 25.0, 5.0, 0.0);
    assert_int_equal(
        plyecho_labels_set(&traces.labels, "reference_reflection", 1, "0.94", &err),
        PLYECHO_OK);
    assert_int_equal(plyecho_labels_set(&traces.labels, "gain_db", 0, "32", &err), PLYECHO_OK);
    take(&traces, &anywhere, &echo);
    assert_true(echo.character.reflection == 0.94);
    assert_true(echo.character.gain_db.known && echo.character.gain_db.value == 32.0);
    plyecho_probe_echo_clear(&echo);
    struct plyecho_probe_options option = {-INFINITY, INFINITY, {true, -0.5}};
    take(&traces, &option, &echo);
    assert_true(echo.character.reflection == -0.5);
    plyecho_probe_echo_clear(&echo);
    assert_int_equal(plyecho_labels_set(&traces.labels, "reference_reflection", 1, "1.5", &err),
                     PLYECHO_OK);
    struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
    assert_int_equal(plyecho_probe_echo_take(&echo, &trace, &anywhere, &err), PLYECHO_BAD_FILE);
    plyecho_traces_clear(&traces);
}

/* ---- cut out, compared ---- */

static void what_is_cut_out_measures_the_same(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6), cut;
    struct plyecho_probe_echo echo, again;
    struct plyecho_error err;
    traces.start_s = 0.0;
    traces.full_scale = 0.0;
    add_echo(&traces, 0.0, 3.0, 9.0, 4.0, 0.0);
    add_echo(&traces, 8.0, 0.5, 25.0, 5.0, 0.0);
    add_echo(&traces, 15.9, 0.2, 25.0, 5.0, pi);
    assert_int_equal(plyecho_labels_set(&traces.labels, "part", 1, "tube 7", &err), PLYECHO_OK);
    take(&traces, &anywhere, &echo);
    assert_int_equal(plyecho_probe_echo_cut(&cut, &traces, 1, &echo, &err), PLYECHO_OK);
    assert_true(cut.samples < traces.samples && cut.channels == 1);
    size_t first = (size_t)lround((cut.start_s - traces.start_s) * 100e6);
    assert_memory_equal(cut.amplitude, traces.amplitude + first, cut.samples * sizeof(float));
    assert_string_equal(plyecho_labels_get(&cut.labels, "part", 1), "tube 7");
    assert_string_equal(plyecho_labels_get(&cut.labels, "reference_reflection", 1), "-1");
    take(&cut, &anywhere, &again);
    assert_true(fabs(again.character.time_s - echo.character.time_s) < 1e-9);
    assert_true(near(again.character.band.centre_hz, echo.character.band.centre_hz, 0.001));
    assert_true(
        near(again.character.length_20db_s.value, echo.character.length_20db_s.value, 0.003));
    assert_true(plyecho_probe_likeness(&echo, &again) > 0.9999);
    plyecho_probe_echo_clear(&again);
    plyecho_probe_echo_clear(&echo);
    plyecho_traces_clear(&cut);
    plyecho_traces_clear(&traces);
}

static void echoes_too_close_make_no_pulse(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6), cut;
    struct plyecho_probe_echo echo;
    struct plyecho_error err;
    for (int k = 0; k < 12; k++)
        add_echo(&traces, 4.0 + 1.3 * k, k == 5 ? 0.9 : 0.6, 25.0, 5.0, 0.4 * k);
    take(&traces, &anywhere, &echo);
    assert_int_equal(plyecho_probe_echo_cut(&cut, &traces, 1, &echo, &err), PLYECHO_UNSUITABLE);
    assert_null(cut.amplitude);
    plyecho_probe_echo_clear(&echo);
    plyecho_traces_clear(&traces);
}

/* Two Gaussian pulses of one alpha and frequencies f and g: over all delays their normalised correlation
 * is at most exp(-pi^2 (f - g)^2 / (2 alpha)), which with equal phases it reaches at delay 0 (the
 * product of two Gaussian spectra; terms at f + g are nil). */
static void likeness_is_as_its_closed_form(void **state)
{
    (void)state;
    const double rates[] = {100e6, 64e6};
    struct plyecho_traces a = record_of(100e6);
    struct plyecho_probe_echo one, other;
    add_echo(&a, 9.0, 0.8, 25.0, 5.0, 0.3);
    take(&a, &anywhere, &one);
    for (size_t r = 0; r < 2; r++)
        for (int k = -2; k <= 2; k++) {
            struct plyecho_traces b = record_of(rates[r]);
            double mhz = 5.0 + 0.4 * k, expected = exp(-pi * pi * 0.16 * k * k / 50.0);
            add_echo(&b, 11.3, 0.2, 25.0, mhz, 0.3);
            take(&b, &anywhere, &other);
            assert_true(fabs(plyecho_probe_likeness(&one, &other) - expected) < 0.005);
            other.character.reflection = 1.0;
            assert_true(plyecho_probe_likeness(&one, &other) < -0.5);
            plyecho_probe_echo_clear(&other);
            plyecho_traces_clear(&b);
        }
    plyecho_probe_echo_clear(&one);
    plyecho_traces_clear(&a);
}

static void levels_need_a_common_scale(void **state)
{
    (void)state;
    struct plyecho_probe_character a = {.amplitude = 0.8, .reflection = -1.0};
    struct plyecho_probe_character b = {.amplitude = 0.4, .reflection = 0.5};
    assert_true(!plyecho_probe_level_db(&a, &b).known);
    a.full_scale = b.full_scale = 1.0;
    assert_true(plyecho_probe_level_db(&a, &b).known);
    assert_true(fabs(plyecho_probe_level_db(&a, &b).value) < 1e-9);
    a.gain_db = (struct plyecho_known){true, 30.0};
    assert_true(!plyecho_probe_level_db(&a, &b).known);
    b.gain_db = (struct plyecho_known){true, 24.0};
    assert_true(fabs(plyecho_probe_level_db(&a, &b).value + 6.0) < 1e-9);
    a.full_scale = 2.0;
    assert_true(fabs(plyecho_probe_level_db(&a, &b).value + 6.0 + 6.0206) < 1e-3);
}

static void no_memory_is_an_error_and_nothing_leaks(void **state)
{
    (void)state;
    struct plyecho_traces traces = record_of(100e6);
    struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
    add_echo(&traces, 9.0, 0.8, 25.0, 5.0, 0.0);
    for (long n = 0;; n++) {
        struct plyecho_probe_echo echo;
        struct plyecho_error err;
        fail_allocation(n);
        enum plyecho_code code = plyecho_probe_echo_take(&echo, &trace, &anywhere, &err);

        fail_no_allocation();
        plyecho_probe_echo_clear(&echo);
        if (code == PLYECHO_OK) {
            assert_true(n > 5);
            break;
        }
        assert_int_equal(code, PLYECHO_NO_MEMORY);
    }
    plyecho_traces_clear(&traces);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gaussian_echo_is_as_its_closed_form),
        cmocka_unit_test(cycles_and_the_waveforms_length_are_counted),
        cmocka_unit_test(a_ringing_pulse_has_the_band_and_length_it_was_made_with),
        cmocka_unit_test(a_higher_transmission_pulse_is_not_taken),
        cmocka_unit_test(another_echo_close_by_is_told),
        cmocka_unit_test(noise_hides_what_lies_below_it),
        cmocka_unit_test(what_is_no_reference_is_refused),
        cmocka_unit_test(a_label_or_an_option_says_what_it_came_off),
        cmocka_unit_test(what_is_cut_out_measures_the_same),
        cmocka_unit_test(echoes_too_close_make_no_pulse),
        cmocka_unit_test(likeness_is_as_its_closed_form),
        cmocka_unit_test(levels_need_a_common_scale),
        cmocka_unit_test(no_memory_is_an_error_and_nothing_leaks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
