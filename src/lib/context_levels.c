/* What sound places' levels say of the others: edges, the laminate's own echoes, weak back walls, places alone. */
#include <math.h>

#include "context_inside.h"

/* A back wall so much weaker than the sound ones' is lossy (6 dB: half; common practice, no source). */
static const double weak_db = 6.0;

/* An echo may pass for the laminate's own up to this share of its own reportable level: our choice. */
static const double passes_below = 1.25;

/* ---- neighbours ---- */

/* Does anything show here, reportable or not? */
static bool shows(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r)
{
    bool high = r->highest_inner.known && n->sound.level.known &&
                r->highest_inner.value > n->sound.level.value;
    bool inside = (r->has_indication || high) && !pe_is_declared(r);
    return r->second_flagged || inside || pe_lost_db(n, r) > pe_weaker_db;
}

static bool at_depth(const struct plyecho_place_reading *r, struct plyecho_known *depth_m)
{
    bool lone = !r->has_indication && r->verdict == PLYECHO_UNDECIDED && r->lone_m.known;
    *depth_m = lone ? r->lone_m : (struct plyecho_known){r->has_indication, r->depth_m};
    return depth_m->known;
}

static bool any_delamination_beside(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_known any_depth = {false, 0.0};
    return pe_delamination_beside(n, place, &any_depth, 0.0) != NULL;
}

/* ---- what is faint ---- */

/* Hardly told at all, with the back wall where it belongs: what odds say so little of may pass for the laminate's own up to
 * the highest level that is ever learnt. */
static bool is_faint(const struct plyecho_place_reading *r)
{
    static const double faint_odds = 3.0;
    bool told = r->verdict == PLYECHO_INNER_ECHO ||
                (r->verdict == PLYECHO_UNDECIDED && r->reason == PLYECHO_REASON_NONE);
    return r->read && r->flagged && told && r->wall_seen && r->highest_inner.known &&
           r->range_known && r->evidence_ratio < faint_odds &&
           r->highest_inner.value <= pe_highest_level * r->level;
}

/* An echo up to twice the laminate's own is pulled about by those: its depth is not well told. */
static bool is_pulled(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r)
{
    static const double strong = 2.0;
    return r->has_indication && n->sound.level.known &&
           fabs(r->strength) <= strong * n->sound.level.value;
}

/* ---- the rules ---- */

static void set(struct plyecho_place_reading *r, enum plyecho_verdict second, bool flagged,
                enum plyecho_context context)
{
    r->second = second;
    r->second_flagged = flagged;
    r->context = context;
}

/* What passed, but with a back wall far below that of the others. Beside a layer's end it is the layer's back that is
 * weak. */
static void judge_weak(const struct pe_neighbourhood *n, struct plyecho_place_reading *r)
{
    bool passed = (r->second == PLYECHO_NO_INDICATION && r->context != PLYECHO_CONTEXT_STEP) ||
                  pe_is_declared(r);
    if (r->read && passed && pe_lost_db(n, r) >= weak_db)
        set(r, PLYECHO_ATTENUATED, true, PLYECHO_CONTEXT_WEAK);
}

/* An interface that is declared, or that the neighbours have as well, stays one unless it is stronger than those. */
static bool may_be_edge(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_place_reading *r = &n->readings[place];
    if (r->second != PLYECHO_INNER_ECHO)
        return r->second == PLYECHO_UNDECIDED && pe_record_holds(r);
    const struct plyecho_known around = pe_interface_around(n, place),
                               *usual = r->second_flagged ? &around : &n->declared_strength;
    bool strong = usual->known && fabs(r->strength) > pe_stronger * usual->value;
    return strong || (r->second_flagged && !usual->known);
}

/* Undecided with the wall seen, but an echo somewhere inside that is above the sound places': next to a delamination it
 * is that. */
static bool is_blurred(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r)
{
    return r->second == PLYECHO_UNDECIDED && r->reason == PLYECHO_REASON_NONE && r->wall_seen &&
           r->highest_inner.known && n->sound.level.known &&
           r->highest_inner.value > n->sound.level.value;
}

/* What the delamination took from the back wall, where nothing else tells how strong it is here: at its edge, 6 dB
 * below the neighbour. */
static double strength_at_edge(const struct pe_neighbourhood *n,
                               const struct plyecho_place_reading *r,
                               const struct plyecho_place_reading *beside)
{
    if (is_blurred(n, r))
        return -r->highest_inner.value;
    double lost = pe_lost_db(n, r);
    return lost > 0.0 ? -(1.0 - pow(10.0, -lost / 20.0)) : 0.5 * beside->second_strength;
}

/* Next to a delamination the beam is partly on it. An echo has to lie at its depth; a lost back wall has none. */
static void judge_edge(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    if (!r->read || (r->context == PLYECHO_CONTEXT_NONE && is_faint(r)))
        return;
    struct plyecho_known depth_m = {false, 0.0};
    bool weak = r->second == PLYECHO_ATTENUATED;
    bool has_depth = !weak && at_depth(r, &depth_m);
    bool faint = r->second == PLYECHO_NO_INDICATION && shows(n, r);
    bool pulled = has_depth && is_pulled(n, r);
    if (!faint && !weak && !(has_depth && may_be_edge(n, place)) && !is_blurred(n, r))
        return;
    const struct plyecho_place_reading *beside = pe_delamination_beside(
        n, place, &depth_m, pulled ? pe_same_interface_m : pe_same_depth_m);
    if (beside == NULL)
        return;
    r->context = PLYECHO_CONTEXT_EDGE;
    if (faint) /* not enough to be told; it helps to see where the edge lies */
        return;
    if (!has_depth || !r->has_indication)
        r->second_strength = strength_at_edge(n, r, beside);
    r->second_depth_m = has_depth && !pulled ? depth_m.value : beside->second_depth_m;
    set(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
}

static void judge_laminate(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    bool undeclared = r->read && r->second == PLYECHO_INNER_ECHO && r->flagged;
    if (!undeclared || !n->sound.level.known || !r->range_known || !r->has_indication)
        return;
    bool sound_else =
        r->reason == PLYECHO_REASON_NONE || r->reason == PLYECHO_REASON_NO_NOMINAL;
    double strength = fabs(r->strength);
    if (r->highest_inner.known)
        strength = fmax(strength, r->highest_inner.value);
    if (sound_else && strength <= n->sound.level.value && strength < passes_below * r->level &&
        !pe_runs_on(n, place) && !any_delamination_beside(n, place))
        set(r, PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_LAMINATE);
}

/* Is the neighbour so near that a flaw as wide as the beam would reach into it? Where nothing tells, yes. */
static bool is_near(const struct pe_neighbourhood *n, size_t a, size_t b)
{
    const struct plyecho_grid *g = n->grid;
    if (!n->options.beam_m.known)
        return true;
    double up = plyecho_grid_across(g, g->column[a], g->column[b]);
    double down = plyecho_grid_across(g, g->column[b], g->column[a]);
    double across = g->tube ? fmin(up, down) : fabs(up);
    double arc = plyecho_grid_arc_m(g, g->row[a], across, 0.0);
    double along = g->along[g->row[a]] - g->along[g->row[b]];
    return !(hypot(arc, along) > n->options.beam_m.value);
}

/* Is the neighbour as faint as the place, and not at its depth? Then it is no more of the same. */
static bool is_faint_elsewhere(const struct plyecho_place_reading *r,
                               const struct plyecho_place_reading *other)
{
    bool as_told =
        other->context == PLYECHO_CONTEXT_NONE || other->second == PLYECHO_NO_INDICATION;
    bool same_depth = r->has_indication && other->has_indication &&
                      fabs(r->depth_m - other->depth_m) <= pe_same_interface_m;
    return as_told && is_faint(r) && is_faint(other) && !same_depth;
}

/* Does none of its neighbours show anything of it? There must be enough of them within a beam. */
static bool stands_alone(const struct pe_neighbourhood *n, size_t place)
{
    size_t near[PLYECHO_NEIGHBOURS], others = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *other = &n->readings[near[k]];
        if (!other->read || other->second == PLYECHO_UNREADABLE || !is_near(n, place, near[k]))
            continue;
        others++;
        if (shows(n, other) && !is_faint_elsewhere(&n->readings[place], other))
            return false;
    }
    return others >= (n->grid->rows == 1 || n->grid->columns == 1 ? 2u : 4u);
}

/* Next to a delamination what is faint is that in the beam's rim, all alone the laminate. It stays flagged. */
static void judge_faint(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    if (r->context != PLYECHO_CONTEXT_NONE || !is_faint(r))
        return;
    if (any_delamination_beside(n, place))
        set(r, PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_EDGE);
    else if (stands_alone(n, place))
        set(r, PLYECHO_NO_INDICATION, true, PLYECHO_CONTEXT_LAMINATE);
}

static void judge_alone(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    bool flagged = r->read && r->second_flagged && r->second != PLYECHO_UNREADABLE;
    if (flagged && r->context == PLYECHO_CONTEXT_NONE && stands_alone(n, place))
        r->context = PLYECHO_CONTEXT_ALONE;
}

void pe_context_levels(struct pe_neighbourhood *n)
{
    size_t count = n->grid->count;
    /* a weak back wall next to a delamination is its edge, so edges come behind; what is an edge is not the
     * laminate; and only what is left can stand alone */
    for (size_t i = 0; i < count; i++)
        judge_weak(n, &n->readings[i]);
    for (size_t i = 0; i < count; i++)
        judge_edge(n, i);
    for (size_t i = 0; i < count; i++)
        judge_faint(n, i);
    for (size_t i = 0; i < count; i++)
        judge_laminate(n, i);
    for (size_t i = 0; i < count; i++)
        judge_alone(n, i);
}
