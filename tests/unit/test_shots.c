/* Several shots of one place: whose verdict it is, what their spread makes of the uncertainty. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/shots.h>

enum { MOST = 4 };

/* A sound wall of 3.2 mm, well coupled. */
static struct plyecho_assessment sound(double wall_mm, double front)
{
    struct plyecho_assessment a = {
        .verdict = PLYECHO_NO_INDICATION,
        .thickness = {.mode = PLYECHO_MODE_2,
                      .time_u_s = 1e-9,
                      .thickness_m = wall_mm * 1e-3,
                      .thickness_u = {true, 30e-6}},
        .wall_seen = true,
        .evidence_ratio = 900.0,
        .front_reflection = {true, front},
    };
    return a;
}

static struct plyecho_assessment unreadable(void)
{
    return plyecho_assessment_of_silence();
}

static struct plyecho_assessment shadow(double depth_mm, double front)
{
    struct plyecho_assessment a = sound(depth_mm, front);
    a.verdict = PLYECHO_DELAMINATION;
    a.flagged = true;
    a.wall_seen = false;
    a.lone_m = (struct plyecho_known){true, depth_mm * 1e-3};
    a.has_indication = true;
    a.depth_m = depth_mm * 1e-3;
    a.strength = -0.9;
    return a;
}

struct combined {
    size_t best;
    struct plyecho_place_reading reading;
    struct plyecho_known spread_m;
};

static struct combined combine(const struct plyecho_assessment *shots, size_t count)
{
    const struct plyecho_assessment *all[MOST];
    struct combined c = {.reading = {.place = {30.0, 0.02}}};
    for (size_t k = 0; k < count; k++)
        all[k] = &shots[k];
    c.best = plyecho_shots_combine(all, count, 0.32e-3, &c.reading, &c.spread_m);
    assert_true(c.reading.read);
    assert_int_equal(c.reading.shots, count);
    assert_true(c.reading.place.across == 30.0 && c.reading.place.along == 0.02);
    return c;
}

static void one_shot_is_that_shot(void **state)
{
    (void)state;
    struct plyecho_assessment shot = sound(3.2, 0.3);
    shot.nominal_known = true;
    shot.nominal_m = 3.25e-3;
    shot.range_known = true;
    shot.from_m = 0.5e-3;
    shot.to_m = 2.9e-3;
    shot.level = 0.1;
    shot.highest_known = true;
    shot.highest_inner = 0.04;
    shot.expectation = true;
    shot.balance_db = -1.5;
    struct combined c = combine(&shot, 1);
    const struct plyecho_place_reading *r = &c.reading;
    assert_int_equal(c.best, 0);
    assert_false(c.spread_m.known);
    assert_int_equal(r->verdict, PLYECHO_NO_INDICATION);
    assert_false(r->flagged);
    assert_true(r->evidence_ratio == 900.0);
    assert_true(r->wall_seen && r->wall_m == shot.thickness.thickness_m);
    assert_true(r->wall_u_m.known && r->wall_u_m.value == 30e-6);
    assert_true(r->nominal_m.known && r->nominal_m.value == 3.25e-3 &&
                r->tolerance_m == 0.32e-3);
    assert_true(r->range_known && r->level == 0.1);
    assert_true(r->highest_inner.known && r->highest_inner.value == 0.04);
    assert_true(r->expectation);
    assert_true(r->balance_db.known && r->balance_db.value == -1.5);
    assert_false(r->lone_m.known);
    assert_false(r->lone_u_m.known);
    assert_false(r->has_indication);
}

static void the_best_coupled_one_counts(void **state)
{
    (void)state;
    /* a dry seat reflects more at the delay line's end: common practice, no source */
    struct plyecho_assessment shots[] = {sound(3.1, -0.9), sound(3.2, 0.3), sound(3.3, 0.5)};
    assert_int_equal(combine(shots, 3).best, 1);
    assert_true(combine(shots, 3).reading.wall_m == shots[1].thickness.thickness_m);
    /* of equal ones the surest time */
    shots[0].front_reflection.value = 0.31;
    shots[0].thickness.time_u_s = 0.5e-9;
    assert_int_equal(combine(shots, 3).best, 0);
    /* where the reference does not tell, too */
    shots[1].front_reflection.known = false;
    shots[1].thickness.time_u_s = 0.4e-9;
    assert_int_equal(combine(shots, 2).best, 1);
    /* a wall seen before none seen */
    struct plyecho_assessment two[] = {shadow(1.0, 0.3), sound(3.2, 0.3)};
    two[0].thickness.time_u_s = 0.1e-9;
    assert_int_equal(combine(two, 2).best, 1);
}

static void an_unreadable_shot_does_not_count(void **state)
{
    (void)state;
    struct plyecho_assessment shots[] = {unreadable(), sound(3.2, 0.9), unreadable()};
    shots[0].front_reflection = (struct plyecho_known){true, 0.1};
    struct combined c = combine(shots, 3);
    assert_int_equal(c.best, 1);
    assert_int_equal(c.reading.verdict, PLYECHO_NO_INDICATION);
    assert_false(c.spread_m.known);
    /* nothing but such ones */
    c = combine(&shots[2], 1);
    assert_int_equal(c.reading.verdict, PLYECHO_UNREADABLE);
    assert_true(c.reading.flagged);
    assert_false(c.reading.wall_seen);
}

static void their_spread_is_uncertainty(void **state)
{
    (void)state;
    /* by hand: mean 3.2, deviations -0.03, 0.01, 0.02; squares sum to 0.0014 over 2 */
    struct plyecho_assessment shots[] = {sound(3.17, 0.3), sound(3.21, 0.5), sound(3.22, 0.5),
                                         unreadable()};
    const double by_hand = 26.457513e-6; /* sqrt(0.0007) mm */
    struct combined c = combine(shots, 4);
    assert_true(c.spread_m.known);
    assert_float_equal(c.spread_m.value, by_hand, 1e-12);
    /* JCGM 100, 5.1.2: independent parts add as squares */
    assert_float_equal(c.reading.wall_u_m.value, 40.0e-6, 1e-9);
    /* an unknown uncertainty does not become known */
    shots[0].thickness.thickness_u.known = false;
    assert_false(combine(shots, 4).reading.wall_u_m.known);
    assert_true(combine(shots, 4).spread_m.known);
    /* a wall that was not seen is none */
    shots[1].wall_seen = shots[2].wall_seen = false;
    assert_false(combine(shots, 4).spread_m.known);
}

static void shots_that_disagree_decide_nothing(void **state)
{
    (void)state;
    struct plyecho_assessment shots[] = {sound(3.2, 0.3), shadow(1.0, 0.6)};
    struct combined c = combine(shots, 2);
    assert_int_equal(c.best, 0);
    assert_int_equal(c.reading.verdict, PLYECHO_UNDECIDED);
    assert_int_equal(c.reading.reason, PLYECHO_REASON_SHOTS_DISAGREE);
    assert_true(c.reading.flagged);
    assert_true(c.reading.evidence_ratio == 1.0);
    /* the best coupled one finds it: that stands */
    shots[0].front_reflection.value = 0.9;
    c = combine(shots, 2);
    assert_int_equal(c.best, 1);
    assert_int_equal(c.reading.verdict, PLYECHO_DELAMINATION);
    assert_int_equal(c.reading.reason, PLYECHO_REASON_NONE);
    /* a poor shot that decides nothing, or is not read, is no contradiction */
    shots[0].front_reflection.value = 0.3;
    shots[1].verdict = PLYECHO_UNDECIDED;
    assert_int_equal(combine(shots, 2).reading.verdict,
                     PLYECHO_UNDECIDED); /* an echo where none belongs */
    shots[1].lone_m.known = false;
    assert_int_equal(combine(shots, 2).reading.verdict, PLYECHO_NO_INDICATION);
    /* a declared interface is none either beside a delamination */
    shots[0].verdict = PLYECHO_INNER_ECHO;
    shots[1].verdict = PLYECHO_DELAMINATION;
    assert_int_equal(combine(shots, 2).reading.reason, PLYECHO_REASON_SHOTS_DISAGREE);
    shots[0].verdict = PLYECHO_NO_INDICATION;
    shots[1] = unreadable();
    assert_int_equal(combine(shots, 2).reading.verdict, PLYECHO_NO_INDICATION);
}

static void a_lone_echo_is_carried(void **state)
{
    (void)state;
    struct plyecho_assessment shot = shadow(1.0, 0.3);
    const struct plyecho_place_reading r = combine(&shot, 1).reading;
    assert_false(r.wall_seen);
    assert_true(r.wall_m == 0.0);
    assert_false(r.wall_u_m.known);
    assert_true(r.lone_m.known && r.lone_m.value == 1e-3);
    assert_true(r.lone_u_m.known && r.lone_u_m.value == 30e-6);
    assert_true(r.has_indication && r.depth_m == 1e-3 && r.strength == -0.9);
    /* what was timed is another echo: nothing is known of this one's */
    shot.lone_m.value = 1.1e-3;
    assert_false(combine(&shot, 1).reading.lone_u_m.known);
    assert_true(combine(&shot, 1).reading.lone_m.known);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_shot_is_that_shot),
        cmocka_unit_test(the_best_coupled_one_counts),
        cmocka_unit_test(an_unreadable_shot_does_not_count),
        cmocka_unit_test(their_spread_is_uncertainty),
        cmocka_unit_test(shots_that_disagree_decide_nothing),
        cmocka_unit_test(a_lone_echo_is_carried),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
