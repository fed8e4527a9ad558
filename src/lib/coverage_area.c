#include "coverage_parts.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "grid_near.h"

/* On each of so many lines along a cell the length that is seen is exact. */
enum { LINES = 64 };

/* In m from the cell's own place. */
struct rectangle {
    double from_across, to_across, from_along, to_along;
};

/* A place near a cell, with its own cell. */
struct spot {
    double across, along;
    struct rectangle cell;
    bool sees_part; /* its beam a part of the cell that is looked at */
    bool shares;    /* its cell lies over that one */
};

/* On a line through a cell: so many beams and other cells begin (or end) here. */
struct cut {
    double across;
    int beams, cells;
};

struct job {
    const struct plyecho_grid *grid;
    const struct plyecho_cell *cells;
    const bool *read;
    double beam_m;
    struct rectangle own; /* the cell */
    bool whole_seen;      /* by one beam */
    bool part_seen, alone;
    struct spot *spots; /* [places] those that see a part of the cell or share it */
    size_t count;
    struct cut *cuts; /* [4 * places + 4]: a spot makes four at most, the cell two */
};

/* ---- who is near ---- */

static double signed_apart(const struct plyecho_grid *g, double from, double to)
{
    double apart = to - from;
    return g->tube ? apart - 360.0 * round(apart / 360.0) : apart;
}

static struct spot spot_of(const struct job *job, size_t place, struct plyecho_place from,
                           double m_each)
{
    const struct plyecho_grid *g = job->grid;
    const struct plyecho_cell *c = &job->cells[place];
    double across = g->across[g->column[place]], along = g->along[g->row[place]];
    double x = m_each * signed_apart(g, from.across, across), y = along - from.along;
    return (struct spot){x,
                         y,
                         {x + m_each * (c->from_across - across),
                          x + m_each * (c->to_across - across), y + c->from_along - along,
                          y + c->to_along - along},
                         false,
                         false};
}

/* Which of the cell its beam sees: all, a part, nothing. */
static void note_beam(struct job *job, struct spot *s)
{
    const struct rectangle *own = &job->own;
    double radius = 0.5 * job->beam_m;
    double far_across = fmax(own->to_across - s->across, s->across - own->from_across);
    double far_along = fmax(own->to_along - s->along, s->along - own->from_along);
    double across = fmax(own->from_across - s->across, s->across - own->to_across);
    double along = fmax(own->from_along - s->along, s->along - own->to_along);
    if (hypot(far_across, far_along) <= radius)
        job->whole_seen = true;
    else
        s->sees_part = hypot(fmax(across, 0.0), fmax(along, 0.0)) < radius;
    job->part_seen = job->part_seen || s->sees_part;
}

static void note_cell(struct job *job, struct spot *s)
{
    const struct rectangle *own = &job->own, *cell = &s->cell;
    double across =
        fmin(own->to_across, cell->to_across) - fmax(own->from_across, cell->from_across);
    double along =
        fmin(own->to_along, cell->to_along) - fmax(own->from_along, cell->from_along);
    /* what rounding leaves of a border */
    double slack = 1e-6 * (own->to_along - own->from_along + own->to_across - own->from_across);
    job->alone = job->alone && !(across > slack && along > slack);
    s->shares = across > 0.0 && along > 0.0;
}

/* Those within a reach of the cell that see a part of it or share it. */
static void gather(struct job *job, size_t place, double m_each, double reach_across,
                   double reach_along)
{
    const struct plyecho_grid *g = job->grid;
    const struct plyecho_cell *c = &job->cells[place];
    struct plyecho_place at = {g->across[g->column[place]], g->along[g->row[place]]};
    double across = fmax(c->to_across - at.across, at.across - c->from_across) + reach_across;
    double along = fmax(c->to_along - at.along, at.along - c->from_along) + reach_along;
    job->own = spot_of(job, place, at, m_each).cell;
    job->whole_seen = job->part_seen = false;
    job->alone = true;
    job->count = 0;
    struct pe_near near = pe_grid_near(g, at, across, along);
    for (size_t i; (i = pe_near_next(&near)) != PLYECHO_NO_PLACE;) {
        struct spot s = spot_of(job, i, at, m_each);
        if (job->read[i])
            note_beam(job, &s);
        if (i != place)
            note_cell(job, &s);
        if (s.shares || s.sees_part)
            job->spots[job->count++] = s;
    }
}

/* All places whose beam or cell may reach into the place's cell. A cell goes no further than half of the grid's
 * reach; a wide beam does, but is not asked where one from near by sees it all. */
static void gather_all(struct job *job, size_t place, double m_each)
{
    double across = 0.5 * job->grid->reach_across, along = 0.5 * job->grid->reach_along;
    double beam = 0.5 * job->beam_m;
    gather(job, place, m_each, across, along);
    if (!job->whole_seen && (beam / m_each > across || beam > along))
        gather(job, place, m_each, fmax(beam / m_each, across), fmax(beam, along));
}

/* ---- line by line ---- */

static int by_across(const void *a, const void *b)
{
    const struct cut *x = a, *y = b;
    return (x->across > y->across) - (x->across < y->across);
}

/* The stretch of a line, as far as it lies in the cell. */
static size_t add_stretch(const struct job *job, size_t count, double from, double to,
                          int beams, int cells)
{
    from = fmax(from, job->own.from_across);
    to = fmin(to, job->own.to_across);
    if (!(from < to))
        return count;
    job->cuts[count++] = (struct cut){from, beams, cells};
    job->cuts[count++] = (struct cut){to, -beams, -cells};
    return count;
}

/* Where on a line through the cell anything may change, rising, its ends among them. */
static size_t cut_line(const struct job *job, double y)
{
    double radius = 0.5 * job->beam_m;
    size_t count = add_stretch(job, 0, job->own.from_across, job->own.to_across,
                               job->whole_seen ? 1 : 0, 0);
    for (size_t k = 0; k < job->count; k++) {
        const struct spot *s = &job->spots[k];
        double dy = fabs(y - s->along);
        if (s->sees_part && !job->whole_seen && dy < radius) {
            double half = sqrt((radius - dy) * (radius + dy));
            count = add_stretch(job, count, s->across - half, s->across + half, 1, 0);
        }
        if (!job->alone && s->shares && y > s->cell.from_along && y < s->cell.to_along)
            count = add_stretch(job, count, s->cell.from_across, s->cell.to_across, 0, 1);
    }
    qsort(job->cuts, count, sizeof *job->cuts, by_across);
    return count;
}

/* Where several cells share a stretch, each has its part of it. */
static void add_lines(const struct job *job, double *area, double *covered)
{
    const struct rectangle *own = &job->own;
    double height = (own->to_along - own->from_along) / LINES;
    for (int line = 0; line < LINES; line++) {
        size_t cuts = cut_line(job, own->from_along + (line + 0.5) * height);
        int beams = 0, cells = 1;
        for (size_t k = 0; k + 1 < cuts; k++) {
            beams += job->cuts[k].beams;
            cells += job->cuts[k].cells;
            double part = (job->cuts[k + 1].across - job->cuts[k].across) * height;
            part *= 1.0 / (double)cells;
            *area += part;
            if (beams > 0)
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
    gather_all(job, place, m_each);
    if (job->alone && (job->whole_seen || !job->part_seen)) {
        const struct rectangle *own = &job->own;
        double whole = (own->to_across - own->from_across) * (own->to_along - own->from_along);
        *area += whole;
        *covered += job->whole_seen ? whole : 0.0;
    } else {
        add_lines(job, area, covered);
    }
}

enum plyecho_code pe_coverage_area(const struct plyecho_grid *grid, const bool *read,
                                   double beam_m, double *area_m2, double *seen_m2,
                                   struct plyecho_error *err)
{
    *area_m2 = *seen_m2 = 0.0;
    struct plyecho_cell *cells = pe_alloc(grid->count, sizeof *cells);
    struct spot *spots = pe_alloc(grid->count, sizeof *spots);
    struct cut *cuts = pe_alloc(grid->count + 1, 4 * sizeof *cuts);
    bool got = cells != NULL && spots != NULL && cuts != NULL;
    struct job job = {.grid = grid,
                      .cells = cells,
                      .read = read,
                      .beam_m = beam_m,
                      .spots = spots,
                      .cuts = cuts};
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
