/* Places whose wall is short of the wall around.
 *
 * A shadow ends at the delamination's edge: from one place to the next the wall falls by all that it is short. A
 * thin wall is reached step by step. So for each short place the way from whole wall to it is looked for whose
 * largest step is least (minimax), over neighbours.
 */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "context_inside.h"
#include "sort.h"
#include "ways.h"

/* Short of the wall around by this share of it, or by this and six standard uncertainties: our choice. Less is
 * what laying-up does. */
static const double short_share = 0.25, short_m = 0.15e-3, short_u = 6.0;

/* By less than this, unless it is that share, a fall at once is not told from a part of the wall missing: our choice. */
static const double shadow_m = 0.3e-3;

/* Largest step over the shortfall: above the first it falls at once, up to the second in steps; between them the
 * places are too far apart to tell. A slope needs two places on it to halve the step, three to bring it to 0.4 or
 * less, if they are not quite even, four to quarter it. What passed by itself needs the third to go on passing: our
 * choice. */
static const double falls_at_once = 0.5, falls_in_steps = 0.4, falls_gently = 0.25;

/* What takes up more than this share of the part is no hole in the wall around: our choice. */
static const double most_share = 1.0 / 3.0;

/* Of fewer there is no median worth the name. */
enum { LEAST_WALLS = 5 };

/* Two nominals that differ by this share are two: our choice. */
static const double other_nominal = 0.05;

/* The wall at one place, or where it seems to end. */
struct ending {
    bool known;
    bool
        of_nominal; /* `level` is the share of its nominal, so that a sleeve's end is no step */
    bool may_be_short;        /* its verdict leaves it open whether it is the wall */
    double level, scale, u_m; /* wall = level * scale */
    bool is_short;
    double shortfall_m;
    double step_m; /* largest step on the best way to it */
};

struct walls {
    struct pe_neighbourhood *n;
    struct ending *at; /* of each place */
    double *numbers;   /* scratch, a number a place */
    bool *is_short;
    size_t *group;    /* of connected short places, from 1 */
    size_t *places;   /* [groups + 1] */
    double *middle_m; /* [groups + 1] median shortfall */
    size_t known;     /* places whose ending is */
    double part[2];   /* level of the whole part, NAN: too few; by of_nominal */
};

/* ---- each place's wall ---- */

static struct ending ending_of(const struct plyecho_place_reading *r)
{
    bool undecided = r->verdict == PLYECHO_UNDECIDED;
    bool lone = undecided && !r->wall_seen && r->lone_m.known;
    bool mended = r->context == PLYECHO_CONTEXT_AROUND && r->second_wall_m.known;
    double wall = lone ? r->lone_m.value : mended ? r->second_wall_m.value : r->wall_m;
    struct plyecho_known u = lone ? r->lone_u_m : r->wall_u_m;
    struct ending e = {.of_nominal = r->nominal_m.known, .step_m = INFINITY};
    if (!r->read || r->verdict == PLYECHO_UNREADABLE || !(r->wall_seen || lone) ||
        (undecided && !pe_record_holds(r)))
        return e;
    e.known = true;
    e.may_be_short = undecided || r->verdict == PLYECHO_NO_INDICATION ||
                     r->verdict == PLYECHO_THIN || r->verdict == PLYECHO_INNER_ECHO;
    e.scale = e.of_nominal ? r->nominal_m.value : 1.0;
    e.level = wall / e.scale;
    e.u_m = u.known ? u.value : 0.0;
    return e;
}

/* Does it tell how thick the wall is around? */
static bool tells(const struct walls *w, size_t place, bool of_nominal)
{
    const struct plyecho_place_reading *r = &w->n->readings[place];
    return w->at[place].known && w->at[place].of_nominal == of_nominal &&
           r->verdict == PLYECHO_NO_INDICATION;
}

static double median(double *numbers, size_t count)
{
    return count < LEAST_WALLS ? NAN : pe_median(numbers, count);
}

static double level_of_part(const struct walls *w, bool of_nominal)
{
    size_t count = 0;
    for (size_t i = 0; i < w->n->grid->count; i++)
        if (tells(w, i, of_nominal))
            w->numbers[count++] = w->at[i].level;
    return median(w->numbers, count);
}

/* Of a row and the rows next to it, since a wall may change along the part; but no less than the whole part's:
 * a shadow may go all round. */
static double level_around(const struct walls *w, size_t row, bool of_nominal)
{
    const struct plyecho_grid *g = w->n->grid;
    size_t first = row > 0 ? row - 1 : 0, last = row + 1 < g->rows ? row + 1 : row;
    size_t count = 0;
    for (size_t k = first * g->columns; k < (last + 1) * g->columns; k++)
        if (g->place[k] != PLYECHO_NO_PLACE && tells(w, g->place[k], of_nominal))
            w->numbers[count++] = w->at[g->place[k]].level;
    return fmax(median(w->numbers, count),
                w->part[of_nominal]); /* of one that is NAN the other */
}

/* ---- which are short ---- */

/* Is it the wall that a neighbour should have? Then a sleeve ends elsewhere than was declared. */
static bool is_of_neighbour(const struct walls *w, size_t place)
{
    const struct plyecho_place_reading *r = &w->n->readings[place];
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(w->n->grid, place, near);
    double wall = w->at[place].level * w->at[place].scale;
    for (size_t k = 0; r->nominal_m.known && k < count; k++) {
        const struct plyecho_place_reading *other = &w->n->readings[near[k]];
        double apart = fabs(other->nominal_m.value - r->nominal_m.value);
        if (other->nominal_m.known && apart > other_nominal * r->nominal_m.value &&
            fabs(wall - other->nominal_m.value) < fmax(pe_same_wall_m, other->tolerance_m))
            return true;
    }
    return false;
}

static void look_at(struct walls *w, size_t place, double around)
{
    struct ending *e = &w->at[place];
    double whole = around * e->scale;
    e->shortfall_m = whole - e->level * e->scale;
    e->is_short = e->known && (e->shortfall_m > short_share * whole ||
                               e->shortfall_m > fmax(short_m, short_u * e->u_m));
    w->is_short[place] = e->is_short && e->may_be_short && !is_of_neighbour(w, place);
}

static void look_at_rows(struct walls *w)
{
    const struct plyecho_grid *g = w->n->grid;
    for (int kind = 0; kind < 2; kind++)
        w->part[kind] = level_of_part(w, kind == 1);
    for (size_t row = 0; row < g->rows; row++) {
        const double around[2] = {level_around(w, row, false), level_around(w, row, true)};
        for (size_t k = row * g->columns; k < (row + 1) * g->columns; k++)
            if (g->place[k] != PLYECHO_NO_PLACE)
                look_at(w, g->place[k], around[w->at[g->place[k]].of_nominal]);
    }
}

/* ---- the way to them ---- */

static double step_between(const void *context, size_t from, size_t to)
{
    const struct ending *a = &((const struct walls *)context)->at[from],
                        *b = &((const struct walls *)context)->at[to];
    bool alike = a->known && a->of_nominal == b->of_nominal;
    return alike ? fabs(a->level - b->level) * b->scale : INFINITY;
}

/* The least step to a place from whole wall. */
static double step_onto(const struct walls *w, size_t place)
{
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(w->n->grid, place, near);
    double best = INFINITY;
    for (size_t k = 0; k < count; k++)
        if (!w->at[near[k]].is_short)
            best = fmin(best, step_between(w, near[k], place));
    return best;
}

static enum plyecho_code find_ways(struct walls *w, struct plyecho_error *err)
{
    size_t count = w->n->grid->count;
    for (size_t i = 0; i < count; i++)
        w->numbers[i] = w->is_short[i] ? step_onto(w, i) : INFINITY;
    enum plyecho_code code =
        pe_ways_find(w->n->grid, w->is_short, step_between, w, w->numbers, err);
    for (size_t i = 0; i < count; i++)
        w->at[i].step_m = w->numbers[i];
    return code;
}

static enum plyecho_code make_groups(struct walls *w, struct plyecho_error *err)
{
    size_t groups = 0;
    enum plyecho_code code =
        plyecho_grid_label(w->n->grid, w->is_short, w->group, &groups, err);
    if (code != PLYECHO_OK)
        return code;
    w->places = pe_alloc(groups + 1, sizeof *w->places);
    w->middle_m = pe_alloc(groups + 1, sizeof *w->middle_m);
    if (w->places == NULL || w->middle_m == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu short places", groups);
    for (size_t i = 0; i < w->n->grid->count; i++)
        w->places[w->group[i]]++;
    return PLYECHO_OK;
}

static int by_group(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return x[0] != y[0] ? (x[0] > y[0]) - (x[0] < y[0]) : (x[1] > y[1]) - (x[1] < y[1]);
}

/* Numbers in pairs of group and shortfall: sorted, the middle of each run is the median. */
static void find_middles(struct walls *w)
{
    size_t count = 0;
    for (size_t i = 0; i < w->n->grid->count; i++)
        if (w->group[i] > 0) {
            w->numbers[2 * count] = (double)w->group[i];
            w->numbers[2 * count++ + 1] = w->at[i].shortfall_m;
        }
    qsort(w->numbers, count, 2 * sizeof *w->numbers, by_group);
    for (size_t from = 0; from < count;) {
        size_t group = (size_t)w->numbers[2 * from];
        w->middle_m[group] = w->numbers[2 * (from + w->places[group] / 2) + 1];
        from += w->places[group];
    }
}

/* ---- what follows ---- */

static void set(struct plyecho_place_reading *r, enum plyecho_verdict second,
                enum plyecho_context context)
{
    r->second = second;
    r->second_flagged = true;
    r->context = context;
}

/* Either is possible: what passed by itself does so no longer, where it matters. */
static void set_short(struct plyecho_place_reading *r, bool matters)
{
    r->context = PLYECHO_CONTEXT_SHORT;
    if (r->flagged || !matters)
        return;
    set(r, PLYECHO_UNDECIDED, PLYECHO_CONTEXT_SHORT);
    r->second_wall_m.known = r->second_wall_u_m.known = false;
}

/* The walls around lead to it, so it is one: thin by the limit, or by the nominal. */
static void set_thin(const struct walls *w, struct plyecho_place_reading *r,
                     const struct ending *e)
{
    const struct plyecho_known *least = &w->n->options.least_m;
    double wall = e->level * e->scale;
    bool thin = (least->known && wall < least->value) ||
                (r->nominal_m.known && r->nominal_m.value - wall > r->tolerance_m);
    if (r->verdict == PLYECHO_THIN) {
        r->context = PLYECHO_CONTEXT_THIN;
    } else if (r->verdict == PLYECHO_UNDECIDED && thin) {
        set(r, PLYECHO_THIN, PLYECHO_CONTEXT_THIN);
        r->second_wall_m = (struct plyecho_known){true, wall};
        r->second_wall_u_m = r->wall_seen ? r->wall_u_m : r->lone_u_m;
    }
}

static void judge(const struct walls *w, size_t place)
{
    struct plyecho_place_reading *r = &w->n->readings[place];
    const struct ending *e = &w->at[place];
    size_t group = w->group[place];
    double share = e->step_m / fmax(e->shortfall_m, w->middle_m[group]);
    bool matters = e->shortfall_m > short_share * (e->shortfall_m + e->level * e->scale);
    if (isinf(share)) { /* no wall is seen next to it: its edge may tell (context_levels.c) */
        set_short(r, matters);
        return;
    }
    if (share <= (r->flagged ? falls_in_steps : falls_gently))
        set_thin(w, r, e);
    else if (share <= falls_at_once)
        set_short(r, matters);
    else if ((double)w->places[group] > most_share * (double)w->known)
        set_short(r, !e->of_nominal); /* the nominal says that it is the wall */
    else if (e->shortfall_m < shadow_m && !matters)
        set_short(r, true);
    else
        pe_set_shadow(r, e->level * e->scale);
}

static enum plyecho_code take(struct walls *w, struct plyecho_error *err)
{
    size_t count = w->n->grid->count;
    w->at = pe_alloc(count, sizeof *w->at);
    w->numbers = pe_alloc(2 * count, sizeof *w->numbers);
    w->is_short = pe_alloc(count, sizeof *w->is_short);
    w->group = pe_alloc(count, sizeof *w->group);
    if (w->at == NULL || w->numbers == NULL || w->is_short == NULL || w->group == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", count);
    for (size_t i = 0; i < count; i++) {
        w->at[i] = ending_of(&w->n->readings[i]);
        w->known += w->at[i].known;
    }
    return PLYECHO_OK;
}

enum plyecho_code pe_context_walls(struct pe_neighbourhood *n, struct plyecho_error *err)
{
    struct walls w = {.n = n};
    enum plyecho_code code = take(&w, err);
    if (code == PLYECHO_OK) {
        look_at_rows(&w);
        code = find_ways(&w, err);
    }
    if (code == PLYECHO_OK)
        code = make_groups(&w, err);
    if (code == PLYECHO_OK) {
        find_middles(&w);
        for (size_t i = 0; i < n->grid->count; i++)
            if (w.is_short[i])
                judge(&w, i);
    }
    free(w.at);
    free(w.numbers);
    free(w.is_short);
    free(w.group);
    free(w.places);
    free(w.middle_m);
    return code;
}
