/* All seven verdicts, from walls whose truth is known; and what each must not claim. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/laminate.h>
#include <plyecho/verdict.h>

#include "made_trace.h"

static struct plyecho_assess_options options_for(double nominal_mm)
{
    struct plyecho_assess_options o = {.wall = plyecho_wall_defaults()};
    o.wall.velocity_m_s = 2950.0;
    o.wall.velocity_u = (struct plyecho_known){true, 10.0};
    o.wall.nominal_m = (struct plyecho_known){nominal_mm > 0.0, nominal_mm * 1e-3};
    o.wall.tolerance_m = 0.1 * nominal_mm * 1e-3;
    o.wall.attenuation = (struct plyecho_known){true, plyecho_attenuation_from_db_mm_mhz(0.1)};
    return o;
}

static struct plyecho_assessment judge_traces(const struct plyecho_traces *t,
                                              const struct plyecho_assess_options *o)
{
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(t, &c);
    struct plyecho_trace raw = plyecho_traces_channel(t, 1);
    struct plyecho_assessment a;
    plyecho_assess(&c, &raw, o, &a);
    plyecho_conditioner_free(conditioner);
    return a;
}

/* Judge a wall; on a wrong verdict say what came instead. */
static struct plyecho_assessment judge(const struct made_wall *wall,
                                       const struct plyecho_assess_options *o,
                                       enum plyecho_verdict expected)
{
    struct plyecho_traces t = made_of(wall);
    struct plyecho_assessment a = judge_traces(&t, o);
    if (a.verdict != expected) {
        char words[2000];
        plyecho_assessment_words(&a, words, sizeof words);
        fail_msg("%s instead of %s:\n%s", plyecho_verdict_word(a.verdict),
                 plyecho_verdict_word(expected), words);
    }
    plyecho_traces_clear(&t);
    return a;
}

static void take_reference(struct plyecho_reference *reference)
{
    struct made_wall air = made_sound(3.0);
    air.uncoupled = true;
    struct plyecho_traces t = made_of(&air);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    assert_int_equal(plyecho_reference_take(&c, &raw, reference, NULL), PLYECHO_OK);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
}

static void a_sound_wall_has_no_indication(void **state)
{
    (void)state;
    for (double mm = 2.0; mm < 5.0; mm += 0.37) {
        struct made_wall wall = made_sound(mm);
        struct plyecho_assess_options o = options_for(mm * 1.02);
        struct plyecho_assessment a = judge(&wall, &o, PLYECHO_NO_INDICATION);
        assert_true(a.wall_seen && a.range_known);
        assert_float_equal(a.thickness.thickness_m * 1e3, mm, 0.01);
        assert_true(a.from_m > 0.0 && a.to_m < a.thickness.thickness_m && a.from_m < a.to_m);
        assert_true(a.evidence_ratio >= 1.0 && a.evidence_ratio <= 1000.0);
        assert_false(a.flagged);
    }
}

/* A bonded glass layer gives an echo although the bond is sound (common practice, no source). */
static void a_bonded_sleeve_is_an_inner_echo_and_the_whole_wall_is_measured(void **state)
{
    (void)state;
    for (double mrayl = 5.8; mrayl < 7.5; mrayl += 0.5) {
        struct made_wall wall = made_sound(2.0);
        wall.inner_mm = 1.2;
        wall.inner_mrayl = mrayl;
        struct plyecho_assess_options o = options_for(3.2);
        struct plyecho_assessment a = judge(&wall, &o, PLYECHO_INNER_ECHO);
        assert_float_equal(a.depth_m * 1e3, 2.0, 0.05);
        assert_float_equal(a.thickness.thickness_m * 1e3, 3.2, 0.012);
        assert_float_equal(a.strength, (mrayl - 4.65) / (mrayl + 4.65), 0.03);
        assert_true(a.sign_known);
        assert_true(a.flagged);
    }
}

static void a_full_gap_is_a_delamination_and_no_wall_is_booked(void **state)
{
    (void)state;
    for (double depth = 0.7; depth < 2.2; depth += 0.25) {
        struct made_wall wall = made_sound(3.4);
        wall.cover = 1.0;
        wall.gap_mm = depth;
        struct plyecho_assess_options o = options_for(3.4);
        struct plyecho_assessment a = judge(&wall, &o, PLYECHO_DELAMINATION);
        assert_false(a.wall_seen);
        assert_float_equal(a.depth_m * 1e3, depth, 0.05);
        assert_true(a.evidence_ratio > 5.0);
    }
}

static void a_partial_gap_is_a_delamination_with_its_cover(void **state)
{
    (void)state;
    for (double cover = 0.35; cover < 0.75; cover += 0.1) {
        struct made_wall wall = made_sound(3.4);
        wall.cover = cover;
        wall.gap_mm = 1.5;
        struct plyecho_assess_options o = options_for(3.4);
        struct plyecho_assessment a = judge(&wall, &o, PLYECHO_DELAMINATION);
        assert_true(a.wall_seen);
        assert_float_equal(a.cover, cover, 0.08);
        assert_float_equal(a.depth_m * 1e3, 1.5, 0.05);
        assert_float_equal(a.thickness.thickness_m * 1e3, 3.4, 0.015);
    }
}

/* A reading far below the nominal wall of a laminate points to a delamination rather than to a
 * thin wall (common practice, no source); between 0.7 and the tolerance one trace cannot tell. */
static void a_lone_echo_is_judged_by_its_share_of_the_nominal(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(2.0);
    struct plyecho_assess_options o = options_for(2.0 / 0.6);
    judge(&wall, &o, PLYECHO_DELAMINATION);
    o = options_for(2.0 / 0.8);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_UNDECIDED);
    assert_false(a.wall_seen);
    o = options_for(2.0 / 0.95);
    judge(&wall, &o, PLYECHO_NO_INDICATION);
}

static void a_wall_within_tolerance_but_below_the_limit_is_thin(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(2.85);
    struct plyecho_assess_options o = options_for(3.0);
    o.least_m = (struct plyecho_known){true, 2.9e-3};
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_THIN);
    assert_true(a.wall_seen);
    o.least_m.value = 2.8e-3;
    judge(&wall, &o, PLYECHO_NO_INDICATION);
}

static void a_lossy_wall_is_attenuated_only_against_an_expectation(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    wall.loss_db_mm_mhz = 0.28; /* 11 dB more than stated */
    struct plyecho_assess_options o = options_for(3.0);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_ATTENUATED);
    assert_true(a.expectation && a.balance_db < -6.0);
    o.wall.attenuation.known = false;
    a = judge(&wall, &o, PLYECHO_NO_INDICATION);
    char words[2000];
    plyecho_assessment_words(&a, words, sizeof words);
    assert_non_null(strstr(words, "Back-wall level not assessed"));
}

static void a_dry_probe_is_unreadable(void **state)
{
    (void)state;
    struct plyecho_reference reference;
    take_reference(&reference);
    struct made_wall wall = made_sound(3.0);
    wall.uncoupled = true;
    struct plyecho_assess_options o = options_for(3.0);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_UNREADABLE);
    assert_false(a.wall_seen);
    o.reference = &reference;
    a = judge(&wall, &o, PLYECHO_UNREADABLE);
    assert_int_equal(a.reason, PLYECHO_REASON_NO_COUPLING);
    wall.uncoupled = false;
    a = judge(&wall, &o, PLYECHO_NO_INDICATION);
    /* reflection of PMMA 3.162 against 4.65 MRayl: +0.1905 */
    assert_true(a.front_reflection.known);
    assert_float_equal(a.front_reflection.value, 0.1905, 0.02);
}

/* 0.35 mm is 0.24 us behind the front, whose own echo lasts longer than that. */
static void a_shallow_gap_shows_where_the_pulse_is_known(void **state)
{
    (void)state;
    struct plyecho_reference reference;
    take_reference(&reference);
    struct plyecho_assess_options o = options_for(3.2);
    struct plyecho_stacks *with, *without;
    assert_int_equal(plyecho_stacks_new(&with, 100e6, &reference.shape, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_stacks_new(&without, 100e6, NULL, NULL), PLYECHO_OK);
    o.reference = &reference;
    o.stacks = with;
    for (double cover = 0.3; cover < 0.7; cover += 0.15) {
        struct made_wall wall = made_sound(3.2);
        wall.cover = cover;
        wall.gap_mm = 0.35;
        struct plyecho_assessment a = judge(&wall, &o, PLYECHO_DELAMINATION);
        assert_float_equal(a.depth_m * 1e3, 0.35, 0.05);
        assert_float_equal(a.cover, cover, 0.1);
    }
    struct made_wall sound = made_sound(3.2);
    struct plyecho_assessment known = judge(&sound, &o, PLYECHO_NO_INDICATION);
    o.reference = NULL;
    o.stacks = without;
    struct plyecho_assessment blind = judge(&sound, &o, PLYECHO_NO_INDICATION);
    assert_true(known.from_m < blind.from_m);
    plyecho_stacks_free(with);
    plyecho_stacks_free(without);
}

static void a_clipped_echo_and_noise_are_unreadable(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    wall.full_scale = 0.25;
    struct plyecho_assess_options o = options_for(3.0);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_UNREADABLE);
    assert_int_equal(a.reason, PLYECHO_REASON_CLIPPED);
}

static void sign_speaks_against_a_gap(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(2.0);
    wall.inner_mm = 1.2;
    wall.inner_mrayl = 9.5; /* 0.34 with the sign of a step to harder material */
    struct plyecho_assess_options o = options_for(3.2);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_INNER_ECHO);
    assert_true(a.strength > 0.25);
}

/* 3 dB/mm/MHz for 0.1: a slip of the decimal point, and no laminate's (usual ones have 0.05 to 0.3; common
 * practice, no source). */
static void an_attenuation_that_cannot_be_is_told(void **state)
{
    (void)state;
    char words[3000];
    struct made_wall wall = made_sound(3.0);
    struct plyecho_assess_options o = options_for(3.0);
    o.wall.attenuation.value *= 30.0;
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_UNDECIDED);
    assert_false(a.wall_seen);
    plyecho_assessment_words(&a, words, sizeof words);
    assert_non_null(strstr(words, "the attenuation stated"));
    assert_non_null(strstr(words, "Next: correct the attenuation"));
}

static void what_is_next_fits_the_reason(void **state)
{
    (void)state;
    static const struct {
        enum plyecho_verdict verdict;
        enum plyecho_reason reason;
        const char *next;
    } cases[] = {
        {PLYECHO_UNREADABLE, PLYECHO_REASON_OUTSIDE_TIME_BASE, "Next: record from ahead"},
        {PLYECHO_UNREADABLE, PLYECHO_REASON_NO_COUPLING, "Next: clean the surface"},
        {PLYECHO_UNDECIDED, PLYECHO_REASON_LINE_REPEATS, "Next: take a longer delay line"},
        {PLYECHO_UNDECIDED, PLYECHO_REASON_NOT_A_WALL, "nominal or the velocity is wrong"},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        char words[3000];
        struct plyecho_assessment a = {.verdict = cases[k].verdict,
                                       .next_best = cases[k].verdict,
                                       .reason = cases[k].reason,
                                       .nominal_known = true,
                                       .nominal_m = 3e-3};
        plyecho_assessment_words(&a, words, sizeof words);
        assert_non_null(strstr(words, cases[k].next));
    }
}

static void without_a_nominal_the_words_say_what_it_rests_on(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_assess_options o = options_for(0.0);
    struct plyecho_assessment a = judge(&wall, &o, PLYECHO_NO_INDICATION);
    char words[2000];
    plyecho_assessment_words(&a, words, sizeof words);
    assert_non_null(strstr(words, "rests on the trace alone"));
}

static void a_rectified_trace_is_judged_without_its_sign(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_traces t = made_of(&wall);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    memcpy(t.amplitude, c.envelope, t.samples * sizeof *t.amplitude);
    plyecho_conditioner_free(conditioner);
    t.signal = PLYECHO_SIGNAL_ENVELOPE;
    struct plyecho_assess_options o = options_for(3.0);
    struct plyecho_assessment a = judge_traces(&t, &o);
    assert_int_equal(a.verdict, PLYECHO_NO_INDICATION);
    assert_false(a.sign_known);
    plyecho_traces_clear(&t);
}

static void every_verdict_says_what_it_does_not_prove_and_what_to_do(void **state)
{
    (void)state;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++) {
        struct plyecho_assessment a = {.verdict = (enum plyecho_verdict)v,
                                       .evidence_ratio = 5.0};
        char words[3000], few[20];
        size_t length = plyecho_assessment_words(&a, words, sizeof words);
        assert_int_equal(length, strlen(words));
        assert_non_null(strstr(words, "Next:"));
        if (v != PLYECHO_UNREADABLE) {
            assert_non_null(strstr(words, "Not proved:"));
            assert_non_null(strstr(words, "cracks through the thickness"));
        }
        assert_int_equal(plyecho_assessment_words(&a, few, sizeof few), length);
        assert_true(strlen(few) < sizeof few);
        assert_string_not_equal(plyecho_verdict_word((enum plyecho_verdict)v), "unknown");
    }
    assert_string_equal(plyecho_verdict_word(PLYECHO_VERDICT_COUNT), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_wall_has_no_indication),
        cmocka_unit_test(a_bonded_sleeve_is_an_inner_echo_and_the_whole_wall_is_measured),
        cmocka_unit_test(a_full_gap_is_a_delamination_and_no_wall_is_booked),
        cmocka_unit_test(a_partial_gap_is_a_delamination_with_its_cover),
        cmocka_unit_test(a_lone_echo_is_judged_by_its_share_of_the_nominal),
        cmocka_unit_test(a_wall_within_tolerance_but_below_the_limit_is_thin),
        cmocka_unit_test(a_lossy_wall_is_attenuated_only_against_an_expectation),
        cmocka_unit_test(a_dry_probe_is_unreadable),
        cmocka_unit_test(a_shallow_gap_shows_where_the_pulse_is_known),
        cmocka_unit_test(a_clipped_echo_and_noise_are_unreadable),
        cmocka_unit_test(sign_speaks_against_a_gap),
        cmocka_unit_test(an_attenuation_that_cannot_be_is_told),
        cmocka_unit_test(what_is_next_fits_the_reason),
        cmocka_unit_test(without_a_nominal_the_words_say_what_it_rests_on),
        cmocka_unit_test(a_rectified_trace_is_judged_without_its_sign),
        cmocka_unit_test(every_verdict_says_what_it_does_not_prove_and_what_to_do),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
