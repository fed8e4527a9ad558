/* The places of a scan as a grid: lines, neighbours, cells, arcs, sets, refusals. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/grid.h>

#include "failing_alloc.h"

static const double mm = 1e-3;
static const struct plyecho_part tube = {true, {true, 30e-3}, NULL};
static const struct plyecho_part plate = {false, {false, 0.0}, NULL};

enum { MOST = 1000 };

/* An even grid of places, row by row. */
static size_t even(struct plyecho_place *places, size_t columns, double across, size_t rows,
                   double along)
{
    for (size_t k = 0; k < rows * columns; k++)
        places[k] = (struct plyecho_place){across * (double)(k % columns),
                                           along * (double)(k / columns)};
    return rows * columns;
}

static struct plyecho_grid *grid_of(const struct plyecho_place *places, size_t count,
                                    const struct plyecho_part *part)
{
    struct plyecho_grid *grid;
    struct plyecho_error err;
    if (plyecho_grid_new(&grid, places, count, part, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return grid;
}

static void a_round_closes_on_itself(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    size_t count = even(places, 24, 15.0, 8, 5 * mm);
    struct plyecho_grid *g = grid_of(places, count, &tube);
    assert_true(g->closed);
    assert_int_equal(g->columns, 24);
    assert_int_equal(g->rows, 8);
    assert_float_equal(g->reach_across, 22.5, 1e-12);
    assert_float_equal(g->reach_along, 7.5 * mm, 1e-15);
    assert_int_equal(plyecho_grid_step(g, 23, PLYECHO_NEXT_ACROSS), 0);
    assert_int_equal(plyecho_grid_step(g, 0, PLYECHO_BEFORE_ACROSS), 23);
    assert_int_equal(plyecho_grid_step(g, 0, PLYECHO_NEXT_ALONG), 24);
    assert_int_equal(plyecho_grid_step(g, 0, PLYECHO_BEFORE_ALONG), PLYECHO_NO_PLACE);
    size_t near[PLYECHO_NEIGHBOURS];
    const size_t expected[] = {1, 23, 24, 25, 47};
    assert_int_equal(plyecho_grid_neighbours(g, 0, near), 5);
    assert_memory_equal(near, expected, sizeof expected);
    assert_int_equal(plyecho_grid_neighbours(g, 30, near), 8);
    assert_float_equal(plyecho_grid_across(g, 23, 1), 30.0, 1e-12);
    struct plyecho_cell cell = plyecho_grid_cell(g, 0);
    assert_float_equal(cell.from_across, -7.5, 1e-12);
    assert_float_equal(cell.to_across, 7.5, 1e-12);
    assert_float_equal(cell.from_along, -2.5 * mm, 1e-15);
    assert_float_equal(g->cell_across[0], 15.0, 1e-12);
    assert_float_equal(g->cell_along[7], 5.0 * mm, 1e-15);
    plyecho_grid_free(g);
}

/* An arc is radius times angle. */
static void arcs_are_radius_times_angle(void **state)
{
    (void)state;
    struct plyecho_along taper = {{0.0, 0.01}, {30e-3, 40e-3}, 2, 0};
    const struct plyecho_part tapered = {true, {true, 1.0}, &taper};
    struct plyecho_place places[MOST];
    size_t count = even(places, 4, 90.0, 4, 5 * mm);
    struct plyecho_grid *g = grid_of(places, count, &tapered);
    const double pi = acos(-1.0);
    assert_float_equal(plyecho_grid_arc_m(g, 0, 90.0, 0.0), 15e-3 * pi / 2.0, 1e-15);
    assert_float_equal(plyecho_grid_arc_m(g, 1, 360.0, 2e-3), 15.5e-3 * 2.0 * pi, 1e-15);
    assert_float_equal(plyecho_grid_arc_m(g, 0, 90.0, 1.0), 0.0, 0.0);
    assert_true(isnan(plyecho_grid_arc_m(g, 3, 90.0, 0.0))); /* outside of the table */
    plyecho_grid_free(g);
    g = grid_of(places, count, &plate);
    assert_float_equal(plyecho_grid_arc_m(g, 0, 0.09, 2e-3), 0.09, 0.0);
    plyecho_grid_free(g);
}

static void what_was_left_out_is_no_bridge(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    size_t count = even(places, 24, 15.0, 8, 5 * mm);
    places[30] =
        places[--count]; /* column 6 of row 1 is left out, the last place moves there */
    struct plyecho_grid *g = grid_of(places, count, &tube);
    assert_int_equal(plyecho_grid_step(g, 29, PLYECHO_NEXT_ACROSS), PLYECHO_NO_PLACE);
    assert_int_equal(plyecho_grid_step(g, 6, PLYECHO_NEXT_ALONG), PLYECHO_NO_PLACE);
    size_t near[PLYECHO_NEIGHBOURS];
    assert_int_equal(plyecho_grid_neighbours(g, 29, near), 7);
    struct plyecho_cell cell = plyecho_grid_cell(g, 29);
    assert_float_equal(cell.to_across - cell.from_across, 15.0, 1e-12);
    plyecho_grid_free(g);

    count = even(places, 20, 15.0, 8, 5 * mm); /* a sixth of the round is covered up */
    g = grid_of(places, count, &tube);
    assert_false(g->closed);
    assert_int_equal(plyecho_grid_step(g, 19, PLYECHO_NEXT_ACROSS), PLYECHO_NO_PLACE);
    assert_float_equal(g->cell_across[19], 15.0, 1e-12);
    plyecho_grid_free(g);
}

/* A finer patch between the places of a coarse plate. */
static void a_finer_patch_keeps_the_rest_together(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    size_t count = even(places, 10, 10 * mm, 10, 10 * mm);
    for (int x = 0; x <= 10; x++)
        for (int y = 0; y <= 10; y++)
            if (x % 5 != 0 || y % 5 != 0)
                places[count++] = (struct plyecho_place){(40 + 2 * x) * mm, (40 + 2 * y) * mm};
    struct plyecho_grid *g = grid_of(places, count, &plate);
    assert_int_equal(plyecho_grid_step(g, 0, PLYECHO_NEXT_ACROSS), 1);
    assert_int_equal(plyecho_grid_step(g, 1, PLYECHO_NEXT_ALONG), 11);
    size_t step = plyecho_grid_step(g, 44, PLYECHO_NEXT_ACROSS);
    assert_float_equal(places[step].across, 42 * mm, 1e-12);
    struct plyecho_cell cell = plyecho_grid_cell(g, 44); /* the patch's first corner */
    assert_float_equal(cell.from_across, 35 * mm, 1e-12);
    assert_float_equal(cell.to_across, 41 * mm, 1e-12);
    bool member[MOST];
    size_t label[MOST], sets;
    memset(member, true, sizeof member);
    assert_int_equal(plyecho_grid_label(g, member, label, &sets, NULL), PLYECHO_OK);
    assert_int_equal(sets, 1);
    plyecho_grid_free(g);
}

/* Every other row shifted by half the spacing: the nearest places are on the slant. */
static void shifted_rows_hang_together(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    for (size_t k = 0; k < 50; k++)
        places[k] = (struct plyecho_place){(double)(2 * (k % 5) + k / 5 % 2) * mm,
                                           (double)(k / 5) * mm};
    struct plyecho_grid *g = grid_of(places, 50, &plate);
    size_t near[PLYECHO_NEIGHBOURS];
    const size_t expected[] = {23, 21, 32, 12, 27, 26, 17, 16};
    assert_int_equal(plyecho_grid_neighbours(g, 22, near), 8);
    assert_memory_equal(near, expected, sizeof expected);
    plyecho_grid_free(g);
}

static void the_same_coordinate_in_other_digits_is_one_line(void **state)
{
    (void)state;
    const struct plyecho_place places[] = {
        {0.0, 0.0},
        {120.0, 0.0},
        {240.0, 0.0},
        {5e-7, 5 * mm},
        {120.0 + 9e-7, 5 * mm},
        {240.0, 5 * mm + 5e-10},
        {360.0 - 5e-7, 10 * mm},
    };
    struct plyecho_grid *g = grid_of(places, 7, &tube);
    assert_int_equal(g->columns, 3);
    assert_int_equal(g->rows, 3);
    assert_int_equal(g->column[6], 0);
    plyecho_grid_free(g);
}

static void lone_lines_have_square_cells(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    size_t count = even(places, 1, 15.0, 8, 5 * mm);
    struct plyecho_grid *g = grid_of(places, count, &tube);
    assert_false(g->closed);
    assert_float_equal(plyecho_grid_arc_m(g, 0, g->cell_across[0], 0.0), 5 * mm, 1e-12);
    plyecho_grid_free(g);
    count = even(places, 24, 15.0, 1, 5 * mm);
    g = grid_of(places, count, &tube);
    assert_true(g->closed);
    assert_float_equal(g->cell_along[0], plyecho_grid_arc_m(g, 0, 15.0, 0.0), 1e-12);
    plyecho_grid_free(g);
    g = grid_of(places, 1, &plate);
    assert_float_equal(g->cell_along[0], 0.0, 0.0);
    size_t near[PLYECHO_NEIGHBOURS];
    assert_int_equal(plyecho_grid_neighbours(g, 0, near), 0);
    plyecho_grid_free(g);
}

static void what_is_no_grid_is_refused(void **state)
{
    (void)state;
    static const struct plyecho_place twice[] = {{0.0, 0.0}, {15.0, 0.0}, {15.0, 1e-10}};
    static const struct plyecho_place no_number[] = {{0.0, 0.0}, {15.0, NAN}};
    static const struct plyecho_place over[] = {{0.0, 0.0}, {360.0, 0.0}};
    static const struct plyecho_place below[] = {{-1.0, 0.0}};
    const struct {
        const struct plyecho_place *places;
        size_t count;
        const char *says;
    } bad[] = {
        {twice, 0, "at least one"},
        {twice, 3, "places 2 and 3"},
        {no_number, 2, "must be numbers"},
        {over, 2, "below 360"},
        {below, 1, "-1"},
    };
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
        struct plyecho_grid *g = (struct plyecho_grid *)1;
        struct plyecho_error err = {0};
        enum plyecho_code code = plyecho_grid_new(&g, bad[k].places, bad[k].count, &tube, &err);
        if (code != PLYECHO_BAD_ARGUMENT || strstr(err.text, bad[k].says) == NULL)
            fail_msg("%zu: %d, %s", k, (int)code, err.text);
        assert_null(g);
    }
}

/* Positions as they come from an encoder, no two alike: no lines. */
static void scattered_places_are_no_grid(void **state)
{
    (void)state;
    enum { COUNT = 2000 };
    struct plyecho_place *places = calloc(COUNT, sizeof *places);
    assert_non_null(places);
    for (size_t k = 0; k < COUNT; k++)
        places[k] = (struct plyecho_place){(double)k * 0.011, (double)(k * 37 % COUNT) * mm};
    struct plyecho_grid *g;
    struct plyecho_error err;
    assert_int_equal(plyecho_grid_new(&g, places, COUNT, &plate, &err), PLYECHO_TOO_LARGE);
    assert_non_null(strstr(err.text, "round the positions"));
    assert_null(g);
    free(places);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    struct plyecho_place places[MOST];
    size_t count = even(places, 24, 15.0, 8, 5 * mm), label[MOST], sets;
    bool member[MOST] = {true};
    long n = 0;
    for (bool done = false; !done; n++) {
        struct plyecho_grid *g;
        struct plyecho_error err;
        fail_allocation(n);
        enum plyecho_code code = plyecho_grid_new(&g, places, count, &tube, &err);
        if (code == PLYECHO_OK)
            code = plyecho_grid_label(g, member, label, &sets, &err);
        fail_no_allocation();
        done = code == PLYECHO_OK;
        if (!done)
            assert_int_equal(code, PLYECHO_NO_MEMORY);
        plyecho_grid_free(g);
    }
    assert_true(n > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_round_closes_on_itself),
        cmocka_unit_test(arcs_are_radius_times_angle),
        cmocka_unit_test(what_was_left_out_is_no_bridge),
        cmocka_unit_test(a_finer_patch_keeps_the_rest_together),
        cmocka_unit_test(shifted_rows_hang_together),
        cmocka_unit_test(the_same_coordinate_in_other_digits_is_one_line),
        cmocka_unit_test(lone_lines_have_square_cells),
        cmocka_unit_test(what_is_no_grid_is_refused),
        cmocka_unit_test(scattered_places_are_no_grid),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
