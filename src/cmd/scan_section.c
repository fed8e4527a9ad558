#include <config.h>

#include "scan_section.h"

#include <math.h>
#include <stdlib.h>

#include <plyecho/walls.h>

#include "memory.h"

enum { DEPTHS = 400 };

/* Shown beyond the thickest wall, so that its back stands clear. */
static const double beyond = 1.25;

/* ---- which one ---- */

/* round: what closes the line, 360 degrees; 0 where nothing does. */
static double apart(double a, double b, double round)
{
    return round > 0.0 ? fabs(remainder(a - b, round)) : fabs(a - b);
}

static size_t nearest(const double *at, size_t count, double wanted, double round)
{
    size_t best = 0;
    for (size_t k = 1; k < count; k++)
        if (apart(at[k], wanted, round) < apart(at[best], wanted, round))
            best = k;
    return best;
}

/* Of the worst indication inside, else of the least wall. */
static size_t telling_place(const struct scan_results *r)
{
    const struct plyecho_indication *worst = NULL;
    for (size_t i = 0; i < r->indications; i++) {
        const struct plyecho_indication *n = &r->indication[i];
        if (plyecho_verdict_has_echo(n->kind) &&
            (worst == NULL || fabs(n->strength) > fabs(worst->strength)))
            worst = n;
    }
    return worst != NULL ? worst->worst : plyecho_walls_take(r->reading, r->places.count).least;
}

static void choose(struct scan_section *s, const struct scan_section_wanted *wanted,
                   const struct scan_results *r)
{
    const struct plyecho_grid *g = r->grid;
    s->along_row = !wanted->column.known;
    if (wanted->column.known)
        s->index = nearest(g->across, g->columns, wanted->column.value, g->tube ? 360.0 : 0.0);
    else if (wanted->row_m.known)
        s->index = nearest(g->along, g->rows, wanted->row_m.value, 0.0);
    else
        s->index = g->row[telling_place(r)];
}

static void gather(struct scan_section *s, const struct plyecho_grid *g)
{
    size_t length = s->along_row ? g->columns : g->rows;
    s->place = memory_take(length, sizeof *s->place);
    for (size_t k = 0; k < length; k++) {
        size_t row = s->along_row ? s->index : k, column = s->along_row ? k : s->index;
        size_t place = g->place[row * g->columns + column];
        if (place != PLYECHO_NO_PLACE)
            s->place[s->count++] = place;
    }
}

/* ---- its traces ---- */

static double deepest(const struct scan_section *s, const struct scan_results *r)
{
    double depth = 0.0;
    for (size_t k = 0; k < s->count; k++) {
        const struct plyecho_place_reading *p = &r->reading[s->place[k]];
        if (p->nominal_m.known)
            depth = fmax(depth, p->nominal_m.value);
        if (p->wall_seen)
            depth = fmax(depth, p->wall_m);
        if (p->has_indication)
            depth = fmax(depth, p->depth_m);
    }
    return depth > 0.0 ? depth : 5e-3;
}

/* Time of the wall's front; NAN where none was told. */
static double front_time(const struct plyecho_conditioned *c,
                         const struct plyecho_wall_options *wall)
{
    struct plyecho_picks picks;
    plyecho_wall_pick(c, wall, &picks);
    if (picks.contact)
        return wall->zero_s.known ? wall->zero_s.value : 0.0;
    return picks.front >= 0 ? picks.echoes[picks.front].time_s : NAN;
}

/* The envelope over depth, by straight lines between samples. */
static void resample(const struct scan_section *s, const struct plyecho_conditioned *c,
                     double front_s, double velocity_m_s, float *level)
{
    for (size_t k = 0; k < s->depths; k++) {
        double time = front_s + 2.0 * (double)k * s->step_m / velocity_m_s;
        double at = (time - c->start_s) * c->sample_rate_hz;
        level[k] = NAN;
        if (!(at >= 0.0) || at >= (double)(c->samples - 1))
            continue;
        size_t i = (size_t)at;
        double share = at - (double)i;
        level[k] = (float)((1.0 - share) * (double)c->envelope[i] +
                           share * (double)c->envelope[i + 1]);
    }
}

static void take_trace(struct scan_section *s, const struct scan_run *run, struct setup *setup,
                       const struct plyecho_shot *shot, struct scan_file *file, float *level)
{
    struct plyecho_trace trace;
    struct plyecho_conditioned conditioned;
    struct plyecho_error err;
    double front_s = NAN;
    scan_file_read(run, shot->file, file);
    setup_begin_file(setup);
    bool good = scan_file_trace(run, file, shot, &trace, &err) == PLYECHO_OK &&
                setup_condition(setup, &trace, &conditioned, &err) == PLYECHO_OK;
    if (good)
        front_s = front_time(&conditioned, &setup->assess.wall);
    for (size_t k = 0; k < s->depths; k++)
        level[k] = NAN;
    if (isfinite(front_s))
        resample(s, &conditioned, front_s, setup->assess.wall.velocity_m_s, level);
}

void scan_section_take(struct scan_section *s, const struct scan_section_wanted *wanted,
                       const struct scan_results *r, const struct scan_run *run,
                       struct setup *setup)
{
    struct scan_file file = {.name = NULL};
    *s = (struct scan_section){.depths = DEPTHS};
    choose(s, wanted, r);
    gather(s, r->grid);
    s->step_m = beyond * deepest(s, r) / (DEPTHS - 1);
    s->level = memory_take(r->places.count * s->depths, sizeof *s->level);
    for (size_t k = 0; k < s->count; k++)
        take_trace(s, run, setup, &r->manifest->shot[r->best[s->place[k]]], &file,
                   s->level + s->place[k] * s->depths);
    scan_file_clear(&file);
}

void scan_section_clear(struct scan_section *s)
{
    free(s->place);
    free(s->level);
    *s = (struct scan_section){.count = 0};
}
