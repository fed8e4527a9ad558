#include "indication_groups.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "sets.h"

/* Depths of one interface differ by less from place to place, whatever the readings' uncertainty. */
static const double same_depth_m = 0.3e-3;

static bool is_indication(const struct plyecho_place_reading *reading)
{
    return !plyecho_place_unread(reading) && reading->second != PLYECHO_NO_INDICATION;
}

static double depth_u(const struct plyecho_place_reading *reading)
{
    return reading->depth_u_m.known ? reading->depth_u_m.value : 0.0;
}

/* A delamination steps from ply to ply and stays one; two interfaces are two. What is not as a declared layer should be
 * is never part of one that is. */
static bool alike(const struct plyecho_place_reading *a, const struct plyecho_place_reading *b)
{
    if (a->second != b->second)
        return false;
    if (a->second != PLYECHO_INNER_ECHO)
        return true;
    if (a->second_flagged != b->second_flagged)
        return false;
    double jump = fabs(a->second_depth_m - b->second_depth_m);
    return !(jump > fmax(same_depth_m, 3.0 * hypot(depth_u(a), depth_u(b))));
}

/* What a walk over the places needs. */
struct walk {
    const struct plyecho_grid *grid;
    const struct plyecho_place_reading *readings;
    const bool *member;
    size_t *lead;
};

static void join_neighbours(const struct walk *w)
{
    for (size_t i = 0; i < w->grid->count; i++) {
        size_t near[PLYECHO_NEIGHBOURS];
        size_t count = w->member[i] ? plyecho_grid_neighbours(w->grid, i, near) : 0;
        for (size_t k = 0; k < count; k++)
            if (w->member[near[k]] && alike(&w->readings[i], &w->readings[near[k]]))
                pe_sets_join(w->lead, i, near[k]);
    }
}

/* A dry spot between two places alike on a line parts nothing. bridge[i]: one of them, or no place. */
static void join_over(const struct walk *w, enum plyecho_direction next,
                      enum plyecho_direction before, size_t *bridge)
{
    for (size_t i = 0; i < w->grid->count; i++) {
        bridge[i] = PLYECHO_NO_PLACE;
        if (!plyecho_place_unread(&w->readings[i]))
            continue;
        size_t a = plyecho_grid_step(w->grid, i, next),
               b = plyecho_grid_step(w->grid, i, before);
        if (a == PLYECHO_NO_PLACE || b == PLYECHO_NO_PLACE || a == b || !w->member[a] ||
            !w->member[b] || !alike(&w->readings[a], &w->readings[b]))
            continue;
        pe_sets_join(w->lead, a, b);
        bridge[i] = a;
    }
}

/* From a place on one side to its group. */
static void name_bridges(const struct pe_groups *groups, size_t *bridge, size_t count)
{
    for (size_t i = 0; i < count; i++)
        bridge[i] = bridge[i] == PLYECHO_NO_PLACE ? 0 : groups->of[bridge[i]];
}

static enum plyecho_code list_members(struct pe_groups *groups, size_t count,
                                      struct plyecho_error *err)
{
    groups->start = pe_alloc(groups->count + 1, sizeof *groups->start);
    if (groups->start == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the indications");
    /* counted, then summed up: each start moves to its end, and back by one group at last */
    for (size_t i = 0; i < count; i++)
        if (groups->of[i] > 0)
            groups->start[groups->of[i]]++;
    for (size_t k = 1; k <= groups->count; k++)
        groups->start[k] += groups->start[k - 1];
    for (size_t i = 0; i < count; i++)
        if (groups->of[i] > 0)
            groups->member[groups->start[groups->of[i] - 1]++] = i;
    memmove(groups->start + 1, groups->start, groups->count * sizeof *groups->start);
    groups->start[0] = 0;
    return PLYECHO_OK;
}

static void connect(struct pe_groups *groups, const struct walk *w)
{
    size_t count = w->grid->count;
    pe_sets_begin(w->lead, count);
    join_neighbours(w);
    join_over(w, PLYECHO_NEXT_ACROSS, PLYECHO_BEFORE_ACROSS, groups->bridge_across);
    join_over(w, PLYECHO_NEXT_ALONG, PLYECHO_BEFORE_ALONG, groups->bridge_along);
    groups->count = pe_sets_number(w->lead, w->member, count, groups->of);
    name_bridges(groups, groups->bridge_across, count);
    name_bridges(groups, groups->bridge_along, count);
}

enum plyecho_code pe_groups_take(struct pe_groups *groups, const struct plyecho_grid *grid,
                                 const struct plyecho_place_reading *readings,
                                 struct plyecho_error *err)
{
    size_t n = grid->count;
    *groups = (struct pe_groups){0};
    groups->of = pe_alloc(n, sizeof *groups->of);
    groups->bridge_across = pe_alloc(n, sizeof *groups->bridge_across);
    groups->bridge_along = pe_alloc(n, sizeof *groups->bridge_along);
    groups->member = pe_alloc(n, sizeof *groups->member);
    size_t *lead = pe_alloc(n, sizeof *lead);
    bool *member = pe_alloc(n, sizeof *member);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    if (groups->of == NULL || groups->bridge_across == NULL || groups->bridge_along == NULL ||
        groups->member == NULL || lead == NULL || member == NULL) {
        plyecho_fail(err, code, "out of memory for the indications");
    } else {
        for (size_t i = 0; i < n; i++)
            member[i] = is_indication(&readings[i]);
        connect(groups, &(struct walk){grid, readings, member, lead});
        code = list_members(groups, n, err);
    }
    free(lead);
    free(member);
    return code;
}

void pe_groups_clear(struct pe_groups *groups)
{
    free(groups->of);
    free(groups->bridge_across);
    free(groups->bridge_along);
    free(groups->member);
    free(groups->start);
    *groups = (struct pe_groups){0};
}
