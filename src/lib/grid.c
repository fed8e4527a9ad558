#include <plyecho/grid.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "alloc.h"
#include "grid_cells.h"
#include "sort.h"

/* Coordinates written with fewer digits than this tell the same place. */
static const double same_degrees = 1e-6, same_m = 1e-9;

/* One coordinate of a place. */
struct mark {
    double value;
    size_t place;
};

static int by_value(const void *a, const void *b)
{
    const struct mark *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? -1 : 1;
    return (x->place > y->place) - (x->place < y->place);
}

static enum plyecho_code check_places(const struct plyecho_place *places, size_t count,
                                      bool tube, struct plyecho_error *err)
{
    if (count == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a grid needs places; list at least one");
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place *p = &places[i];
        if (!isfinite(p->across) || !isfinite(p->along))
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "place %zu is not a place; both coordinates must be numbers",
                                i + 1);
        if (tube && !(p->across >= 0.0 && p->across < 360.0))
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "the angle %g of place %zu is out of range; count angles from "
                                "0 to below 360",
                                p->across, i + 1);
    }
    return PLYECHO_OK;
}

/* Sort the marks, give their distinct values, and each place the index of its own. */
static size_t take_axis(struct mark *marks, size_t count, double same, double *values,
                        size_t *index)
{
    size_t distinct = 0;
    qsort(marks, count, sizeof *marks, by_value);
    for (size_t i = 0; i < count; i++) {
        if (distinct == 0 || marks[i].value - values[distinct - 1] >= same)
            values[distinct++] = marks[i].value;
        index[marks[i].place] = distinct - 1;
    }
    return distinct;
}

static enum plyecho_code take_axes(struct plyecho_grid *g, const struct plyecho_place *places,
                                   struct plyecho_error *err)
{
    struct mark *marks = pe_alloc(g->count, sizeof *marks);
    if (marks == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the grid of places");
    for (size_t i = 0; i < g->count; i++) {
        double a = places[i].across;
        /* just below the full round is its beginning */
        marks[i] = (struct mark){g->tube && 360.0 - a < same_degrees ? 0.0 : a, i};
    }
    g->columns =
        take_axis(marks, g->count, g->tube ? same_degrees : same_m, g->across, g->column);
    for (size_t i = 0; i < g->count; i++)
        marks[i] = (struct mark){places[i].along, i};
    g->rows = take_axis(marks, g->count, same_m, g->along, g->row);
    free(marks);
    return PLYECHO_OK;
}

/* A picture or a walk over the crossings must stay in proportion to the places. */
static bool crossings_in_proportion(const struct plyecho_grid *g)
{
    size_t most = g->count > (SIZE_MAX - 1000000) / 64 ? SIZE_MAX : 64 * g->count + 1000000;
    return g->rows <= most / g->columns;
}

static enum plyecho_code put_places(struct plyecho_grid *g, struct plyecho_error *err)
{
    if (!crossings_in_proportion(g))
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "%zu places lie on %zu columns and %zu rows, nearly none of whose "
                            "crossings holds one; round the positions to the spacing they were "
                            "meant to have, so that they form lines",
                            g->count, g->columns, g->rows);
    g->place = pe_alloc(g->rows * g->columns, sizeof *g->place);
    if (g->place == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the grid of places");
    for (size_t k = 0; k < g->rows * g->columns; k++)
        g->place[k] = PLYECHO_NO_PLACE;
    for (size_t i = 0; i < g->count; i++) {
        size_t *at = &g->place[g->row[i] * g->columns + g->column[i]];
        if (*at != PLYECHO_NO_PLACE)
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "places %zu and %zu are the same place; combine their shots",
                                *at + 1, i + 1);
        *at = i;
    }
    return PLYECHO_OK;
}

/* ---- who is near ---- */

/* 1.5 times what nine in ten gaps keep: finer patches do not make the rest of the scan fall apart, and
 * an omitted place of an even grid is twice as far. 0 where there are no gaps. */
static double reach_of(double *gaps, size_t count)
{
    if (count == 0)
        return 0.0;
    pe_sort_doubles(gaps, count);
    return 1.5 * gaps[(size_t)ceil(0.9 * (double)count) - 1];
}

static double reach_across(const struct plyecho_grid *g, double *gaps)
{
    size_t count = 0;
    for (size_t r = 0; r < g->rows; r++) {
        size_t last = PLYECHO_NO_PLACE;
        for (size_t c = 0; c < g->columns; c++) {
            if (g->place[r * g->columns + c] == PLYECHO_NO_PLACE)
                continue;
            if (last != PLYECHO_NO_PLACE)
                gaps[count++] = g->across[c] - g->across[last];
            last = c;
        }
    }
    return reach_of(gaps, count);
}

static double reach_along(const struct plyecho_grid *g, double *gaps)
{
    size_t count = 0;
    for (size_t c = 0; c < g->columns; c++) {
        size_t last = PLYECHO_NO_PLACE;
        for (size_t r = 0; r < g->rows; r++) {
            if (g->place[r * g->columns + c] == PLYECHO_NO_PLACE)
                continue;
            if (last != PLYECHO_NO_PLACE)
                gaps[count++] = g->along[r] - g->along[last];
            last = r;
        }
    }
    return reach_of(gaps, count);
}

static enum plyecho_code take_reach(struct plyecho_grid *g, struct plyecho_error *err)
{
    double *gaps = pe_alloc(g->count, sizeof *gaps);
    if (gaps == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the grid of places");
    g->reach_across = reach_across(g, gaps);
    g->reach_along = reach_along(g, gaps);
    g->closed = g->tube && g->columns > 1 &&
                360.0 - g->across[g->columns - 1] + g->across[0] <= g->reach_across;
    free(gaps);
    return PLYECHO_OK;
}

static double radius_at(const struct plyecho_part *part, double along_m)
{
    struct plyecho_known diameter =
        part->diameter != NULL ? plyecho_along_at(part->diameter, along_m) : part->diameter_m;
    return part->tube && diameter.known ? 0.5 * diameter.value : NAN;
}

static enum plyecho_code make(struct plyecho_grid *g, const struct plyecho_place *places,
                              const struct plyecho_part *part, struct plyecho_error *err)
{
    size_t n = g->count;
    g->across = pe_alloc(n, sizeof *g->across);
    g->along = pe_alloc(n, sizeof *g->along);
    g->cell_across = pe_alloc(n, sizeof *g->cell_across);
    g->cell_along = pe_alloc(n, sizeof *g->cell_along);
    g->radius_m = pe_alloc(n, sizeof *g->radius_m);
    g->column = pe_alloc(n, sizeof *g->column);
    g->row = pe_alloc(n, sizeof *g->row);
    if (g->across == NULL || g->along == NULL || g->cell_across == NULL ||
        g->cell_along == NULL || g->radius_m == NULL || g->column == NULL || g->row == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the grid of places");
    enum plyecho_code code = take_axes(g, places, err);
    if (code == PLYECHO_OK)
        code = put_places(g, err);
    if (code == PLYECHO_OK)
        code = take_reach(g, err);
    if (code != PLYECHO_OK)
        return code;
    for (size_t r = 0; r < g->rows; r++)
        g->radius_m[r] = radius_at(part, g->along[r]);
    pe_grid_cells(g);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_grid_new(struct plyecho_grid **grid,
                                   const struct plyecho_place *places, size_t count,
                                   const struct plyecho_part *part, struct plyecho_error *err)
{
    *grid = NULL;
    enum plyecho_code code = check_places(places, count, part->tube, err);
    if (code != PLYECHO_OK)
        return code;
    struct plyecho_grid *g = pe_alloc(1, sizeof *g);
    if (g == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the grid of places");
    g->tube = part->tube;
    g->count = count;
    code = make(g, places, part, err);
    if (code == PLYECHO_OK)
        *grid = g;
    else
        plyecho_grid_free(g);
    return code;
}

void plyecho_grid_free(struct plyecho_grid *grid)
{
    if (grid == NULL)
        return;
    free(grid->across);
    free(grid->along);
    free(grid->cell_across);
    free(grid->cell_along);
    free(grid->radius_m);
    free(grid->place);
    free(grid->column);
    free(grid->row);
    free(grid);
}
