/* How far it is to the next indication: held against all pairs, on maps of every kind of grid. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/indications.h>

enum { COLUMNS = 30, ROWS = 20, MOST = COLUMNS * ROWS, MAPS = 40 };
static const double mm = 1e-3, strength = -0.7;
static const struct plyecho_known beam = {true, 3e-3};

/* Numerical Recipes' quick generator, from memory: only the same on every run. */
static double chance(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / 16777216.0;
}

/* ---- all pairs ---- */

static double one_way_round(double from, double wide, double to)
{
    return fmod(to - from + 360.0, 360.0) - wide;
}

static double gap(double a, double a_wide, double b, double b_wide, bool round)
{
    if (isnan(a_wide))
        return a == b ? 0.0 : NAN;
    if (round)
        return fmin(one_way_round(a, a_wide, b), one_way_round(b, b_wide, a));
    return fmax(b - (a + a_wide), a - (b + b_wide));
}

/* From edge to edge on the surface, at the mean radius of the worst places. NAN: not known. */
static double apart_m(const struct plyecho_grid *g, const struct plyecho_indication *a,
                      const struct plyecho_indication *b)
{
    double across = gap(a->from_across, a->across, b->from_across, b->across, g->tube);
    double along = gap(a->from_along_m, a->along_m, b->from_along_m, b->along_m, false);
    double m_each = 0.5 * (plyecho_grid_arc_m(g, g->row[a->worst], 1.0, 0.0) +
                           plyecho_grid_arc_m(g, g->row[b->worst], 1.0, 0.0));
    if (isnan(across) || isnan(along))
        return NAN;
    return hypot(m_each * fmax(0.0, across), fmax(0.0, along));
}

static double nearest_m(const struct plyecho_grid *g, const struct plyecho_indication *list,
                        size_t count, size_t one)
{
    double least = INFINITY;
    for (size_t i = 0; i < count; i++)
        if (i != one && !list[i].declared)
            least = fmin(least, apart_m(g, &list[one], &list[i]));
    return least;
}

/* ---- made maps ---- */

struct map {
    struct plyecho_grid *grid;
    struct plyecho_place_reading readings[MOST];
};

static struct plyecho_grid *grid_of(uint32_t *seed, const struct plyecho_part *part,
                                    size_t columns, size_t rows)
{
    struct plyecho_place places[MOST];
    struct plyecho_grid *grid;
    double across[COLUMNS], along[ROWS];
    bool even = chance(seed) < 0.5;
    for (size_t c = 0; c < columns; c++)
        across[c] = ((double)c + (even ? 0.0 : 0.8 * chance(seed))) *
                    (part->tube ? 360.0 / (double)columns : 2.0 * mm);
    for (size_t r = 0; r < rows; r++)
        along[r] = ((double)r + (even ? 0.0 : 0.8 * chance(seed))) * 3.0 * mm;
    size_t count = 0;
    double left_out = even ? 0.0 : 0.1;
    for (size_t i = 0; i < columns * rows; i++)
        if (i == 0 || chance(seed) >= left_out)
            places[count++] = (struct plyecho_place){across[i % columns], along[i / columns]};
    assert_int_equal(plyecho_grid_new(&grid, places, count, part, NULL), PLYECHO_OK);
    return grid;
}

static void spoil(struct plyecho_place_reading *r, uint32_t *seed, double share)
{
    static const enum plyecho_verdict kinds[] = {PLYECHO_DELAMINATION, PLYECHO_INNER_ECHO,
                                                 PLYECHO_THIN, PLYECHO_ATTENUATED};
    *r = (struct plyecho_place_reading){.read = chance(seed) > 0.02,
                                        .highest_inner = {true, 0.0}};
    if (chance(seed) > share)
        return;
    r->verdict = r->second = kinds[(size_t)(4.0 * chance(seed))];
    r->flagged = r->second_flagged =
        r->second != PLYECHO_INNER_ECHO || chance(seed) < 0.5; /* else declared */
    r->second_strength = strength * (0.2 + chance(seed));
    r->second_depth_m = (0.5 + 2.0 * chance(seed)) * mm;
}

static struct map *map_new(uint32_t seed, const struct plyecho_part *part, size_t columns,
                           size_t rows)
{
    static struct map m;
    m.grid = grid_of(&seed, part, columns, rows);
    double share = 0.5 * chance(&seed);
    for (size_t i = 0; i < m.grid->count; i++)
        spoil(&m.readings[i], &seed, share);
    return &m;
}

/* How many have a next one. */
static size_t check(const struct map *m)
{
    struct plyecho_indication *list;
    size_t count, known = 0;
    assert_int_equal(
        plyecho_indications_find(m->grid, m->readings, beam, &list, &count, NULL, NULL),
        PLYECHO_OK);
    for (size_t i = 0; i < count; i++) {
        double nearest = nearest_m(m->grid, list, count, i);
        assert_int_equal(list[i].next_m.known, isfinite(nearest));
        if (list[i].next_m.known)
            assert_memory_equal(&list[i].next_m.value, &nearest, sizeof nearest);
        known += list[i].next_m.known;
    }
    free(list);
    return known;
}

static size_t check_maps(const struct plyecho_part *part, size_t columns, size_t rows)
{
    size_t known = 0;
    for (uint32_t seed = 1; seed <= MAPS; seed++) {
        struct map *m = map_new(seed, part, columns, rows);
        known += check(m);
        plyecho_grid_free(m->grid);
    }
    return known;
}

static void on_a_tube_through_zero(void **state)
{
    (void)state;
    const struct plyecho_part tube = {true, {true, 30 * mm}, NULL};
    assert_true(check_maps(&tube, COLUMNS, ROWS) > 100 * MAPS / 4);
}

/* A taper that is known of the middle rows only. */
static void on_a_tapered_tube(void **state)
{
    (void)state;
    const struct plyecho_along taper = {
        .axial_m = {12 * mm, 40 * mm}, .value = {26 * mm, 40 * mm}, .count = 2};
    const struct plyecho_part tube = {true, {false, 0.0}, &taper};
    assert_true(check_maps(&tube, COLUMNS, ROWS) > 0);
}

static void on_a_plate(void **state)
{
    (void)state;
    const struct plyecho_part plate = {false, {false, 0.0}, NULL};
    assert_true(check_maps(&plate, COLUMNS, ROWS) > 100 * MAPS / 4);
}

/* Against the line no extent is known, and along it there is a next one. */
static void on_single_lines(void **state)
{
    (void)state;
    const struct plyecho_part tube = {true, {true, 30 * mm}, NULL};
    const struct plyecho_part plate = {false, {false, 0.0}, NULL};
    assert_true(check_maps(&tube, COLUMNS, 1) > 0);
    assert_true(check_maps(&tube, 1, ROWS) > 0);
    assert_true(check_maps(&plate, COLUMNS, 1) > 0);
    assert_true(check_maps(&plate, 1, ROWS) > 0);
}

/* Scattered places, none next to another on a line: no extent is known at all. */
static void between_scattered_places_none_is_known(void **state)
{
    (void)state;
    const struct plyecho_part plate = {false, {false, 0.0}, NULL};
    struct plyecho_place places[ROWS];
    struct plyecho_place_reading readings[ROWS];
    uint32_t seed = 5;
    for (size_t i = 0; i < ROWS; i++) {
        places[i] = (struct plyecho_place){(double)i * mm, (double)(i * 7 % ROWS) * mm};
        spoil(&readings[i], &seed, 1.0);
    }
    struct map m = {.grid = NULL};
    memcpy(m.readings, readings, sizeof readings);
    assert_int_equal(plyecho_grid_new(&m.grid, places, ROWS, &plate, NULL), PLYECHO_OK);
    assert_int_equal(check(&m), 0);
    plyecho_grid_free(m.grid);
}

static void without_a_diameter_none_is_known(void **state)
{
    (void)state;
    const struct plyecho_part tube = {true, {false, 0.0}, NULL};
    assert_int_equal(check_maps(&tube, COLUMNS, ROWS), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_a_tube_through_zero),
        cmocka_unit_test(on_a_tapered_tube),
        cmocka_unit_test(on_a_plate),
        cmocka_unit_test(on_single_lines),
        cmocka_unit_test(between_scattered_places_none_is_known),
        cmocka_unit_test(without_a_diameter_none_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
