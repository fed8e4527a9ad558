#include <plyecho/outliers.h>

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "alloc.h"

struct ranked {
    double value;
    size_t index;
};

static int ascending(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

/* What is left of the sorted values: the furthest from their mean is always at an end. */
struct left {
    const struct ranked *sorted;
    size_t first, end;
    double mean, squares; /* sum of squares about the mean */
};

static void add(struct left *l, double value, size_t already)
{
    double off = value - l->mean;
    l->mean += off / (double)(already + 1);
    l->squares += off * (value - l->mean);
}

/* Welford's recurrence, backwards. */
static void take_away(struct left *l, double value)
{
    size_t after = l->end - l->first - 1;
    double mean = l->mean + (l->mean - value) / (double)after;
    l->squares -= (value - l->mean) * (value - mean);
    l->mean = mean;
}

/* Rosner's eq. for step i = count - n + 1, n values left. */
static double critical(size_t left, double chance)
{
    double n = (double)left;
    double t = gsl_cdf_tdist_Qinv(0.5 * chance / n, n - 2.0);
    return (n - 1.0) * t / sqrt((n - 2.0 + t * t) * n);
}

static struct plyecho_outlier step(struct left *l, double least_spread, double chance)
{
    size_t n = l->end - l->first;
    double low = l->mean - l->sorted[l->first].value,
           high = l->sorted[l->end - 1].value - l->mean;
    const struct ranked *furthest = &l->sorted[low > high ? l->first : l->end - 1];
    double spread = sqrt(fmax(l->squares, 0.0) / (double)(n - 1));
    struct plyecho_outlier o = {
        .index = furthest->index,
        .distance = spread > least_spread ? fmax(low, high) / spread : 0.0,
        .critical = critical(n, chance),
    };
    take_away(l, furthest->value);
    l->first += low > high;
    l->end -= low <= high;
    return o;
}

static void run(struct left *l, double least_spread, size_t most, double chance,
                struct plyecho_outlier *steps, size_t *outliers)
{
    *outliers = 0;
    for (size_t i = 0; i < most; i++) {
        steps[i] = step(l, least_spread, chance);
        if (steps[i].distance > steps[i].critical)
            *outliers = i + 1;
    }
}

enum plyecho_code plyecho_outliers_find(const double *values, size_t count, size_t most,
                                        double chance, struct plyecho_outlier *steps,
                                        size_t *outliers, struct plyecho_error *err)
{
    *outliers = 0;
    if (count < 3 || most < 1 || most > count - 2 || !(chance > 0.0 && chance < 1.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%zu outliers of %zu values cannot be looked for; give 3 values or "
                            "more, and at most 2 outliers less",
                            most, count);
    struct ranked *sorted = pe_alloc(count, sizeof *sorted);
    if (sorted == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu values", count);
    struct left l = {.sorted = sorted, .end = count};
    double largest = 0.0;
    for (size_t i = 0; i < count; i++) {
        sorted[i] = (struct ranked){values[i], i};
        largest = fmax(largest, fabs(values[i]));
        add(&l, values[i], i);
    }
    qsort(sorted, count, sizeof *sorted, ascending);
    /* Equal values have a spread of rounding errors. */
    run(&l, 1e-7 * largest, most, chance, steps, outliers);
    free(sorted);
    return PLYECHO_OK;
}
