/* Walls judged by whole stacks of layers: each explanation comes out as what it is, with its depth and
 * cover. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "judged_wall.h"

/* Both ways that use stacks, on two records each. */
static void expect_all(const struct judged_wall *w, double nominal_mm,
                       enum plyecho_verdict verdict,
                       void (*more)(const struct judged_wall *w,
                                    const struct plyecho_assessment *a))
{
    for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++)
        for (unsigned long seed = 1; seed <= 2; seed++) {
            struct plyecho_assessment a = judged(w, nominal_mm, (enum judged_how)how, seed);
            judged_as(w, &a, verdict);
            assert_true(a.evidence_ratio >= 1.0 && a.evidence_ratio <= 1000.0);
            assert_true(a.flagged == (verdict != PLYECHO_NO_INDICATION));
            assert_false(a.inverted);
            if (more != NULL)
                more(w, &a);
        }
}

static double whole_mm(const struct judged_wall *w)
{
    return w->upper_mm + 1e-3 * w->film_um + w->lower_mm;
}

static void wall_is_measured(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    assert_true(a->wall_seen);
    assert_float_equal(a->thickness.thickness_m * 1e3, whole_mm(w), 0.02);
}

static void depth_is_told(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    assert_true(a->has_indication && a->depth_u.known);
    assert_float_equal(a->depth_m * 1e3, w->upper_mm, 0.05);
    assert_true(fabs(a->depth_m * 1e3 - w->upper_mm) < 4.0 * a->depth_u.value * 1e3);
}

static void plain_walls_have_no_indication(void **state)
{
    (void)state;
    static const double mm[] = {1.6, 1.9, 2.3, 2.6, 3.1};
    for (size_t i = 0; i < sizeof mm / sizeof mm[0]; i++) {
        struct judged_wall w = judged_plain(mm[i]);
        expect_all(&w, 1.02 * mm[i], PLYECHO_NO_INDICATION, wall_is_measured);
        expect_all(&w, 0.96 * mm[i], PLYECHO_NO_INDICATION, wall_is_measured);
    }
}

static void step_is_told(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    depth_is_told(w, a);
    wall_is_measured(w, a);
    double r = (w->lower_mrayl - 4.65) / (w->lower_mrayl + 4.65);
    assert_true(a->sign_known && !a->film);
    assert_float_equal(a->strength, r, 0.03);
}

static void bonded_interfaces_are_inner_echoes(void **state)
{
    (void)state;
    static const double mrayl[] = {3.7, 5.8, 6.4};
    for (size_t i = 0; i < sizeof mrayl / sizeof mrayl[0]; i++) {
        struct judged_wall w = judged_parted("interface", 1.4, 1.2, mrayl[i]);
        expect_all(&w, 2.6, PLYECHO_INNER_ECHO, step_is_told);
    }
}

/* Resin and water are slower than the laminate, so that the wall reads too thick by the film. */
static void film_is_told(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    depth_is_told(w, a);
    assert_true(a->film && !a->sign_known);
    double slow = w->film_mrayl < 2.0 ? 1483.0 : 2450.0;
    double reads = whole_mm(w) + 1e-3 * w->film_um * (JUDGED_VELOCITY_M_S / slow - 1.0);
    assert_true(a->wall_seen);
    assert_float_equal(a->thickness.thickness_m * 1e3, reads, 0.06);
}

static void glue_lines_are_inner_echoes_with_a_film(void **state)
{
    (void)state;
    static const double um[] = {40.0, 80.0, 120.0}, below[] = {4.65, 5.3};
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < 2; k++) {
            struct judged_wall w = judged_parted("glue", 1.3, 1.2, below[k]);
            w.film_um = um[i];
            w.film_mrayl = 3.0;
            expect_all(&w, 2.6, PLYECHO_INNER_ECHO, film_is_told);
        }
}

/* A film of water looks like a bonded one (docs/method.md). */
static void wet_gaps_are_inner_echoes_with_a_film(void **state)
{
    (void)state;
    static const double um[] = {10.0, 16.0, 22.0};
    for (size_t i = 0; i < 3; i++) {
        struct judged_wall w = judged_parted("wet", 1.3, 1.2, 4.65);
        w.film_um = um[i];
        w.film_mrayl = 1.48;
        expect_all(&w, 2.55, PLYECHO_INNER_ECHO, film_is_told);
    }
}

static void cover_is_told(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    depth_is_told(w, a);
    assert_float_equal(a->cover, w->cover, 0.1);
    assert_float_equal(a->strength, -w->cover, 0.1);
}

static void partial_gaps_are_delaminations_with_their_cover(void **state)
{
    (void)state;
    for (double cover = 0.25; cover < 0.8; cover += 0.1)
        for (double depth = 0.8; depth < 1.9; depth += 0.45) {
            struct judged_wall w = judged_parted("gap", depth, 2.6 - depth, 4.65);
            w.cover = cover;
            expect_all(&w, 2.6, PLYECHO_DELAMINATION, cover_is_told);
        }
}

static void no_wall_is_booked(const struct judged_wall *w, const struct plyecho_assessment *a)
{
    depth_is_told(w, a);
    assert_false(a->wall_seen);
    assert_float_equal(a->cover, 1.0, 0.1);
}

static void full_shadows_are_delaminations_without_a_wall(void **state)
{
    (void)state;
    for (double depth = 0.6; depth < 1.8; depth += 0.23) {
        struct judged_wall w = judged_parted("shadow", depth, 2.6 - depth, 4.65);
        w.cover = 1.0;
        expect_all(&w, 2.6, PLYECHO_DELAMINATION, no_wall_is_booked);
    }
}

/* 10 and 15 dB more over the way to the back wall and from it, at 5 MHz. */
static void walls_that_lose_far_more_are_attenuated(void **state)
{
    (void)state;
    for (double more_db = 10.0; more_db < 16.0; more_db += 5.0) {
        struct judged_wall w = judged_plain(2.6);
        w.name = "lossy";
        w.loss_db = JUDGED_LOSS_DB + more_db / (2.0 * 2.6 * 5.0);
        expect_all(&w, 2.6, PLYECHO_ATTENUATED, NULL);
    }
}

/* A coat that cannot be parted from the wall is undecided; never is it a delamination or missed in the
 * wall's thickness. */
static void coats_are_not_the_walls(void **state)
{
    (void)state;
    for (double coat = 0.1; coat < 0.45; coat += 0.1)
        for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++) {
            struct judged_wall w = judged_plain(2.4);
            w.name = "coat";
            w.coat_mm = coat;
            struct plyecho_assessment a = judged(&w, 2.4, (enum judged_how)how, 1);
            if (a.verdict != PLYECHO_UNDECIDED)
                judged_as(&w, &a, PLYECHO_NO_INDICATION);
            wall_is_measured(&w, &a);
        }
}

/* Depths count from under the coat, and the coat's own echoes are not among those inside. */
static void nothing_of_the_coat_is_inside(const struct judged_wall *w,
                                          const struct plyecho_assessment *a)
{
    for (int k = 0; k < a->inner_count; k++) /* its upper face is nearer than half a pulse */
        assert_true(a->inner[k].depth_m > 0.15e-3);
    assert_true(a->from_m >= 0.0);
    assert_true(a->to_m * 1e3 < whole_mm(w));
    assert_true(a->highest_inner <= 1.0);
    if (a->verdict == PLYECHO_NO_INDICATION && a->highest_known)
        assert_true(a->highest_inner < a->level);
}

/* From 0.24 mm on only a coat explains the trace; two in three must be told. */
static void coats_are_parted_where_the_pulse_is_known(void **state)
{
    (void)state;
    int parted = 0, count = 0;
    for (double coat = 0.24; coat < 0.42; coat += 0.04)
        for (unsigned long seed = 1; seed <= 3; seed++, count++) {
            struct judged_wall w = judged_plain(2.2);
            w.coat_mm = coat;
            struct plyecho_assessment a = judged(&w, 2.2, WITH_PULSE, seed);
            assert_true(a.verdict != PLYECHO_DELAMINATION);
            if (a.verdict == PLYECHO_NO_INDICATION) {
                wall_is_measured(&w, &a);
                nothing_of_the_coat_is_inside(&w, &a);
                parted++;
            }
        }
    assert_true(3 * parted >= 2 * count);
}

static void gaps_under_a_coat_keep_their_depth(void **state)
{
    (void)state;
    for (double cover = 0.4; cover < 1.05; cover += 0.15) {
        struct judged_wall w = judged_parted("coated gap", 1.2, 1.4, 4.65);
        w.coat_mm = 0.2;
        w.cover = fmin(cover, 1.0);
        expect_all(&w, 2.6, PLYECHO_DELAMINATION, cover > 0.6 ? depth_is_told : cover_is_told);
        expect_all(&w, 2.6, PLYECHO_DELAMINATION, nothing_of_the_coat_is_inside);
    }
}

static void a_dry_probe_is_unreadable(void **state)
{
    (void)state;
    struct judged_wall w = {.name = "dry", .dry = true};
    for (unsigned long seed = 1; seed <= 5; seed++) {
        struct plyecho_assessment a = judged(&w, 2.6, WITH_PULSE, seed);
        judged_as(&w, &a, PLYECHO_UNREADABLE);
        assert_int_equal(a.reason, PLYECHO_REASON_NO_COUPLING);
        a = judged(&w, 2.6, WITHOUT_PULSE, seed);
        judged_as(&w, &a, PLYECHO_UNREADABLE);
    }
}

/* Odds must not depend on which way the receiver is wired; with a reference it is told. */
static void reversed_polarity_is_told(void **state)
{
    (void)state;
    struct judged_wall walls[3] = {judged_plain(2.6), judged_parted("interface", 1.4, 1.2, 6.0),
                                   judged_parted("gap", 1.3, 1.3, 4.65)};
    static const enum plyecho_verdict verdicts[] = {PLYECHO_NO_INDICATION, PLYECHO_INNER_ECHO,
                                                    PLYECHO_DELAMINATION};
    walls[2].cover = 0.5;
    for (int i = 0; i < 3; i++)
        for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++) {
            struct plyecho_traces t = judged_record(&walls[i], 40.0, 1);
            struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
            for (size_t k = 0; k < t.samples; k++)
                t.amplitude[k] = -t.amplitude[k];
            struct plyecho_assessment a = judged_raw(
                &raw, judged_options(2.6, (enum judged_how)how), (enum judged_how)how);
            judged_as(&walls[i], &a, verdicts[i]);
            assert_true(a.inverted == (how == WITH_PULSE));
            if (i > 0)
                depth_is_told(&walls[i], &a);
            plyecho_traces_clear(&t);
        }
}

/* Noise as high as a good coupling makes the interface echo: the first echo seen may be any. */
static void a_drowned_front_takes_the_odds_down(void **state)
{
    (void)state;
    static const double snr_db[] = {12.0, 40.0};
    struct judged_wall w = judged_parted("gap", 1.3, 1.3, 4.65);
    w.cover = 0.5;
    for (int noisy = 1; noisy >= 0; noisy--)
        for (unsigned long seed = 1; seed <= 8; seed++) {
            struct plyecho_traces t = judged_record(&w, snr_db[!noisy], seed);
            struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
            struct plyecho_assessment a =
                judged_raw(&raw, judged_options(2.6, WITHOUT_PULSE), WITHOUT_PULSE);
            bool told = a.verdict != PLYECHO_UNREADABLE && a.verdict != PLYECHO_UNDECIDED;
            if (told)
                assert_true(a.front_unsure == (noisy > 0));
            if (told && noisy)
                assert_true(a.evidence_ratio <= 2.0);
            if (!noisy)
                judged_as(&w, &a, PLYECHO_DELAMINATION);
            plyecho_traces_clear(&t);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_walls_have_no_indication),
        cmocka_unit_test(bonded_interfaces_are_inner_echoes),
        cmocka_unit_test(glue_lines_are_inner_echoes_with_a_film),
        cmocka_unit_test(wet_gaps_are_inner_echoes_with_a_film),
        cmocka_unit_test(partial_gaps_are_delaminations_with_their_cover),
        cmocka_unit_test(full_shadows_are_delaminations_without_a_wall),
        cmocka_unit_test(walls_that_lose_far_more_are_attenuated),
        cmocka_unit_test(coats_are_not_the_walls),
        cmocka_unit_test(coats_are_parted_where_the_pulse_is_known),
        cmocka_unit_test(gaps_under_a_coat_keep_their_depth),
        cmocka_unit_test(a_dry_probe_is_unreadable),
        cmocka_unit_test(reversed_polarity_is_told),
        cmocka_unit_test(a_drowned_front_takes_the_odds_down),
    };
    return cmocka_run_group_tests(tests, judged_reference_take, NULL);
}
