#include <plyecho/grid.h>

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "pi.h"
#include "sets.h"

/* The k-th column from one, up (sign 1) or down (-1), and how far that is; false beyond the grid. */
static bool column_off(const struct plyecho_grid *g, size_t from, int sign, size_t k,
                       size_t *column, double *distance)
{
    bool wraps = sign > 0 ? from + k >= g->columns : from < k;
    if (wraps && !g->closed)
        return false;
    if (sign > 0)
        *column = wraps ? from + k - g->columns : from + k;
    else
        *column = wraps ? from + g->columns - k : from - k;
    *distance = sign * (g->across[*column] - g->across[from]) + (wraps ? 360.0 : 0.0);
    return true;
}

static bool row_off(const struct plyecho_grid *g, size_t from, int sign, size_t k, size_t *row,
                    double *distance)
{
    if (sign > 0 ? from + k >= g->rows : from < k)
        return false;
    *row = sign > 0 ? from + k : from - k;
    *distance = sign * (g->along[*row] - g->along[from]);
    return true;
}

/* The first place in a row beyond a column, within reach. */
static size_t first_in_row(const struct plyecho_grid *g, size_t row, size_t column, int sign)
{
    for (size_t k = 1; k < g->columns; k++) {
        size_t c;
        double distance;
        if (!column_off(g, column, sign, k, &c, &distance) || distance > g->reach_across)
            return PLYECHO_NO_PLACE;
        if (g->place[row * g->columns + c] != PLYECHO_NO_PLACE)
            return g->place[row * g->columns + c];
    }
    return PLYECHO_NO_PLACE;
}

static size_t first_in_column(const struct plyecho_grid *g, size_t row, size_t column, int sign)
{
    for (size_t k = 1; k < g->rows; k++) {
        size_t r;
        double distance;
        if (!row_off(g, row, sign, k, &r, &distance) || distance > g->reach_along)
            return PLYECHO_NO_PLACE;
        if (g->place[r * g->columns + column] != PLYECHO_NO_PLACE)
            return g->place[r * g->columns + column];
    }
    return PLYECHO_NO_PLACE;
}

/* The first place in the quarter that the two signs span. */
static size_t first_in_quarter(const struct plyecho_grid *g, size_t row, size_t column,
                               int sign_across, int sign_along)
{
    for (size_t k = 1; k < g->rows; k++) {
        size_t r;
        double distance;
        if (!row_off(g, row, sign_along, k, &r, &distance) || distance > g->reach_along)
            return PLYECHO_NO_PLACE;
        size_t place = first_in_row(g, r, column, sign_across);
        if (place != PLYECHO_NO_PLACE)
            return place;
    }
    return PLYECHO_NO_PLACE;
}

size_t plyecho_grid_step(const struct plyecho_grid *grid, size_t place,
                         enum plyecho_direction direction)
{
    size_t row = grid->row[place], column = grid->column[place];
    switch (direction) {
    case PLYECHO_NEXT_ACROSS:
        return first_in_row(grid, row, column, 1);
    case PLYECHO_BEFORE_ACROSS:
        return first_in_row(grid, row, column, -1);
    case PLYECHO_NEXT_ALONG:
        return first_in_column(grid, row, column, 1);
    case PLYECHO_BEFORE_ALONG:
        return first_in_column(grid, row, column, -1);
    }
    return PLYECHO_NO_PLACE;
}

static size_t add_once(size_t *list, size_t count, size_t place)
{
    for (size_t k = 0; k < count; k++)
        if (list[k] == place)
            return count;
    if (place != PLYECHO_NO_PLACE)
        list[count++] = place;
    return count;
}

size_t plyecho_grid_neighbours(const struct plyecho_grid *grid, size_t place,
                               size_t neighbours[PLYECHO_NEIGHBOURS])
{
    size_t row = grid->row[place], column = grid->column[place], count = 0;
    for (int d = PLYECHO_NEXT_ACROSS; d <= PLYECHO_BEFORE_ALONG; d++)
        count = add_once(neighbours, count,
                         plyecho_grid_step(grid, place, (enum plyecho_direction)d));
    for (int quarter = 0; quarter < 4; quarter++)
        count = add_once(
            neighbours, count,
            first_in_quarter(grid, row, column, quarter & 1 ? -1 : 1, quarter & 2 ? -1 : 1));
    return count;
}

/* ---- lengths ---- */

double plyecho_grid_across(const struct plyecho_grid *grid, size_t from_column,
                           size_t to_column)
{
    double distance = grid->across[to_column] - grid->across[from_column];
    return grid->tube && distance < 0.0 ? distance + 360.0 : distance;
}

double plyecho_grid_arc_m(const struct plyecho_grid *grid, size_t row, double across,
                          double depth_m)
{
    if (!grid->tube)
        return across;
    double radius = grid->radius_m[row] - depth_m;
    return across * PE_PI / 180.0 * (radius < 0.0 ? 0.0 : radius);
}

/* Ends of a cell about `at`; gaps are NAN where there is no place, and `alone` is the cell's size where there
 * is none on either side. */
static void cell_ends(double at, double below, double above, double alone, double *from,
                      double *to)
{
    if (isnan(below))
        below = isnan(above) ? alone : above;
    if (isnan(above))
        above = below;
    *from = at - 0.5 * below;
    *to = at + 0.5 * above;
}

static double gap_to(const struct plyecho_grid *g, size_t place,
                     enum plyecho_direction direction)
{
    size_t next = plyecho_grid_step(g, place, direction);
    if (next == PLYECHO_NO_PLACE)
        return NAN;
    switch (direction) {
    case PLYECHO_NEXT_ACROSS:
        return plyecho_grid_across(g, g->column[place], g->column[next]);
    case PLYECHO_BEFORE_ACROSS:
        return plyecho_grid_across(g, g->column[next], g->column[place]);
    default:
        return fabs(g->along[g->row[next]] - g->along[g->row[place]]);
    }
}

struct plyecho_cell plyecho_grid_cell(const struct plyecho_grid *grid, size_t place)
{
    struct plyecho_cell cell;
    size_t column = grid->column[place], row = grid->row[place];
    cell_ends(grid->across[column], gap_to(grid, place, PLYECHO_BEFORE_ACROSS),
              gap_to(grid, place, PLYECHO_NEXT_ACROSS), grid->cell_across[column],
              &cell.from_across, &cell.to_across);
    cell_ends(grid->along[row], gap_to(grid, place, PLYECHO_BEFORE_ALONG),
              gap_to(grid, place, PLYECHO_NEXT_ALONG), grid->cell_along[row], &cell.from_along,
              &cell.to_along);
    return cell;
}

/* ---- connected sets ---- */

enum plyecho_code plyecho_grid_label(const struct plyecho_grid *grid, const bool *member,
                                     size_t *label, size_t *sets, struct plyecho_error *err)
{
    *sets = 0;
    size_t *lead = pe_alloc(grid->count, sizeof *lead);
    if (lead == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the sets of places");
    pe_sets_begin(lead, grid->count);
    for (size_t i = 0; i < grid->count; i++) {
        size_t near[PLYECHO_NEIGHBOURS];
        size_t count = member[i] ? plyecho_grid_neighbours(grid, i, near) : 0;
        for (size_t k = 0; k < count; k++)
            if (member[near[k]])
                pe_sets_join(lead, i, near[k]);
    }
    *sets = pe_sets_number(lead, member, grid->count, label);
    free(lead);
    return PLYECHO_OK;
}
