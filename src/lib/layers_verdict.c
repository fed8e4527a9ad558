#include "layers_verdict.h"

#include <math.h>

#include "layers_match.h"

/* Standard uncertainty of the delay of a lone echo, or of one that a gap gives, in pulse lengths. */
static const double gap_pulses = 0.1;

static bool declared(const struct plyecho_assess_options *o)
{
    return o->layers != NULL && o->layers->count > 0;
}

static struct pe_layers_seen seen_of(const struct pe_evidence *e,
                                     const struct plyecho_conditioned *t)
{
    bool stands = e->picks.back >= 0 && !e->lone && !e->back_is_repeat;
    return (struct pe_layers_seen){
        .interfaces = e->interfaces,
        .count = e->interface_count,
        .centre_hz = t->centre_hz,
        .pulse_s = e->picks.pulse_s,
        .from_s = e->from_s,
        .to_s = e->to_s,
        .level = e->level,
        .transit_s = stands ? e->thickness.time_s : 0.0,
        .transit_u_s = e->thickness.time_u_s,
    };
}

void pe_layers_measure(const struct pe_evidence *e, const struct plyecho_conditioned *t,
                       const struct plyecho_assess_options *o, struct plyecho_assessment *a)
{
    if (!declared(o))
        return;
    struct pe_layers_seen seen = seen_of(e, t);
    pe_layers_read(o->layers, &seen, &a->layers);
    if (!a->layers.wall_m.known)
        return;
    a->thickness.thickness_m = a->layers.wall_m.value;
    a->thickness.thickness_u = a->layers.wall_u;
    if (a->layers.wall_u.known)
        a->thickness.thickness_u.value = hypot(
            a->layers.wall_u.value,
            plyecho_influences_u(&o->wall.influences, a->layers.wall_m.value,
                                 o->wall.velocity_m_s, a->thickness.mode != PLYECHO_MODE_3));
}

bool pe_layers_odds_too_low(const struct plyecho_assessment *a)
{
    bool bare = false;
    for (size_t k = 0; k < a->layers.boundaries; k++)
        bare |= a->layers.boundary[k].state == PLYECHO_BOUNDARY_DECLARED &&
                !a->layers.boundary[k].expected.known;
    return bare && a->next_best == PLYECHO_DELAMINATION &&
           a->evidence_ratio < PE_LEAST_BOND_ODDS;
}

/* Is what was declared seen so, whatever else is? */
static bool boundaries_as_declared(const struct plyecho_assessment *a)
{
    const struct plyecho_layer_reading *r = &a->layers;
    bool any = false;
    for (size_t k = 0; k < r->boundaries; k++) {
        const struct plyecho_boundary *b = &r->boundary[k];
        bool thin = b->below - b->above > 1;
        any |= b->state == PLYECHO_BOUNDARY_DECLARED;
        /* a film where none was declared may be a wet gap */
        if (b->state == PLYECHO_BOUNDARY_OTHER ||
            (b->state == PLYECHO_BOUNDARY_DECLARED && a->film && b->expected.known && !thin))
            return false;
    }
    return any && !pe_layers_odds_too_low(a);
}

static void blame(const struct pe_evidence *e, const struct pe_layers_seen *seen,
                  const struct plyecho_assess_options *o, enum plyecho_boundary_state state,
                  struct plyecho_assessment *a)
{
    int k = pe_layers_boundary_at(o->layers, seen, e->indication_s, gap_pulses * seen->pulse_s);
    if (k >= 0)
        a->layers.boundary[k].state = state;
}

static void depths(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    const struct plyecho_layer_reading *r = &a->layers;
    a->from_m = pe_layers_depth(r, e->from_s);
    a->to_m = pe_layers_depth(r, e->to_s);
    a->lone_m.value = pe_layers_depth(r, e->back_delay_s);
    if (a->has_indication)
        a->depth_m = pe_layers_depth(r, e->indication_s);
    for (int k = 0; k < a->inner_count; k++)
        a->inner[k].depth_m = pe_layers_depth(r, a->inner[k].delay_s);
}

void pe_layers_judge(const struct pe_evidence *e, const struct plyecho_conditioned *t,
                     const struct plyecho_assess_options *o, struct plyecho_assessment *a)
{
    if (!declared(o) || a->verdict == PLYECHO_UNREADABLE)
        return;
    struct pe_layers_seen seen = seen_of(e, t);
    depths(e, a);
    if (a->verdict == PLYECHO_INNER_ECHO) {
        bool as_declared = boundaries_as_declared(a);
        a->flagged = !as_declared || a->layers.undeclared;
        a->layers.besides = as_declared && a->layers.undeclared;
    } else if (a->verdict == PLYECHO_DELAMINATION)
        blame(e, &seen, o, PLYECHO_BOUNDARY_DISBONDED, a);
    else if (a->verdict == PLYECHO_UNDECIDED && e->lone)
        blame(e, &seen, o, PLYECHO_BOUNDARY_LONE, a);
}
