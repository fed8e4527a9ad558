#include "coverage_parts.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "pi.h"

/* The distance is found to this share of it. */
static const double fine_enough = 1e-3;

/* The columns of each row that were read, rising. */
struct read_rows {
    const struct plyecho_grid *grid;
    size_t *start; /* [rows + 1] */
    double *across;
};

/* The search: the furthest so far. */
struct search {
    const struct read_rows *rows;
    double m_each; /* of arc, in the cell that is searched */
    size_t row;
    double furthest;
    struct plyecho_place at;
};

static enum plyecho_code list_read(struct read_rows *rows, const bool *read,
                                   struct plyecho_error *err)
{
    const struct plyecho_grid *g = rows->grid;
    rows->start = pe_alloc(g->rows + 1, sizeof *rows->start);
    rows->across = pe_alloc(g->count, sizeof *rows->across);
    if (rows->start == NULL || rows->across == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the coverage");
    size_t count = 0;
    for (size_t r = 0; r < g->rows; r++) {
        for (size_t c = 0; c < g->columns; c++) {
            size_t place = g->place[r * g->columns + c];
            if (place != PLYECHO_NO_PLACE && read[place])
                rows->across[count++] = g->across[c];
        }
        rows->start[r + 1] = count;
    }
    return PLYECHO_OK;
}

/* From an angle or x to the nearest place that was read in a row, the shorter way; INFINITY: none. */
static double nearest_in_row(const struct read_rows *rows, size_t row, double across)
{
    const double *list = rows->across + rows->start[row];
    size_t count = rows->start[row + 1] - rows->start[row], low = 0, high = count;
    if (count == 0)
        return INFINITY;
    if (rows->grid->tube)
        across -= 360.0 * floor(across / 360.0);
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (list[middle] < across)
            low = middle + 1;
        else
            high = middle;
    }
    double turn = rows->grid->tube ? 360.0 : INFINITY;
    double up = low < count ? list[low] - across : list[0] + turn - across;
    double down = low > 0 ? across - list[low - 1] : across + turn - list[count - 1];
    return fmin(up, down);
}

/* From a point in or near a row to the nearest place that was read, rows outwards as long as they may be nearer. */
static double nearest(const struct search *s, double across, double along)
{
    const struct plyecho_grid *g = s->rows->grid;
    double best = INFINITY;
    for (size_t r = s->row; r < g->rows; r++) {
        if (r > s->row && g->along[r] - along >= best)
            break;
        best = fmin(best,
                    hypot(s->m_each * nearest_in_row(s->rows, r, across), g->along[r] - along));
    }
    for (size_t r = s->row; r-- > 0;) {
        if (along - g->along[r] >= best)
            break;
        best = fmin(best,
                    hypot(s->m_each * nearest_in_row(s->rows, r, across), g->along[r] - along));
    }
    return best;
}

static double look_at(struct search *s, double across, double along)
{
    double distance = nearest(s, across, along);
    if (distance > s->furthest) {
        s->furthest = distance;
        s->at = (struct plyecho_place){across, along};
    }
    return distance;
}

/* A point of a box is no further than its middle is, and from there to a corner. */
static void search_box(struct search *s, double across, double along, double half_across,
                       double half_along)
{
    double distance = look_at(s, across, along);
    if (distance + hypot(s->m_each * half_across, half_along) <=
        s->furthest * (1.0 + fine_enough))
        return;
    double a = 0.5 * half_across, b = 0.5 * half_along;
    search_box(s, across - a, along - b, a, b);
    search_box(s, across + a, along - b, a, b);
    search_box(s, across - a, along + b, a, b);
    search_box(s, across + a, along + b, a, b);
}

static void enter(struct search *s, size_t place)
{
    s->row = s->rows->grid->row[place];
    s->m_each = plyecho_grid_arc_m(s->rows->grid, s->row, 1.0, 0.0);
}

/* In an even grid this finds it: the corners of the cells. */
static void look_at_corners(struct search *s, size_t place)
{
    struct plyecho_cell c = plyecho_grid_cell(s->rows->grid, place);
    enter(s, place);
    look_at(s, c.from_across, c.from_along);
    look_at(s, c.to_across, c.from_along);
    look_at(s, c.from_across, c.to_along);
    look_at(s, c.to_across, c.to_along);
}

static void search_cell(struct search *s, size_t place)
{
    struct plyecho_cell c = plyecho_grid_cell(s->rows->grid, place);
    enter(s, place);
    search_box(s, 0.5 * (c.from_across + c.to_across), 0.5 * (c.from_along + c.to_along),
               0.5 * (c.to_across - c.from_across), 0.5 * (c.to_along - c.from_along));
}

enum plyecho_code pe_coverage_furthest(const struct plyecho_grid *grid, const bool *read,
                                       double *distance_m, struct plyecho_place *at,
                                       struct plyecho_error *err)
{
    struct read_rows rows = {grid, NULL, NULL};
    struct search search = {.rows = &rows, .furthest = -1.0};
    enum plyecho_code code = list_read(&rows, read, err);
    for (size_t i = 0; code == PLYECHO_OK && i < grid->count; i++)
        look_at_corners(&search, i);
    for (size_t i = 0; code == PLYECHO_OK && i < grid->count; i++)
        search_cell(&search, i);
    free(rows.start);
    free(rows.across);
    *distance_m = search.furthest;
    *at = search.at;
    if (grid->tube)
        at->across -= 360.0 * floor(at->across / 360.0);
    return code;
}

/* ---- the circle ---- */

/* Area that two circles share: two segments. */
static double lens_area(double r, double q, double apart)
{
    if (apart >= r + q)
        return 0.0;
    if (apart <= fabs(r - q))
        return PE_PI * fmin(r, q) * fmin(r, q);
    double a = (apart * apart + r * r - q * q) / (2.0 * apart), b = apart - a;
    return r * r * acos(fmax(-1.0, fmin(1.0, a / r))) - a * sqrt(fmax(0.0, r * r - a * a)) +
           q * q * acos(fmax(-1.0, fmin(1.0, b / q))) - b * sqrt(fmax(0.0, q * q - b * b));
}

double pe_coverage_circle(double beam_m, double distance_m, double share)
{
    double r = 0.5 * beam_m, wanted = share * PE_PI * r * r;
    double low = 0.0, high = distance_m + r; /* covers all of the beam */
    for (int k = 0; k < 60; k++) {
        double middle = 0.5 * (low + high);
        if (lens_area(r, middle, distance_m) < wanted)
            low = middle;
        else
            high = middle;
    }
    return 2.0 * low;
}
