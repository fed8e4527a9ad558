/* Whole traces held against those of sound places: what one trace's fit tells, and no other of its echoes bears out. */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "context_inside.h"

static bool keeps_back(const struct plyecho_place_reading *r,
                       const struct plyecho_known *usual_db)
{
    return r->balance_db.known && usual_db->known &&
           r->balance_db.value > usual_db->value - pe_weaker_db;
}

static bool is_as(const struct pe_usual_traces *usual, const struct plyecho_place_reading *r)
{
    return pe_is_of_wall(usual, r) && pe_profile_is_within(&usual->range, &r->profile);
}

/* Have three neighbours that are sound, and most of them, the wall that this one has? */
static bool has_wall_around(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_known wall = pe_end_of_wall(&n->readings[place]);
    size_t near[PLYECHO_NEIGHBOURS], others = 0, same = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *other = &n->readings[near[k]];
        others += other->read && other->second != PLYECHO_UNREADABLE;
        same += pe_is_sound(other) && other->wall_seen &&
                fabs(other->wall_m - wall.value) <= pe_same_wall_m;
    }
    return wall.known && same >= 3 && 2 * same > others;
}

/* A delamination next to it at the depth that it tells: it may be of that. */
static bool is_beside_same(const struct pe_neighbourhood *n, size_t place, double within_m)
{
    const struct plyecho_place_reading *r = &n->readings[place];
    const struct plyecho_known depth_m = {true, r->depth_m};
    return r->has_indication && pe_delamination_beside(n, place, &depth_m, within_m) != NULL;
}

/* What it tells may be of its neighbours as well. */
static bool is_shared(const struct pe_neighbourhood *n, size_t place)
{
    return is_beside_same(n, place, pe_same_depth_m) ||
           (n->readings[place].has_indication && pe_runs_on(n, place));
}

/* Told inside by its fit, or not decided; but nothing stands higher, at any depth, than at the sound places. It stays
 * flagged: it was not told by itself. */
static void judge_as_sound(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    bool told = r->second_flagged && (r->second == PLYECHO_INNER_ECHO ||
                                      (r->second == PLYECHO_UNDECIDED && pe_record_holds(r) &&
                                       r->reason != PLYECHO_REASON_SHOTS_DISAGREE));
    if (!told || !is_as(&n->sound_traces, r) || !keeps_back(r, &n->sound.balance_db) ||
        !has_wall_around(n, place) || is_shared(n, place))
        return;
    r->second = PLYECHO_NO_INDICATION;
    r->context = PLYECHO_CONTEXT_LAMINATE;
    r->second_wall_m = pe_end_of_wall(r);
    r->second_wall_u_m = r->wall_seen ? r->wall_u_m : r->lone_u_m;
}

/* Flagged for an echo besides those of the declared layers alone; but its whole trace is as where these are as declared, and as
 * its neighbours': how far that one reached above the laminate was the fit's. What is told of the layers themselves
 * stands: a small disbond may leave the height of a glue line's echo as it was. */
static void judge_as_declared(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    if (r->second != PLYECHO_INNER_ECHO || !r->second_flagged || !r->besides || !r->wall_seen ||
        !is_as(&n->declared_traces, r) || !keeps_back(r, &n->declared_balance_db) ||
        is_beside_same(n, place, pe_same_interface_m))
        return;
    const struct plyecho_profile off = pe_off_neighbours(n, place);
    if (!pe_profile_is_within(&n->declared_off, &off))
        return;
    r->second_flagged = false;
    r->context = PLYECHO_CONTEXT_AROUND;
}

/* Told at a depth where nothing stands, next to a delamination where it stands highest: that is its depth. Else not
 * known. */
static struct plyecho_known depth_beside(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_known unknown = {false, 0.0};
    const struct plyecho_place_reading *r = &n->readings[place];
    if (r->second != PLYECHO_DELAMINATION || !r->has_indication || pe_has_told_echo(n, r))
        return unknown;
    struct plyecho_known highest_m = pe_profile_highest_m(&n->sound_traces.range, &r->profile);
    highest_m.value -= n->sound_traces.coat_m;
    const struct plyecho_place_reading *beside =
        highest_m.known ? pe_delamination_beside(n, place, &highest_m, pe_same_depth_m) : NULL;
    return beside == NULL ? unknown : (struct plyecho_known){true, beside->second_depth_m};
}

static bool is_open(const struct plyecho_place_reading *r)
{
    return r->read && r->context == PLYECHO_CONTEXT_NONE;
}

/* All are looked at before one is changed. */
static enum plyecho_code judge_depths(const struct pe_neighbourhood *n,
                                      struct plyecho_error *err)
{
    struct plyecho_known *depth_m = pe_alloc(n->grid->count, sizeof *depth_m);
    if (depth_m == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", n->grid->count);
    for (size_t i = 0; i < n->grid->count; i++)
        if (is_open(&n->readings[i]))
            depth_m[i] = depth_beside(n, i);
    for (size_t i = 0; i < n->grid->count; i++)
        if (depth_m[i].known) {
            n->readings[i].context = PLYECHO_CONTEXT_EDGE;
            n->readings[i].second_depth_m = depth_m[i].value;
        }
    free(depth_m);
    return PLYECHO_OK;
}

/* Depths first: what is told next to a delamination is looked for at that. */
enum plyecho_code pe_context_traces(struct pe_neighbourhood *n, struct plyecho_error *err)
{
    enum plyecho_code code = judge_depths(n, err);
    for (size_t i = 0; code == PLYECHO_OK && i < n->grid->count; i++)
        if (is_open(&n->readings[i])) {
            judge_as_sound(n, i);
            judge_as_declared(n, i);
        }
    return code;
}
