#include <plyecho/change.h>

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics.h>

#include <plyecho/walls.h>

#include "alloc.h"
#include "grid_near.h"
#include "sort.h"

const char *plyecho_wall_change_word(enum plyecho_wall_change_state state)
{
    static const char *const words[] = {
        [PLYECHO_WALL_NOT_COMPARED] = "not compared",
        [PLYECHO_WALL_NOT_JUDGED] = "not judged",
        [PLYECHO_WALL_SAME] = "same",
        [PLYECHO_WALL_STANDS_OUT] = "stands out",
        [PLYECHO_WALL_THINNER] = "thinner",
        [PLYECHO_WALL_THICKER] = "thicker",
    };
    return words[state];
}

/* ---- which place is which ---- */

/* How far apart places of the two may lie to be one. A lone line has no spacing of its own. */
struct tolerance {
    double across, along;
};

static double half_spacing(double reach, double other, double none)
{
    /* a grid's reach is 1.5 times its spacing; at half of it a place is no nearer to one than to the next */
    static const double nearly_half = 0.4999 / 1.5;
    if (reach > 0.0 && other > 0.0)
        return nearly_half * fmin(reach, other);
    return reach > 0.0 || other > 0.0 ? nearly_half * fmax(reach, other) : none;
}

static struct tolerance tolerance_of(const struct plyecho_grid *a, const struct plyecho_grid *b)
{
    const double same_degrees = 1e-6, same_m = 1e-9;
    return (struct tolerance){
        half_spacing(a->reach_across, b->reach_across, a->tube ? same_degrees : same_m),
        half_spacing(a->reach_along, b->reach_along, same_m)};
}

static struct plyecho_place place_of(const struct plyecho_grid *g, size_t place)
{
    return (struct plyecho_place){g->across[g->column[place]], g->along[g->row[place]]};
}

static size_t nearest_in(const struct plyecho_grid *g, struct plyecho_place at,
                         struct tolerance within)
{
    struct pe_near near = pe_grid_near(g, at, within.across, within.along);
    size_t best = PLYECHO_NO_PLACE;
    double least = INFINITY;
    for (size_t i; (i = pe_near_next(&near)) != PLYECHO_NO_PLACE;) {
        struct plyecho_place p = place_of(g, i);
        double off = hypot(pe_grid_apart(g, at.across, p.across) / within.across,
                           (p.along - at.along) / within.along);
        if (off < least) {
            least = off;
            best = i;
        }
    }
    return best;
}

size_t plyecho_change_place_at(const struct plyecho_grid *grid, struct plyecho_place point)
{
    return nearest_in(grid, point, tolerance_of(grid, grid));
}

size_t plyecho_change_match(const struct plyecho_grid *before, const struct plyecho_grid *after,
                            size_t *after_of, size_t *before_of)
{
    struct tolerance within = tolerance_of(before, after);
    size_t matched = 0;
    for (size_t i = 0; i < before->count; i++)
        after_of[i] = nearest_in(after, place_of(before, i), within);
    for (size_t i = 0; i < after->count; i++) {
        size_t near = nearest_in(before, place_of(after, i), within);
        bool mutual = near != PLYECHO_NO_PLACE && after_of[near] == i;
        before_of[i] = mutual ? near : PLYECHO_NO_PLACE;
        matched += mutual;
    }
    for (size_t i = 0; i < before->count; i++)
        if (after_of[i] != PLYECHO_NO_PLACE && before_of[after_of[i]] != i)
            after_of[i] = PLYECHO_NO_PLACE;
    return matched;
}

/* ---- walls ---- */

static const double coverage_factor = 2.0;

static struct plyecho_wall_change difference(const struct plyecho_place_reading *a,
                                             const struct plyecho_place_reading *b)
{
    bool judged = a->second_wall_u_m.known && b->second_wall_u_m.known;
    return (struct plyecho_wall_change){
        .state = judged ? PLYECHO_WALL_SAME : PLYECHO_WALL_NOT_JUDGED,
        .own_traces = a->wall_seen && b->wall_seen,
        .difference_m = b->second_wall_m.value - a->second_wall_m.value,
        .u_m = {judged,
                judged ? hypot(a->second_wall_u_m.value, b->second_wall_u_m.value) : 0.0},
    };
}

static void take_differences(const struct plyecho_scanned *before,
                             const struct plyecho_scanned *after, const size_t *after_of,
                             struct plyecho_wall_change *changes,
                             struct plyecho_wall_changes *s)
{
    for (size_t i = 0; i < before->grid->count; i++) {
        changes[i] = (struct plyecho_wall_change){.state = PLYECHO_WALL_NOT_COMPARED};
        size_t k = after_of[i];
        if (k == PLYECHO_NO_PLACE || !plyecho_walls_has(&before->readings[i]) ||
            !plyecho_walls_has(&after->readings[k]))
            continue;
        changes[i] = difference(&before->readings[i], &after->readings[k]);
        s->compared++;
        s->judged += changes[i].state == PLYECHO_WALL_SAME;
    }
}

/* Off the shift of all by more than chance has it. A wall that only the neighbours make one scatters more; few tell no scatter, and a scatter of 0 is none. */
static bool stands_out(const struct plyecho_wall_change *c,
                       const struct plyecho_wall_changes *s)
{
    enum { LEAST_FOR_SCATTER = 20 };
    /* The scatter is itself known to 1.16 / sqrt(n) of it: the median distance has 0.37 of the efficiency of a
     * standard deviation (Rousseeuw & Croux, J. Am. Stat. Assoc. 1993; 88: 1273-1283, from memory). */
    double at_most = s->spread_m.value *
                     (1.0 + coverage_factor * 1.16 / sqrt(fmax(1.0, (double)s->compared)));
    return c->own_traces && s->compared >= LEAST_FOR_SCATTER && s->spread_m.value > 0.0 &&
           fabs(c->difference_m - s->median_m.value) > s->factor * at_most;
}

static enum plyecho_wall_change_state state_of(const struct plyecho_wall_change *c,
                                               const struct plyecho_wall_changes *s)
{
    if (c->u_m.known && fabs(c->difference_m) > s->factor * c->u_m.value)
        return c->difference_m < 0.0 ? PLYECHO_WALL_THINNER : PLYECHO_WALL_THICKER;
    if (stands_out(c, s))
        return PLYECHO_WALL_STANDS_OUT;
    return c->state;
}

static void judge(struct plyecho_wall_change *changes, size_t count,
                  struct plyecho_wall_changes *s)
{
    /* Bonferroni: 5 % over all places and both signs */
    static const double significance = 0.05;
    if (s->compared == 0)
        return;
    s->factor = gsl_cdf_ugaussian_Qinv(0.5 * significance / (double)s->compared);
    for (size_t i = 0; i < count; i++) {
        struct plyecho_wall_change *c = &changes[i];
        if (c->state == PLYECHO_WALL_NOT_COMPARED)
            continue;
        c->state = state_of(c, s);
        s->standing_out += c->state == PLYECHO_WALL_STANDS_OUT;
        s->thinner += c->state == PLYECHO_WALL_THINNER;
        s->thicker += c->state == PLYECHO_WALL_THICKER;
    }
}

static void take_shift(const struct plyecho_wall_change *changes, size_t count, double *scratch,
                       struct plyecho_wall_changes *s)
{
    /* a normal distribution's standard deviation over its median distance from the median */
    static const double per_median_distance = 1.4826;
    double squares = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (changes[i].state != PLYECHO_WALL_NOT_COMPARED) {
            scratch[n++] = changes[i].difference_m;
            squares += changes[i].u_m.value * changes[i].u_m.value;
        }
    if (n == 0)
        return;
    s->mean_m = (struct plyecho_known){true, gsl_stats_mean(scratch, 1, n)};
    s->median_m = (struct plyecho_known){true, pe_median(scratch, n)};
    for (size_t k = 0; k < n; k++)
        scratch[k] = fabs(scratch[k] - s->median_m.value);
    s->spread_m.known = n > 1;
    s->spread_m.value = n > 1 ? per_median_distance * pe_median(scratch, n) : 0.0;
    s->shift_u_m.known = s->judged == n;
    s->shift_u_m.value = s->shift_u_m.known ? sqrt(squares / (double)n) : 0.0;
    s->shifted =
        s->shift_u_m.known && fabs(s->median_m.value) > coverage_factor * s->shift_u_m.value;
}

enum plyecho_code plyecho_change_walls(const struct plyecho_scanned *before,
                                       const struct plyecho_scanned *after,
                                       const size_t *after_of,
                                       struct plyecho_wall_change *changes,
                                       struct plyecho_wall_changes *summary,
                                       struct plyecho_error *err)
{
    *summary = (struct plyecho_wall_changes){.compared = 0};
    double *scratch = pe_alloc(before->grid->count, sizeof *scratch);
    if (scratch == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the changes of walls");
    take_differences(before, after, after_of, changes, summary);
    take_shift(changes, before->grid->count, scratch, summary);
    judge(changes, before->grid->count, summary);
    free(scratch);
    return PLYECHO_OK;
}
