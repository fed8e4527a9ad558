#include <plyecho/alignment.h>

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "relief.h"
#include "sort.h"
#include <gsl/gsl_cdf.h>

/* Rows that are tried on either side, and columns where the surface does not close. */
enum { PUSHED = 2, MOST_TURNS = 360 };

static const double significance = 0.05;

const char *plyecho_alignment_word(enum plyecho_alignment_state state)
{
    static const char *const words[] = {
        [PLYECHO_ALIGNED] = "fits",
        [PLYECHO_MISALIGNED] = "does not fit",
        [PLYECHO_ALIGNMENT_UNLIKE] = "does not fit",
        [PLYECHO_ALIGNMENT_FEATURELESS] = "cannot be checked",
        [PLYECHO_ALIGNMENT_FEW] = "cannot be checked",
    };
    return words[state];
}

/* ---- correlation at one position ---- */

struct job {
    const struct plyecho_grid *before, *after;
    struct pe_relief one, other;
    double turn, push; /* steps across and along */
    long turns_from, turns_to;
    bool mirrors;
    /* [crossings of after] heights of `before` as they lie on its places; at zero, at the best */
    double *laid, *at_zero, *at_best;
    double *residue, *scratch;
    struct pe_between *column;   /* [after->columns] scratch */
    struct plyecho_shift *tried; /* [count], zero first */
    size_t count;
};

static size_t crossings(const struct job *j)
{
    return j->after->rows * j->after->columns;
}

/* Lay the walls of `before` on the places of `after`. */
static void lay(struct job *j, const struct plyecho_shift *s, double *heights)
{
    size_t columns = j->after->columns;
    for (size_t c = 0; c < columns; c++) {
        double at = j->after->across[c];
        j->column[c] = pe_relief_column(j->before, s->across + (s->mirrored ? -at : at));
    }
    for (size_t r = 0; r < j->after->rows; r++) {
        size_t row = pe_relief_row(j->before, j->after->along[r] + s->along_m);
        for (size_t c = 0; c < columns; c++)
            heights[r * columns + c] =
                row == PLYECHO_NO_PLACE ? NAN : pe_relief_height(&j->one, row, &j->column[c]);
    }
}

struct pairs {
    double n, a, b, aa, bb, ab;
};

static void add(struct pairs *p, double a, double b)
{
    p->n++;
    p->a += a;
    p->b += b;
    p->aa += a * a;
    p->bb += b * b;
    p->ab += a * b;
}

static double correlation_of(const struct pairs *p)
{
    double aa = p->aa - p->a * p->a / p->n, bb = p->bb - p->b * p->b / p->n;
    double r = (p->ab - p->a * p->b / p->n) / sqrt(aa * bb);
    return p->n > 2.0 && isfinite(r) ? fmax(-1.0, fmin(1.0, r)) : 0.0;
}

static void correlate(struct job *j, struct plyecho_shift *s)
{
    struct pairs p = {.n = 0.0};
    lay(j, s, j->laid);
    for (size_t k = 0; k < crossings(j); k++)
        if (isfinite(j->laid[k]) && isfinite(j->other.height[k]))
            add(&p, j->laid[k], j->other.height[k]);
    s->places = (size_t)p.n;
    s->correlation = correlation_of(&p);
}

/* ---- what is left where it fits best ---- */

/* The slope of walls of `after` over those laid on them. */
static double slope_at(const struct job *j, const double *laid)
{
    struct pairs p = {.n = 0.0};
    for (size_t k = 0; k < crossings(j); k++)
        if (isfinite(laid[k]) && isfinite(j->other.height[k]))
            add(&p, laid[k], j->other.height[k]);
    double slope = (p.ab - p.a * p.b / p.n) / (p.aa - p.a * p.a / p.n);
    return isfinite(slope) ? slope : 0.0;
}

/* What the best position leaves; what is far off it has changed in between, and is left out of `after`. */
static void leave_out_changed(struct job *j)
{
    static const double deviations = 3.0, per_median_distance = 1.4826;
    double gain = slope_at(j, j->at_best);
    size_t n = 0;
    for (size_t k = 0; k < crossings(j); k++) {
        j->residue[k] = j->other.height[k] - gain * j->at_best[k];
        if (isfinite(j->residue[k]))
            j->scratch[n++] = fabs(j->residue[k]);
    }
    double most = deviations * per_median_distance * pe_median(j->scratch, n);
    for (size_t k = 0; k < crossings(j); k++)
        if (fabs(j->residue[k]) > most)
            j->residue[k] = j->other.height[k] = NAN;
}

/* Pairs of values a step of a grid's array apart. */
static struct pairs neighbours(const double *values, const struct plyecho_grid *g, size_t rows,
                               size_t columns, size_t step)
{
    struct pairs p = {.n = 0.0};
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            size_t at = r * g->columns + c;
            if (isfinite(values[at]) && isfinite(values[at + step]))
                add(&p, values[at], values[at + step]);
        }
    return p;
}

static struct pairs neighbours_round(const double *values, const struct plyecho_grid *g)
{
    return neighbours(values, g, g->rows, g->columns - 1, 1);
}

/* The share of walls that counts, as of a first-order autoregressive series in either direction. */
static double independent_share(const struct job *j)
{
    const struct plyecho_grid *g = j->after;
    struct pairs in_row = neighbours_round(j->residue, g),
                 in_column = neighbours(j->residue, g, g->rows - 1, g->columns, g->columns);
    double round = fmax(0.0, correlation_of(&in_row)),
           along = fmax(0.0, correlation_of(&in_column));
    return (1.0 - round) / (1.0 + round) * (1.0 - along) / (1.0 + along);
}

/* ---- does one position fit better than another ---- */

/* How well walls laid on those of `after` fit in two ways, where both have a wall. */
struct rivals {
    double n, first, second, between; /* correlations; of the two ways with each other */
};

static struct rivals fits_of(const struct job *j, const double *first, const double *second,
                             double share)
{
    struct pairs one = {.n = 0.0}, two = {.n = 0.0}, both = {.n = 0.0};
    for (size_t k = 0; k < crossings(j); k++) {
        double b = j->other.height[k];
        if (!isfinite(b) || !isfinite(first[k]) || !isfinite(second[k]))
            continue;
        add(&one, first[k], b);
        add(&two, second[k], b);
        add(&both, first[k], second[k]);
    }
    return (struct rivals){share * one.n, correlation_of(&one), correlation_of(&two),
                           correlation_of(&both)};
}

/* Williams' test of two correlations with one variable in common. */
static bool first_is_better(const struct rivals *x, size_t tried)
{
    double n = x->n, a = x->first, b = x->second, c = x->between;
    if (!(n > 4.0) || !(a > b))
        return false;
    double determinant = fmax(0.0, 1.0 - a * a - b * b - c * c + 2.0 * a * b * c);
    double mean = 0.5 * (a + b);
    double below = 2.0 * (n - 1.0) / (n - 3.0) * determinant + mean * mean * pow(1.0 - c, 3.0);
    double t = (a - b) * sqrt((n - 1.0) * (1.0 + c) / below);
    return t > gsl_cdf_tdist_Qinv(significance / (double)tried, n - 3.0);
}

/* Fisher's z: is there a correlation at all? */
static bool better_than_chance(double r, double n, size_t tried)
{
    return n > 4.0 && atanh(fmin(r, 1.0 - 1e-12)) * sqrt(n - 3.0) >
                          gsl_cdf_ugaussian_Qinv(significance / (double)tried);
}

/* ---- all positions ---- */

static bool may_turn(const struct plyecho_grid *a, const struct plyecho_grid *b)
{
    return a->closed && b->closed;
}

static void plan(struct job *j)
{
    j->turn = j->before->reach_across / 1.5;
    j->push = j->before->reach_along / 1.5;
    j->turns_from = j->turn > 0.0 ? -PUSHED : 0;
    j->turns_to = j->turn > 0.0 ? PUSHED : 0;
    j->mirrors = may_turn(j->before, j->after);
    if (!j->mirrors)
        return;
    long turns = lround(fmin(MOST_TURNS, 360.0 / j->turn));
    j->turn = 360.0 / (double)turns;
    j->turns_to = turns / 2;
    j->turns_from = j->turns_to - turns + 1;
}

static enum plyecho_code try_all(struct job *j, struct plyecho_error *err)
{
    long pushes = j->push > 0.0 ? PUSHED : 0;
    size_t most = 2 * (size_t)(j->turns_to - j->turns_from + 1) * (size_t)(2 * pushes + 1);
    j->tried = pe_alloc(most, sizeof *j->tried);
    if (j->tried == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the alignment");
    j->count = 1; /* zero comes first */
    correlate(j, &j->tried[0]);
    for (int mirrored = 0; mirrored <= (j->mirrors ? 1 : 0); mirrored++)
        for (long push = -pushes; push <= pushes; push++)
            for (long turn = j->turns_from; turn <= j->turns_to; turn++) {
                if (!mirrored && push == 0 && turn == 0)
                    continue;
                struct plyecho_shift *s = &j->tried[j->count++];
                *s = (struct plyecho_shift){.mirrored = mirrored,
                                            .across = j->turn * (double)turn,
                                            .along_m = j->push * (double)push};
                correlate(j, s);
            }
    return PLYECHO_OK;
}

/* A position where few walls meet tells nothing. */
static bool counts(const struct job *j, const struct plyecho_shift *s)
{
    return s->places >= PLYECHO_ALIGNMENT_LEAST && 2 * s->places >= j->tried[0].places;
}

static bool far_from_zero(const struct job *j, const struct plyecho_shift *s)
{
    return s->mirrored || fabs(s->across) > 1.5 * j->turn || fabs(s->along_m) > 1.5 * j->push;
}

/* The best position, and the best that is not next to zero (NULL: none). */
static const struct plyecho_shift *best_of(const struct job *j,
                                           const struct plyecho_shift **rival)
{
    const struct plyecho_shift *best = &j->tried[0];
    *rival = NULL;
    for (size_t k = 1; k < j->count; k++) {
        const struct plyecho_shift *s = &j->tried[k];
        if (!counts(j, s))
            continue;
        if (s->correlation > best->correlation)
            best = s;
        if (far_from_zero(j, s) && (*rival == NULL || s->correlation > (*rival)->correlation))
            *rival = s;
    }
    return best;
}

/* Does the wall go up and down by more than its scatter, so that neighbours are alike? */
static bool has_shape(const double *heights, const struct plyecho_grid *g)
{
    struct pairs p = neighbours_round(heights, g);
    return better_than_chance(correlation_of(&p), p.n, 2);
}

/* shaped: both walls have a shape of their own. */
static enum plyecho_alignment_state state_of(const struct job *j, double share, bool shaped)
{
    struct rivals fits = fits_of(j, j->at_best, j->at_zero, share);
    if (better_than_chance(fits.first, fits.n, j->count) && first_is_better(&fits, j->count))
        return PLYECHO_MISALIGNED;
    if (better_than_chance(fits.second, fits.n, 1))
        return PLYECHO_ALIGNED;
    return shaped ? PLYECHO_ALIGNMENT_UNLIKE : PLYECHO_ALIGNMENT_FEATURELESS;
}

static void conclude(struct job *j, struct plyecho_alignment *a)
{
    const struct plyecho_shift *rival, *best = best_of(j, &rival);
    a->tried = j->count;
    a->zero = j->tried[0];
    a->best = *best;
    if (!counts(j, &a->zero))
        return;
    lay(j, &a->zero, j->at_zero);
    lay(j, best, j->at_best);
    bool shaped = has_shape(j->one.height, j->before) && has_shape(j->other.height, j->after);
    leave_out_changed(j);
    double share = independent_share(j);
    a->state = state_of(j, share, shaped);
    if (a->state != PLYECHO_ALIGNED || rival == NULL)
        return;
    lay(j, rival, j->laid);
    struct rivals fits = fits_of(j, j->at_zero, j->laid, share);
    a->ambiguous = !first_is_better(&fits, j->count);
    if (a->ambiguous)
        a->rival = *rival;
}

static enum plyecho_code make(struct job *j, const struct plyecho_scanned *before,
                              const struct plyecho_scanned *after, struct plyecho_error *err)
{
    double **const arrays[] = {&j->laid, &j->at_zero, &j->at_best, &j->residue, &j->scratch};
    enum plyecho_code code = pe_relief_take(&j->one, before, err);
    if (code == PLYECHO_OK)
        code = pe_relief_take(&j->other, after, err);
    if (code != PLYECHO_OK)
        return code;
    j->column = pe_alloc(j->after->columns, sizeof *j->column);
    bool good = j->column != NULL;
    for (size_t k = 0; k < sizeof arrays / sizeof arrays[0] && good; k++) {
        *arrays[k] = pe_alloc(crossings(j), sizeof **arrays[k]);
        good = *arrays[k] != NULL;
    }
    if (!good)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the alignment");
    plan(j);
    return try_all(j, err);
}

enum plyecho_code plyecho_alignment_check(const struct plyecho_scanned *before,
                                          const struct plyecho_scanned *after,
                                          struct plyecho_alignment *alignment,
                                          struct plyecho_error *err)
{
    struct job j = {.before = before->grid, .after = after->grid};
    *alignment = (struct plyecho_alignment){.state = PLYECHO_ALIGNMENT_FEW};
    enum plyecho_code code = make(&j, before, after, err);
    if (code == PLYECHO_OK)
        conclude(&j, alignment);
    free(j.one.height);
    free(j.other.height);
    free(j.laid);
    free(j.at_zero);
    free(j.at_best);
    free(j.residue);
    free(j.scratch);
    free(j.column);
    free(j.tried);
    return code;
}
