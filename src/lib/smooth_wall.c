#include <plyecho/smooth_wall.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "alloc.h"
#include "pi.h"
#include "small_matrix.h"
#include "sort.h"

/* Drawn starts: with 6 terms and 45 in 100 readings bad, 200 miss a clean one once in 250 times, and a step from one that is
 * nearly clean gets there, too. More readings than so many do not make the half that agrees any clearer: starts are
 * then judged on some of them. Our choice, as all numbers here. */
enum { STARTS = 200, STEPS = 2, MOST_STEPS = 50, JUDGED_ON = 1000, REFITS = 10 };

/* Readings for each term. */
enum { A_TERM = 6 };

/* A reading is not of this wall where it is further off than any of as many normal ones is, 19 times in 20. */
static const double chance_off = 0.05;

/* The wall is sought through this share of the readings, the most of which agree best: less than half, so that of two
 * walls of the same length one can be found. */
static const double share_sought = 0.4;

struct reading {
    struct plyecho_place place;
    double value;
};

struct fit {
    struct plyecho_smooth_wall *wall;
    struct reading *reading; /* [count] shuffled, so that the first ones are a sample */
    size_t count;
    int terms;
    int term[PLYECHO_SMOOTH_TERMS]; /* the used ones */
    size_t sought;
    double *off;    /* [count] from the wall */
    double *sorted; /* [count] */
};

/* ---- terms ---- */

static void terms_at(const struct plyecho_smooth_wall *w, const struct plyecho_place *place,
                     double term[PLYECHO_SMOOTH_TERMS])
{
    double along = (place->along - w->middle.along) / w->scale.along;
    double x = (place->across - w->middle.across) / w->scale.across;
    double angle = place->across * PE_PI / 180.0;
    const double tube[] = {1.0,   cos(angle),       sin(angle),
                           along, cos(2.0 * angle), sin(2.0 * angle)};
    const double plate[] = {1.0, x, along, x * x, x * along, along * along};
    memcpy(term, w->tube ? tube : plate, sizeof tube);
}

/* How many different coordinates, and the widest gap between neighbours, round the tube if `turn`. */
struct lines {
    size_t count;
    double least, most, gap;
};

static struct lines lines_of(const double *sorted, size_t count, double turn)
{
    struct lines l = {1, sorted[0], sorted[count - 1], 0.0};
    for (size_t i = 1; i < count; i++) {
        l.count += sorted[i] - sorted[i - 1] > 1e-6;
        l.gap = fmax(l.gap, sorted[i] - sorted[i - 1]);
    }
    l.gap = fmax(l.gap, turn - (l.most - l.least));
    return l;
}

/* Of a tube a wave needs places all round, a slope at least four rings. */
static void choose_terms(struct fit *f, const struct lines *across, const struct lines *along)
{
    struct plyecho_smooth_wall *w = f->wall;
    bool round = across->count >= 8 && across->gap <= 90.0;
    bool twice = across->count >= 12 && across->gap <= 60.0;
    bool x = across->count >= 4, y = along->count >= 4;
    bool xx = across->count >= 6, yy = along->count >= 6;
    const bool tube[] = {true, round, round, y, twice, twice};
    const bool plate[] = {true, x, y, xx, x && y, yy};
    const bool *can = w->tube ? tube : plate;
    int room = (int)(f->count / A_TERM > PLYECHO_SMOOTH_TERMS ? PLYECHO_SMOOTH_TERMS
                                                              : f->count / A_TERM);
    for (int k = 0; k < PLYECHO_SMOOTH_TERMS; k++) {
        bool pair = w->tube && (k == 1 || k == 4); /* a wave is both or none */
        bool second = w->tube && (k == 2 || k == 5);
        w->used[k] = k == 0 || (can[k] && f->terms + (pair ? 2 : 1) <= room &&
                                (!second || w->used[k - 1]));
        if (w->used[k])
            f->term[f->terms++] = k;
    }
}

static size_t sought(const struct fit *f)
{
    size_t most = (size_t)ceil(share_sought * (double)f->count) + (size_t)f->terms;
    return most < f->count ? most : f->count;
}

static void take_terms(struct fit *f)
{
    struct plyecho_smooth_wall *w = f->wall;
    for (size_t i = 0; i < f->count; i++)
        f->sorted[i] = f->reading[i].place.across * (w->tube ? 1.0 : 1e3);
    pe_sort_doubles(f->sorted, f->count);
    struct lines across = lines_of(f->sorted, f->count, w->tube ? 360.0 : 0.0);
    for (size_t i = 0; i < f->count; i++)
        f->sorted[i] = f->reading[i].place.along * 1e3;
    pe_sort_doubles(f->sorted, f->count);
    struct lines along = lines_of(f->sorted, f->count, 0.0);
    w->middle = (struct plyecho_place){0.5e-3 * (across.least + across.most),
                                       0.5e-3 * (along.least + along.most)};
    w->scale = (struct plyecho_place){fmax(1e-6, 0.5e-3 * (across.most - across.least)),
                                      fmax(1e-6, 0.5e-3 * (along.most - along.least))};
    choose_terms(f, &across, &along);
    f->sought = sought(f);
}

/* ---- least squares ---- */

/* Through the readings no further off than `most` now; false where they do not determine the terms. */
static bool solve(struct fit *f, double most)
{
    struct pe_matrix normal = {.at = {{0.0}}}, inverse;
    double right[PLYECHO_SMOOTH_TERMS] = {0.0}, t[PLYECHO_SMOOTH_TERMS];
    for (size_t i = 0; i < f->count; i++) {
        if (!(fabs(f->off[i]) <= most))
            continue;
        terms_at(f->wall, &f->reading[i].place, t);
        for (int a = 0; a < f->terms; a++) {
            right[a] += t[f->term[a]] * f->reading[i].value;
            for (int b = 0; b < f->terms; b++)
                normal.at[a][b] += t[f->term[a]] * t[f->term[b]];
        }
    }
    if (!pe_invert(f->terms, &normal, &inverse, NULL))
        return false;
    for (int a = 0; a < f->terms; a++) {
        double sum = 0.0;
        for (int b = 0; b < f->terms; b++)
            sum += inverse.at[a][b] * right[b];
        f->wall->coefficient[f->term[a]] = sum;
    }
    return true;
}

static void look_how_far(struct fit *f)
{
    for (size_t i = 0; i < f->count; i++) {
        f->off[i] = f->reading[i].value - plyecho_smooth_wall_at(f->wall, &f->reading[i].place);
        f->sorted[i] = fabs(f->off[i]);
    }
    pe_sort_doubles(f->sorted, f->count);
}

/* Mean square of the readings sought, those that agree best. */
static double trimmed(const struct fit *f)
{
    double sum = 0.0;
    for (size_t i = 0; i < f->sought; i++)
        sum += f->sorted[i] * f->sorted[i];
    return sum / (double)f->sought;
}

/* Steps to those nearest to the wall, each of which makes it agree better, until none does. */
static double concentrate(struct fit *f, int steps)
{
    double best = trimmed(f);
    for (int k = 0; k < steps; k++) {
        struct plyecho_smooth_wall before = *f->wall;
        if (!solve(f, f->sorted[f->sought - 1]))
            break;
        look_how_far(f);
        double now = trimmed(f);
        if (!(now < best)) {
            *f->wall = before;
            look_how_far(f);
            break;
        }
        best = now;
    }
    return best;
}

/* ---- starts ---- */

/* A wall through as many drawn readings as it has terms. */
static bool draw_start(struct fit *f, gsl_rng *random)
{
    for (size_t i = 0; i < f->count; i++)
        f->off[i] = INFINITY;
    for (int k = 0; k < f->terms;) {
        size_t i = gsl_rng_uniform_int(random, f->count);
        k += isinf(f->off[i]);
        f->off[i] = 0.0;
    }
    if (!solve(f, 0.0))
        return false;
    look_how_far(f);
    return true;
}

static bool best_start(struct fit *f, gsl_rng *random)
{
    struct plyecho_smooth_wall best = *f->wall;
    double least = INFINITY;
    for (int k = 0; k < STARTS; k++) {
        if (!draw_start(f, random))
            continue;
        double now = concentrate(f, STEPS);
        if (now < least) {
            least = now;
            best = *f->wall;
        }
    }
    *f->wall = best;
    return isfinite(least);
}

/* ---- all of it ---- */

/* The standard deviation of readings of which the ones sought have this mean square, were they
 * normal (Rousseeuw and Van Driessen, section 3). */
static double spread_of_sought(const struct fit *f)
{
    double share = fmin(0.999, (double)f->sought / (double)f->count);
    double q = gsl_cdf_ugaussian_Pinv(0.5 * (1.0 + share));
    double of_normal = 1.0 - 2.0 * q * gsl_ran_ugaussian_pdf(q) / share;
    return sqrt(trimmed(f) / of_normal);
}

/* In standard deviations of the others about a wall that is laid through them: a Student quantile, and the wall there has an
 * error, too. */
static double how_far(const struct fit *f)
{
    double n = (double)f->count, p = (double)f->terms;
    return gsl_cdf_tdist_Qinv(0.5 * chance_off / n, fmax(1.0, n - p - 1.0)) * sqrt(1.0 + p / n);
}

/* Through all that are near enough, until those stay the same. */
static void refit(struct fit *f, double resolution)
{
    struct plyecho_smooth_wall *w = f->wall;
    double spread = spread_of_sought(f);
    double too_far = how_far(f);
    for (int k = 0; k < REFITS; k++) {
        double most = fmax(too_far * spread, 0.5 * resolution), sum = 0.0;
        size_t kept = 0;
        if (!solve(f, most))
            return;
        for (size_t i = 0; i < f->count; i++)
            kept += fabs(f->off[i]) <= most;
        look_how_far(f);
        for (size_t i = 0; i < kept; i++)
            sum += f->sorted[i] * f->sorted[i];
        size_t free_terms = kept > (size_t)f->terms ? kept - (size_t)f->terms : 1;
        spread = sqrt(sum / (double)free_terms);
        if (kept == w->kept)
            return;
        w->kept = kept;
        w->spread_m = spread;
    }
}

/* Only the level where more is not determined. */
static void only_level(struct fit *f)
{
    for (int k = 1; k < PLYECHO_SMOOTH_TERMS; k++) {
        f->wall->used[k] = false;
        f->wall->coefficient[k] = 0.0;
    }
    f->terms = 1;
    f->sought = sought(f);
}

static enum plyecho_code run(struct fit *f, double resolution, struct plyecho_error *err)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for random numbers");
    gsl_rng_set(random, 1);
    gsl_ran_shuffle(random, f->reading, f->count, sizeof *f->reading);
    struct fit some = *f;
    if (some.count > JUDGED_ON) {
        some.count = JUDGED_ON;
        some.sought = sought(&some);
    }
    bool good = best_start(&some, random);
    if (!good) {
        only_level(f);
        good = best_start(f, random);
    }
    gsl_rng_free(random);
    if (!good)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "no wall goes through these readings");
    look_how_far(f);
    concentrate(f, MOST_STEPS);
    refit(f, resolution);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_smooth_wall_fit(struct plyecho_smooth_wall *wall,
                                          const struct plyecho_place *places,
                                          const double *value_m, size_t count, bool tube,
                                          double resolution_m, struct plyecho_error *err)
{
    *wall = (struct plyecho_smooth_wall){.tube = tube};
    if (count < 1 || !(resolution_m > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "no readings, or no resolution above 0, to lay a wall through");
    struct fit f = {
        .wall = wall,
        .count = count,
        .reading = pe_alloc(count, sizeof *f.reading),
        .off = pe_alloc(count, sizeof *f.off),
        .sorted = pe_alloc(count, sizeof *f.sorted),
    };
    enum plyecho_code code = PLYECHO_OK;
    if (f.reading == NULL || f.off == NULL || f.sorted == NULL) {
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu readings", count);
    } else {
        for (size_t i = 0; i < count; i++)
            f.reading[i] = (struct reading){places[i], value_m[i]};
        take_terms(&f);
        code = run(&f, resolution_m, err);
    }
    free(f.reading);
    free(f.off);
    free(f.sorted);
    return code;
}

double plyecho_smooth_wall_at(const struct plyecho_smooth_wall *wall,
                              const struct plyecho_place *place)
{
    double term[PLYECHO_SMOOTH_TERMS], sum = 0.0;
    terms_at(wall, place, term);
    for (int k = 0; k < PLYECHO_SMOOTH_TERMS; k++)
        sum += wall->coefficient[k] * term[k];
    return sum;
}
