/* What the rules of context.h share. */
#include "context_inside.h"

#include <math.h>

#include "sort.h"

/* So many standard uncertainties of both depths: our choice. */
static const double same_depth_u = 3.0;

bool pe_record_holds(const struct plyecho_place_reading *reading)
{
    switch (reading->reason) {
    case PLYECHO_REASON_NONE:
    case PLYECHO_REASON_NO_BACK_ECHO:
    case PLYECHO_REASON_NO_SECOND_ECHO:
    case PLYECHO_REASON_CYCLE:
    case PLYECHO_REASON_NOT_A_WALL:
    case PLYECHO_REASON_OFF_NOMINAL:
    case PLYECHO_REASON_NO_NOMINAL:
    case PLYECHO_REASON_SIGN_LOST:
    case PLYECHO_REASON_NOT_EXPLAINED:
    case PLYECHO_REASON_SHOTS_DISAGREE:
        return true;
    default:
        return false;
    }
}

void pe_set_shadow(struct plyecho_place_reading *r, double depth_m)
{
    r->second = PLYECHO_DELAMINATION;
    r->second_flagged = true;
    r->context = PLYECHO_CONTEXT_SHADOW;
    r->second_depth_m = depth_m;
    r->second_strength = -1.0; /* nothing passes */
    r->second_wall_m.known = r->second_wall_u_m.known = false;
}

struct plyecho_known pe_end_of_wall(const struct plyecho_place_reading *r)
{
    return r->wall_seen ? (struct plyecho_known){true, r->wall_m} : r->lone_m;
}

bool pe_is_of_wall(const struct pe_usual_traces *usual, const struct plyecho_place_reading *r)
{
    struct plyecho_known end = pe_end_of_wall(r);
    return end.known && usual->wall_m.known &&
           fabs(end.value - usual->wall_m.value) <= pe_same_wall_m;
}

bool pe_has_told_echo(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r)
{
    return pe_profile_has_echo(&r->profile, r->depth_m + n->sound_traces.coat_m,
                               fabs(r->strength));
}

double pe_lost_db(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r)
{
    bool inner = r->verdict == PLYECHO_INNER_ECHO && n->declared_balance_db.known;
    const struct plyecho_known *sound = inner ? &n->declared_balance_db : &n->sound.balance_db;
    return sound->known && r->balance_db.known ? sound->value - r->balance_db.value : 0.0;
}

static double depth_u(const struct plyecho_place_reading *r)
{
    const struct plyecho_known *u = r->has_indication ? &r->depth_u_m : &r->lone_u_m;
    return u->known ? u->value : 0.0;
}

/* Not one that only its neighbour made so: edges do not go on from place to place. */
static bool is_delamination(const struct plyecho_place_reading *r)
{
    return r->second == PLYECHO_DELAMINATION && r->context != PLYECHO_CONTEXT_EDGE;
}

const struct plyecho_place_reading *pe_delamination_beside(const struct pe_neighbourhood *n,
                                                           size_t place,
                                                           const struct plyecho_known *depth_m,
                                                           double within_m)
{
    const struct plyecho_place_reading *best = NULL;
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *r = &n->readings[near[k]];
        double u = hypot(depth_u(r), depth_u(&n->readings[place]));
        bool same = !depth_m->known || fabs(depth_m->value - r->second_depth_m) <=
                                           fmax(within_m, same_depth_u * u);
        if (is_delamination(r) && same &&
            (best == NULL || fabs(r->second_strength) > fabs(best->second_strength)))
            best = r;
    }
    return best;
}

bool pe_runs_on(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_place_reading *r = &n->readings[place];
    size_t near[PLYECHO_NEIGHBOURS], others = 0, same = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *other = &n->readings[near[k]];
        others += other->read;
        same += other->read && other->verdict == PLYECHO_INNER_ECHO && other->has_indication &&
                fabs(other->depth_m - r->depth_m) <= pe_same_interface_m;
    }
    return same >= 3 || (same > 0 && same == others); /* on a lone ring there are two */
}

/* By what its own trace told: rules that go from place to place must not depend on which comes first. */
bool pe_shows_interface(const struct plyecho_place_reading *r)
{
    return r->read && r->verdict == PLYECHO_INNER_ECHO &&
           r->context != PLYECHO_CONTEXT_LAMINATE && r->has_indication &&
           r->second_wall_m.known;
}

bool pe_ends_at(const struct plyecho_place_reading *r, double depth_m, double with_layer_m)
{
    return r->read && r->second == PLYECHO_NO_INDICATION && r->second_wall_m.known &&
           fabs(r->second_wall_m.value - depth_m) < pe_same_interface_m &&
           with_layer_m - r->second_wall_m.value > pe_same_interface_m;
}

struct plyecho_known pe_interface_around(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_place_reading *r = &n->readings[place];
    double strength[PLYECHO_NEIGHBOURS];
    size_t near[PLYECHO_NEIGHBOURS], others = 0, same = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *other = &n->readings[near[k]];
        others +=
            other->read && other->verdict != PLYECHO_UNREADABLE && !is_delamination(other);
        if (pe_shows_interface(other) &&
            fabs(other->depth_m - r->depth_m) <= pe_same_interface_m)
            strength[same++] = fabs(other->strength);
    }
    bool most = same >= PE_LEAST_AGREE && (double)same >= pe_agree * (double)others;
    return (struct plyecho_known){most, most ? pe_median(strength, same) : 0.0};
}

struct plyecho_profile pe_off_neighbours(const struct pe_neighbourhood *n, size_t place)
{
    const struct plyecho_profile *own = &n->readings[place].profile;
    struct plyecho_profile off = {.step_m = own->step_m};
    size_t near[PLYECHO_NEIGHBOURS], others = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *other = &n->readings[near[k]];
        if (!pe_shows_interface(other) || other->profile.count < own->count)
            continue;
        others++;
        for (size_t step = 0; step < own->count; step++)
            off.strength[step] += other->profile.strength[step];
    }
    off.count = others >= PE_LEAST_AGREE ? own->count : 0;
    for (size_t step = 0; step < off.count; step++)
        off.strength[step] = own->strength[step] - off.strength[step] / (float)others;
    return off;
}
