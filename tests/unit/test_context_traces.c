/* Whole traces against those of sound places, on tubes made by hand: each rule where it holds, and where it must not. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_scan.h"

static const double mm = 1e-3;

/* Bare tube, with the whole trace of each place. */
static void bare(struct made_scan *s)
{
    made_scan_new(s, 24, 8);
    made_profiles(s);
}

/* Told inside by its fit, far above the level; but the trace is as before. */
static struct plyecho_place_reading *tell_inside(struct made_scan *s, size_t column, size_t row,
                                                 double depth_m)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, row);
    made_inside(r, PLYECHO_INNER_ECHO, depth_m, -0.15);
    return r;
}

/* Not told apart by its fit; the trace is as before. */
static struct plyecho_place_reading *tell_nothing(struct made_scan *s, size_t column,
                                                  size_t row)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, row);
    r->verdict = PLYECHO_UNDECIDED;
    r->flagged = true;
    r->highest_inner.value = 0.13;
    return r;
}

static void expect_laminate(const struct plyecho_place_reading *r, double wall_m)
{
    expect(r, PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_LAMINATE);
    assert_true(r->second_wall_m.known && r->second_wall_u_m.known);
    assert_float_equal(r->second_wall_m.value, wall_m, 1e-12);
    assert_true(r->flagged); /* the raw one is never touched */
}

/* ---- as sound ---- */

static void nothing_stands_higher_so_it_is_the_laminate(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *told = tell_inside(&s, 4, 3, 1.4 * mm);
    struct plyecho_place_reading *open = tell_nothing(&s, 10, 3);
    struct plyecho_place_reading *lone = made_scan_at(&s, 16, 3);
    made_lone(lone, 3.21 * mm); /* an echo where the neighbours have their wall */
    made_scan_judge(&s);
    assert_true(s.sound.level.value < 0.1);
    expect_laminate(told, told->wall_m);
    expect_laminate(open, open->wall_m);
    expect_laminate(lone, 3.21 * mm);
    made_scan_free(&s);
}

static void an_echo_that_stands_higher_is_one(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *where_told = tell_inside(&s, 4, 3, 1.4 * mm);
    made_echo(where_told, 1.4 * mm, 0.15);
    struct plyecho_place_reading *elsewhere = tell_inside(&s, 10, 3, 1.4 * mm);
    made_echo(elsewhere, 2.3 * mm, 0.15);
    struct plyecho_place_reading *open = tell_nothing(&s, 16, 3);
    made_echo(open, 0.8 * mm, 0.13);
    made_scan_judge(&s);
    expect(where_told, PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_ALONE);
    expect(elsewhere, PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_ALONE);
    expect(open, PLYECHO_UNDECIDED, true, PLYECHO_CONTEXT_ALONE);
    made_scan_free(&s);
}

static void a_wall_that_no_neighbour_has_is_not_sound(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *thicker = tell_inside(&s, 4, 3, 1.4 * mm);
    made_wall(thicker, 3.4 * mm);
    struct plyecho_place_reading *lone = made_scan_at(&s, 10, 3);
    made_lone(lone, 3.4 * mm);
    /* of eight neighbours half are sound, which is not most of them */
    struct plyecho_place_reading *among = tell_inside(&s, 16, 3, 1.4 * mm);
    for (size_t column = 15; column < 18; column++)
        made_attenuated(made_scan_at(&s, column, 2), -9.0);
    made_attenuated(made_scan_at(&s, 15, 3), -9.0);
    made_scan_judge(&s);
    assert_int_equal(thicker->second, PLYECHO_INNER_ECHO);
    assert_int_equal(lone->second, PLYECHO_UNDECIDED);
    assert_int_equal(among->second, PLYECHO_INNER_ECHO);
    made_scan_free(&s);
}

/* Something took the sound, whatever stands inside. */
static void a_weak_back_wall_is_not_sound(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *weak = tell_inside(&s, 4, 3, 1.4 * mm);
    weak->balance_db.value = -3.5;
    struct plyecho_place_reading *unknown = tell_inside(&s, 10, 3, 1.4 * mm);
    unknown->balance_db.known = false;
    struct plyecho_place_reading *kept = tell_inside(&s, 16, 3, 1.4 * mm);
    kept->balance_db.value = -2.5;
    made_scan_judge(&s);
    assert_int_equal(weak->second, PLYECHO_INNER_ECHO);
    assert_int_equal(unknown->second, PLYECHO_INNER_ECHO);
    expect_laminate(kept, kept->wall_m);
    made_scan_free(&s);
}

/* At the neighbours, too, and at the same depth: an interface, however weak. */
static void what_runs_on_is_an_interface(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *runs_on = tell_inside(&s, 4, 3, 1.4 * mm);
    struct plyecho_place_reading *scatters = tell_inside(&s, 14, 3, 1.4 * mm);
    for (size_t k = 0; k < 3; k++) {
        tell_inside(&s, 3 + k, 2, 1.45 * mm);
        tell_inside(&s, 13 + k, 2, (0.9 + 0.8 * (double)k) * mm);
    }
    made_scan_judge(&s);
    assert_int_equal(runs_on->second, PLYECHO_INNER_ECHO);
    expect_laminate(scatters, scatters->wall_m);
    made_scan_free(&s);
}

/* Part of the beam may be on it, too little to stand out. */
static void next_to_a_delamination_at_that_depth_it_is_its_edge(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    for (size_t column = 5; column <= 15; column += 10) {
        struct plyecho_place_reading *r = made_scan_at(&s, column, 3);
        made_inside(r, PLYECHO_DELAMINATION, 1.4 * mm, -0.95);
        made_profile(r, 0);
    }
    struct plyecho_place_reading *edge = tell_inside(&s, 6, 3, 1.45 * mm);
    struct plyecho_place_reading *elsewhere = tell_inside(&s, 16, 3, 2.4 * mm);
    made_scan_judge(&s);
    expect(edge, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    expect_laminate(elsewhere, elsewhere->wall_m);
    made_scan_free(&s);
}

static void a_bad_record_is_not_held_against_others(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *disturbed = tell_nothing(&s, 4, 3);
    disturbed->reason = PLYECHO_REASON_DISTURBED;
    struct plyecho_place_reading *uncoupled = made_scan_at(&s, 10, 3);
    made_unreadable(uncoupled);
    struct plyecho_place_reading *unread = made_scan_at(&s, 16, 3);
    unread->read = false;
    made_scan_judge(&s);
    expect(disturbed, PLYECHO_UNREADABLE, true, PLYECHO_CONTEXT_NONE);
    expect(uncoupled, PLYECHO_UNREADABLE, true, PLYECHO_CONTEXT_NONE);
    assert_int_equal(unread->context, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* What its fit tells to have taken the back wall's sound, or a wall below the limit, no profile takes back. */
/* The profile is of the best coupled shot; another one found what that did not. */
static void where_shots_disagree_one_trace_is_not_all(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    struct plyecho_place_reading *r = tell_nothing(&s, 10, 3);
    r->reason = PLYECHO_REASON_SHOTS_DISAGREE;
    made_scan_judge(&s);
    assert_int_equal(r->second, PLYECHO_UNDECIDED);
    made_scan_free(&s);
}

static void other_verdicts_stand(void **state)
{
    (void)state;
    static const enum plyecho_verdict verdicts[] = {PLYECHO_DELAMINATION, PLYECHO_THIN,
                                                    PLYECHO_ATTENUATED};
    for (size_t k = 0; k < sizeof verdicts / sizeof verdicts[0]; k++) {
        struct made_scan s;
        bare(&s);
        struct plyecho_place_reading *r = made_scan_at(&s, 4, 3);
        made_inside(r, verdicts[k], 1.4 * mm, -0.4);
        made_scan_judge(&s);
        expect(r, verdicts[k], true, PLYECHO_CONTEXT_ALONE);
        made_scan_free(&s);
    }
}

/* Of a scan that is read again no profiles are known; nor is there a range of nineteen. */
static void without_profiles_the_fit_is_believed(void **state)
{
    (void)state;
    for (size_t known = 19; known <= 20; known++) {
        struct made_scan s;
        bare(&s);
        struct plyecho_place_reading *r = tell_inside(&s, 4, 3, 1.4 * mm);
        struct plyecho_place_reading *unknown = tell_inside(&s, 14, 3, 1.4 * mm);
        unknown->profile.count = 0;
        for (size_t i = known; i < s.grid->count; i++)
            if (&s.reading[i] != r)
                s.reading[i].profile.count = 0;
        r->profile = s.reading[5].profile; /* one of theirs */
        made_scan_judge(&s);
        assert_int_equal(r->second, known == 20 ? PLYECHO_NO_INDICATION : PLYECHO_INNER_ECHO);
        assert_int_equal(unknown->second, PLYECHO_INNER_ECHO);
        made_scan_free(&s);
    }
}

/* Part of the tube has a wall of half that. Where the thinner wall is the usual one, what lies behind its back was never
 * looked at; and where the thicker one is, an echo at the thinner one's back is no wall. */
static void each_wall_is_held_against_its_own(void **state)
{
    (void)state;
    for (size_t thin_rows = 3; thin_rows <= 5; thin_rows += 2) {
        struct made_scan s;
        made_scan_new(&s, 24, 8);
        made_scan_nominal(&s);
        for (size_t i = 0; i < 24 * thin_rows; i++) {
            made_wall(&s.reading[i], 1.6 * mm);
            s.reading[i].nominal_m.value = 1.6 * mm;
        }
        made_profiles(&s);
        double depth_m = (thin_rows == 3 ? 1.6 : 2.4) * mm;
        struct plyecho_place_reading *thick = tell_inside(&s, 4, 6, depth_m);
        made_echo(thick, depth_m, 0.2);
        struct plyecho_place_reading *usual =
            tell_inside(&s, 14, thin_rows == 3 ? 6 : 2, 0.9 * mm);
        made_scan_judge(&s);
        expect(thick, PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_ALONE);
        expect_laminate(usual, usual->wall_m);
        made_scan_free(&s);
    }
}

/* Of too few over the usual wall there is no range: those over another do not fill up their number. */
static void a_range_is_of_one_wall(void **state)
{
    (void)state;
    for (size_t known = 19; known <= 20; known++) {
        struct made_scan s;
        made_scan_new(&s, 24, 8);
        for (size_t i = 5 * 24; i < s.grid->count; i++)
            made_wall(&s.reading[i], 3.6 * mm);
        made_profiles(&s);
        for (size_t i = known; i < 5 * 24; i++)
            s.reading[i].profile.count = 0;
        struct plyecho_place_reading *r = tell_inside(&s, 4, 2, 1.4 * mm);
        r->profile = s.reading[5].profile; /* one of theirs */
        made_scan_judge(&s);
        assert_int_equal(r->second, known == 20 ? PLYECHO_NO_INDICATION : PLYECHO_INNER_ECHO);
        made_scan_free(&s);
    }
}

/* ---- as declared ---- */

/* A sleeve of 1.2 mm under rows 4 to 7, as declared: its interface at 3.2 mm, the wall behind. */
static void sleeved(struct made_scan *s)
{
    made_scan_new(s, 24, 8);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 0; column < 24; column++) {
            struct plyecho_place_reading *r = made_scan_at(s, column, row);
            made_inside(r, PLYECHO_INNER_ECHO, 3.2 * mm,
                        -0.15 - 0.02 * sin(1.9 * (double)(column + 24 * row)));
            r->flagged = false;
            made_wall(r, 4.4 * mm);
        }
    made_profiles(s);
}

/* Flagged for an echo besides the declared layer's. */
static struct plyecho_place_reading *tell_other(struct made_scan *s, size_t column,
                                                double depth_m)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, 6);
    made_inside(r, PLYECHO_INNER_ECHO, depth_m, -0.3);
    r->besides = true;
    return r;
}

/* What the fit makes of the layer's own echo is more than how high the trace stands. */
static void another_interface_than_declared_stays_flagged(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    struct plyecho_place_reading *r = tell_other(&s, 5, 3.2 * mm);
    r->besides = false;
    made_scan_judge(&s);
    assert_int_equal(r->second, PLYECHO_INNER_ECHO);
    assert_true(r->second_flagged);
    made_scan_free(&s);
}

static void nothing_stands_higher_so_it_is_as_declared(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    struct plyecho_place_reading *r = tell_other(&s, 5, 2.8 * mm);
    made_scan_judge(&s);
    expect(r, PLYECHO_INNER_ECHO, false, PLYECHO_CONTEXT_AROUND);
    assert_float_equal(r->second_wall_m.value, 4.4 * mm, 1e-12);
    expect(made_scan_at(&s, 12, 6), PLYECHO_INNER_ECHO, false, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

static void what_stands_higher_is_other_than_declared(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    struct plyecho_place_reading *above = tell_other(&s, 5, 2.0 * mm);
    made_echo(above, 2.0 * mm, 0.3);
    struct plyecho_place_reading *at_it = tell_other(&s, 15, 3.2 * mm); /* partly parted */
    made_echo(at_it, 3.2 * mm, 0.3);
    made_scan_judge(&s);
    expect(above, PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_ALONE);
    expect(at_it, PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_ALONE);
    made_scan_free(&s);
}

/* Where the glue is thicker on one side a range over all of the layer is wide; what its own neighbours have is not. */
static void other_than_its_neighbours_is_other_than_declared(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 12; column < 24; column++) {
            struct plyecho_place_reading *r = made_scan_at(&s, column, row);
            r->strength -= 0.2;
            made_profile(r, column + 24 * row);
        }
    struct plyecho_place_reading *usual = tell_other(&s, 18, 2.9 * mm);
    struct plyecho_place_reading *off = tell_other(&s, 5, 3.2 * mm);
    made_echo(off, 3.2 * mm, 0.3); /* as on the other side */
    made_scan_judge(&s);
    expect(usual, PLYECHO_INNER_ECHO, false, PLYECHO_CONTEXT_AROUND);
    assert_int_equal(off->second, PLYECHO_INNER_ECHO);
    assert_true(off->second_flagged);
    made_scan_free(&s);
}

/* Told as one it stays one, also where its profile says little. */
static void a_disbond_under_the_sleeve_stays_one(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    struct plyecho_place_reading *partly = made_scan_at(&s, 5, 6);
    made_inside(partly, PLYECHO_DELAMINATION, 3.2 * mm, -0.4);
    struct plyecho_place_reading *wholly = made_scan_at(&s, 15, 6);
    made_inside(wholly, PLYECHO_DELAMINATION, 3.2 * mm, -0.95);
    made_profile(wholly, 3);
    made_scan_judge(&s);
    assert_int_equal(partly->second, PLYECHO_DELAMINATION);
    assert_int_equal(wholly->second, PLYECHO_DELAMINATION);
    assert_true(partly->second_flagged && wholly->second_flagged);
    made_scan_free(&s);
}

static void as_declared_has_its_back_wall(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    struct plyecho_place_reading *weak = tell_other(&s, 3, 2.8 * mm);
    weak->balance_db.value = -3.5;
    struct plyecho_place_reading *unknown = tell_other(&s, 8, 2.8 * mm);
    unknown->balance_db.known = false;
    struct plyecho_place_reading *lost = tell_other(&s, 13, 2.8 * mm);
    lost->wall_seen = false;
    struct plyecho_place_reading *no_profile = tell_other(&s, 18, 2.8 * mm);
    no_profile->profile.count = 0;
    struct plyecho_place_reading *thicker = tell_other(&s, 22, 2.8 * mm);
    made_wall(thicker, 4.8 * mm);
    made_scan_judge(&s);
    assert_true(weak->second_flagged && unknown->second_flagged);
    assert_true(lost->second_flagged && no_profile->second_flagged);
    assert_true(thicker->second_flagged);
    made_scan_free(&s);
}

/* Where none is declared, none is as declared. */
static void an_undeclared_layer_stays_flagged(void **state)
{
    (void)state;
    struct made_scan s;
    sleeved(&s);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 0; column < 24; column++)
            made_scan_at(&s, column, row)->flagged = true;
    made_scan_judge(&s);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 0; column < 24; column++)
            assert_true(made_scan_at(&s, column, row)->second_flagged);
    made_scan_free(&s);
}

/* ---- the depth ---- */

/* Delaminated at 1.2 mm, and told so. */
static void delaminate(struct made_scan *s, size_t column)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, 4);
    made_inside(r, PLYECHO_DELAMINATION, 1.2 * mm, -0.95);
    made_profile(r, column);
}

/* Told at another depth, the trace as before. */
static struct plyecho_place_reading *tell_at(struct made_scan *s, size_t column, double depth_m)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, 4);
    made_inside(r, PLYECHO_DELAMINATION, depth_m, -0.4);
    return r;
}

static void its_depth_is_where_it_stands_highest(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    delaminate(&s, 10);
    struct plyecho_place_reading *r = tell_at(&s, 11, 2.1 * mm);
    made_echo(r, 1.25 * mm, 0.3);
    made_scan_judge(&s);
    expect(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_float_equal(r->second_depth_m, 1.2 * mm, 1e-12);
    assert_float_equal(r->second_strength, -0.4, 1e-12);
    assert_float_equal(r->depth_m, 2.1 * mm, 1e-12);
    made_scan_free(&s);
}

static void expect_depth_kept(const struct plyecho_place_reading *r)
{
    expect(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_NONE);
    assert_float_equal(r->second_depth_m, r->depth_m, 1e-12);
}

/* Delaminations lie one below the other, as a blow makes them. */
static void with_an_echo_where_it_is_told_it_keeps_its_depth(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    delaminate(&s, 10);
    struct plyecho_place_reading *r = tell_at(&s, 11, 2.1 * mm);
    made_echo(r, 1.2 * mm, 0.5);
    made_echo(r, 2.1 * mm, 0.3);
    made_scan_judge(&s);
    expect_depth_kept(r);
    made_scan_free(&s);
}

static void without_a_delamination_there_it_keeps_its_depth(void **state)
{
    (void)state;
    struct made_scan s;
    bare(&s);
    delaminate(&s, 4);
    struct plyecho_place_reading *elsewhere = tell_at(&s, 5, 2.1 * mm);
    made_echo(elsewhere, 1.7 * mm, 0.3);
    delaminate(&s, 10);
    struct plyecho_place_reading *nowhere = tell_at(&s, 11, 2.1 * mm);
    delaminate(&s, 16);
    struct plyecho_place_reading *unknown = tell_at(&s, 17, 2.1 * mm);
    unknown->profile.count = 0;
    struct plyecho_place_reading *alone = tell_at(&s, 22, 2.1 * mm);
    made_echo(alone, 1.2 * mm, 0.3);
    made_scan_judge(&s);
    expect_depth_kept(elsewhere);
    expect_depth_kept(nowhere);
    expect_depth_kept(unknown);
    expect(alone, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_ALONE);
    assert_float_equal(alone->second_depth_m, 2.1 * mm, 1e-12);
    made_scan_free(&s);
}

/* An edge makes no further edges. */
static void depths_do_not_go_on_from_place_to_place(void **state)
{
    (void)state;
    for (int back = 0; back < 2; back++) {
        struct made_scan s;
        bare(&s);
        delaminate(&s, 10);
        struct plyecho_place_reading *next = tell_at(&s, back ? 9 : 11, 2.1 * mm);
        struct plyecho_place_reading *further = tell_at(&s, back ? 8 : 12, 2.1 * mm);
        made_echo(next, 1.2 * mm, 0.3);
        made_echo(further, 1.2 * mm, 0.3);
        made_scan_judge(&s);
        expect(next, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
        expect_depth_kept(further);
        made_scan_free(&s);
    }
}

/* A part that is turned round reads the same. What is told next to a delamination at the depth that this was wrongly told
 * at, is looked at after that. */
static void it_does_not_matter_which_place_comes_first(void **state)
{
    (void)state;
    enum plyecho_verdict second[2];
    for (int back = 0; back < 2; back++) {
        struct made_scan s;
        bare(&s);
        delaminate(&s, 10);
        struct plyecho_place_reading *moved = tell_at(&s, back ? 9 : 11, 2.1 * mm);
        made_echo(moved, 1.2 * mm, 0.3);
        struct plyecho_place_reading *r = tell_inside(&s, back ? 8 : 12, 4, 2.1 * mm);
        made_scan_judge(&s);
        expect(moved, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
        second[back] = r->second;
        made_scan_free(&s);
    }
    assert_int_equal(second[0], second[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_stands_higher_so_it_is_the_laminate),
        cmocka_unit_test(an_echo_that_stands_higher_is_one),
        cmocka_unit_test(a_wall_that_no_neighbour_has_is_not_sound),
        cmocka_unit_test(a_weak_back_wall_is_not_sound),
        cmocka_unit_test(what_runs_on_is_an_interface),
        cmocka_unit_test(next_to_a_delamination_at_that_depth_it_is_its_edge),
        cmocka_unit_test(a_bad_record_is_not_held_against_others),
        cmocka_unit_test(where_shots_disagree_one_trace_is_not_all),
        cmocka_unit_test(other_verdicts_stand),
        cmocka_unit_test(without_profiles_the_fit_is_believed),
        cmocka_unit_test(each_wall_is_held_against_its_own),
        cmocka_unit_test(a_range_is_of_one_wall),
        cmocka_unit_test(another_interface_than_declared_stays_flagged),
        cmocka_unit_test(nothing_stands_higher_so_it_is_as_declared),
        cmocka_unit_test(what_stands_higher_is_other_than_declared),
        cmocka_unit_test(other_than_its_neighbours_is_other_than_declared),
        cmocka_unit_test(a_disbond_under_the_sleeve_stays_one),
        cmocka_unit_test(as_declared_has_its_back_wall),
        cmocka_unit_test(an_undeclared_layer_stays_flagged),
        cmocka_unit_test(its_depth_is_where_it_stands_highest),
        cmocka_unit_test(with_an_echo_where_it_is_told_it_keeps_its_depth),
        cmocka_unit_test(without_a_delamination_there_it_keeps_its_depth),
        cmocka_unit_test(depths_do_not_go_on_from_place_to_place),
        cmocka_unit_test(it_does_not_matter_which_place_comes_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
