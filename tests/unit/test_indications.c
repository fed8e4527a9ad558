/* Places that belong together, and how large that is: groups, dry spots, extents round the tube, words of caution. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/indications.h>

#include "failing_alloc.h"

enum { COLUMNS = 24, ROWS = 8, COUNT = COLUMNS * ROWS };
static const double mm = 1e-3, pitch_m = 5e-3, angle = 15.0, radius_m = 15e-3;
static const double degree = 0.017453292519943295;
static const struct plyecho_known no_beam = {false, 0.0}, beam = {true, 3e-3};

/* A tube of 24 angles by 8 rings with nothing in it. */
struct tube {
    struct plyecho_grid *grid;
    struct plyecho_place_reading readings[COUNT];
    struct plyecho_indication *list;
    size_t count, member[COUNT];
};

static struct tube *tube_new(struct plyecho_known diameter_m)
{
    static struct tube t;
    struct plyecho_place places[COUNT];
    const struct plyecho_part part = {true, diameter_m, NULL};
    t = (struct tube){0};
    for (size_t i = 0; i < COUNT; i++) {
        places[i] = (struct plyecho_place){angle * (double)(i % COLUMNS),
                                           pitch_m * (double)(i / COLUMNS)};
        t.readings[i].place = places[i];
        t.readings[i].read = true;
        t.readings[i].highest_inner = (struct plyecho_known){true, 0.0};
    }
    assert_int_equal(plyecho_grid_new(&t.grid, places, COUNT, &part, NULL), PLYECHO_OK);
    return &t;
}

static struct tube *sound_tube(void)
{
    return tube_new((struct plyecho_known){true, 2.0 * radius_m});
}

static void put(struct tube *t, size_t column, size_t row, enum plyecho_verdict kind,
                double strength, double depth_m)
{
    struct plyecho_place_reading *r = &t->readings[row * COLUMNS + column];
    r->verdict = r->second = kind;
    r->flagged = r->second_flagged = true;
    r->second_strength = strength;
    r->second_depth_m = depth_m;
}

static void find(struct tube *t, struct plyecho_known beam_m)
{
    struct plyecho_error err;
    free(t->list);
    if (plyecho_indications_find(t->grid, t->readings, beam_m, &t->list, &t->count, t->member,
                                 &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

static void tube_end(struct tube *t)
{
    free(t->list);
    plyecho_grid_free(t->grid);
}

static void a_sound_tube_has_none(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    find(t, beam);
    assert_int_equal(t->count, 0);
    assert_null(t->list);
    for (size_t i = 0; i < COUNT; i++)
        assert_int_equal(t->member[i], 0);
    tube_end(t);
}

/* A full reflector of 3 by 2 places through 0: half way between is where the strength is half. */
static void an_indication_through_zero_is_one(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t row = 3; row < 5; row++) {
        put(t, 23, row, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
        put(t, 0, row, PLYECHO_DELAMINATION, -1.0, 1.2 * mm);
        put(t, 1, row, PLYECHO_DELAMINATION, -1.0, 1.4 * mm);
    }
    t->readings[3 * COLUMNS + 1].second_strength = -1.1;
    find(t, no_beam);
    assert_int_equal(t->count, 1);
    const struct plyecho_indication *d = &t->list[0];
    assert_int_equal(d->kind, PLYECHO_DELAMINATION);
    assert_int_equal(d->places, 6);
    assert_int_equal(d->worst, 3 * COLUMNS + 1);
    assert_float_equal(d->strength, -1.1, 0.0);
    assert_float_equal(d->least_depth_m, 1.0 * mm, 1e-12);
    assert_float_equal(d->most_depth_m, 1.4 * mm, 1e-12);
    /* half of 1.1 is reached 0.45 of the way from a 1 to a 0, half the way from the 1.1 */
    assert_float_equal(d->from_across, 345.0 - 0.45 * angle, 1e-9);
    assert_float_equal(d->to_across, 22.5, 1e-9);
    assert_float_equal(d->across, 2.95 * angle, 1e-9);
    assert_float_equal(d->arc_m, d->across * degree * (radius_m - 1.4 * mm), 1e-12);
    assert_float_equal(d->from_along_m, 12.5 * mm, 1e-12);
    assert_float_equal(d->to_along_m, 22.25 * mm, 1e-12);
    /* two ends, each anywhere in a spacing: pitch / sqrt(12) each, JCGM 100 4.3.7, from memory */
    assert_float_equal(d->along_u_m, pitch_m / sqrt(6.0), 1e-12);
    assert_float_equal(d->arc_u_m, angle * degree * (radius_m - 1.4 * mm) / sqrt(6.0), 1e-12);
    double row = angle * degree * 5.0 * mm; /* of area, per m of radius */
    assert_float_equal(d->area_m2,
                       2.0 * row * 0.95 * (radius_m - 1.0 * mm) +
                           2.0 * row * (radius_m - 1.2 * mm) +
                           row * (1.0 + 0.95) * (radius_m - 1.4 * mm),
                       1e-12);
    assert_false(d->open_ended);
    assert_false(d->seam_like);
    assert_false(d->within_beam);
    assert_false(d->next_m.known);
    assert_int_equal(t->member[3 * COLUMNS], 1);
    tube_end(t);
}

static void all_round_has_no_ends(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t column = 0; column < COLUMNS; column++)
        put(t, column, 0, PLYECHO_INNER_ECHO, 0.1, 2.0 * mm);
    find(t, beam);
    assert_int_equal(t->count, 1);
    assert_float_equal(t->list[0].across, 360.0, 0.0);
    assert_float_equal(t->list[0].from_across, 0.0, 0.0);
    assert_float_equal(t->list[0].to_across, 360.0, 0.0);
    assert_float_equal(t->list[0].arc_u_m, 0.0, 0.0);
    assert_true(t->list[0].open_ended); /* the first ring */
    put(t, 5, 0, PLYECHO_NO_INDICATION, 0.0, 0.0);
    find(t, beam);
    assert_int_equal(t->count, 1);
    assert_float_equal(t->list[0].from_across, 82.5, 1e-9);
    assert_float_equal(t->list[0].to_across, 67.5, 1e-9);
    assert_float_equal(t->list[0].across, 345.0, 1e-9);
    tube_end(t);
}

static void kinds_are_not_mixed(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    put(t, 3, 2, PLYECHO_THIN, 0.0, 0.0);
    t->readings[2 * COLUMNS + 3].second_wall_m = (struct plyecho_known){true, 1.5 * mm};
    put(t, 4, 2, PLYECHO_THIN, 0.0, 0.0);
    t->readings[2 * COLUMNS + 4].second_wall_m = (struct plyecho_known){true, 1.4 * mm};
    put(t, 5, 2, PLYECHO_ATTENUATED, 0.0, 0.0);
    t->readings[2 * COLUMNS + 5].balance_db = (struct plyecho_known){true, -8.0};
    put(t, 6, 2, PLYECHO_ATTENUATED, 0.0, 0.0);
    t->readings[2 * COLUMNS + 6].balance_db = (struct plyecho_known){true, -9.0};
    put(t, 7, 2, PLYECHO_UNDECIDED, 0.0, 0.0);
    put(t, 7, 3, PLYECHO_DELAMINATION, -0.8, 1.0 * mm);
    find(t, beam);
    assert_int_equal(t->count, 4);
    const struct plyecho_indication *l = t->list;
    assert_int_equal(l[0].kind, PLYECHO_THIN);
    assert_int_equal(l[0].worst, 2 * COLUMNS + 4);
    assert_float_equal(l[0].least_wall_m.value, 1.4 * mm, 0.0);
    assert_true(isnan(l[0].strength) && isnan(l[0].least_depth_m));
    assert_float_equal(l[0].across, 30.0, 1e-9);
    assert_float_equal(l[0].arc_m, 30.0 * degree * radius_m, 1e-12); /* on the surface */
    assert_int_equal(l[1].kind, PLYECHO_ATTENUATED);
    assert_int_equal(l[1].worst, 2 * COLUMNS + 6);
    assert_int_equal(l[2].kind, PLYECHO_UNDECIDED);
    assert_int_equal(l[3].kind, PLYECHO_DELAMINATION);
    assert_float_equal(l[0].next_m.value, 0.0, 1e-12); /* side by side */
    tube_end(t);
}

static void a_dry_spot_parts_nothing(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t column = 4; column < 9; column++)
        put(t, column, 3, PLYECHO_INNER_ECHO, 0.1, 2.0 * mm);
    put(t, 6, 3, PLYECHO_UNREADABLE, 0.0, 0.0);
    find(t, beam);
    assert_int_equal(t->count, 1);
    assert_int_equal(t->list[0].places, 4);
    assert_int_equal(t->member[3 * COLUMNS + 6], 0);
    assert_float_equal(t->list[0].across, 75.0, 1e-9);
    double arc = 75.0 * degree * (radius_m - 2.0 * mm);
    assert_float_equal(t->list[0].area_m2, arc * pitch_m,
                       1e-12);                 /* the dry spot's share in it */
    t->readings[3 * COLUMNS + 6].read = false; /* no trace: the same */
    find(t, beam);
    assert_int_equal(t->count, 1);
    put(t, 7, 3, PLYECHO_UNREADABLE, 0.0, 0.0); /* two are a stretch */
    find(t, beam);
    assert_int_equal(t->count, 2);
    /* half way to what was not read, with twice the spacing for that end */
    assert_float_equal(t->list[0].to_across, 82.5, 1e-9);
    assert_float_equal(t->list[0].arc_u_m,
                       angle * degree * (radius_m - 2.0 * mm) * sqrt(5.0 / 12.0), 1e-12);
    put(t, 7, 3, PLYECHO_DELAMINATION, -1.0, 2.0 * mm); /* another kind beyond */
    find(t, beam);
    assert_int_equal(t->count, 3);
    tube_end(t);
}

/* Two interfaces side by side are two; a delamination that steps from ply to ply is one. */
static void only_an_interface_is_parted_by_depth(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t column = 0; column < 6; column++) {
        double depth = column < 3 ? 2.0 * mm : 1.65 * mm;
        put(t, column, 2, PLYECHO_INNER_ECHO, 0.1, depth);
        put(t, column, 5, PLYECHO_DELAMINATION, -1.0, depth);
    }
    find(t, beam);
    assert_int_equal(t->count, 3);
    assert_int_equal(t->list[0].places, 3);
    assert_int_equal(t->list[2].places, 6);
    for (size_t column = 0; column < 6; column++) /* three of these are more than the jump */
        t->readings[2 * COLUMNS + column].depth_u_m = (struct plyecho_known){true, 0.1 * mm};
    find(t, beam);
    assert_int_equal(t->count, 2);
    tube_end(t);
}

/* A sleeve as declared, all round under rings 2 to 5, of strength 0.1 at 2 mm. */
static struct tube *declared_sleeve(void)
{
    struct tube *t = sound_tube();
    for (size_t row = 2; row < 6; row++)
        for (size_t column = 0; column < COLUMNS; column++) {
            struct plyecho_place_reading *r = &t->readings[row * COLUMNS + column];
            put(t, column, row, PLYECHO_INNER_ECHO, 0.1, 2.0 * mm);
            r->second_flagged = false;
            r->highest_inner.value = 0.1;
        }
    return t;
}

/* A wet disbond of 3 by 2 places. */
static void put_patch(struct tube *t)
{
    for (size_t row = 3; row < 5; row++)
        for (size_t column = 4; column < 7; column++) {
            put(t, column, row, PLYECHO_INNER_ECHO, column == 6 ? 0.35 : 0.3, 2.05 * mm);
            t->readings[row * COLUMNS + column].highest_inner.value = 0.3;
        }
}

static void what_is_not_as_declared_is_an_indication_of_its_own(void **state)
{
    (void)state;
    struct tube *t = declared_sleeve();
    const double cell = angle * degree * pitch_m; /* of area, per m of radius */
    put_patch(t);
    find(t, beam);
    assert_int_equal(t->count, 2);
    const struct plyecho_indication *sleeve = &t->list[0], *patch = &t->list[1];
    assert_true(sleeve->declared);
    assert_int_equal(sleeve->places, 4 * COLUMNS - 6);
    assert_float_equal(sleeve->across, 360.0, 0.0);
    assert_float_equal(sleeve->from_along_m, 7.5 * mm, 1e-12);
    assert_float_equal(sleeve->to_along_m, 27.5 * mm, 1e-12);
    assert_float_equal(sleeve->strength, 0.1, 0.0);
    assert_false(patch->declared);
    assert_int_equal(patch->places, 6);
    assert_int_equal(patch->worst, 3 * COLUMNS + 6);
    assert_float_equal(patch->strength, 0.35, 0.0);
    assert_float_equal(patch->least_depth_m, 2.05 * mm, 1e-12);
    /* both end half way between their places: together they are the sleeve */
    assert_float_equal(patch->from_across, 52.5, 1e-9);
    assert_float_equal(patch->to_across, 97.5, 1e-9);
    assert_float_equal(patch->from_along_m, 12.5 * mm, 1e-12);
    assert_float_equal(patch->to_along_m, 22.5 * mm, 1e-12);
    assert_float_equal(patch->area_m2, 6.0 * cell * (radius_m - 2.05 * mm), 1e-12);
    assert_float_equal(sleeve->area_m2, (4 * COLUMNS - 6) * cell * (radius_m - 2.0 * mm),
                       1e-12);
    assert_int_equal(t->member[3 * COLUMNS + 4], 2);
    assert_int_equal(t->member[3 * COLUMNS + 7], 1);
    assert_false(patch->next_m.known || patch->open_ended);
    tube_end(t);
}

static void a_lone_place_not_as_declared_is_one_too(void **state)
{
    (void)state;
    struct tube *t = declared_sleeve();
    put(t, 15, 3, PLYECHO_INNER_ECHO, 0.2, 2.0 * mm);
    find(t, beam);
    assert_int_equal(t->count, 2);
    assert_true(t->list[0].declared && !t->list[1].declared);
    assert_int_equal(t->list[0].places, 4 * COLUMNS - 1);
    assert_float_equal(t->list[0].across, 360.0, 0.0);
    assert_float_equal(t->list[1].across, 15.0, 1e-9);
    assert_float_equal(t->list[1].along_m, pitch_m, 1e-12);
    assert_true(t->list[1].within_beam);
    put_patch(t);
    find(t, beam);
    assert_int_equal(t->count, 3);
    assert_float_equal(t->list[1].next_m.value, 120.0 * degree * radius_m, 1e-9);
    tube_end(t);
}

/* Nobody declared it: however its strength varies, it is one. */
static void an_undeclared_sleeve_stays_one(void **state)
{
    (void)state;
    struct tube *t = declared_sleeve();
    put_patch(t);
    for (size_t i = 2 * COLUMNS; i < 6 * COLUMNS; i++)
        t->readings[i].second_flagged = true;
    find(t, beam);
    assert_int_equal(t->count, 1);
    assert_false(t->list[0].declared);
    assert_int_equal(t->list[0].places, 4 * COLUMNS);
    tube_end(t);
}

/* With a beam, a weaker part beyond its reach has edges of its own. */
static void a_weaker_part_of_a_large_one_counts(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t column = 2; column < 5; column++)
        put(t, column, 3, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    for (size_t column = 5; column < 10; column++)
        put(t, column, 3, PLYECHO_DELAMINATION, -0.4, 1.0 * mm);
    find(t, no_beam);
    assert_int_equal(t->count, 1);
    assert_float_equal(t->list[0].from_across, 22.5, 1e-9);
    assert_float_equal(t->list[0].to_across, 60.0 + 15.0 * 0.5 / 0.6, 1e-9);
    find(t, beam); /* 3 mm are less than the spacing of 3.9 mm */
    assert_float_equal(t->list[0].to_across, 142.5, 1e-9);
    tube_end(t);
}

static void words_of_caution(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    for (size_t row = 1; row < 7; row++)
        put(t, 7, row, PLYECHO_INNER_ECHO, 0.1, 1.0 * mm);
    put(t, 15, 4, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    put(t, 19, 7, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    find(t, beam);
    assert_int_equal(t->count, 3);
    const struct plyecho_indication *seam = &t->list[0], *spot = &t->list[1];
    assert_true(seam->seam_like && seam->within_beam && !seam->open_ended && !seam->declared);
    assert_true(spot->within_beam && !spot->seam_like && !spot->open_ended);
    assert_true(t->list[2].open_ended);
    /* on the surface, from edge to edge: 7 columns and no row; 3 columns and 2 rows */
    assert_float_equal(seam->next_m.value, 7.0 * angle * degree * radius_m, 1e-9);
    double across = 3.0 * angle * degree * radius_m;
    assert_float_equal(spot->next_m.value, hypot(across, 2.0 * pitch_m), 1e-9);
    find(t, no_beam);
    assert_false(t->list[1].within_beam);
    for (size_t row = 1; row < 7; row++)
        t->readings[row * COLUMNS + 7].second_flagged = false;
    put(t, 19, 7, PLYECHO_NO_INDICATION, 0.0, 0.0);
    find(t, beam);
    assert_int_equal(t->count, 2);
    assert_true(t->list[0].declared && t->list[0].next_m.known);
    assert_false(
        t->list[1].next_m.known); /* a declared interface is no indication to keep off */
    put(t, 7, 1, PLYECHO_NO_INDICATION, 0.0, 0.0);
    find(t, beam);
    assert_false(t->list[0].seam_like); /* five of eight rows are less than three quarters */
    tube_end(t);
}

/* Whichever of the two comes first in the list. */
static void a_declared_interface_is_not_the_next_one(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    put(t, 12, 1, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    put(t, 4, 5, PLYECHO_INNER_ECHO, 0.1, 1.0 * mm);
    t->readings[5 * COLUMNS + 4].second_flagged = false;
    find(t, beam);
    assert_int_equal(t->count, 2);
    assert_false(t->list[0].next_m.known);
    assert_true(t->list[1].declared && t->list[1].next_m.known);
    /* back by 7 columns is nearer than on by 15 */
    double across = 7.0 * angle * degree * radius_m;
    assert_float_equal(t->list[1].next_m.value, hypot(across, 3.0 * pitch_m), 1e-9);
    tube_end(t);
}

/* Two places a ring: what was not read lies between the other one and itself. */
static void a_place_alone_is_not_all_round(void **state)
{
    (void)state;
    const struct plyecho_place places[] = {{0.0, 0.0}, {180.0, 0.0}};
    const struct plyecho_part part = {true, {true, 30 * mm}, NULL};
    struct plyecho_place_reading readings[2] = {{.place = places[0], .read = true}};
    readings[0].second = PLYECHO_ATTENUATED;
    struct plyecho_grid *grid;
    struct plyecho_indication *list;
    size_t count;
    assert_int_equal(plyecho_grid_new(&grid, places, 2, &part, NULL), PLYECHO_OK);
    assert_true(grid->closed);
    assert_int_equal(plyecho_indications_find(grid, readings, beam, &list, &count, NULL, NULL),
                     PLYECHO_OK);
    assert_int_equal(count, 1);
    assert_float_equal(list[0].across, 180.0, 1e-9);
    assert_float_equal(list[0].from_across, 270.0, 1e-9);
    free(list);
    plyecho_grid_free(grid);
}

/* The row that reaches furthest through 0 is not the one that begins there. */
/* One ring, or a line along: nothing tells how far it goes against that, nor how large it is. */
static void against_a_single_line_no_extent_is_known(void **state)
{
    (void)state;
    static const struct plyecho_part parts[] = {{true, {true, 30e-3}, NULL}, {.tube = false}};
    for (int k = 0; k < 4; k++) { /* round or along, tube or plate */
        const struct plyecho_part *part = &parts[k / 2];
        bool along = k % 2 == 1;
        double step = part->tube ? angle : pitch_m;
        struct plyecho_place places[8];
        struct plyecho_place_reading readings[8] = {{.read = false}};
        struct plyecho_grid *grid;
        struct plyecho_indication *list;
        size_t count;
        for (size_t i = 0; i < 8; i++) {
            places[i] = along ? (struct plyecho_place){step, pitch_m * (double)i}
                              : (struct plyecho_place){step * (double)i, 20 * mm};
            readings[i] = (struct plyecho_place_reading){.place = places[i],
                                                         .read = true,
                                                         .second = i == 2 || i == 3 || i == 6
                                                                       ? PLYECHO_ATTENUATED
                                                                       : PLYECHO_NO_INDICATION};
        }
        assert_int_equal(plyecho_grid_new(&grid, places, 8, part, NULL), PLYECHO_OK);
        assert_int_equal(
            plyecho_indications_find(grid, readings, beam, &list, &count, NULL, NULL),
            PLYECHO_OK);
        assert_int_equal(count, 2);
        const struct plyecho_indication *i = &list[0];
        double m_each = plyecho_grid_arc_m(grid, 0, 1.0, 0.0);
        assert_true(isnan(i->area_m2));
        if (along) {
            assert_true(isnan(i->across) && isnan(i->arc_m) && isnan(i->arc_u_m));
            assert_float_equal(i->from_across, step, 1e-12);
            assert_float_equal(i->to_across, step, 1e-12);
            assert_float_equal(i->along_m, 2.0 * pitch_m, 1e-12);
            assert_float_equal(i->next_m.value, 2.0 * pitch_m, 1e-12);
        } else {
            assert_true(isnan(i->along_m) && isnan(i->along_u_m));
            assert_float_equal(i->from_along_m, 20 * mm, 1e-12);
            assert_float_equal(i->to_along_m, 20 * mm, 1e-12);
            assert_float_equal(i->across, 2.0 * step, 1e-12);
            assert_float_equal(i->next_m.value, 2.0 * step * m_each, 1e-12);
        }
        assert_true(i->next_m.known);
        free(list);
        plyecho_grid_free(grid);
    }
}

/* A place alone has no extent at all; two that nothing joins have no distance that is known. */
static void a_place_alone_has_no_extent(void **state)
{
    (void)state;
    static const struct plyecho_part plate = {.tube = false};
    const struct plyecho_place places[] = {{70 * mm, 32 * mm}, {75 * mm, 40 * mm}};
    for (size_t count = 1; count <= 2; count++) {
        struct plyecho_place_reading readings[2] = {{.place = places[0], .read = true},
                                                    {.place = places[1], .read = true}};
        readings[0].second = readings[1].second = PLYECHO_ATTENUATED;
        struct plyecho_grid *grid;
        struct plyecho_indication *list;
        size_t found;
        assert_int_equal(plyecho_grid_new(&grid, places, count, &plate, NULL), PLYECHO_OK);
        assert_int_equal(
            plyecho_indications_find(grid, readings, beam, &list, &found, NULL, NULL),
            PLYECHO_OK);
        assert_int_equal(found, count);
        assert_true(isnan(list[0].across) && isnan(list[0].arc_m) && isnan(list[0].arc_u_m));
        assert_true(isnan(list[0].along_m) && isnan(list[0].along_u_m));
        assert_true(isnan(list[0].area_m2));
        assert_false(list[0].within_beam || list[0].next_m.known);
        assert_float_equal(list[0].from_across, 70 * mm, 1e-12);
        assert_float_equal(list[0].to_along_m, 32 * mm, 1e-12);
        free(list);
        plyecho_grid_free(grid);
    }
}

static void the_furthest_row_ends_it(void **state)
{
    (void)state;
    enum { RING = 24, ALL = 2 * RING + 1 };
    const struct plyecho_part part = {true, {true, 30 * mm}, NULL};
    struct plyecho_place places[ALL];
    struct plyecho_place_reading readings[ALL];
    memset(readings, 0, sizeof readings);
    for (size_t i = 0; i < ALL; i++) {
        places[i] = (struct plyecho_place){10.0 + 15.0 * (double)(i % RING),
                                           pitch_m * (double)(i / RING)};
        if (i == ALL - 1) /* one more in the second ring */
            places[i] = (struct plyecho_place){2.0, pitch_m};
        readings[i].read = true;
    }
    const size_t members[] = {RING - 1, 2 * RING - 1, ALL - 1}; /* at 355, 355 and 2 degrees */
    for (size_t k = 0; k < 3; k++) {
        readings[members[k]].second = PLYECHO_DELAMINATION;
        readings[members[k]].second_strength = -1.0;
    }
    readings[0].highest_inner = (struct plyecho_known){true, 0.49};
    struct plyecho_grid *grid;
    struct plyecho_indication *list;
    size_t count;
    assert_int_equal(plyecho_grid_new(&grid, places, ALL, &part, NULL), PLYECHO_OK);
    assert_int_equal(
        plyecho_indications_find(grid, readings, no_beam, &list, &count, NULL, NULL),
        PLYECHO_OK);
    assert_int_equal(count, 1);
    assert_float_equal(list[0].from_across, 347.5, 1e-9);
    assert_float_equal(list[0].to_across, 355.0 + 15.0 * 0.5 / 0.51 - 360.0, 1e-5);
    free(list);
    plyecho_grid_free(grid);
}

static void without_a_diameter_there_are_no_arcs(void **state)
{
    (void)state;
    struct tube *t = tube_new((struct plyecho_known){false, 0.0});
    put(t, 3, 3, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    put(t, 10, 3, PLYECHO_DELAMINATION, NAN, NAN);
    find(t, beam);
    assert_int_equal(t->count, 2);
    for (size_t k = 0; k < 2; k++) {
        assert_float_equal(t->list[k].across, 15.0, 1e-9);
        assert_float_equal(t->list[k].along_m, pitch_m, 1e-12);
        assert_true(isnan(t->list[k].arc_m) && isnan(t->list[k].area_m2));
        assert_false(t->list[k].next_m.known);
        assert_true(t->list[k].within_beam); /* along */
    }
    tube_end(t);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    struct tube *t = sound_tube();
    put(t, 3, 3, PLYECHO_DELAMINATION, -1.0, 1.0 * mm);
    long n = 0;
    for (bool done = false; !done; n++) {
        struct plyecho_indication *list = (struct plyecho_indication *)t;
        struct plyecho_error err;
        size_t count = 7;
        fail_allocation(n);
        enum plyecho_code code =
            plyecho_indications_find(t->grid, t->readings, beam, &list, &count, NULL, &err);
        fail_no_allocation();
        done = code == PLYECHO_OK;
        assert_int_equal(count, done ? 1 : 0);
        if (!done) {
            assert_int_equal(code, PLYECHO_NO_MEMORY);
            assert_null(list);
        }
        free(list);
    }
    assert_true(n > 10);
    tube_end(t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_tube_has_none),
        cmocka_unit_test(an_indication_through_zero_is_one),
        cmocka_unit_test(all_round_has_no_ends),
        cmocka_unit_test(kinds_are_not_mixed),
        cmocka_unit_test(a_dry_spot_parts_nothing),
        cmocka_unit_test(only_an_interface_is_parted_by_depth),
        cmocka_unit_test(what_is_not_as_declared_is_an_indication_of_its_own),
        cmocka_unit_test(a_lone_place_not_as_declared_is_one_too),
        cmocka_unit_test(an_undeclared_sleeve_stays_one),
        cmocka_unit_test(a_weaker_part_of_a_large_one_counts),
        cmocka_unit_test(words_of_caution),
        cmocka_unit_test(a_declared_interface_is_not_the_next_one),
        cmocka_unit_test(a_place_alone_is_not_all_round),
        cmocka_unit_test(against_a_single_line_no_extent_is_known),
        cmocka_unit_test(a_place_alone_has_no_extent),
        cmocka_unit_test(the_furthest_row_ends_it),
        cmocka_unit_test(without_a_diameter_there_are_no_arcs),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
