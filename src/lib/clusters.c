#include <plyecho/clusters.h>

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "alloc.h"
#include "pi.h"
#include "sort.h"

/* When a fit is done: rounds, and the gain of log-likelihood a value. What is drawn is only compared: our choice. */
struct patience {
    int rounds;
    double enough;
};
static const struct patience exactly = {500, 1e-10}, roughly = {100, 1e-6};

/* Numbers of the mixture that one group does not have: a mean, a spread, a share. */
static const double more_numbers = 3.0;

struct work {
    size_t count;
    double floor;
    double *sorted;
    double *share; /* of the low group, each */
};

struct mixture {
    struct plyecho_cluster group[2];
    double log_likelihood;
};

static double log_density(const struct plyecho_cluster *c, double value)
{
    double off = (value - c->mean) / c->spread;
    return -0.5 * (off * off + log(2.0 * PE_PI)) - log(c->spread);
}

static struct plyecho_cluster whole(const double *values, size_t count, double floor)
{
    double mean = 0.0, squares = 0.0;
    for (size_t i = 0; i < count; i++)
        mean += values[i] / (double)count;
    for (size_t i = 0; i < count; i++)
        squares += (values[i] - mean) * (values[i] - mean);
    return (struct plyecho_cluster){mean, fmax(floor, sqrt(squares / (double)count)), 1.0};
}

static double likelihood_of_one(const struct work *w, const struct plyecho_cluster *one)
{
    double sum = 0.0;
    for (size_t i = 0; i < w->count; i++)
        sum += log_density(one, w->sorted[i]);
    return sum;
}

/* ---- the mixture ---- */

/* How many of the sorted values are the low group of the best split: most between the means. */
static size_t best_split(const struct work *w, double mean)
{
    double n = (double)w->count, sum = 0.0, best = -1.0;
    size_t at = 1;
    for (size_t k = 1; k < w->count; k++) {
        sum += w->sorted[k - 1] - mean;
        double low = (double)k, between = sum * sum * n / (low * (n - low));
        if (between > best) {
            best = between;
            at = k;
        }
    }
    return at;
}

static struct mixture start(const struct work *w, double mean)
{
    size_t low = best_split(w, mean), high = w->count - low;
    struct mixture m = {
        .group = {whole(w->sorted, low, w->floor), whole(w->sorted + low, high, w->floor)}};
    m.group[0].share = (double)low / (double)w->count;
    m.group[1].share = (double)high / (double)w->count;
    return m;
}

/* What a value's log-likelihood is reckoned from: constant - (value - mean)^2 / 2 spread^2, for each group. */
struct reckoning {
    double mean[2], constant[2], factor[2];
};

static struct reckoning reckon(const struct mixture *m)
{
    struct reckoning r;
    for (int k = 0; k < 2; k++) {
        const struct plyecho_cluster *c = &m->group[k];
        r.mean[k] = c->mean;
        r.constant[k] = log(c->share) + log_density(c, c->mean);
        r.factor[k] = -0.5 / (c->spread * c->spread);
    }
    return r;
}

/* Log-likelihood of a value, and how likely it is of the low group. */
static double belongs(const struct reckoning *r, double value, double *low_share)
{
    double off[2] = {value - r->mean[0], value - r->mean[1]};
    double low = r->constant[0] + r->factor[0] * off[0] * off[0];
    double high = r->constant[1] + r->factor[1] * off[1] * off[1];
    double other = exp(-fabs(low - high)); /* the less likely over the more likely */
    *low_share = (low > high ? 1.0 : other) / (1.0 + other);
    return fmax(low, high) + log1p(other);
}

static double expect(const struct work *w, const struct mixture *m)
{
    const struct reckoning r = reckon(m);
    double sum = 0.0;
    for (size_t i = 0; i < w->count; i++)
        sum += belongs(&r, w->sorted[i], &w->share[i]);
    return sum;
}

/* Group 0 (low) or 1 by the shares. One that nothing belongs to stays as it is, with next to no share. */
static struct plyecho_cluster maximise(const struct work *w, int group,
                                       const struct plyecho_cluster *before)
{
    struct plyecho_cluster c = *before;
    double weight = 0.0, sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < w->count; i++) {
        double share = group == 0 ? w->share[i] : 1.0 - w->share[i];
        weight += share;
        sum += share * w->sorted[i];
    }
    c.share = fmax(weight / (double)w->count, 1e-12);
    if (weight < 1e-9)
        return c;
    c.mean = sum / weight;
    for (size_t i = 0; i < w->count; i++) {
        double share = group == 0 ? w->share[i] : 1.0 - w->share[i];
        squares += share * (w->sorted[i] - c.mean) * (w->sorted[i] - c.mean);
    }
    c.spread = fmax(w->floor, sqrt(squares / weight));
    return c;
}

static struct mixture fit(const struct work *w, double mean, const struct patience *patience)
{
    struct mixture m = start(w, mean);
    m.log_likelihood = expect(w, &m);
    for (int round = 0; round < patience->rounds; round++) {
        double before = m.log_likelihood;
        for (int k = 0; k < 2; k++)
            m.group[k] = maximise(w, k, &m.group[k]);
        m.log_likelihood = expect(w, &m);
        if (m.log_likelihood - before < patience->enough * (double)w->count)
            break;
    }
    return m;
}

static double gain_of(const struct work *w, const struct plyecho_cluster *one,
                      const struct mixture *two)
{
    return 2.0 * (two->log_likelihood - likelihood_of_one(w, one)) -
           more_numbers * log((double)w->count);
}

/* ---- from one group by chance ---- */

static double drawn_gain(struct work *w, const struct plyecho_cluster *one, gsl_rng *random)
{
    for (size_t i = 0; i < w->count; i++)
        w->sorted[i] = one->mean + gsl_ran_gaussian(random, one->spread);
    pe_sort_doubles(w->sorted, w->count);
    struct plyecho_cluster drawn = whole(w->sorted, w->count, w->floor);
    struct mixture two = fit(w, drawn.mean, &roughly);
    return gain_of(w, &drawn, &two);
}

/* The drawn samples take the place of the values. */
static enum plyecho_code count_chance(struct work *w,
                                      const struct plyecho_clusters_options *options,
                                      struct plyecho_clusters *c, struct plyecho_error *err)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for random numbers");
    gsl_rng_set(random, options->seed);
    size_t as_large = 0;
    for (size_t k = 0; k < options->draws; k++)
        as_large += drawn_gain(w, &c->one, random) >= c->criterion_gain;
    gsl_rng_free(random);
    c->chance =
        (struct plyecho_known){true, (double)(as_large + 1) / (double)(options->draws + 1)};
    return PLYECHO_OK;
}

/* ---- all of it ---- */

static enum plyecho_code compare(struct work *w, const double *values,
                                 const struct plyecho_clusters_options *options,
                                 struct plyecho_clusters *c, double *low_share,
                                 struct plyecho_error *err)
{
    for (size_t i = 0; i < w->count; i++)
        w->sorted[i] = values[i];
    pe_sort_doubles(w->sorted, w->count);
    c->one = whole(w->sorted, w->count, w->floor);
    c->one_log_likelihood = likelihood_of_one(w, &c->one);
    struct mixture two = fit(w, c->one.mean, &exactly);
    c->two_log_likelihood = two.log_likelihood;
    c->criterion_gain = gain_of(w, &c->one, &two);
    const struct reckoning r = reckon(&two);
    for (size_t i = 0; i < w->count && low_share != NULL; i++)
        belongs(&r, values[i], &low_share[i]);
    bool swapped = two.group[0].mean > two.group[1].mean;
    for (size_t i = 0; swapped && i < w->count && low_share != NULL; i++)
        low_share[i] = 1.0 - low_share[i];
    c->low = two.group[swapped];
    c->high = two.group[!swapped];
    if (options->draws == 0 || c->criterion_gain <= 0.0)
        return PLYECHO_OK;
    return count_chance(w, options, c, err);
}

enum plyecho_code plyecho_clusters_find(const double *values, size_t count,
                                        const struct plyecho_clusters_options *options,
                                        struct plyecho_clusters *clusters, double *low_share,
                                        struct plyecho_error *err)
{
    *clusters = (struct plyecho_clusters){.one = {0}};
    if (count < PLYECHO_CLUSTERS_LEAST || !(options->floor > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%zu values are too few to be told in groups, or their floor is "
                            "not above 0; give %d or more",
                            count, PLYECHO_CLUSTERS_LEAST);
    struct work w = {
        .count = count,
        .floor = options->floor,
        .sorted = pe_alloc(count, sizeof *w.sorted),
        .share = pe_alloc(count, sizeof *w.share),
    };
    enum plyecho_code code = PLYECHO_OK;
    if (w.sorted == NULL || w.share == NULL)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu values", count);
    else
        code = compare(&w, values, options, clusters, low_share, err);
    free(w.sorted);
    free(w.share);
    return code;
}
