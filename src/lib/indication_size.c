#include "indication_size.h"

#include <math.h>
#include <stdlib.h>

#include "grid_near.h"
#include "pi.h"

/* Slack where two extents meet, degrees: what rounding leaves. */
static const double touching = 1e-9;

static const double coverage_factor = 2.0;

/* A flaw just as wide as a Gaussian beam is sized at 1.25 of it: the solution of erf(x) - erf(x - w) at half
 * its highest. */
static const double beams_alike = 1.25;

/* Within so many of its -6 dB widths a Gaussian beam has come from an edge to its full echo, to 0.1 %. */
static const double beams_near = 1.5;

static const size_t *members_of(const struct pe_sized *s, size_t *count)
{
    const size_t *start = &s->groups->start[s->group - 1];
    *count = start[1] - start[0];
    return &s->groups->member[start[0]];
}

static bool is_member(const struct pe_sized *s, size_t place)
{
    return s->groups->of[place] == s->group;
}

static double strength_of(const struct pe_sized *s, size_t place)
{
    const struct plyecho_place_reading *r = &s->readings[place];
    if (is_member(s, place))
        return isfinite(r->second_strength) ? fabs(r->second_strength) : 0.0;
    return r->highest_inner.known ? r->highest_inner.value : 0.0;
}

/* ---- where the strength falls to half ---- */

/* The highest of the group near a place, its neighbours at least: a weaker part of a large flaw has edges of its
 * own. */
static double highest_near(const struct pe_sized *s, size_t place)
{
    const struct plyecho_grid *g = s->grid;
    struct plyecho_place at = {g->across[g->column[place]], g->along[g->row[place]]};
    double m_each = plyecho_grid_arc_m(g, g->row[place], 1.0, 0.0);
    double across = fmax(beams_near * s->beam_m.value / m_each, g->reach_across);
    double along = fmax(beams_near * s->beam_m.value, g->reach_along);
    struct pe_near near = pe_grid_near(g, at, across, along);
    double highest = strength_of(s, place); /* a lone line has no reach: 0 over 0 */
    for (size_t i; (i = pe_near_next(&near)) != PLYECHO_NO_PLACE;) {
        /* a wide beam has many places: how far one is only matters where it is higher */
        if (!is_member(s, i) || strength_of(s, i) <= highest)
            continue;
        double x = pe_grid_apart(g, at.across, g->across[g->column[i]]) / across;
        double y = (g->along[g->row[i]] - at.along) / along;
        if (x * x + y * y <= 1.0)
            highest = strength_of(s, i);
    }
    return highest;
}

static void take_halves(const struct pe_sized *s, double *half)
{
    size_t count;
    const size_t *members = members_of(s, &count);
    double highest = 0.0;
    for (size_t k = 0; k < count; k++)
        highest = fmax(highest, strength_of(s, members[k]));
    for (size_t k = 0; k < count; k++) {
        bool local = s->beam_m.known &&
                     plyecho_grid_arc_m(s->grid, s->grid->row[members[k]], 1.0, 0.0) > 0.0;
        half[members[k]] = 0.5 * (local ? highest_near(s, members[k]) : highest);
        /* an interface's strength varies with its glue: all of it is inside */
        if (s->readings[members[k]].second == PLYECHO_INNER_ECHO)
            half[members[k]] = fmin(half[members[k]], strength_of(s, members[k]));
    }
}

/* Members of a kind without an echo are inside as they are. */
static bool is_inside(const struct pe_sized *s, const double *half, size_t place)
{
    return is_member(s, place) && (!plyecho_verdict_has_echo(s->readings[place].second) ||
                                   strength_of(s, place) >= half[place]);
}

/* ---- how far the indication reaches beyond a place ---- */

/* In the unit of the direction. The end lies anywhere in `spacing`. */
struct beyond {
    double reach, spacing;
};

static bool goes_across(enum plyecho_direction d)
{
    return d == PLYECHO_NEXT_ACROSS || d == PLYECHO_BEFORE_ACROSS;
}

static double cell_beyond(const struct plyecho_grid *g, size_t place, enum plyecho_direction d)
{
    struct plyecho_cell cell = plyecho_grid_cell(g, place);
    switch (d) {
    case PLYECHO_NEXT_ACROSS:
        return cell.to_across - g->across[g->column[place]];
    case PLYECHO_BEFORE_ACROSS:
        return g->across[g->column[place]] - cell.from_across;
    case PLYECHO_NEXT_ALONG:
        return cell.to_along - g->along[g->row[place]];
    default:
        return g->along[g->row[place]] - cell.from_along;
    }
}

/* Two inner echoes side by side, of two interfaces or of one that is not everywhere as declared: the next one's
 * strength does not tell how far this one goes. */
static bool are_two_inner(const struct pe_sized *s, size_t place, size_t next)
{
    return s->readings[place].second == PLYECHO_INNER_ECHO &&
           s->readings[next].second == PLYECHO_INNER_ECHO;
}

/* Where on the way from a place to the next one the strength falls to half; in the middle where that cannot be
 * told. */
static double share_of_way(const struct pe_sized *s, const double *half, size_t place,
                           size_t next)
{
    if (!plyecho_verdict_has_echo(s->readings[place].second) || is_inside(s, half, next) ||
        are_two_inner(s, place, next))
        return 0.5;
    double high = strength_of(s, place), low = strength_of(s, next);
    return low < half[place] ? (high - half[place]) / (high - low) : 0.5;
}

static struct beyond beyond(const struct pe_sized *s, const double *half, size_t place,
                            enum plyecho_direction d)
{
    double end = cell_beyond(s->grid, place, d);
    size_t next = plyecho_grid_step(s->grid, place, d);
    if (next == PLYECHO_NO_PLACE)
        return (struct beyond){end, 2.0 * end};
    double gap = 2.0 * end; /* a cell ends half way to the next place */
    if (!plyecho_place_unread(&s->readings[next]))
        return (struct beyond){gap * share_of_way(s, half, place, next), gap};
    const size_t *bridge = goes_across(d) ? s->groups->bridge_across : s->groups->bridge_along;
    return (struct beyond){bridge[next] == s->group ? gap : 0.5 * gap, 2.0 * gap};
}

/* ---- all of it ---- */

static struct pe_extent extent_of(const struct pe_sized *s, const double *half, size_t place,
                                  double at, enum plyecho_direction next,
                                  enum plyecho_direction before)
{
    struct beyond up = beyond(s, half, place, next), down = beyond(s, half, place, before);
    /* rectangular over the spacing, JCGM 100 4.3.7, from memory */
    return (struct pe_extent){at - down.reach, at + up.reach, down.spacing / sqrt(12.0),
                              up.spacing / sqrt(12.0)};
}

static int by_from(const void *a, const void *b)
{
    const struct pe_extent *x = a, *y = b;
    return (x->from > y->from) - (x->from < y->from);
}

/* From the lowest to the highest end. */
static struct pe_extent whole_of(const struct pe_extent *extents, size_t count)
{
    struct pe_extent whole = extents[0];
    for (size_t k = 1; k < count; k++) {
        if (extents[k].from < whole.from) {
            whole.from = extents[k].from;
            whole.from_u = extents[k].from_u;
        }
        if (extents[k].to > whole.to) {
            whole.to = extents[k].to;
            whole.to_u = extents[k].to_u;
        }
    }
    return whole;
}

/* Round a tube: what is left when the widest gap is taken away. All round has no ends. */
static struct pe_extent whole_round(struct pe_extent *extents, size_t count)
{
    qsort(extents, count, sizeof *extents, by_from);
    struct pe_extent whole = {0.0, 360.0, 0.0, 0.0};
    struct pe_extent last = extents[0]; /* reaches furthest so far, from behind 0 as well */
    double widest = touching;
    for (size_t k = 1; k < count; k++)
        if (extents[k].to - 360.0 > last.to) {
            last = extents[k];
            last.to -= 360.0;
        }
    for (size_t k = 1; k <= count; k++) {
        struct pe_extent next = extents[k % count];
        double turn = k == count ? 360.0 : 0.0;
        if (next.from + turn - last.to > widest) {
            widest = next.from + turn - last.to;
            whole =
                (struct pe_extent){next.from + turn, last.to + 360.0, next.from_u, last.to_u};
        }
        if (next.to > last.to)
            last = next;
    }
    return whole;
}

static double into_round(double degrees)
{
    double wrapped = degrees - 360.0 * floor(degrees / 360.0);
    return wrapped < 360.0 ? wrapped : 0.0;
}

/* Depth for lengths: of the surface where the kind has none. */
static double depth_of(const struct plyecho_place_reading *r)
{
    return plyecho_verdict_has_echo(r->second) && isfinite(r->second_depth_m)
               ? r->second_depth_m
               : 0.0;
}

static void size_across(const struct pe_sized *s, const double *half, struct pe_extent *extents,
                        struct plyecho_indication *out)
{
    const struct plyecho_grid *g = s->grid;
    size_t count, inside = 0;
    const size_t *members = members_of(s, &count);
    out->area_m2 = 0.0;
    for (size_t k = 0; k < count; k++) {
        size_t i = members[k];
        if (!is_inside(s, half, i))
            continue;
        struct pe_extent e = extent_of(s, half, i, g->across[g->column[i]], PLYECHO_NEXT_ACROSS,
                                       PLYECHO_BEFORE_ACROSS);
        struct plyecho_cell cell = plyecho_grid_cell(g, i);
        out->area_m2 +=
            plyecho_grid_arc_m(g, g->row[i], e.to - e.from, depth_of(&s->readings[i])) *
            (cell.to_along - cell.from_along);
        extents[inside++] = e;
    }
    struct pe_extent whole = g->tube ? whole_round(extents, inside) : whole_of(extents, inside);
    double depth = depth_of(&s->readings[out->worst]);
    size_t row = g->row[out->worst];
    out->across = whole.to - whole.from;
    bool all_round = g->tube && out->across >= 360.0;
    out->from_across = g->tube ? into_round(whole.from) : whole.from;
    out->to_across = all_round ? 360.0 : g->tube ? into_round(whole.to) : whole.to;
    out->arc_m = plyecho_grid_arc_m(g, row, out->across, depth);
    out->arc_u_m = plyecho_grid_arc_m(g, row, hypot(whole.from_u, whole.to_u), depth);
}

static void size_along(const struct pe_sized *s, const double *half, struct pe_extent *extents,
                       struct plyecho_indication *out)
{
    const struct plyecho_grid *g = s->grid;
    size_t count, inside = 0;
    const size_t *members = members_of(s, &count);
    for (size_t k = 0; k < count; k++)
        if (is_inside(s, half, members[k]))
            extents[inside++] = extent_of(s, half, members[k], g->along[g->row[members[k]]],
                                          PLYECHO_NEXT_ALONG, PLYECHO_BEFORE_ALONG);
    struct pe_extent whole = whole_of(extents, inside);
    out->from_along_m = whole.from;
    out->to_along_m = whole.to;
    out->along_m = whole.to - whole.from;
    out->along_u_m = hypot(whole.from_u, whole.to_u);
}

/* Places on one line have no spacing against it: where one of them was is known, how far it goes is not. */
static void forget_unspaced(const struct plyecho_grid *g, struct plyecho_indication *out)
{
    bool across = g->reach_across > 0.0, along = g->reach_along > 0.0;
    if (!across) {
        out->from_across = out->to_across = g->across[g->column[out->worst]];
        out->across = out->arc_m = out->arc_u_m = NAN;
    }
    if (!along) {
        out->from_along_m = out->to_along_m = g->along[g->row[out->worst]];
        out->along_m = out->along_u_m = NAN;
    }
    if (!across || !along)
        out->area_m2 = NAN;
}

void pe_indication_size(const struct pe_sized *sized, double *half, struct pe_extent *extents,
                        struct plyecho_indication *indication)
{
    if (plyecho_verdict_has_echo(indication->kind))
        take_halves(sized, half);
    size_across(sized, half, extents, indication);
    size_along(sized, half, extents, indication);
    forget_unspaced(sized->grid, indication);
    /* what cannot be told from the beam by twice its uncertainty may be smaller */
    double most = beams_alike * sized->beam_m.value;
    indication->within_beam =
        sized->beam_m.known &&
        (indication->arc_m - coverage_factor * indication->arc_u_m <= most ||
         indication->along_m - coverage_factor * indication->along_u_m <= most);
}
