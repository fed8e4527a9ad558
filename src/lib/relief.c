#include "relief.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_statistics.h>

#include <plyecho/walls.h>

#include "alloc.h"
#include "sort.h"

/* A row of fewer walls has no shape. */
enum { LEAST_IN_ROW = 3 };

static size_t copy_finite(const double *from, size_t count, double *to)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(from[i]))
            to[n++] = from[i];
    return n;
}

static void put_walls(struct pe_relief *r, const struct plyecho_scanned *scan)
{
    const struct plyecho_grid *g = scan->grid;
    for (size_t k = 0; k < g->rows * g->columns; k++) {
        size_t i = g->place[k];
        bool has = i != PLYECHO_NO_PLACE && plyecho_walls_has(&scan->readings[i]);
        r->height[k] = has ? scan->readings[i].second_wall_m.value : NAN;
    }
}

/* Take the row's median off, which a filed spot does not move. */
static void level_row(double *row, size_t columns, double *scratch)
{
    size_t n = copy_finite(row, columns, scratch);
    double level = n >= LEAST_IN_ROW ? pe_median(scratch, n) : NAN;
    for (size_t c = 0; c < columns; c++)
        row[c] -= level;
}

/* Draw in what is far off, then take the row's mean off, whose error is smaller. */
static void draw_in_row(double *row, size_t columns, double most, double *scratch)
{
    for (size_t c = 0; c < columns; c++)
        if (isfinite(row[c]))
            row[c] = fmax(-most, fmin(most, row[c]));
    size_t n = copy_finite(row, columns, scratch);
    double level = n > 0 ? gsl_stats_mean(scratch, 1, n) : 0.0;
    for (size_t c = 0; c < columns; c++)
        row[c] -= level;
}

static double far_off(const struct pe_relief *r, size_t count, double *scratch)
{
    static const double deviations = 3.0, per_median_distance = 1.4826;
    size_t n = copy_finite(r->height, count, scratch);
    for (size_t k = 0; k < n; k++)
        scratch[k] = fabs(scratch[k]);
    double median = pe_median(scratch, n);
    /* more than half of all alike: nothing is drawn in */
    return median > 0.0 ? deviations * per_median_distance * median : INFINITY;
}

enum plyecho_code pe_relief_take(struct pe_relief *r, const struct plyecho_scanned *scan,
                                 struct plyecho_error *err)
{
    const struct plyecho_grid *g = scan->grid;
    size_t crossings = g->rows * g->columns;
    *r = (struct pe_relief){g, pe_alloc(crossings, sizeof *r->height)};
    double *scratch = pe_alloc(crossings, sizeof *scratch);
    if (r->height == NULL || scratch == NULL) {
        free(scratch);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the walls of a scan");
    }
    put_walls(r, scan);
    for (size_t row = 0; row < g->rows; row++)
        level_row(&r->height[row * g->columns], g->columns, scratch);
    double most = far_off(r, crossings, scratch);
    for (size_t row = 0; row < g->rows; row++)
        draw_in_row(&r->height[row * g->columns], g->columns, most, scratch);
    free(scratch);
    return PLYECHO_OK;
}

/* The last of rising values that is at most `value`; PLYECHO_NO_PLACE for none. */
static size_t last_below(const double *rising, size_t count, double value)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (rising[middle] <= value)
            low = middle + 1;
        else
            high = middle;
    }
    return low > 0 ? low - 1 : PLYECHO_NO_PLACE;
}

struct pe_between pe_relief_column(const struct plyecho_grid *g, double across)
{
    static const struct pe_between none = {PLYECHO_NO_PLACE, PLYECHO_NO_PLACE, 0.0};
    if (g->tube)
        across -= 360.0 * floor(across / 360.0);
    size_t last = g->columns - 1, lower = last_below(g->across, g->columns, across);
    size_t upper = lower == PLYECHO_NO_PLACE ? 0 : lower < last ? lower + 1 : PLYECHO_NO_PLACE;
    /* through 0, where the tube is read all round; a lone place may be both */
    double from = lower != PLYECHO_NO_PLACE ? g->across[lower] : g->across[last] - 360.0;
    double to = upper != PLYECHO_NO_PLACE ? g->across[upper] : g->across[0] + 360.0;
    bool has_lower = lower != PLYECHO_NO_PLACE || g->tube,
         has_upper = upper != PLYECHO_NO_PLACE || g->tube;
    lower = lower == PLYECHO_NO_PLACE ? last : lower;
    upper = upper == PLYECHO_NO_PLACE ? 0 : upper;
    double on_it = 1e-6 * g->reach_across + 1e-12; /* what rounding leaves */
    if (has_lower && across - from <= on_it)
        return (struct pe_between){lower, lower, 0.0};
    if (has_upper && to - across <= on_it)
        return (struct pe_between){upper, upper, 0.0};
    if (!has_lower || !has_upper || to - from > g->reach_across)
        return none;
    return (struct pe_between){lower, upper, (across - from) / (to - from)};
}

size_t pe_relief_row(const struct plyecho_grid *g, double along)
{
    size_t lower = last_below(g->along, g->rows, along);
    size_t upper = lower == PLYECHO_NO_PLACE ? 0 : lower + 1 < g->rows ? lower + 1 : lower;
    if (lower == PLYECHO_NO_PLACE)
        lower = upper;
    size_t near = along - g->along[lower] <= g->along[upper] - along ? lower : upper;
    double within = g->reach_along > 0.0 ? g->reach_along / 3.0 : 1e-9;
    return fabs(along - g->along[near]) <= within ? near : PLYECHO_NO_PLACE;
}

double pe_relief_height(const struct pe_relief *r, size_t row, const struct pe_between *b)
{
    if (b->lower == PLYECHO_NO_PLACE)
        return NAN;
    const double *heights = &r->height[row * r->grid->columns];
    return (1.0 - b->share) * heights[b->lower] + b->share * heights[b->upper];
}
