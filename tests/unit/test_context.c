/* What neighbours tell, on tubes made by hand: each rule where it holds, and where it must not. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "made_scan.h"

static const double mm = 1e-3;

/* All but those that a test has changed. */
static void expect_sound(const struct made_scan *s)
{
    for (size_t i = 0; i < s->grid->count; i++)
        if (s->reading[i].verdict == PLYECHO_NO_INDICATION && s->reading[i].wall_m > 3.1 * mm)
            expect(&s->reading[i], PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
}

static void a_sound_part_stays_as_it_is(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_judge(&s);
    expect_sound(&s);
    assert_int_equal(s.sound.count, 192);
    assert_float_equal(s.sound.wall_m.value, 3.2 * mm, 0.01 * mm);
    assert_float_equal(s.sound.balance_db.value, -1.0, 0.1);
    /* echoes of 0.03 whose values are a sine's: mean + 3 sd = 0.03 + 3 * 0.01 / sqrt(2) */
    assert_float_equal(s.sound.level.value, 0.03 + 0.03 / sqrt(2.0), 0.002);
    assert_true(s.reading[5].second_wall_m.known);
    assert_true(s.reading[5].second_wall_m.value == s.reading[5].wall_m);
    made_scan_free(&s);
}

/* Over a delamination of the whole beam a gauge reads its depth: nothing in the one trace tells. */
static void a_shadow_is_told_by_the_wall_around(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    for (size_t row = 2; row < 5; row++)
        for (size_t column = 22; column < 26; column++) /* through 0 degrees */
            made_wall(made_scan_at(&s, column % 24, row), 1.1 * mm);
    made_scan_judge(&s);
    expect_sound(&s);
    struct plyecho_place_reading *r = made_scan_at(&s, 0, 3);
    expect(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    expect(made_scan_at(&s, 22, 2), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    assert_float_equal(r->second_depth_m, 1.1 * mm, 1e-12);
    assert_float_equal(r->second_strength, -1.0, 1e-12);
    assert_false(r->second_wall_m.known);
    assert_int_equal(r->verdict, PLYECHO_NO_INDICATION); /* the raw one is never touched */
    assert_false(r->flagged);
    assert_true(r->wall_seen);
    assert_int_equal(s.sound.count, 192 - 12);
    made_scan_free(&s);
}

/* The same depth all round three rows: the rows around say nothing then, the part does. */
static void a_shadow_may_go_all_round(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 12);
    for (size_t row = 4; row < 7; row++)
        for (size_t column = 0; column < 24; column++)
            made_wall(made_scan_at(&s, column, row), 2.0 * mm);
    made_scan_judge(&s);
    expect_sound(&s);
    expect(made_scan_at(&s, 7, 5), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    made_scan_free(&s);
}

/* Ground off over a third of the round: by 0.6 mm in steps of 0.1 mm. */
static void grind(struct made_scan *s, bool undecided)
{
    for (size_t row = 0; row < s->grid->rows; row++)
        for (size_t k = 0; k < 13; k++) {
            double off = 0.1 * mm * (k < 7 ? (double)k : 12.0 - (double)k);
            struct plyecho_place_reading *r = made_scan_at(s, 5 + k, row);
            if (undecided && off > 0.32 * mm)
                made_lone(r, 3.2 * mm - off);
            else
                made_wall(r, 3.2 * mm - off);
        }
}

static void a_thin_wall_is_reached_step_by_step(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 36, 4);
    made_scan_nominal(&s);
    grind(&s, true);
    made_scan_judge(&s);
    expect_sound(&s);
    struct plyecho_place_reading *r = made_scan_at(&s, 11, 2);
    expect(r, PLYECHO_THIN, true, PLYECHO_CONTEXT_THIN);
    assert_true(r->second_wall_m.known && r->second_wall_u_m.known);
    assert_float_equal(r->second_wall_m.value, 2.6 * mm, 1e-12);
    assert_false(r->wall_seen);
    assert_int_equal(made_scan_at(&s, 9, 1)->second, PLYECHO_THIN);
    made_scan_free(&s);
}

/* Worn at one spot: three places of each way lead down to it, unevenly. */
static void a_worn_spot_is_thin(void **state)
{
    (void)state;
    static const double walls_mm[] = {3.11, 3.04, 2.93, 2.757, 2.94, 3.05, 3.12};
    struct made_scan s;
    made_scan_new(&s, 24, 1);
    made_scan_nominal(&s);
    for (size_t k = 0; k < 7; k++)
        made_wall(&s.reading[5 + k], walls_mm[k] * mm);
    made_lone(&s.reading[8], 2.757 * mm);
    made_scan_judge(&s);
    expect(&s.reading[8], PLYECHO_THIN, true, PLYECHO_CONTEXT_THIN);
    assert_float_equal(s.reading[8].second_wall_m.value, 2.757 * mm, 1e-12);
    made_scan_free(&s);
}

/* Without a nominal only the limit says that a wall is thin; above it the reading stays what it was. */
static void the_limit_tells_thin_where_no_nominal_does(void **state)
{
    (void)state;
    for (int limited = 0; limited < 2; limited++) {
        struct made_scan s;
        made_scan_new(&s, 36, 4);
        grind(&s, true);
        s.options.least_m = (struct plyecho_known){limited == 1, 2.65 * mm};
        made_scan_judge(&s);
        struct plyecho_place_reading *thinnest = made_scan_at(&s, 11, 2);
        struct plyecho_place_reading *thicker = made_scan_at(&s, 9, 2); /* 2.8 mm */
        assert_int_equal(thinnest->second, limited ? PLYECHO_THIN : PLYECHO_UNDECIDED);
        assert_int_equal(thinnest->second_wall_m.known, limited);
        assert_int_equal(thicker->second, PLYECHO_UNDECIDED);
        made_scan_free(&s);
    }
}

/* A wall that was told and is reached step by step stays told. */
static void a_gentle_change_of_a_sound_wall_stays_sound(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 36, 4);
    grind(&s, false);
    made_scan_judge(&s);
    for (size_t i = 0; i < s.grid->count; i++) {
        assert_int_equal(s.reading[i].second, PLYECHO_NO_INDICATION);
        assert_true(s.reading[i].second_wall_m.known);
    }
    made_scan_free(&s);
}

/* A shadow within a thin wall falls from that at once. */
static void a_shadow_within_a_thin_wall_is_one(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 36, 4);
    made_scan_nominal(&s);
    grind(&s, true);
    made_lone(made_scan_at(&s, 11, 1), 1.0 * mm);
    made_lone(made_scan_at(&s, 11, 2), 1.0 * mm);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 11, 2), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    expect(made_scan_at(&s, 11, 0), PLYECHO_THIN, true, PLYECHO_CONTEXT_THIN);
    made_scan_free(&s);
}

/* Two steps down 0.8 mm may be a groove or delaminations one below the other, as a blow makes them. */
static void what_is_too_steep_to_tell_stays_undecided(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 3);
    for (size_t row = 0; row < 3; row++) {
        made_wall(made_scan_at(&s, 4, row), 2.8 * mm);
        made_wall(made_scan_at(&s, 5, row), 2.3 * mm);
        made_wall(made_scan_at(&s, 6, row), 1.9 * mm);
        made_wall(made_scan_at(&s, 7, row), 2.3 * mm);
        made_wall(made_scan_at(&s, 8, row), 2.8 * mm);
    }
    made_scan_judge(&s);
    struct plyecho_place_reading *r = made_scan_at(&s, 6, 1);
    expect(r, PLYECHO_UNDECIDED, true, PLYECHO_CONTEXT_SHORT);
    assert_false(r->second_wall_m.known);
    /* less than a quarter short it passes, with a word */
    expect(made_scan_at(&s, 4, 1), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_SHORT);
    made_scan_free(&s);
}

static void raw_thin_may_be_a_shadow(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_nominal(&s);
    made_wall(made_scan_at(&s, 8, 4), 2.7 * mm);
    made_scan_at(&s, 8, 4)->verdict = PLYECHO_THIN;
    made_scan_at(&s, 8, 4)->flagged = true;
    made_scan_judge(&s);
    expect(made_scan_at(&s, 8, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    expect_sound(&s);
    made_scan_free(&s);
}

/* Less short than what laying-up does, or than its own uncertainty, is not short. */
static void a_little_short_is_nothing(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_wall(made_scan_at(&s, 8, 4), 3.08 * mm);
    made_wall(made_scan_at(&s, 18, 4), 2.7 * mm);
    made_scan_at(&s, 18, 4)->wall_u_m.value = 0.1 * mm; /* six of them are 0.6 mm */
    made_scan_judge(&s);
    expect(made_scan_at(&s, 8, 4), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 18, 4), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* A glued-in sleeve under part of the round: each place has the nominal of its own. */
static void sleeve(struct made_scan *s, size_t declared_from)
{
    for (size_t row = 0; row < s->grid->rows; row++)
        for (size_t column = 0; column < s->grid->columns; column++) {
            struct plyecho_place_reading *r = made_scan_at(s, column, row);
            if (column >= declared_from && column < 20)
                r->nominal_m.value = 4.4 * mm;
            if (column >= 9 && column < 20)
                made_wall(r, 4.4 * mm);
        }
}

static void a_sleeves_end_is_no_shadow(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_nominal(&s);
    sleeve(&s, 9);
    made_lone(made_scan_at(&s, 14, 4), 3.2 * mm); /* parted over the whole beam */
    made_lone(made_scan_at(&s, 14, 5), 3.2 * mm);
    made_scan_judge(&s);
    expect_sound(&s);
    expect(made_scan_at(&s, 14, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    made_scan_free(&s);
}

/* It ends a place further than was declared: the wall there is the bare tube's. */
static void a_sleeves_end_may_be_elsewhere(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_nominal(&s);
    sleeve(&s, 8);
    for (size_t row = 0; row < 8; row++)
        made_lone(made_scan_at(&s, 8, row), 3.2 * mm);
    made_scan_judge(&s);
    for (size_t row = 0; row < 8; row++)
        assert_int_equal(made_scan_at(&s, 8, row)->second, PLYECHO_UNDECIDED);
    made_scan_free(&s);
}

/* Half the round short: a part of two walls, or parted over all of that. Without a nominal nobody knows. */
static void half_a_part_is_no_shadow_but_undecided(void **state)
{
    (void)state;
    for (int nominal = 0; nominal < 2; nominal++) {
        struct made_scan s;
        made_scan_new(&s, 24, 8);
        for (size_t row = 0; row < 8; row++)
            for (size_t column = 0; column < 10; column++)
                made_wall(made_scan_at(&s, column, row), 2.2 * mm);
        if (nominal)
            made_scan_nominal(&s);
        made_scan_judge(&s);
        assert_int_equal(made_scan_at(&s, 4, 4)->second,
                         nominal ? PLYECHO_NO_INDICATION : PLYECHO_UNDECIDED);
        expect_sound(&s);
        made_scan_free(&s);
    }
}

/* A part delamination with what lies round it. */
static void edges_belong_to_the_delamination(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_inside(made_scan_at(&s, 10, 4), PLYECHO_DELAMINATION, 1.0 * mm, -0.95);
    made_inside(made_scan_at(&s, 9, 4), PLYECHO_INNER_ECHO, 1.05 * mm, -0.3);
    made_inside(made_scan_at(&s, 11, 4), PLYECHO_INNER_ECHO, 2.0 * mm, -0.3); /* elsewhere */
    made_lone(made_scan_at(&s, 10, 3), 1.1 * mm);
    made_attenuated(made_scan_at(&s, 10, 5), -7.0);
    made_scan_at(&s, 11, 5)->highest_inner.value = 0.075;
    made_scan_at(&s, 9, 5)->balance_db.value = -4.0;
    made_scan_at(&s, 9, 3)->balance_db.value = -8.0;
    made_inside(made_scan_at(&s, 8, 4), PLYECHO_INNER_ECHO, 1.0 * mm, -0.3); /* two away */
    made_scan_judge(&s);
    expect(made_scan_at(&s, 10, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 9, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_float_equal(made_scan_at(&s, 9, 4)->second_depth_m, 1.05 * mm, 1e-12);
    assert_float_equal(made_scan_at(&s, 9, 4)->second_strength, -0.3, 1e-12);
    expect(made_scan_at(&s, 11, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    assert_int_equal(made_scan_at(&s, 10, 3)->second, PLYECHO_DELAMINATION);
    expect(made_scan_at(&s, 10, 5), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_float_equal(made_scan_at(&s, 10, 5)->second_depth_m, 1.0 * mm, 1e-12);
    /* 6 dB lost is half: a gap over half of the beam */
    assert_float_equal(made_scan_at(&s, 10, 5)->second_strength, -0.5, 0.02);
    expect(made_scan_at(&s, 11, 5), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_EDGE);
    expect(made_scan_at(&s, 9, 5), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_EDGE);
    expect(made_scan_at(&s, 9, 3), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    expect(made_scan_at(&s, 8, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* What a bad record says lies at no depth. */
static void a_bad_record_is_no_edge(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_inside(made_scan_at(&s, 10, 4), PLYECHO_DELAMINATION, 1.0 * mm, -0.95);
    made_lone(made_scan_at(&s, 10, 3), 1.0 * mm);
    made_scan_at(&s, 10, 3)->reason = PLYECHO_REASON_DISTURBED;
    made_unreadable(made_scan_at(&s, 10, 5));
    made_scan_judge(&s);
    /* to be read again, which is all that either says */
    expect(made_scan_at(&s, 10, 3), PLYECHO_UNREADABLE, true, PLYECHO_CONTEXT_NONE);
    assert_int_equal(made_scan_at(&s, 10, 3)->verdict, PLYECHO_UNDECIDED);
    assert_int_equal(made_scan_at(&s, 10, 5)->second, PLYECHO_UNREADABLE);
    made_scan_free(&s);
}

static void a_declared_interface_stays_one_unless_it_is_stronger(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    for (size_t row = 0; row < 8; row++)
        for (size_t column = 0; column < 10; column++) {
            made_inside(made_scan_at(&s, column, row), PLYECHO_INNER_ECHO, 1.6 * mm, -0.12);
            made_scan_at(&s, column, row)->flagged = false;
        }
    made_inside(made_scan_at(&s, 5, 4), PLYECHO_DELAMINATION, 1.6 * mm, -0.95);
    made_scan_at(&s, 6, 4)->strength = -0.25;
    made_inside(made_scan_at(&s, 2, 2), PLYECHO_DELAMINATION, 1.0 * mm, -0.5);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 2, 2), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_ALONE);
    expect(made_scan_at(&s, 4, 4), PLYECHO_INNER_ECHO, false, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 6, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    expect(made_scan_at(&s, 0, 0), PLYECHO_INNER_ECHO, false, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* A sleeve of 1.2 mm under rows 4 to 7, not declared: its interface at 3.2 mm, and the wall behind. */
static void make_sleeve(struct made_scan *s, bool flagged)
{
    made_scan_new(s, 24, 8);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 0; column < 24; column++) {
            struct plyecho_place_reading *r = made_scan_at(s, column, row);
            double off = 0.1 * mm * (double)((column + row) % 3); /* either face of the glue */
            made_inside(r, PLYECHO_INNER_ECHO, 3.15 * mm + off, -0.15);
            r->flagged = flagged;
            r->wall_m = 4.4 * mm;
        }
}

static void where_a_layer_ends_is_no_delamination(void **state)
{
    (void)state;
    struct made_scan s;
    make_sleeve(&s, true);
    /* with the bare wall: the sleeve in the rim */
    made_inside(made_scan_at(&s, 1, 4), PLYECHO_INNER_ECHO, 1.9 * mm, 0.1);
    made_wall(made_scan_at(&s, 1, 4), 3.2 * mm);
    made_scan_at(&s, 1, 4)->evidence_ratio = 1.6;
    for (size_t column = 11; column <= 15; column += 4) {
        made_inside(made_scan_at(&s, column, 4), PLYECHO_INNER_ECHO, 1.98 * mm, 0.1);
        made_wall(made_scan_at(&s, column, 4), 3.2 * mm); /* 2 * 3.2 - 1.98 = 4.42 */
    }
    made_scan_at(&s, 15, 4)->depth_m = 1.4 * mm;
    made_inside(made_scan_at(&s, 5, 4), PLYECHO_DELAMINATION, 3.2 * mm, -0.3);
    made_inside(made_scan_at(&s, 9, 4), PLYECHO_DELAMINATION, 2.2 * mm, -0.4);
    made_scan_at(&s, 9, 4)->evidence_ratio = 1.6;
    made_inside(made_scan_at(&s, 13, 4), PLYECHO_DELAMINATION, 2.2 * mm, -0.4);
    made_scan_at(&s, 13, 4)->evidence_ratio = 1000.0;
    made_inside(made_scan_at(&s, 17, 4), PLYECHO_DELAMINATION, 3.2 * mm, -0.8);
    made_inside(made_scan_at(&s, 21, 6), PLYECHO_DELAMINATION, 3.2 * mm, -0.3);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 1, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_STEP);
    expect(made_scan_at(&s, 11, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_STEP);
    expect(made_scan_at(&s, 15, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 5, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_STEP);
    expect(made_scan_at(&s, 9, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_STEP);
    /* told clearly, too strong, or within the layer: it stays */
    assert_int_equal(made_scan_at(&s, 13, 4)->second, PLYECHO_DELAMINATION);
    assert_int_equal(made_scan_at(&s, 17, 4)->second, PLYECHO_DELAMINATION);
    assert_int_equal(made_scan_at(&s, 21, 6)->second, PLYECHO_DELAMINATION);
    made_scan_free(&s);
}

/* An echo close to the back wall of a wall that goes on as it is: nothing ends there. */
static void an_echo_above_the_back_wall_is_no_layers_end(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    for (size_t row = 4; row < 8; row++)
        for (size_t column = 0; column < 24; column++)
            made_inside(made_scan_at(&s, column, row), PLYECHO_INNER_ECHO, 3.0 * mm, -0.2);
    made_inside(made_scan_at(&s, 5, 4), PLYECHO_DELAMINATION, 3.0 * mm, -0.4);
    made_scan_judge(&s);
    assert_int_equal(made_scan_at(&s, 5, 4)->second, PLYECHO_DELAMINATION);
    expect(made_scan_at(&s, 15, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* Most of the beam is on the bare wall: that is the sleeve's end only where the others along it read the same. */
static void beside_a_layers_end_is_the_bare_wall(void **state)
{
    (void)state;
    struct made_scan s;
    make_sleeve(&s, true);
    for (size_t column = 0; column < 24; column += 4) {
        struct plyecho_place_reading *r = made_scan_at(&s, column, 3);
        made_inside(r, PLYECHO_DELAMINATION, 3.2 * mm, -0.82);
        r->wall_m = 4.4 * mm;
        r->balance_db.value = -14.5; /* of the sleeve's back */
    }
    made_inside(made_scan_at(&s, 8, 3), PLYECHO_DELAMINATION, 2.9 * mm, -0.82); /* elsewhere */
    made_inside(made_scan_at(&s, 16, 4), PLYECHO_DELAMINATION, 3.2 * mm, -0.9); /* goes on */
    made_inside(made_scan_at(&s, 22, 4), PLYECHO_DELAMINATION, 3.2 * mm, -0.8); /* stands out */
    made_scan_judge(&s);
    struct plyecho_place_reading *r = made_scan_at(&s, 4, 3);
    expect(r, PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_STEP);
    assert_float_equal(r->second_wall_m.value, 3.2 * mm, 1e-12);
    assert_int_equal(made_scan_at(&s, 8, 3)->second, PLYECHO_DELAMINATION);
    assert_int_equal(made_scan_at(&s, 16, 3)->second, PLYECHO_DELAMINATION);
    assert_int_equal(made_scan_at(&s, 16, 4)->second, PLYECHO_DELAMINATION);
    assert_int_equal(made_scan_at(&s, 22, 4)->second, PLYECHO_DELAMINATION);
    made_scan_free(&s);
}

/* One trace that takes the back wall for a gap, or the interface for the back wall. */
static void the_neighbours_wall_is_no_gap(void **state)
{
    (void)state;
    struct made_scan s;
    make_sleeve(&s, true);
    made_inside(made_scan_at(&s, 5, 6), PLYECHO_DELAMINATION, 4.43 * mm, -0.83);
    made_scan_at(&s, 5, 6)->wall_m = 6.8 * mm;
    made_inside(made_scan_at(&s, 9, 6), PLYECHO_DELAMINATION, 2.22 * mm, -0.48);
    made_scan_at(&s, 9, 6)->wall_m = 3.12 * mm;
    made_inside(made_scan_at(&s, 13, 6), PLYECHO_DELAMINATION, 1.5 * mm, -0.48);
    made_scan_at(&s, 13, 6)->wall_m = 3.12 * mm;
    made_scan_judge(&s);
    expect(made_scan_at(&s, 5, 6), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_AROUND);
    assert_float_equal(made_scan_at(&s, 5, 6)->second_wall_m.value, 4.43 * mm, 1e-9);
    expect(made_scan_at(&s, 9, 6), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_AROUND);
    assert_false(made_scan_at(&s, 9, 6)->second_wall_m.known);
    assert_int_equal(made_scan_at(&s, 13, 6)->second, PLYECHO_DELAMINATION);
    made_scan_free(&s);
}

static void make_undecided(struct plyecho_place_reading *r, double wall_m, double highest)
{
    r->verdict = PLYECHO_UNDECIDED;
    r->reason = PLYECHO_REASON_OFF_NOMINAL;
    r->flagged = true;
    r->evidence_ratio = 0.0;
    r->has_indication = false;
    r->wall_m = wall_m;
    r->highest_inner = (struct plyecho_known){true, highest};
}

static void the_neighbours_interface_accounts_for_what_is_undecided(void **state)
{
    (void)state;
    struct made_scan s;
    make_sleeve(&s, false);
    make_undecided(made_scan_at(&s, 5, 6), 4.45 * mm, 0.2);
    make_undecided(made_scan_at(&s, 9, 6), 4.45 * mm, 0.6); /* something stronger inside */
    make_undecided(made_scan_at(&s, 13, 6), 3.9 * mm, 0.2); /* another wall */
    made_inside(made_scan_at(&s, 0, 5), PLYECHO_DELAMINATION, 2.0 * mm, -0.9); /* hide it */
    made_inside(made_scan_at(&s, 1, 5), PLYECHO_DELAMINATION, 2.0 * mm, -0.9);
    made_inside(made_scan_at(&s, 2, 5), PLYECHO_DELAMINATION, 2.0 * mm, -0.9);
    made_inside(made_scan_at(&s, 2, 6), PLYECHO_DELAMINATION, 2.0 * mm, -0.9);
    make_undecided(made_scan_at(&s, 1, 6), 4.45 * mm, 0.2);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 1, 6), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_AROUND);
    expect(made_scan_at(&s, 5, 6), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_AROUND);
    assert_int_equal(made_scan_at(&s, 9, 6)->second, PLYECHO_UNDECIDED);
    assert_int_equal(made_scan_at(&s, 13, 6)->second, PLYECHO_UNDECIDED);
    made_scan_free(&s);
}

/* Of a place at a delamination's rim that is told by a hair's breadth. */
static void a_faint_rim_is_no_indication_of_its_own(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_inside(made_scan_at(&s, 10, 4), PLYECHO_DELAMINATION, 1.0 * mm, -0.95);
    for (size_t column = 9; column <= 19; column += 10) { /* beside it, and far away */
        made_inside(made_scan_at(&s, column, 4), PLYECHO_INNER_ECHO, 1.4 * mm, 0.085);
        made_scan_at(&s, column, 4)->highest_inner.value = 0.085;
        made_scan_at(&s, column, 4)->evidence_ratio = 2.0;
    }
    made_scan_judge(&s);
    expect(made_scan_at(&s, 9, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_EDGE);
    expect(made_scan_at(&s, 19, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_LAMINATE);
    made_scan_free(&s);
}

static void make_faint(struct plyecho_place_reading *r, double depth_m)
{
    made_inside(r, PLYECHO_INNER_ECHO, depth_m, 0.085);
    r->highest_inner.value = 0.085;
    r->evidence_ratio = 2.0;
}

/* The laminate's echoes are at any depth; two at one depth are of one thing. */
static void faint_ones_beside_each_other_are_the_laminate(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    make_faint(made_scan_at(&s, 3, 4), 1.0 * mm);
    make_faint(made_scan_at(&s, 4, 4), 2.0 * mm);
    make_faint(made_scan_at(&s, 14, 4), 1.0 * mm);
    make_faint(made_scan_at(&s, 15, 4), 1.1 * mm);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 3, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_LAMINATE);
    expect(made_scan_at(&s, 4, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_LAMINATE);
    expect(made_scan_at(&s, 14, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 15, 4), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* At a delamination's rim the laminate's own echo pulls the depth, or leaves none. */
static void a_weak_edge_has_the_delaminations_depth(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_inside(made_scan_at(&s, 10, 4), PLYECHO_DELAMINATION, 1.2 * mm, -0.95);
    made_inside(made_scan_at(&s, 9, 4), PLYECHO_INNER_ECHO, 1.03 * mm, -0.09);
    made_inside(made_scan_at(&s, 11, 4), PLYECHO_INNER_ECHO, 1.03 * mm, -0.3); /* strong */
    make_undecided(made_scan_at(&s, 10, 3), 3.2 * mm, 0.13);
    made_scan_at(&s, 10, 3)->reason = PLYECHO_REASON_NONE;
    make_undecided(made_scan_at(&s, 2, 3), 3.2 * mm, 0.13); /* next to nothing */
    made_scan_at(&s, 2, 3)->reason = PLYECHO_REASON_NONE;
    made_scan_judge(&s);
    expect(made_scan_at(&s, 9, 4), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_float_equal(made_scan_at(&s, 9, 4)->second_depth_m, 1.2 * mm, 1e-12);
    assert_float_equal(made_scan_at(&s, 9, 4)->second_strength, -0.09, 1e-12);
    assert_int_equal(made_scan_at(&s, 11, 4)->second, PLYECHO_INNER_ECHO);
    expect(made_scan_at(&s, 10, 3), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_float_equal(made_scan_at(&s, 10, 3)->second_depth_m, 1.2 * mm, 1e-12);
    assert_float_equal(made_scan_at(&s, 10, 3)->second_strength, -0.13, 1e-12);
    expect(made_scan_at(&s, 2, 3), PLYECHO_UNDECIDED, true, PLYECHO_CONTEXT_ALONE);
    made_scan_free(&s);
}

/* A coat that no neighbour has: the plies close under the face. What was thin by it stays flagged. */
static void a_coat_that_no_neighbour_has_is_the_wall(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    for (size_t column = 4; column <= 16; column += 6) {
        struct plyecho_place_reading *r = made_scan_at(&s, column, 4);
        made_wall(r, 2.95 * mm);
        r->coat_m = (struct plyecho_known){true, 0.24 * mm};
    }
    made_scan_at(&s, 10, 4)->verdict = PLYECHO_THIN;
    made_scan_at(&s, 10, 4)->flagged = true;
    made_scan_at(&s, 16, 4)->coat_m.value = 0.6 * mm; /* does not make up for it */
    made_scan_judge(&s);
    expect(made_scan_at(&s, 4, 4), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_AROUND);
    assert_float_equal(made_scan_at(&s, 4, 4)->second_wall_m.value, 3.19 * mm, 1e-9);
    expect(made_scan_at(&s, 10, 4), PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_AROUND);
    assert_true(made_scan_at(&s, 16, 4)->second_wall_m.value < 3.0 * mm);
    made_scan_free(&s);
}

/* Near the back wall a full shadow lies within the nominal's tolerance. */
static void a_fall_at_once_within_the_tolerance_does_not_pass(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_nominal(&s);
    made_wall(made_scan_at(&s, 10, 4), 3.0 * mm);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 10, 4), PLYECHO_UNDECIDED, true, PLYECHO_CONTEXT_SHORT);
    made_scan_free(&s);
}

/* Sound places whose own echoes reach high: what is no higher elsewhere is the laminate as well. */
static void loud_laminate(struct made_scan *s)
{
    for (size_t i = 0; i < s->grid->count; i++)
        s->reading[i].highest_inner.value = 0.06 + 0.015 * sin(1.7 * (double)i);
}

static void the_laminates_own_echo_passes(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    loud_laminate(&s);
    made_inside(made_scan_at(&s, 3, 3), PLYECHO_INNER_ECHO, 1.4 * mm, 0.085);
    made_inside(made_scan_at(&s, 12, 3), PLYECHO_INNER_ECHO, 1.4 * mm, 0.2); /* too strong */
    made_inside(made_scan_at(&s, 7, 6), PLYECHO_INNER_ECHO, 1.4 * mm, 0.085);
    made_scan_at(&s, 7, 6)->level = 0.05; /* far above what is reported there */
    made_inside(made_scan_at(&s, 18, 3), PLYECHO_INNER_ECHO, 1.4 * mm, 0.085);
    made_inside(made_scan_at(&s, 19, 3), PLYECHO_DELAMINATION, 2.4 * mm, -0.5);
    made_scan_judge(&s);
    assert_true(s.sound.level.value > 0.085);
    expect(made_scan_at(&s, 3, 3), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_LAMINATE);
    assert_true(made_scan_at(&s, 3, 3)->flagged);
    assert_int_equal(made_scan_at(&s, 12, 3)->second, PLYECHO_INNER_ECHO);
    assert_int_equal(made_scan_at(&s, 7, 6)->second, PLYECHO_INNER_ECHO);
    assert_int_equal(made_scan_at(&s, 18, 3)->second, PLYECHO_INNER_ECHO);
    made_scan_free(&s);
}

/* A weak interface lies at one depth at its neighbours, too; also on a single ring. */
static void a_weak_interface_is_not_taken_for_the_laminate(void **state)
{
    (void)state;
    for (size_t rows = 1; rows <= 8; rows += 7) {
        struct made_scan s;
        made_scan_new(&s, 24, rows);
        loud_laminate(&s);
        for (size_t row = 0; row < rows; row++)
            for (size_t column = 6; column < 14; column++)
                made_inside(made_scan_at(&s, column, row), PLYECHO_INNER_ECHO,
                            1.4 * mm + 0.01 * mm * (double)(column % 3), 0.085);
        made_scan_judge(&s);
        expect(made_scan_at(&s, 9, rows / 2), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
        made_scan_free(&s);
    }
}

static void a_back_wall_is_judged_against_sound_places(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 8);
    made_scan_at(&s, 3, 3)->balance_db.value = -7.5;
    made_scan_at(&s, 4, 3)->balance_db.value = -7.5;
    made_scan_at(&s, 12, 3)->balance_db.value = -5.0;
    made_scan_at(&s, 16, 3)->balance_db.known = false;
    made_scan_judge(&s);
    expect(made_scan_at(&s, 3, 3), PLYECHO_ATTENUATED, true, PLYECHO_CONTEXT_WEAK);
    expect(made_scan_at(&s, 12, 3), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 16, 3), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

static void a_place_alone_is_to_be_read_again(void **state)
{
    (void)state;
    /* 24 places round 30 mm are 3.9 mm apart */
    static const struct plyecho_known beams[] = {{false, 0.0}, {true, 8e-3}, {true, 3e-3}};
    for (size_t k = 0; k < 3; k++) {
        struct made_scan s;
        made_scan_new(&s, 24, 8);
        s.options.beam_m = beams[k];
        made_inside(made_scan_at(&s, 3, 3), PLYECHO_DELAMINATION, 1.4 * mm, -0.5);
        made_inside(made_scan_at(&s, 12, 3), PLYECHO_DELAMINATION, 1.4 * mm, -0.5);
        made_scan_at(&s, 13, 4)->highest_inner.value = 0.075; /* shows something of it */
        made_inside(made_scan_at(&s, 0, 6), PLYECHO_DELAMINATION, 1.4 * mm, -0.5);
        made_scan_at(&s, 23, 6)->highest_inner.value = 0.075; /* through 0 degrees */
        made_scan_judge(&s);
        expect(made_scan_at(&s, 3, 3), PLYECHO_DELAMINATION, true,
               k < 2 ? PLYECHO_CONTEXT_ALONE : PLYECHO_CONTEXT_NONE);
        expect(made_scan_at(&s, 12, 3), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_NONE);
        expect(made_scan_at(&s, 0, 6), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_NONE);
        made_scan_free(&s);
    }
}

/* Of seven sound places nothing is learnt, and what was not read stays so. */
static void too_few_sound_places_tell_nothing(void **state)
{
    (void)state;
    struct made_scan s;
    made_scan_new(&s, 24, 1);
    for (size_t column = 7; column < 24; column++)
        s.reading[column].read = false;
    s.reading[3].balance_db.value = -15.0;
    made_scan_judge(&s);
    assert_int_equal(s.sound.count, 7);
    assert_false(s.sound.level.known || s.sound.balance_db.known || s.sound.wall_m.known);
    expect(&s.reading[3], PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    assert_false(s.reading[12].second_wall_m.known);
    made_scan_free(&s);
}

static void every_context_has_a_word(void **state)
{
    (void)state;
    for (int c = 0; c < PLYECHO_CONTEXT_COUNT; c++)
        assert_string_not_equal(plyecho_context_word((enum plyecho_context)c), "unknown");
    assert_string_equal(plyecho_context_word(PLYECHO_CONTEXT_COUNT), "unknown");
}

static void no_memory_is_an_error(void **state)
{
    (void)state;
    struct made_scan s;
    struct plyecho_error err;
    made_scan_new(&s, 24, 4);
    made_wall(&s.reading[30], 1.0 * mm);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long n = 0;
    for (; code != PLYECHO_OK && n < 40; n++) {
        fail_allocation(n);
        code = plyecho_context_judge(s.grid, s.reading, &s.options, &s.sound, &err);
        fail_no_allocation();
        assert_true(code == PLYECHO_OK || code == PLYECHO_NO_MEMORY);
    }
    assert_int_equal(code, PLYECHO_OK);
    assert_true(n > 6);
    made_scan_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_part_stays_as_it_is),
        cmocka_unit_test(a_shadow_is_told_by_the_wall_around),
        cmocka_unit_test(a_shadow_may_go_all_round),
        cmocka_unit_test(a_thin_wall_is_reached_step_by_step),
        cmocka_unit_test(a_worn_spot_is_thin),
        cmocka_unit_test(the_limit_tells_thin_where_no_nominal_does),
        cmocka_unit_test(a_gentle_change_of_a_sound_wall_stays_sound),
        cmocka_unit_test(a_shadow_within_a_thin_wall_is_one),
        cmocka_unit_test(what_is_too_steep_to_tell_stays_undecided),
        cmocka_unit_test(raw_thin_may_be_a_shadow),
        cmocka_unit_test(a_little_short_is_nothing),
        cmocka_unit_test(a_sleeves_end_is_no_shadow),
        cmocka_unit_test(a_sleeves_end_may_be_elsewhere),
        cmocka_unit_test(half_a_part_is_no_shadow_but_undecided),
        cmocka_unit_test(edges_belong_to_the_delamination),
        cmocka_unit_test(a_bad_record_is_no_edge),
        cmocka_unit_test(a_declared_interface_stays_one_unless_it_is_stronger),
        cmocka_unit_test(where_a_layer_ends_is_no_delamination),
        cmocka_unit_test(an_echo_above_the_back_wall_is_no_layers_end),
        cmocka_unit_test(beside_a_layers_end_is_the_bare_wall),
        cmocka_unit_test(the_neighbours_wall_is_no_gap),
        cmocka_unit_test(the_neighbours_interface_accounts_for_what_is_undecided),
        cmocka_unit_test(a_faint_rim_is_no_indication_of_its_own),
        cmocka_unit_test(faint_ones_beside_each_other_are_the_laminate),
        cmocka_unit_test(a_weak_edge_has_the_delaminations_depth),
        cmocka_unit_test(a_coat_that_no_neighbour_has_is_the_wall),
        cmocka_unit_test(a_fall_at_once_within_the_tolerance_does_not_pass),
        cmocka_unit_test(the_laminates_own_echo_passes),
        cmocka_unit_test(a_weak_interface_is_not_taken_for_the_laminate),
        cmocka_unit_test(a_back_wall_is_judged_against_sound_places),
        cmocka_unit_test(a_place_alone_is_to_be_read_again),
        cmocka_unit_test(too_few_sound_places_tell_nothing),
        cmocka_unit_test(every_context_has_a_word),
        cmocka_unit_test(no_memory_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
