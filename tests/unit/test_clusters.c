/* One group or two: shares of values, floors, the chance from one group, what is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics.h>

#include <plyecho/clusters.h>

#include "failing_alloc.h"

enum { MOST = 200 };

static const struct plyecho_clusters_options options = {.floor = 0.005, .draws = 99, .seed = 1};

/* The quantiles of a normal distribution: as normal as `count` values can be. */
static void normal(double *values, size_t count, double mean, double spread)
{
    for (size_t i = 0; i < count; i++)
        values[i] = mean + spread * gsl_cdf_ugaussian_Pinv(((double)i + 0.5) / (double)count);
}

static void two_groups_far_apart(void **state)
{
    (void)state;
    double values[100], low_share[100];
    struct plyecho_clusters c;
    struct plyecho_error err;
    normal(values, 70, 3.2, 0.02);
    normal(values + 70, 30, 1.6, 0.3);
    assert_int_equal(plyecho_clusters_find(values, 100, &options, &c, low_share, &err),
                     PLYECHO_OK);
    /* so far apart every value is of one group, and the groups' own means and spreads (GSL's) are the fit */
    assert_float_equal(c.low.share, 0.3, 1e-6);
    assert_float_equal(c.high.share, 0.7, 1e-6);
    assert_float_equal(c.high.mean, gsl_stats_mean(values, 1, 70), 1e-6);
    assert_float_equal(c.low.mean, gsl_stats_mean(values + 70, 1, 30), 1e-6);
    assert_float_equal(c.high.spread, gsl_stats_sd_with_fixed_mean(values, 1, 70, c.high.mean),
                       1e-5);
    assert_float_equal(c.low.spread,
                       gsl_stats_sd_with_fixed_mean(values + 70, 1, 30, c.low.mean), 1e-5);
    assert_float_equal(c.one.mean, gsl_stats_mean(values, 1, 100), 1e-12);
    assert_true(c.criterion_gain > 100.0);
    assert_true(c.chance.known);
    assert_float_equal(c.chance.value, 0.01, 1e-12);
    for (size_t i = 0; i < 100; i++)
        assert_float_equal(low_share[i], i < 70 ? 0.0 : 1.0, 1e-3);
}

static void one_group(void **state)
{
    (void)state;
    double values[MOST];
    struct plyecho_clusters c;
    struct plyecho_error err;
    normal(values, MOST, 3.2, 0.02);
    assert_int_equal(plyecho_clusters_find(values, MOST, &options, &c, NULL, &err), PLYECHO_OK);
    assert_true(c.criterion_gain < 0.0);
    assert_false(c.chance.known);
    /* a normal density at its own spread: -n (log(spread sqrt(2 pi)) + 1/2) */
    double per_value = -log(c.one.spread * sqrt(2.0 * acos(-1.0))) - 0.5;
    assert_float_equal(c.one_log_likelihood, (double)MOST * per_value, 1e-6);
}

static void equal_and_rounded_values_are_one_group(void **state)
{
    (void)state;
    double values[MOST];
    struct plyecho_clusters c;
    struct plyecho_error err;
    struct plyecho_clusters_options coarse = options;
    for (size_t i = 0; i < MOST; i++)
        values[i] = 3.2;
    assert_int_equal(plyecho_clusters_find(values, MOST, &options, &c, NULL, &err), PLYECHO_OK);
    assert_true(c.criterion_gain < 0.0);
    assert_float_equal(c.one.spread, options.floor, 0.0);
    /* a gauge that shows tenths */
    coarse.floor = 0.05;
    for (size_t i = 0; i < MOST; i++)
        values[i] = i % 7 == 0 ? 3.3 : 3.2;
    assert_int_equal(plyecho_clusters_find(values, MOST, &coarse, &c, NULL, &err), PLYECHO_OK);
    assert_true(c.criterion_gain < 0.0);
}

static void the_seed_makes_the_chance(void **state)
{
    (void)state;
    double values[40];
    struct plyecho_clusters a, b;
    struct plyecho_error err;
    normal(values, 30, 3.2, 0.05);
    normal(values + 30, 10, 3.0, 0.05);
    assert_int_equal(plyecho_clusters_find(values, 40, &options, &a, NULL, &err), PLYECHO_OK);
    assert_int_equal(plyecho_clusters_find(values, 40, &options, &b, NULL, &err), PLYECHO_OK);
    assert_true(a.chance.known);
    assert_float_equal(a.chance.value, b.chance.value, 0.0);
    struct plyecho_clusters_options none = options;
    none.draws = 0;
    assert_int_equal(plyecho_clusters_find(values, 40, &none, &b, NULL, &err), PLYECHO_OK);
    assert_false(b.chance.known);
    assert_float_equal(a.criterion_gain, b.criterion_gain, 0.0);
}

static void what_is_refused(void **state)
{
    (void)state;
    const double values[4] = {1.0, 2.0, 3.0, 4.0};
    struct plyecho_clusters c;
    struct plyecho_error err;
    struct plyecho_clusters_options none = {.floor = 0.0};
    assert_int_equal(plyecho_clusters_find(values, 3, &options, &c, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_clusters_find(values, 4, &none, &c, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    for (long n = 0; n < 2; n++) {
        fail_allocation(n);
        assert_int_equal(plyecho_clusters_find(values, 4, &options, &c, NULL, &err),
                         PLYECHO_NO_MEMORY);
    }
    fail_no_allocation();
    assert_int_equal(plyecho_clusters_find(values, 4, &options, &c, NULL, &err), PLYECHO_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_groups_far_apart),
        cmocka_unit_test(one_group),
        cmocka_unit_test(equal_and_rounded_values_are_one_group),
        cmocka_unit_test(the_seed_makes_the_chance),
        cmocka_unit_test(what_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
