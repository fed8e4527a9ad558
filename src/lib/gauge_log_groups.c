/* The smooth wall of a log, groups and outliers in what is left of it, and what each place is taken for. */
#include <math.h>
#include <stdlib.h>

#include <plyecho/outliers.h>

#include "alloc.h"
#include "gauge_log_inside.h"
#include "sort.h"

/* Rosner's test: chance, and at most this share of the places; beyond, it is groups. Two groups need a chance of at most
 * 0.01 from one, or where there are too many places to count it a gain of the criterion that is called decisive
 * (R. Kass, A. Raftery, J. Am. Statist. Assoc. 90 (1995) 773: above 10). Our choice. */
static const double outlier_chance = 0.05, outlier_share = 0.2, group_chance = 0.01,
                    decisive = 10.0;
enum { DRAWS = 99, MOST_DRAWN = 2000, MOST_OUTLIERS = 200 };

/* Without a nominal the upper group is the wall, unless it is so small that it is more likely misread: our choice. */
static const double least_wall_share = 0.1;

/* A group cannot be tighter than the gauge reads a wall; half of that, to be safe. */
static const double floor_share = 0.5;

struct work {
    struct plyecho_gauge_log *log;
    size_t count;   /* places that were read */
    size_t *of;     /* [count] their numbers */
    double *number; /* [count] what is looked at */
    double *more;   /* [count] */
    struct plyecho_place *places;
    struct plyecho_outlier *steps;
};

static double base_of(const struct plyecho_gauge_log *log, const struct plyecho_gauge_place *p)
{
    return log->nominal_known ? p->nominal_m.value : 0.0;
}

static enum plyecho_code take_out_wall(struct work *w, struct plyecho_error *err)
{
    struct plyecho_gauge_log *log = w->log;
    for (size_t k = 0; k < w->count; k++) {
        const struct plyecho_gauge_place *p = &log->place[w->of[k]];
        w->places[k] = p->place;
        w->number[k] = p->wall_m - base_of(log, p);
    }
    enum plyecho_code code = plyecho_smooth_wall_fit(
        &log->smooth, w->places, w->number, w->count, log->tube, log->resolution_m, err);
    for (size_t k = 0; k < w->count && code == PLYECHO_OK; k++) {
        struct plyecho_gauge_place *p = &log->place[w->of[k]];
        p->smooth_m = base_of(log, p) + plyecho_smooth_wall_at(&log->smooth, &p->place);
        p->off_m = w->number[k] = p->wall_m - p->smooth_m;
    }
    return code;
}

static enum plyecho_code find_outliers(struct work *w, struct plyecho_error *err)
{
    double share = ceil(outlier_share * (double)w->count);
    size_t most = (size_t)fmin(share, MOST_OUTLIERS), found = 0;
    enum plyecho_code code =
        plyecho_outliers_find(w->number, w->count, most, outlier_chance, w->steps, &found, err);
    for (size_t k = 0; k < found; k++)
        w->log->place[w->of[w->steps[k].index]].outlier = true;
    return code;
}

static enum plyecho_code find_clusters(struct work *w, struct plyecho_error *err)
{
    struct plyecho_gauge_log *log = w->log;
    struct plyecho_clusters *c = &log->clusters;
    const struct plyecho_clusters_options options = {
        .floor = fmax(0.5 * log->resolution_m, floor_share * log->smooth.spread_m),
        .draws = w->count <= MOST_DRAWN ? DRAWS : 0,
        .seed = 1,
    };
    enum plyecho_code code =
        plyecho_clusters_find(w->number, w->count, &options, c, w->more, err);
    if (code != PLYECHO_OK)
        return code;
    double smaller = fmin(c->low.share, c->high.share) * (double)w->count;
    bool sure =
        c->chance.known ? c->chance.value <= group_chance : c->criterion_gain > decisive;
    log->two = c->criterion_gain > 0.0 && sure && smaller > 1.5 &&
               c->high.mean - c->low.mean > log->counts_m;
    for (size_t k = 0; k < w->count; k++)
        log->place[w->of[k]].low_share = (struct plyecho_known){log->two, w->more[k]};
    return PLYECHO_OK;
}

/* ---- which group is the wall ---- */

static double median_off_nominal(struct work *w)
{
    for (size_t k = 0; k < w->count; k++) {
        const struct plyecho_gauge_place *p = &w->log->place[w->of[k]];
        w->more[k] = p->smooth_m - p->nominal_m.value;
    }
    pe_sort_doubles(w->more, w->count);
    return w->more[w->count / 2];
}

static bool high_is_wall(struct work *w)
{
    const struct plyecho_clusters *c = &w->log->clusters;
    if (!w->log->nominal_known)
        return c->high.share >= least_wall_share;
    double off = median_off_nominal(w);
    return fabs(off + c->high.mean) <= fabs(off + c->low.mean);
}

static void set_group(const struct plyecho_gauge_log *log, struct plyecho_gauge_place *p,
                      bool high_wall)
{
    double from_wall = p->off_m - log->wall_off_m;
    bool of_other = log->two && (p->low_share.value > 0.5) == high_wall;
    if ((of_other || p->outlier || p->disagree) && fabs(from_wall) > log->counts_m)
        p->group = from_wall < 0.0 ? PLYECHO_GAUGE_LOW : PLYECHO_GAUGE_HIGH;
}

static void set_groups(struct work *w)
{
    struct plyecho_gauge_log *log = w->log;
    bool high = log->two && high_is_wall(w);
    log->wall_off_m = !log->two ? 0.0 : high ? log->clusters.high.mean : log->clusters.low.mean;
    for (size_t k = 0; k < w->count; k++)
        set_group(log, &log->place[w->of[k]], high);
}

static enum plyecho_code run(struct work *w, struct plyecho_error *err)
{
    for (size_t i = 0; i < w->log->count; i++)
        if (w->log->place[i].readings > 0)
            w->of[w->count++] = i;
    enum plyecho_code code = take_out_wall(w, err);
    if (code == PLYECHO_OK)
        code = find_outliers(w, err);
    if (code == PLYECHO_OK)
        code = find_clusters(w, err);
    if (code == PLYECHO_OK)
        set_groups(w);
    return code;
}

enum plyecho_code pe_gauge_groups(struct plyecho_gauge_log *log, struct plyecho_error *err)
{
    struct work w = {
        .log = log,
        .of = pe_alloc(log->read, sizeof *w.of),
        .number = pe_alloc(log->read, sizeof *w.number),
        .more = pe_alloc(log->read, sizeof *w.more),
        .places = pe_alloc(log->read, sizeof *w.places),
        .steps = pe_alloc(log->read, sizeof *w.steps),
    };
    enum plyecho_code code = PLYECHO_OK;
    if (w.of == NULL || w.number == NULL || w.more == NULL || w.places == NULL ||
        w.steps == NULL)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", log->read);
    else
        code = run(&w, err);
    free(w.of);
    free(w.number);
    free(w.more);
    free(w.places);
    free(w.steps);
    return code;
}
