#include "grid_near.h"

#include <math.h>

/* How many of the rising values lie below a limit. */
static size_t count_below(const double *values, size_t count, double limit)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (values[middle] < limit)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* A box no wider than the round: first column, and how many. */
static void columns_within(struct pe_near *near, double from, double to)
{
    const struct plyecho_grid *g = near->grid;
    double wrapped = from - 360.0 * floor(from / 360.0);
    double end = wrapped + (to - from);
    size_t first = count_below(g->across, g->columns, wrapped);
    size_t inside = count_below(g->across, g->columns, end) - first;
    if (end > 360.0)
        inside += count_below(g->across, first, end - 360.0);
    near->first_column = first < g->columns ? first : 0;
    near->columns = inside;
}

struct pe_near pe_grid_near(const struct plyecho_grid *grid, struct plyecho_place at,
                            double across, double along)
{
    /* what lies on the border is near */
    double a = across * (1.0 + 1e-9) + 1e-9, b = along * (1.0 + 1e-9) + 1e-12;
    struct pe_near near = {.grid = grid};
    near.row = count_below(grid->along, grid->rows, at.along - b);
    near.end_row = count_below(grid->along, grid->rows, at.along + b);
    if (!grid->tube) {
        near.first_column = count_below(grid->across, grid->columns, at.across - a);
        near.columns =
            count_below(grid->across, grid->columns, at.across + a) - near.first_column;
    } else if (a >= 180.0) {
        near.columns = grid->columns;
    } else {
        columns_within(&near, at.across - a, at.across + a);
    }
    return near;
}

size_t pe_near_next(struct pe_near *near)
{
    const struct plyecho_grid *g = near->grid;
    for (; near->row < near->end_row; near->row++, near->step = 0)
        while (near->step < near->columns) {
            size_t column = near->first_column + near->step++;
            if (column >= g->columns)
                column -= g->columns;
            size_t place = g->place[near->row * g->columns + column];
            if (place != PLYECHO_NO_PLACE)
                return place;
        }
    return PLYECHO_NO_PLACE;
}

double pe_grid_apart(const struct plyecho_grid *grid, double across, double other)
{
    double apart = fabs(across - other);
    if (!grid->tube)
        return apart;
    apart = fmod(apart, 360.0);
    return apart > 180.0 ? 360.0 - apart : apart;
}
