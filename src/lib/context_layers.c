/* Where a bonded layer runs under the part, or ends: what its neighbours say of a place. */
#include <math.h>

#include "context_inside.h"
#include "sort.h"

/* Where a layer ends the part of the beam beside it meets a full reflector: about half of it, or less. More is a place
 * that lies beside the layer itself: it may be a disbond as well, unless no more of the beam is on the bare wall than at the
 * others along that end: a partial cover is told to 0.05 to 0.1. Our choice. */
static const double most_step = 0.6, same_share = 0.05;
enum { LEAST_ALONG_END = 5 };

/* What the neighbours of a place show. */
struct around {
    size_t read;       /* neighbours that were read */
    size_t hidden;     /* of them with a delamination, which hides an interface */
    size_t interfaces; /* of them with an interface inside, and a wall behind */
    bool flagged;      /* one of those is flagged */
    double depth_m, strength, wall_m; /* medians over them */
    double highest;                   /* the same, of the highest single echo inside */
    struct plyecho_known balance_db;  /* the same, of those that have one */
    bool ends_here; /* one has no interface, but its wall where this place has its echo */
};

static struct around look_around(const struct pe_neighbourhood *n, size_t place)
{
    double depth[PLYECHO_NEIGHBOURS], strength[PLYECHO_NEIGHBOURS], wall[PLYECHO_NEIGHBOURS];
    double balance[PLYECHO_NEIGHBOURS], highest[PLYECHO_NEIGHBOURS];
    size_t balances = 0;
    struct around a = {.read = 0};
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *r = &n->readings[near[k]];
        a.read += r->read && r->verdict != PLYECHO_UNREADABLE;
        a.hidden += r->read && r->second == PLYECHO_DELAMINATION;
        if (!pe_shows_interface(r))
            continue;
        a.flagged |= r->flagged;
        if (r->balance_db.known)
            balance[balances++] = r->balance_db.value;
        depth[a.interfaces] = r->depth_m;
        strength[a.interfaces] = fabs(r->strength);
        highest[a.interfaces] =
            r->highest_inner.known ? r->highest_inner.value : fabs(r->strength);
        wall[a.interfaces++] = r->second_wall_m.value;
    }
    if (a.interfaces == 0)
        return a;
    a.depth_m = pe_median(depth, a.interfaces);
    a.strength = pe_median(strength, a.interfaces);
    a.highest = pe_median(highest, a.interfaces);
    a.wall_m = pe_median(wall, a.interfaces);
    if (balances > 0)
        a.balance_db = (struct plyecho_known){true, pe_median(balance, balances)};
    for (size_t k = 0; k < count; k++)
        a.ends_here |= pe_ends_at(&n->readings[near[k]], a.depth_m, a.wall_m);
    return a;
}

static bool most_agree(const struct around *a)
{
    return a->interfaces >= PE_LEAST_AGREE &&
           (double)a->interfaces >= pe_agree * (double)a->read;
}

static void set(struct plyecho_place_reading *r, bool flagged, enum plyecho_context context,
                double depth_m, double strength)
{
    r->second = PLYECHO_INNER_ECHO;
    r->second_flagged = flagged;
    r->context = context;
    r->second_depth_m = depth_m;
    r->second_strength = strength;
}

/* What one trace makes of a mixture of two walls: weak echoes inside that are told at small odds, a back wall that
 * interferes with the other's, or nothing at all. */
static bool may_be_mixture(const struct plyecho_place_reading *r)
{
    static const double clear_odds = 10.0;
    switch (r->verdict) {
    case PLYECHO_DELAMINATION:
    case PLYECHO_INNER_ECHO:
        return r->has_indication && r->evidence_ratio < clear_odds;
    case PLYECHO_UNDECIDED:
        return pe_record_holds(r) && r->reason != PLYECHO_REASON_SHOTS_DISAGREE;
    default:
        return r->verdict == PLYECHO_ATTENUATED;
    }
}

static bool is_inside(const struct plyecho_place_reading *r)
{
    return (r->verdict == PLYECHO_DELAMINATION || r->verdict == PLYECHO_INNER_ECHO) &&
           r->has_indication;
}

/* Directions against each other, and whether a layer's end that is crossed by them runs along a row. */
struct crossing {
    enum plyecho_direction one, other;
    bool along_row;
};

/* How strong an interface is: at a place, or one further on if less, where the beam has left the layer's end. */
static double interface_at(const struct pe_neighbourhood *n, size_t place,
                           enum plyecho_direction onward)
{
    size_t next = plyecho_grid_step(n->grid, place, onward);
    double here = fabs(n->readings[place].strength);
    if (next == PLYECHO_NO_PLACE || !pe_shows_interface(&n->readings[next]))
        return here;
    return fmin(here, fabs(n->readings[next].strength));
}

/* Bare wall on one side of a place, an interface at its depth on the other: where a layer ends. NULL: it does not. */
static const struct plyecho_place_reading *bare_beside(const struct pe_neighbourhood *n,
                                                       size_t place, const struct crossing *c,
                                                       double *interface)
{
    size_t side[2] = {plyecho_grid_step(n->grid, place, c->one),
                      plyecho_grid_step(n->grid, place, c->other)};
    for (int k = 0; k < 2 && side[0] != PLYECHO_NO_PLACE && side[1] != PLYECHO_NO_PLACE; k++) {
        const struct plyecho_place_reading *bare = &n->readings[side[k]],
                                           *layer = &n->readings[side[1 - k]];
        if (pe_shows_interface(layer) &&
            pe_ends_at(bare, layer->depth_m, layer->second_wall_m.value)) {
            *interface = interface_at(n, side[1 - k], k == 0 ? c->other : c->one);
            return bare;
        }
    }
    return NULL;
}

/* Of the beam, what is on the bare wall beside a layer's end; known where anything tells. */
static struct plyecho_known share_on_bare(const struct plyecho_place_reading *r, double wall_m)
{
    if (pe_ends_at(r, wall_m, INFINITY))
        return (struct plyecho_known){true, 1.0};
    bool at_end = r->read && is_inside(r) && fabs(r->depth_m - wall_m) < pe_same_interface_m;
    return (struct plyecho_known){at_end, at_end ? fabs(r->strength) : 0.0};
}

/* Is as much of the beam on the bare wall at most of the places along that end? Then it is the end that tells, and no
 * disbond that stands out against it. */
static bool is_as_along_end(const struct pe_neighbourhood *n, size_t place,
                            const struct crossing *c)
{
    const struct plyecho_grid *g = n->grid;
    size_t count = c->along_row ? g->columns : g->rows, others = 0, alike = 0;
    double least = fabs(n->readings[place].strength) - same_share;
    for (size_t k = 0; k < count; k++) {
        size_t at = g->place[c->along_row ? g->row[place] * g->columns + k
                                          : k * g->columns + g->column[place]];
        double interface = 0.0;
        const struct plyecho_place_reading *bare =
            at == PLYECHO_NO_PLACE || at == place ? NULL : bare_beside(n, at, c, &interface);
        if (bare == NULL)
            continue;
        struct plyecho_known share = share_on_bare(&n->readings[at], bare->second_wall_m.value);
        others += share.known;
        alike += share.known && share.value >= least;
    }
    return others >= LEAST_ALONG_END && 2 * alike > others;
}

/* Of the beam, what is on the bare wall at a place across a layer's end, the echo less on the layer's side, and as along
 * all of that end. Not known: the end does not account for it. */
static struct plyecho_known share_beside_end(const struct pe_neighbourhood *n, size_t place)
{
    static const struct crossing crossings[] = {
        {PLYECHO_NEXT_ALONG, PLYECHO_BEFORE_ALONG, true},
        {PLYECHO_NEXT_ACROSS, PLYECHO_BEFORE_ACROSS, false},
    };
    const struct plyecho_place_reading *r = &n->readings[place];
    double strength = fabs(r->strength);
    for (size_t k = 0; k < 2; k++) {
        double interface = 0.0;
        const struct plyecho_place_reading *bare =
            bare_beside(n, place, &crossings[k], &interface);
        if (bare != NULL && interface < strength &&
            fabs(bare->second_wall_m.value - r->depth_m) < pe_same_interface_m &&
            is_as_along_end(n, place, &crossings[k]))
            return (struct plyecho_known){true, (strength - interface) / (1.0 - interface)};
    }
    return (struct plyecho_known){false, 0.0};
}

/* Sound that goes between the bare wall's back and an echo inside it comes as far behind that wall as the echo lies above it: a
 * layer's back under part of the beam passes for that, at whatever odds. */
static bool mirrors_back(const struct plyecho_place_reading *r, const struct around *a)
{
    return is_inside(r) && r->wall_seen &&
           fabs(2.0 * r->wall_m - r->depth_m - a->wall_m) < pe_same_wall_m;
}

/* Told with the bare wall, and with little inside: the layer has only the beam's rim. */
static bool has_bare_wall(const struct plyecho_place_reading *r, const struct around *a,
                          double strength)
{
    static const double little = 2.0; /* of the reportable level: our choice */
    return r->verdict != PLYECHO_ATTENUATED && r->wall_seen && r->range_known &&
           fabs(r->wall_m - a->depth_m) < pe_same_interface_m && strength <= little * r->level;
}

static bool is_at_interface(const struct plyecho_place_reading *r, const struct around *a)
{
    return is_inside(r) && fabs(a->depth_m - r->depth_m) < pe_same_interface_m;
}

enum side { NOT_AT_END, ON_END, BESIDE_END };

/* On one side the wall ends where on the other an interface lies: the beam is on both. */
static enum side side_of_end(const struct pe_neighbourhood *n, size_t place,
                             const struct around *a)
{
    const struct plyecho_place_reading *r = &n->readings[place];
    bool at_interface = is_at_interface(r, a);
    double strength = is_inside(r)             ? fabs(r->strength)
                      : r->highest_inner.known ? r->highest_inner.value
                                               : 0.0;
    if (!a->ends_here || (!at_interface && !may_be_mixture(r) && !mirrors_back(r, a)))
        return NOT_AT_END;
    if (!at_interface && has_bare_wall(r, a, strength))
        return BESIDE_END;
    if (strength <= most_step)
        return ON_END;
    struct plyecho_known share = {false, 0.0};
    if (at_interface)
        share = share_beside_end(n, place);
    return !share.known ? NOT_AT_END : share.value > 0.5 ? BESIDE_END : ON_END;
}

/* A disbond along the layer's end looks the same: what was told as one stays flagged. With more than half of the beam
 * on the bare wall the place is one of that. */
static bool judge_step(const struct pe_neighbourhood *n, size_t place, const struct around *a)
{
    struct plyecho_place_reading *r = &n->readings[place];
    enum side side = side_of_end(n, place, a);
    bool at_interface = is_at_interface(r, a);
    if (side == BESIDE_END) {
        r->second = PLYECHO_NO_INDICATION;
        r->second_flagged = true;
        r->context = PLYECHO_CONTEXT_STEP;
        if (at_interface) {
            r->second_wall_m = (struct plyecho_known){true, r->depth_m};
            r->second_wall_u_m = r->depth_u_m;
        }
    } else if (side == ON_END) {
        bool as_declared = at_interface && r->verdict == PLYECHO_INNER_ECHO && !a->flagged;
        set(r, !as_declared, PLYECHO_CONTEXT_STEP, at_interface ? r->depth_m : a->depth_m,
            is_inside(r) ? r->strength : a->strength);
    }
    return side != NOT_AT_END;
}

/* What was taken for a gap lies where the neighbours have their wall: it is that, and what was taken for the wall
 * comes behind it. */
static bool judge_wall_as_gap(struct plyecho_place_reading *r, const struct around *a)
{
    if (r->verdict != PLYECHO_DELAMINATION || !r->has_indication || !most_agree(a) ||
        fabs(a->wall_m - r->depth_m) > pe_same_wall_m)
        return false;
    r->second_wall_m = (struct plyecho_known){true, r->depth_m};
    r->second_wall_u_m = r->depth_u_m;
    set(r, true, PLYECHO_CONTEXT_AROUND, a->depth_m, a->strength);
    return true;
}

/* A nominal that ends at the neighbours' interface takes that for the back wall; the back wall's own echo then
 * passes for the repeat of a gap at half its depth. Where no echo stands at that depth, three neighbours are enough. */
static bool judge_half_way(const struct pe_neighbourhood *n, struct plyecho_place_reading *r,
                           const struct around *a)
{
    bool enough = most_agree(a) || (a->interfaces >= PE_LEAST_AGREE && !pe_has_told_echo(n, r));
    if (r->verdict != PLYECHO_DELAMINATION || !r->has_indication || !r->wall_seen || !enough ||
        fabs(r->wall_m - a->depth_m) > pe_same_interface_m ||
        fabs(2.0 * r->depth_m - a->wall_m) > pe_same_wall_m)
        return false;
    r->second_wall_m.known = r->second_wall_u_m.known = false;
    set(r, true, PLYECHO_CONTEXT_AROUND, a->depth_m, a->strength);
    return true;
}

static bool keeps_back_wall(const struct plyecho_place_reading *r, const struct around *a)
{
    return r->balance_db.known && a->balance_db.known &&
           r->balance_db.value > a->balance_db.value - pe_weaker_db;
}

/* The wall is the neighbours', and nothing inside is higher than with their interface, or has taken anything from the
 * back wall. A delamination beside it tells nothing of the interface. It stays flagged: it was not told by itself. */
static void judge_undecided(struct plyecho_place_reading *r, const struct around *a)
{
    const struct plyecho_known *wall = r->wall_seen ? &r->second_wall_m : &r->lone_m;
    double most = (keeps_back_wall(r, a) ? 2.0 : pe_stronger) * a->highest;
    struct around seen = *a;
    seen.read -= a->hidden;
    if (r->verdict != PLYECHO_UNDECIDED || !most_agree(&seen) || !wall->known ||
        fabs(wall->value - a->wall_m) > pe_same_wall_m ||
        (r->highest_inner.known && r->highest_inner.value > most))
        return;
    r->second_wall_m = *wall;
    r->second_wall_u_m = r->wall_seen ? r->wall_u_m : r->lone_u_m;
    set(r, true, PLYECHO_CONTEXT_AROUND, a->depth_m, a->strength);
}

void pe_context_layers(struct pe_neighbourhood *n)
{
    for (size_t i = 0; i < n->grid->count; i++) {
        struct plyecho_place_reading *r = &n->readings[i];
        if (!r->read || r->context != PLYECHO_CONTEXT_NONE)
            continue;
        struct around a = look_around(n, i);
        if (!judge_step(n, i, &a) && !judge_wall_as_gap(r, &a) && !judge_half_way(n, r, &a))
            judge_undecided(r, &a);
    }
}
