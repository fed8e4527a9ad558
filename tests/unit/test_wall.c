/* Measuring modes 1, 2 and 3, and which of them auto takes. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/wall.h>

#include "made_trace.h"

static struct plyecho_thickness measure(const struct plyecho_traces *t,
                                        const struct plyecho_wall_options *o,
                                        struct plyecho_picks *picks)
{
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(t, &c);
    struct plyecho_trace raw = plyecho_traces_channel(t, 1);
    struct plyecho_thickness thickness;
    plyecho_wall_pick(&c, o, picks);
    plyecho_wall_measure(&c, &raw, o, picks, &thickness);
    plyecho_conditioner_free(conditioner);
    return thickness;
}

static struct plyecho_wall_options options_at(double velocity, double velocity_u)
{
    struct plyecho_wall_options o = plyecho_wall_defaults();
    o.velocity_m_s = velocity;
    o.velocity_u = (struct plyecho_known){true, velocity_u};
    return o;
}

/* Contact: a transmission pulse at 0 and back-wall echoes from first_us on, every spacing_us. */
static struct plyecho_traces contact(double first_us, double spacing_us, int echoes)
{
    struct plyecho_traces t = made_empty();
    made_burst(&t, 0.0, 1.0, 10.0, 400.0, 0.0);
    for (int k = 0; k < echoes; k++)
        made_burst(&t, first_us + spacing_us * k, 0.8 * pow(0.5, k), 10.0, 100.0, 0.0);
    made_noise(&t, 0.001, 1);
    return t;
}

/* ASTM E797, two-point calibration (rule from memory): blocks of 1.450 mm at 1.000 us and 2.950 mm
 * at 2.000 us give 3000 m/s and a zero of 0.03333 us; an echo at 1.500 us then means
 * 3000 x (1.500 - 0.03333) / 2 = 2.200 mm. */
static void mode_1_is_the_arithmetic_of_e797(void **state)
{
    (void)state;
    double velocity = 2.0 * (2.950 - 1.450) / (2.000 - 1.000) * 1e3;
    double zero_us = 1.000 - 2.0 * 1.450 / (velocity * 1e-3);
    struct plyecho_traces t = contact(1.5, 1.5 - zero_us, 1);
    struct plyecho_wall_options o = options_at(velocity, 15.0);
    o.mode = PLYECHO_MODE_1;
    o.zero_s = (struct plyecho_known){true, zero_us * 1e-6};
    o.zero_u_s = (struct plyecho_known){true, 3e-9};
    o.attenuation = (struct plyecho_known){true, 0.0}; /* metal */
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_int_equal(d.reason, PLYECHO_REASON_NONE);
    assert_int_equal(d.mode, PLYECHO_MODE_1);
    assert_float_equal(d.thickness_m * 1e3, 2.200, 0.002);
    assert_true(d.thickness_u.known);
    plyecho_traces_clear(&t);
}

/* An envelope's peak comes after the group delay, which is shorter than the phase delay by a v / pi^2
 * of it (O'Donnell, Jaynes and Miller, J. Acoust. Soc. Am. 69 (1981) 696-701, from memory; derived in
 * docs/method.md). What lies ahead of the zero is not the wall's. tests/reference/test_mode1.py has
 * walls that lose and disperse. */
static void mode_1_takes_the_dispersion_of_the_wall_alone(void **state)
{
    (void)state;
    struct plyecho_traces t = contact(2.3, 2.0, 1);
    struct plyecho_wall_options o = options_at(3000.0, 0.0);
    struct plyecho_picks picks;
    o.mode = PLYECHO_MODE_1;
    o.zero_s = (struct plyecho_known){true, 0.3e-6};
    o.zero_u_s = (struct plyecho_known){true, 0.0};
    o.attenuation = (struct plyecho_known){true, 0.0};
    struct plyecho_thickness without = measure(&t, &o, &picks);
    o.attenuation.value = 1.15e-5; /* 0.1 dB/mm/MHz */
    struct plyecho_thickness with = measure(&t, &o, &picks);
    double share = 1.15e-5 * 3000.0 / (3.14159265358979 * 3.14159265358979);
    assert_float_equal(with.time_s / without.time_s - 1.0, share, 1e-7);
    /* a fifth of it is its standard uncertainty */
    assert_float_equal(hypot(without.time_u_s, 0.2 * share * without.time_s) / with.time_u_s,
                       1.0, 1e-6);
    plyecho_traces_clear(&t);
}

/* ISO 16809, mode 3 (wording from memory): d = v (t_n - t_1) / (2 (n - 1)); no zero enters. */
static void mode_3_needs_no_zero(void **state)
{
    (void)state;
    struct plyecho_traces t = contact(2.3, 2.0, 4);
    struct plyecho_wall_options o = options_at(3000.0, 0.0);
    o.mode = PLYECHO_MODE_3;
    o.zero_s = (struct plyecho_known){true, 0.3e-6};
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_int_equal(d.reason, PLYECHO_REASON_NONE);
    assert_float_equal(d.thickness_m * 1e3, 3.000, 0.002);
    plyecho_traces_clear(&t);
}

static void auto_takes_mode_3_in_contact_without_a_zero(void **state)
{
    (void)state;
    struct plyecho_traces t = contact(2.0, 2.0, 4);
    struct plyecho_wall_options o = options_at(3000.0, 0.0);
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_true(picks.contact);
    assert_int_equal(d.mode, PLYECHO_MODE_3);
    assert_float_equal(d.thickness_m * 1e3, 3.000, 0.002);
    plyecho_traces_clear(&t);
}

/* A zero that is 0.1 us off, and of no stated uncertainty, cannot better what two echoes say. */
static void auto_takes_mode_3_where_the_zero_has_no_uncertainty(void **state)
{
    (void)state;
    struct plyecho_traces t = contact(2.3, 2.0, 4);
    struct plyecho_wall_options o = options_at(3000.0, 0.0);
    o.nominal_m = (struct plyecho_known){true, 3e-3};
    o.tolerance_m = 0.5e-3;
    o.zero_s = (struct plyecho_known){true, 0.2e-6};
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_true(picks.contact);
    assert_int_equal(d.mode, PLYECHO_MODE_3);
    assert_float_equal(d.thickness_m * 1e3, 3.000, 0.002);
    plyecho_traces_clear(&t);
}

static void mode_1_without_a_zero_has_no_uncertainty(void **state)
{
    (void)state;
    struct plyecho_traces t = contact(2.0, 2.0, 1);
    struct plyecho_wall_options o = options_at(3000.0, 10.0);
    o.mode = PLYECHO_MODE_1;
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_int_equal(d.reason, PLYECHO_REASON_NO_ZERO);
    assert_false(d.thickness_u.known);
    plyecho_traces_clear(&t);
}

static void a_wall_behind_a_delay_line_is_measured_by_mode_2(void **state)
{
    (void)state;
    for (double mm = 1.6; mm < 5.1; mm += 0.31) {
        struct made_wall wall = made_sound(mm);
        struct plyecho_traces t = made_of(&wall);
        struct plyecho_wall_options o = options_at(2950.0, 10.0);
        struct plyecho_picks picks;
        o.mode = PLYECHO_MODE_2;
        struct plyecho_thickness d = measure(&t, &o, &picks);
        assert_false(picks.contact);
        assert_int_equal(d.reason, PLYECHO_REASON_NONE);
        /* no plies in this wall: 3 us of noise at 40 dB and of the record's shape */
        assert_float_equal(d.thickness_m * 1e3, mm, 0.006);
        /* JCGM 100, 5.1.2 */
        double u = hypot(0.5 * d.time_s * 10.0, 0.5 * 2950.0 * d.time_u_s);
        assert_float_equal(d.thickness_u.value / u, 1.0, 1e-9);
        plyecho_traces_clear(&t);
    }
}

/* The delay line's repeat, where it has one, is no repeat of the wall: 4.5 us after the front, where the
 * second passage of 2.25 us ends, comes the front's, and 2.25 us on the back wall's, twice as high as the
 * wall's own would be. With it that repeat is left out, without it it is used. */
static void the_repeat_of_the_delay_line_is_left_out(void **state)
{
    (void)state;
    double bound[2];
    for (int repeats = 0; repeats < 2; repeats++) {
        struct plyecho_traces t = made_empty();
        for (int n = 0; n < 4; n++)
            made_burst(&t, 4.5 + 2.25 * n, n == 0 ? 0.3 : -pow(0.3, n - 1), 10.0, 100.0, 0.0);
        if (repeats) {
            made_burst(&t, 9.0 + 0.03, 0.03, 10.0, 100.0, 0.7);
            made_burst(&t, 11.25 + 0.03, 0.2, 10.0, 100.0, 0.7);
        }
        made_noise(&t, 0.003, 5);
        struct plyecho_wall_options o = options_at(3000.0, 0.0);
        o.nominal_m = (struct plyecho_known){true, 3.375e-3};
        o.tolerance_m = 0.3e-3;
        struct plyecho_picks picks;
        struct plyecho_thickness d = measure(&t, &o, &picks);
        assert_int_equal(d.reason, PLYECHO_REASON_NONE);
        assert_float_equal(d.time_s * 1e9, 2250.0, 1.0);
        bound[repeats] = d.bound_s;
        plyecho_traces_clear(&t);
    }
    assert_true(bound[0] < 0.85 * bound[1]);
}

/* Echoes of plies, here bursts of 0.03 every 0.14 us, shift the main echoes: the uncertainty holds them,
 * and does not where there are none. */
static void plies_widen_the_uncertainty(void **state)
{
    (void)state;
    double u[2], bound[2];
    for (int plies = 0; plies < 2; plies++) {
        struct plyecho_traces t = made_empty();
        for (int n = 0; n < 6; n++)
            made_burst(&t, 8.0 + 2.0 * n, n == 0 ? 0.25 : -pow(0.25, n - 1), 10.0, 100.0, 0.0);
        for (double us = 8.14; plies && us < 14.0; us += 0.14)
            made_burst(&t, us, 0.03, 10.0, 100.0, 1.5);
        made_noise(&t, 0.01, 3);
        struct plyecho_wall_options o = options_at(3000.0, 0.0);
        struct plyecho_picks picks;
        struct plyecho_thickness d = measure(&t, &o, &picks);
        assert_int_equal(d.mode, PLYECHO_MODE_2);
        u[plies] = d.time_u_s;
        bound[plies] = d.bound_s;
        assert_true(fabs(d.time_s - 2e-6) < 3.0 * d.time_u_s);
        plyecho_traces_clear(&t);
    }
    assert_true(u[0] < 1.6 * bound[0]);
    assert_true(u[1] > 2.5 * bound[1]);
}

static void thickness_scales_with_velocity(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_traces t = made_of(&wall);
    struct plyecho_picks picks;
    struct plyecho_wall_options o = options_at(2950.0, 0.0);
    o.attenuation = (struct plyecho_known){true, 1e-8};
    double once = measure(&t, &o, &picks).thickness_m;
    o.velocity_m_s *= 1.1;
    o.attenuation.value /= 1.1; /* the same loss in the same time */
    assert_float_equal(measure(&t, &o, &picks).thickness_m / once, 1.1, 1e-6);
    plyecho_traces_clear(&t);
}

static void a_clipped_echo_is_refused(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    wall.full_scale = 0.3; /* the back wall reaches 0.35 */
    struct plyecho_traces t = made_of(&wall);
    struct plyecho_wall_options o = options_at(2950.0, 0.0);
    struct plyecho_picks picks;
    assert_int_equal(measure(&t, &o, &picks).reason, PLYECHO_REASON_CLIPPED);
    plyecho_traces_clear(&t);
}

static void what_is_missing_is_named(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_traces t = made_of(&wall);
    t.samples = 840; /* the record ends between front and back */
    struct plyecho_wall_options o = options_at(2950.0, 0.0);
    struct plyecho_picks picks;
    o.mode = PLYECHO_MODE_2;
    assert_int_equal(measure(&t, &o, &picks).reason, PLYECHO_REASON_NO_BACK_ECHO);
    o.mode = PLYECHO_MODE_3;
    assert_int_equal(measure(&t, &o, &picks).reason, PLYECHO_REASON_NO_BACK_ECHO);
    t.samples = MADE_SAMPLES;
    plyecho_traces_clear(&t);
    for (int reason = 1; reason < PLYECHO_REASON_COUNT; reason++) {
        const char *word = plyecho_reason_word((enum plyecho_reason)reason);
        assert_true(word[0] != '\0' && strcmp(word, "unknown") != 0);
    }
    assert_string_equal(plyecho_reason_word(PLYECHO_REASON_COUNT), "unknown");
}

static void an_envelope_is_measured_by_its_peaks(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_traces t = made_of(&wall);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    memcpy(t.amplitude, c.envelope, t.samples * sizeof *t.amplitude);
    plyecho_conditioner_free(conditioner);
    t.signal = PLYECHO_SIGNAL_ENVELOPE;
    struct plyecho_wall_options o = options_at(2950.0, 10.0);
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_int_equal(d.reason, PLYECHO_REASON_NONE);
    assert_float_equal(d.thickness_m * 1e3, 3.0, 0.03);
    assert_true(d.thickness_u.value * 1e3 > 0.01);
    plyecho_traces_clear(&t);
}

/* A gap over half of the beam at 0.70 us is the highest echo. The back wall's at 2.05 us lies near three
 * times that, but no third round is so high; its own repeat at 4.10 us is no wall. Times and heights are those of
 * the sum of paths. */
static void behind_a_part_gap_the_back_wall_is_found_without_a_nominal(void **state)
{
    (void)state;
    static const struct {
        double time_us, height;
    } echoes[] = {{0.0, 0.29},    {0.7, -0.31},  {1.4, 0.06},
                  {2.05, -0.265}, {4.1, -0.065}, {4.8, 0.03}};
    struct plyecho_traces t = made_empty();
    for (size_t k = 0; k < sizeof echoes / sizeof echoes[0]; k++)
        made_burst(&t, 7.0 + echoes[k].time_us, echoes[k].height, 10.0, 100.0, 0.0);
    made_noise(&t, 0.001, 3);
    struct plyecho_wall_options o = options_at(2950.0, 10.0);
    struct plyecho_picks picks;
    struct plyecho_thickness d = measure(&t, &o, &picks);
    assert_float_equal(picks.echoes[picks.back].time_s * 1e6, 9.05, 0.03);
    assert_float_equal(d.thickness_m * 1e3, 2.95 * 2.05 / 2.0, 0.03);
    plyecho_traces_clear(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mode_1_is_the_arithmetic_of_e797),
        cmocka_unit_test(mode_1_takes_the_dispersion_of_the_wall_alone),
        cmocka_unit_test(mode_3_needs_no_zero),
        cmocka_unit_test(auto_takes_mode_3_in_contact_without_a_zero),
        cmocka_unit_test(auto_takes_mode_3_where_the_zero_has_no_uncertainty),
        cmocka_unit_test(mode_1_without_a_zero_has_no_uncertainty),
        cmocka_unit_test(a_wall_behind_a_delay_line_is_measured_by_mode_2),
        cmocka_unit_test(the_repeat_of_the_delay_line_is_left_out),
        cmocka_unit_test(plies_widen_the_uncertainty),
        cmocka_unit_test(thickness_scales_with_velocity),
        cmocka_unit_test(a_clipped_echo_is_refused),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(behind_a_part_gap_the_back_wall_is_found_without_a_nominal),
        cmocka_unit_test(an_envelope_is_measured_by_its_peaks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
