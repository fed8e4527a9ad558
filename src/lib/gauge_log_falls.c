/* How the readings around lead to low ones, as context_walls.c asks it of a scan.
 *
 * A delamination ends at its edge: from one place to the next the reading falls by all that it is low, or by more than walls
 * do over the width of a probe. A wall that was filed or worn is reached step by step. So for each connected set of low
 * places the way from the wall to its lowest place is looked for whose largest step is least (minimax).
 */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "gauge_log_inside.h"

/* Largest step over what the lowest place is low, as in context_walls.c; a step above the third share of the wall is a
 * fall whatever follows: our choice. */
static const double falls_at_once = 0.5, falls_in_steps = 0.4, step_share = 0.15;

struct falls {
    struct plyecho_gauge_log *log;
    bool *low;
    size_t *group; /* of each low place, from 1 */
    size_t groups;
    size_t *lowest; /* [groups + 1] place */
};

static double short_by(const struct plyecho_gauge_log *log, size_t place)
{
    return log->wall_off_m - log->place[place].off_m;
}

static double way_to(const struct falls *f, size_t place)
{
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(f->log->grid, place, near);
    double best = INFINITY;
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_gauge_place *from = &f->log->place[near[k]];
        if (from->readings == 0 || from->group == PLYECHO_GAUGE_HIGH)
            continue;
        double step = fabs(from->off_m - f->log->place[place].off_m);
        best = fmin(best, f->low[near[k]] ? fmax(step, from->step_m) : step);
    }
    return best;
}

/* Until nothing changes: steps only get less, to one of finitely many. */
static void find_ways(const struct falls *f)
{
    bool changed = true;
    while (changed) {
        changed = false;
        for (size_t i = 0; i < f->log->count; i++) {
            double way = f->low[i] ? way_to(f, i) : INFINITY;
            if (way < f->log->place[i].step_m) {
                f->log->place[i].step_m = way;
                changed = true;
            }
        }
    }
}

static enum plyecho_gauge_fall fall_of(const struct falls *f, size_t lowest)
{
    const struct plyecho_gauge_log *log = f->log;
    double step = log->place[lowest].step_m, low = short_by(log, lowest);
    if (isinf(step))
        return PLYECHO_GAUGE_FALL_OPEN;
    if (step > step_share * log->level_m)
        return PLYECHO_GAUGE_AT_ONCE;
    if (step <= falls_in_steps * low)
        return PLYECHO_GAUGE_IN_STEPS;
    return step > falls_at_once * low && low > log->tolerance_m ? PLYECHO_GAUGE_AT_ONCE
                                                                : PLYECHO_GAUGE_FALL_OPEN;
}

/* ---- places without a reading ---- */

/* A back wall that is lost over several places may be a delamination or porosity: the rest of a low place. */
static void find_patches(struct plyecho_gauge_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        size_t near[PLYECHO_NEIGHBOURS];
        size_t count = plyecho_grid_neighbours(log->grid, i, near);
        struct plyecho_gauge_place *p = &log->place[i];
        for (size_t k = 0; k < count && p->readings == 0; k++)
            p->in_patch = p->in_patch || log->place[near[k]].readings == 0;
    }
}

static bool is_beside_unread(const struct plyecho_gauge_log *log, size_t place)
{
    size_t near[PLYECHO_NEIGHBOURS], next[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(log->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        if (log->place[near[k]].readings == 0)
            return true;
        size_t further = plyecho_grid_neighbours(log->grid, near[k], next);
        for (size_t n = 0; n < further; n++)
            if (log->place[next[n]].in_patch)
                return true;
    }
    return false;
}

/* Readings that lead down to a place where there is none may lead to the edge of a delamination: no leaning. */
static enum plyecho_code open_beside_unread(const struct falls *f, struct plyecho_error *err)
{
    struct plyecho_gauge_log *log = f->log;
    bool *open = pe_alloc(f->groups + 1, sizeof *open);
    if (open == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu low places", f->groups);
    for (size_t i = 0; i < log->count; i++)
        if (f->low[i] && is_beside_unread(log, i))
            log->place[i].beside_unread = open[f->group[i]] = true;
    for (size_t i = 0; i < log->count; i++)
        if (open[f->group[i]] && log->place[i].fall == PLYECHO_GAUGE_IN_STEPS)
            log->place[i].fall = PLYECHO_GAUGE_FALL_OPEN;
    free(open);
    return PLYECHO_OK;
}

static enum plyecho_code judge(struct falls *f, struct plyecho_error *err)
{
    struct plyecho_gauge_log *log = f->log;
    enum plyecho_code code = plyecho_grid_label(log->grid, f->low, f->group, &f->groups, err);
    if (code != PLYECHO_OK)
        return code;
    f->lowest = pe_alloc(f->groups + 1, sizeof *f->lowest);
    if (f->lowest == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu low places", f->groups);
    find_ways(f);
    for (size_t g = 0; g <= f->groups; g++)
        f->lowest[g] = PLYECHO_NO_PLACE;
    for (size_t i = 0; i < log->count; i++) {
        size_t *lowest = &f->lowest[f->group[i]];
        if (*lowest == PLYECHO_NO_PLACE || short_by(log, i) > short_by(log, *lowest))
            *lowest = i;
    }
    for (size_t i = 0; i < log->count; i++)
        if (f->low[i])
            log->place[i].fall = fall_of(f, f->lowest[f->group[i]]);
    return open_beside_unread(f, err);
}

/* Of places that form no grid nobody knows what lies between them. */
static void leave_open(struct plyecho_gauge_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        struct plyecho_gauge_place *p = &log->place[i];
        p->step_m = INFINITY;
        p->fall =
            p->group == PLYECHO_GAUGE_LOW ? PLYECHO_GAUGE_FALL_OPEN : PLYECHO_GAUGE_NO_FALL;
    }
}

enum plyecho_code pe_gauge_falls(struct plyecho_gauge_log *log, struct plyecho_error *err)
{
    leave_open(log);
    if (log->grid == NULL)
        return PLYECHO_OK;
    find_patches(log);
    struct falls f = {
        .log = log,
        .low = pe_alloc(log->count, sizeof *f.low),
        .group = pe_alloc(log->count, sizeof *f.group),
    };
    enum plyecho_code code = PLYECHO_OK;
    if (f.low == NULL || f.group == NULL) {
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", log->count);
    } else {
        for (size_t i = 0; i < log->count; i++)
            f.low[i] = log->place[i].group == PLYECHO_GAUGE_LOW;
        code = judge(&f, err);
    }
    free(f.low);
    free(f.group);
    free(f.lowest);
    return code;
}
