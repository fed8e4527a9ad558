#include "coverage_parts.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "grid_near.h"
#include "sort.h"

/* On each of so many lines along a cell the length that is seen is exact. */
enum { LINES = 64 };

/* A place near a cell, in m from the cell's own place: where it is, and its own cell. */
struct spot {
    double across, along;
    double from_across, to_across, from_along, to_along;
    bool read;
};

struct job {
    const struct plyecho_grid *grid;
    const struct plyecho_cell *cells;
    const bool *read;
    double beam_m;
    struct spot *spots; /* [places], spots[0] is the place itself */
    size_t count;
    double *cuts; /* [4 * places + 4]: a spot makes four at most, the cell two */
};

static double signed_apart(const struct plyecho_grid *g, double from, double to)
{
    double apart = to - from;
    return g->tube ? apart - 360.0 * round(apart / 360.0) : apart;
}

static void add_spot(struct job *job, size_t place, struct plyecho_place from, double m_each)
{
    const struct plyecho_grid *g = job->grid;
    const struct plyecho_cell *c = &job->cells[place];
    double across = g->across[g->column[place]], along = g->along[g->row[place]];
    double x = m_each * signed_apart(g, from.across, across), y = along - from.along;
    job->spots[job->count++] = (struct spot){x,
                                             y,
                                             x + m_each * (c->from_across - across),
                                             x + m_each * (c->to_across - across),
                                             y + c->from_along - along,
                                             y + c->to_along - along,
                                             job->read[place]};
}

/* All places whose beam or cell may reach into the place's cell. A cell goes no further than half of reach. */
static void gather(struct job *job, size_t place, double m_each)
{
    const struct plyecho_grid *g = job->grid;
    const struct plyecho_cell *c = &job->cells[place];
    struct plyecho_place at = {g->across[g->column[place]], g->along[g->row[place]]};
    double beam = 0.5 * job->beam_m;
    double across = fmax(c->to_across - at.across, at.across - c->from_across) +
                    fmax(beam / m_each, 0.5 * g->reach_across);
    double along = fmax(c->to_along - at.along, at.along - c->from_along) +
                   fmax(beam, 0.5 * g->reach_along);
    job->count = 0;
    add_spot(job, place, at, m_each);
    struct pe_near near = pe_grid_near(g, at, across, along);
    for (size_t i; (i = pe_near_next(&near)) != PLYECHO_NO_PLACE;)
        if (i != place)
            add_spot(job, i, at, m_each);
}

static bool has_cell_alone(const struct job *job)
{
    const struct spot *own = &job->spots[0];
    /* what rounding leaves of a border */
    double slack = 1e-6 * (own->to_along - own->from_along + own->to_across - own->from_across);
    for (size_t k = 1; k < job->count; k++) {
        const struct spot *s = &job->spots[k];
        if (fmin(own->to_across, s->to_across) - fmax(own->from_across, s->from_across) >
                slack &&
            fmin(own->to_along, s->to_along) - fmax(own->from_along, s->from_along) > slack)
            return false;
    }
    return true;
}

static bool sees_all_of_its_cell(const struct job *job)
{
    const struct spot *own = &job->spots[0];
    return own->read && hypot(fmax(-own->from_across, own->to_across),
                              fmax(-own->from_along, own->to_along)) <= 0.5 * job->beam_m;
}

static bool seen(const struct job *job, double x, double y)
{
    double within = 0.25 * job->beam_m * job->beam_m;
    for (size_t k = 0; k < job->count; k++) {
        const struct spot *s = &job->spots[k];
        double dx = x - s->across, dy = y - s->along;
        if (s->read && dx * dx + dy * dy <= within)
            return true;
    }
    return false;
}

/* The share of a point that is this cell's, where cells overlap. */
static double share_of_point(const struct job *job, double x, double y)
{
    size_t cells = 1;
    for (size_t k = 1; k < job->count; k++) {
        const struct spot *s = &job->spots[k];
        cells += x > s->from_across && x < s->to_across && y > s->from_along && y < s->to_along;
    }
    return 1.0 / (double)cells;
}

static size_t add_cut(const struct job *job, size_t count, double x)
{
    if (x > job->spots[0].from_across && x < job->spots[0].to_across)
        job->cuts[count++] = x;
    return count;
}

/* Where on a line through the cell anything may change, rising, its ends among them. */
static size_t cut_line(const struct job *job, double y, bool alone)
{
    double radius = 0.5 * job->beam_m;
    size_t count = 0;
    job->cuts[count++] = job->spots[0].from_across;
    job->cuts[count++] = job->spots[0].to_across;
    for (size_t k = 0; k < job->count; k++) {
        const struct spot *s = &job->spots[k];
        double dy = fabs(y - s->along);
        if (s->read && dy < radius) {
            double half = sqrt((radius - dy) * (radius + dy));
            count = add_cut(job, count, s->across - half);
            count = add_cut(job, count, s->across + half);
        }
        if (!alone && y > s->from_along && y < s->to_along) {
            count = add_cut(job, count, s->from_across);
            count = add_cut(job, count, s->to_across);
        }
    }
    pe_sort_doubles(job->cuts, count);
    return count;
}

static void add_lines(const struct job *job, bool alone, double *area, double *covered)
{
    const struct spot *own = &job->spots[0];
    double height = (own->to_along - own->from_along) / LINES;
    for (int line = 0; line < LINES; line++) {
        double y = own->from_along + (line + 0.5) * height;
        size_t cuts = cut_line(job, y, alone);
        for (size_t k = 1; k < cuts; k++) {
            double middle = 0.5 * (job->cuts[k - 1] + job->cuts[k]);
            double part = (job->cuts[k] - job->cuts[k - 1]) * height;
            part *= alone ? 1.0 : share_of_point(job, middle, y);
            *area += part;
            if (seen(job, middle, y))
                *covered += part;
        }
    }
}

static void add_cell(struct job *job, size_t place, double *area, double *covered)
{
    double m_each = plyecho_grid_arc_m(job->grid, job->grid->row[place], 1.0, 0.0);
    if (!(m_each > 0.0)) {
        *area = *covered = NAN;
        return;
    }
    gather(job, place, m_each);
    const struct spot *own = &job->spots[0];
    bool alone = has_cell_alone(job);
    if (alone && (job->beam_m == 0.0 || sees_all_of_its_cell(job))) {
        double whole = (own->to_across - own->from_across) * (own->to_along - own->from_along);
        *area += whole;
        *covered += job->beam_m > 0.0 ? whole : 0.0;
    } else {
        add_lines(job, alone, area, covered);
    }
}

enum plyecho_code pe_coverage_area(const struct plyecho_grid *grid, const bool *read,
                                   double beam_m, double *area_m2, double *seen_m2,
                                   struct plyecho_error *err)
{
    *area_m2 = *seen_m2 = 0.0;
    struct plyecho_cell *cells = pe_alloc(grid->count, sizeof *cells);
    struct spot *spots = pe_alloc(grid->count, sizeof *spots);
    double *cuts = pe_alloc(grid->count + 1, 4 * sizeof *cuts);
    bool got = cells != NULL && spots != NULL && cuts != NULL;
    struct job job = {grid, cells, read, beam_m, spots, 0, cuts};
    for (size_t i = 0; got && i < grid->count; i++)
        cells[i] = plyecho_grid_cell(grid, i);
    for (size_t i = 0; got && i < grid->count; i++)
        add_cell(&job, i, area_m2, seen_m2);
    free(cells);
    free(spots);
    free(cuts);
    return got ? PLYECHO_OK
               : plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the coverage");
}
