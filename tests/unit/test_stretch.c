/* Sums, extremes and ranks of a stretch of samples are those of one sample after the other, whatever its
 * length. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_sort_float.h>
#include <gsl/gsl_statistics_float.h>

#include "extremes.h"
#include "sort.h"
#include "variance.h"

enum { MOST = 100 };

/* Reproducible values, about `offset`, of so many sizes. */
static void fill(float *x, size_t n, unsigned seed, unsigned sizes, float offset)
{
    for (size_t i = 0; i < n; i++) {
        seed = seed * 1664525u + 1013904223u;
        x[i] = offset + (float)((seed >> 8) % sizes) - 0.3f * (float)sizes;
    }
}

static void extremes_are_those_of_gsl(void **state)
{
    (void)state;
    float x[MOST];
    for (size_t n = 1; n <= MOST; n++) {
        fill(x, n, (unsigned)n, 1000, 0.0f);
        struct pe_extremes all = pe_extremes_of(x, n);
        assert_true(all.least == gsl_stats_float_min(x, 1, n));
        assert_true(all.most == gsl_stats_float_max(x, 1, n));
        assert_true(pe_highest(x, n) == fmaxf(0.0f, all.most));
    }
    assert_true(pe_highest(x, 0) == 0.0f);
}

static void sums_and_variances_are_those_of_gsl(void **state)
{
    (void)state;
    float x[MOST];
    for (size_t n = 2; n <= MOST; n++) {
        fill(x, n, (unsigned)n, 1000, 5000.0f);
        double mean = gsl_stats_float_mean(x, 1, n),
               variance = gsl_stats_float_variance(x, 1, n);
        assert_true(fabs(pe_sum(x, n) / (double)n - mean) < 1e-12 * mean);
        assert_true(fabs(pe_variance(x, n) - variance) < 1e-10 * variance);
    }
}

static void a_constant_stretch_has_no_variance(void **state)
{
    (void)state;
    float x[MOST];
    for (size_t i = 0; i < MOST; i++)
        x[i] = 0.1f;
    assert_true(pe_variance(x, MOST) == 0.0);
    assert_true(pe_variance(x, 1) == 0.0);
}

/* Many equal values and few. */
static void a_rank_is_what_sorting_puts_there(void **state)
{
    (void)state;
    static const unsigned sizes[] = {1, 2, 5, 1000};
    float x[MOST], sorted[MOST], moved[MOST];
    for (size_t s = 0; s < 4; s++)
        for (size_t n = 1; n <= MOST; n += 7) {
            fill(x, n, (unsigned)n, sizes[s], 0.0f);
            memcpy(sorted, x, sizeof x);
            gsl_sort_float(sorted, 1, n);
            for (size_t rank = 0; rank < n; rank++) {
                memcpy(moved, x, sizeof x);
                assert_true(pe_ranked(moved, n, rank) == sorted[rank]);
            }
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(extremes_are_those_of_gsl),
        cmocka_unit_test(sums_and_variances_are_those_of_gsl),
        cmocka_unit_test(a_constant_stretch_has_no_variance),
        cmocka_unit_test(a_rank_is_what_sorting_puts_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
