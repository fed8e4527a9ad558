#include <plyecho/context.h>

#include <math.h>

#include "context_inside.h"

/* What a faulty record leaves undecided is nothing of the part: it is to be read again. */
static void end(struct plyecho_place_reading *r)
{
    if (r->read && r->second == PLYECHO_UNDECIDED && !pe_record_holds(r) &&
        (r->context == PLYECHO_CONTEXT_NONE || r->context == PLYECHO_CONTEXT_ALONE)) {
        r->second = PLYECHO_UNREADABLE;
        r->context = PLYECHO_CONTEXT_NONE;
    }
}

/* Nobody may book the depth of a delamination as a wall. */
static void part_wall_and_depth(struct plyecho_place_reading *r)
{
    if (r->second == PLYECHO_DELAMINATION && r->second_wall_m.known &&
        fabs(r->second_wall_m.value - r->second_depth_m) <= pe_same_wall_m)
        r->second_wall_m.known = r->second_wall_u_m.known = false;
}

/* Until a neighbour says otherwise the raw verdict stands. */
static void begin(struct plyecho_place_reading *r)
{
    r->context = PLYECHO_CONTEXT_NONE;
    r->second = r->verdict;
    r->second_flagged = r->flagged;
    r->second_depth_m = r->has_indication ? r->depth_m : 0.0;
    r->second_strength = r->has_indication ? r->strength : 0.0;
    r->second_wall_m = (struct plyecho_known){r->read && r->wall_seen, r->wall_m};
    r->second_wall_u_m = r->wall_u_m;
}

enum plyecho_code plyecho_context_judge(const struct plyecho_grid *grid,
                                        struct plyecho_place_reading *readings,
                                        const struct plyecho_context_options *options,
                                        struct plyecho_sound_places *sound,
                                        struct plyecho_error *err)
{
    struct pe_neighbourhood n = {.grid = grid, .readings = readings, .options = *options};
    for (size_t i = 0; i < grid->count; i++)
        begin(&readings[i]);
    pe_context_coats(&n);
    /* then walls: a shadow that passes as sound must not tell what is sound, and has edges */
    enum plyecho_code code = pe_context_walls(&n, err);
    if (code == PLYECHO_OK)
        code = pe_context_holes(&n, err);
    if (code == PLYECHO_OK)
        code = pe_context_sound(&n, err);
    if (code == PLYECHO_OK)
        code = pe_context_traces(&n, err);
    if (code == PLYECHO_OK) { /* what a layer's end explains is no edge of a delamination */
        pe_context_layers(&n);
        pe_context_levels(&n);
    }
    for (size_t i = 0; i < grid->count; i++) {
        end(&readings[i]);
        part_wall_and_depth(&readings[i]);
    }
    *sound = n.sound;
    return code;
}
