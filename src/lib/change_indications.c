#include <plyecho/change.h>

#include <math.h>
#include <stdlib.h>

#include "alloc.h"

#define NO_ONE PLYECHO_NO_INDICATION_INDEX

static const double coverage_factor = 2.0;

/* Depths whose uncertainty nobody knows agree within this share. */
static const double depth_share = 0.1;

const char *plyecho_indication_state_word(enum plyecho_indication_state state)
{
    static const char *const words[] = {
        [PLYECHO_INDICATION_SAME] = "same",
        [PLYECHO_INDICATION_GREW] = "grew",
        [PLYECHO_INDICATION_SHRANK] = "shrank",
        [PLYECHO_INDICATION_NEW] = "new",
        [PLYECHO_INDICATION_GONE] = "gone",
        [PLYECHO_INDICATION_OTHER_KIND] = "kind changed",
        [PLYECHO_INDICATION_HIDDEN] = "hidden",
        [PLYECHO_INDICATION_NOT_COMPARABLE] = "not comparable",
    };
    return words[state];
}

/* ---- do two lie on each other ---- */

/* A lone line of places has no extent that anyone could be unsure of. */
static double or_none(double length)
{
    return isfinite(length) ? length : 0.0;
}

/* What the uncertainty of its ends comes to across, in degrees or m; half a spacing where it is not told. */
static double slack_across(const struct plyecho_scanned *s, const struct plyecho_indication *n)
{
    if (!s->grid->tube)
        return or_none(n->arc_u_m);
    return n->arc_m > 0.0 && isfinite(n->arc_u_m) ? n->across * n->arc_u_m / n->arc_m
                                                  : s->grid->reach_across / 3.0;
}

static bool meet_across(const struct plyecho_scanned *a, const struct plyecho_indication *x,
                        const struct plyecho_scanned *b, const struct plyecho_indication *y)
{
    double slack = slack_across(a, x) + slack_across(b, y);
    if (!a->grid->tube)
        return x->from_across <= y->to_across + slack && y->from_across <= x->to_across + slack;
    /* from one's begin to the other's, going up */
    double up = y->from_across - x->from_across;
    up -= 360.0 * floor(up / 360.0);
    return up <= x->across + slack || 360.0 - up <= y->across + slack;
}

static bool meet(const struct plyecho_scanned *a, const struct plyecho_indication *x,
                 const struct plyecho_scanned *b, const struct plyecho_indication *y)
{
    double slack = or_none(x->along_u_m) + or_none(y->along_u_m);
    return meet_across(a, x, b, y) && x->from_along_m <= y->to_along_m + slack &&
           y->from_along_m <= x->to_along_m + slack;
}

static double depth_slack(const struct plyecho_scanned *s, const struct plyecho_indication *n)
{
    const struct plyecho_known *u = &s->readings[n->worst].depth_u_m;
    return u->known ? coverage_factor * u->value : depth_share * n->most_depth_m;
}

static bool depths_agree(const struct plyecho_scanned *a, const struct plyecho_indication *x,
                         const struct plyecho_scanned *b, const struct plyecho_indication *y)
{
    if (!isfinite(x->least_depth_m) || !isfinite(y->least_depth_m))
        return true;
    double slack = hypot(depth_slack(a, x), depth_slack(b, y));
    return x->least_depth_m <= y->most_depth_m + slack &&
           y->least_depth_m <= x->most_depth_m + slack;
}

/* A declared layer is one kind, what is not as declared another. */
static bool alike(const struct plyecho_indication *x, const struct plyecho_indication *y)
{
    return x->kind == y->kind && x->declared == y->declared;
}

/* ---- which belong together ---- */

/* Indications of both scans, those of `after` behind those of `before`; set[] leads to the first of each set. */
struct sets {
    const struct plyecho_scanned *before, *after;
    size_t *set;
};

static size_t first_of(struct sets *s, size_t i)
{
    while (s->set[i] != i)
        i = s->set[i] = s->set[s->set[i]];
    return i;
}

static void join(struct sets *s, size_t i, size_t k)
{
    size_t a = first_of(s, i), b = first_of(s, k);
    if (a < b)
        s->set[b] = a;
    else
        s->set[a] = b;
}

static bool alone(const struct sets *s, size_t count, size_t i)
{
    for (size_t k = 0; k < count; k++)
        if (k != i && s->set[k] == s->set[i])
            return false;
    return true;
}

static void flatten(struct sets *s, size_t count)
{
    for (size_t i = 0; i < count; i++)
        s->set[i] = first_of(s, i);
}

/* lone: NULL, or which were left over by their own kind: then those are joined, whatever the kind. */
static void join_pairs(struct sets *s, const bool *lone)
{
    size_t nb = s->before->indication_count;
    for (size_t i = 0; i < nb; i++)
        for (size_t k = 0; k < s->after->indication_count; k++) {
            const struct plyecho_indication *x = &s->before->indications[i],
                                            *y = &s->after->indications[k];
            bool may = lone != NULL ? lone[i] && lone[nb + k] : alike(x, y);
            if (may && meet(s->before, x, s->after, y) &&
                depths_agree(s->before, x, s->after, y))
                join(s, i, nb + k);
        }
}

static enum plyecho_code make_sets(struct sets *s, struct plyecho_error *err)
{
    size_t count = s->before->indication_count + s->after->indication_count;
    bool *lone = pe_alloc(count, sizeof *lone);
    s->set = pe_alloc(count, sizeof *s->set);
    if (s->set == NULL || lone == NULL) {
        free(lone);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for changed indications");
    }
    for (size_t i = 0; i < count; i++)
        s->set[i] = i;
    join_pairs(s, NULL);
    flatten(s, count);
    for (size_t i = 0; i < count; i++)
        lone[i] = alone(s, count, i);
    join_pairs(s, lone);
    flatten(s, count);
    free(lone);
    return PLYECHO_OK;
}

/* ---- what one has become ---- */

/* Of the places that an indication holds, are most read in the other scan? */
static bool read_in_other(const struct plyecho_scanned *s, const struct plyecho_indication *n,
                          const struct plyecho_scanned *other, const size_t *other_of)
{
    const struct plyecho_grid *g = s->grid;
    size_t places = 0, read = 0;
    for (size_t i = 0; i < g->count; i++) {
        double across = g->across[g->column[i]] - n->from_across, along = g->along[g->row[i]];
        if (g->tube)
            across -= 360.0 * floor(across / 360.0);
        if (s->readings[i].second != n->kind || plyecho_place_unread(&s->readings[i]) ||
            across < 0.0 || across > n->across || along < n->from_along_m ||
            along > n->to_along_m)
            continue;
        size_t k = other_of[i];
        places++;
        read += k != PLYECHO_NO_PLACE && !plyecho_place_unread(&other->readings[k]);
    }
    return 2 * read >= places && read > 0;
}

/* A declared layer hides nothing that is told of itself. */
static bool is_as_declared_now(const struct plyecho_scanned *s,
                               const struct plyecho_indication *n,
                               const struct plyecho_scanned *other,
                               const struct plyecho_indication *there)
{
    return n->kind == PLYECHO_INNER_ECHO && there->declared && depths_agree(s, n, other, there);
}

static bool any_there(const struct plyecho_scanned *s, const struct plyecho_indication *n,
                      const struct plyecho_scanned *other)
{
    for (size_t k = 0; k < other->indication_count; k++)
        if (meet(s, n, other, &other->indications[k]) &&
            !is_as_declared_now(s, n, other, &other->indications[k]))
            return true;
    return false;
}

static double square(double x)
{
    return x * x;
}

/* Area of an indication, and what the uncertainty of its extents comes to, squared. */
static double area_variance(const struct plyecho_indication *n)
{
    return square(n->area_m2) *
           (square(n->arc_u_m / n->arc_m) + square(n->along_u_m / n->along_m));
}

static void known_if_finite(struct plyecho_known *value, struct plyecho_known *u, double v,
                            double variance)
{
    bool known = isfinite(v) && isfinite(variance);
    *value = (struct plyecho_known){known, known ? v : 0.0};
    *u = (struct plyecho_known){known, known ? sqrt(variance) : 0.0};
}

/* -1, 0 or 1: smaller, within its uncertainty, larger. */
static int beyond(struct plyecho_known difference, struct plyecho_known u)
{
    if (!difference.known || fabs(difference.value) <= coverage_factor * u.value)
        return 0;
    return difference.value > 0.0 ? 1 : -1;
}

static void size_up(struct plyecho_indication_change *c, const struct plyecho_indication *a,
                    const struct plyecho_indication *b)
{
    if (c->before_count != 1 || c->after_count != 1)
        return;
    known_if_finite(&c->arc_m, &c->arc_u_m, b->arc_m - a->arc_m,
                    square(a->arc_u_m) + square(b->arc_u_m));
    known_if_finite(&c->along_m, &c->along_u_m, b->along_m - a->along_m,
                    square(a->along_u_m) + square(b->along_u_m));
}

static enum plyecho_indication_state compare_sizes(const struct plyecho_indication_change *c)
{
    int area = beyond(c->area_m2, c->area_u_m2), arc = beyond(c->arc_m, c->arc_u_m),
        along = beyond(c->along_m, c->along_u_m);
    if (area > 0 || arc > 0 || along > 0)
        return PLYECHO_INDICATION_GREW;
    return area < 0 || arc < 0 || along < 0 ? PLYECHO_INDICATION_SHRANK
                                            : PLYECHO_INDICATION_SAME;
}

static size_t larger(const struct plyecho_scanned *s, size_t best, size_t i)
{
    return best == NO_ONE || s->indications[i].places > s->indications[best].places ? i : best;
}

/* Gather the set that begins at `first`. */
static struct plyecho_indication_change gather(const struct sets *s, size_t first)
{
    size_t nb = s->before->indication_count, count = nb + s->after->indication_count;
    struct plyecho_indication_change c = {.before = NO_ONE, .after = NO_ONE};
    double area = 0.0, variance = 0.0;
    for (size_t i = first; i < count; i++) {
        if (s->set[i] != first)
            continue;
        const struct plyecho_indication *n =
            i < nb ? &s->before->indications[i] : &s->after->indications[i - nb];
        area += i < nb ? -n->area_m2 : n->area_m2;
        variance += area_variance(n);
        if (i < nb) {
            c.before_count++;
            c.before = larger(s->before, c.before, i);
        } else {
            c.after_count++;
            c.after = larger(s->after, c.after, i - nb);
        }
    }
    if (c.before != NO_ONE && c.after != NO_ONE) {
        known_if_finite(&c.area_m2, &c.area_u_m2, area, variance);
        size_up(&c, &s->before->indications[c.before], &s->after->indications[c.after]);
    }
    return c;
}

static enum plyecho_indication_state state_of(const struct sets *s,
                                              const struct plyecho_indication_change *c,
                                              const size_t *after_of, const size_t *before_of)
{
    if (c->before == NO_ONE)
        return read_in_other(s->after, &s->after->indications[c->after], s->before, before_of)
                   ? PLYECHO_INDICATION_NEW
                   : PLYECHO_INDICATION_NOT_COMPARABLE;
    const struct plyecho_indication *a = &s->before->indications[c->before];
    if (c->after == NO_ONE) {
        if (!read_in_other(s->before, a, s->after, after_of))
            return PLYECHO_INDICATION_NOT_COMPARABLE;
        return any_there(s->before, a, s->after) ? PLYECHO_INDICATION_HIDDEN
                                                 : PLYECHO_INDICATION_GONE;
    }
    if (!alike(a, &s->after->indications[c->after]))
        return PLYECHO_INDICATION_OTHER_KIND;
    return compare_sizes(c);
}

enum plyecho_code plyecho_change_indications(const struct plyecho_scanned *before,
                                             const struct plyecho_scanned *after,
                                             const size_t *after_of, const size_t *before_of,
                                             struct plyecho_indication_change **list,
                                             size_t *count, struct plyecho_error *err)
{
    struct sets s = {before, after, NULL};
    size_t all = before->indication_count + after->indication_count;
    *list = NULL;
    *count = 0;
    if (all == 0)
        return PLYECHO_OK;
    enum plyecho_code code = make_sets(&s, err);
    if (code == PLYECHO_OK && (*list = pe_alloc(all, sizeof **list)) == NULL)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for changed indications");
    for (size_t i = 0; i < all && code == PLYECHO_OK; i++) {
        if (s.set[i] != i)
            continue;
        struct plyecho_indication_change *c = &(*list)[(*count)++];
        *c = gather(&s, i);
        c->state = state_of(&s, c, after_of, before_of);
    }
    free(s.set);
    return code;
}
