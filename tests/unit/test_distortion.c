/* Crests that were flattened are told from spectra that reach far, and from interference. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "distortion.h"
#include "made_trace.h"

static const double pi = 3.14159265358979, centre_hz = 5e6;

/* Echoes of these heights at 4 and 6 us: front and back wall. */
static struct plyecho_traces two_echoes(double front, double back, double phase_rad)
{
    struct plyecho_traces t = made_empty();
    made_burst(&t, 4.0, front, centre_hz * 1e-6, 6.0, phase_rad);
    made_burst(&t, 6.0, back, centre_hz * 1e-6, 6.0, phase_rad + pi);
    return t;
}

static void limit(struct plyecho_traces *t, double height)
{
    for (size_t i = 0; i < t->samples; i++)
        t->amplitude[i] = (float)fmin(height, fmax(-height, (double)t->amplitude[i]));
}

static bool is_distorted(const struct plyecho_traces *t, double front, double back,
                         const struct plyecho_reference *reference)
{
    struct plyecho_trace raw = plyecho_traces_channel(t, 1);
    struct plyecho_conditioned c = {
        .has_sign = true, .centre_hz = centre_hz, .noise = 1e-4, .band = {2e6, 8e6}};
    struct pe_evidence e = {.picks = {.count = 2, .front = 0, .back = 1, .second = -1}};
    e.picks.echoes[0] =
        (struct plyecho_echo){.sample = 400, .time_s = 4e-6, .amplitude = front};
    e.picks.echoes[1] = (struct plyecho_echo){.sample = 600, .time_s = 6e-6, .amplitude = back};
    return pe_distorted(&c, &raw, reference, &e);
}

static void flattened_crests_are_found_at_any_phase(void **state)
{
    (void)state;
    for (double phase = 0.0; phase < 6.0; phase += 0.7) {
        struct plyecho_traces t = two_echoes(0.4, 1.0, phase);
        assert_false(is_distorted(&t, 0.4, 1.0, NULL));
        limit(&t, 0.6);
        struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
        assert_true(pe_third_harmonic(&raw, 600, centre_hz).turned_rad < 0.6);
        assert_true(is_distorted(&t, 0.4, 1.0, NULL));
        plyecho_traces_clear(&t);
    }
}

/* A component of a tenth at three times the frequency, in the phase of flattened crests or not. */
static struct plyecho_traces with_third(double front, double back, double turned_rad)
{
    struct plyecho_traces t = two_echoes(front, back, 0.3);
    double all = 3.0 * centre_hz * 1e-6;
    made_burst(&t, 4.0, 0.1 * front, all, 6.0, 3.0 * 0.3 + pi + turned_rad);
    made_burst(&t, 6.0, 0.1 * back, all, 6.0, 3.0 * (0.3 + pi) + pi + turned_rad);
    return t;
}

static void a_wide_spectrum_is_not_taken_for_it(void **state)
{
    (void)state;
    struct plyecho_traces t = with_third(0.4, 1.0, 0.0);
    struct plyecho_reference pulse = {.third = 0.09};
    assert_true(is_distorted(&t, 0.4, 1.0, NULL));
    assert_false(is_distorted(&t, 0.4, 1.0, &pulse));
    pulse.third = 0.01;
    assert_true(is_distorted(&t, 0.4, 1.0, &pulse));
    plyecho_traces_clear(&t);
    t = with_third(0.4, 1.0, 0.5 * pi);
    assert_false(is_distorted(&t, 0.4, 1.0, NULL));
    plyecho_traces_clear(&t);
}

static void limiting_spares_no_echo_of_the_same_height(void **state)
{
    (void)state;
    struct plyecho_traces t = with_third(0.9, 1.0, 0.0);
    assert_true(is_distorted(&t, 0.9, 1.0, NULL));
    made_burst(&t, 4.0, -0.09, 3.0 * centre_hz * 1e-6, 6.0, 3.0 * 0.3 + pi);
    assert_false(is_distorted(&t, 0.9, 1.0, NULL));
    plyecho_traces_clear(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flattened_crests_are_found_at_any_phase),
        cmocka_unit_test(a_wide_spectrum_is_not_taken_for_it),
        cmocka_unit_test(limiting_spares_no_echo_of_the_same_height),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
