/* Outliers: Rosner's worked example, both sides, equal values, what is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/outliers.h>

#include "failing_alloc.h"

enum { ROSNER = 54, MOST = 10 };

/* NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3, Rosner's 54 values and the table that follows from
 * them; all from memory. */
static const double rosner[ROSNER] = {
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56,
    1.58,  1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10,
    2.14,  2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92,
    2.92,  2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01};
static const double distances[MOST] = {3.118, 2.942, 3.179, 2.810, 2.815,
                                       2.848, 2.279, 2.310, 2.101, 2.067};
static const double criticals[MOST] = {3.158, 3.151, 3.143, 3.136, 3.128,
                                       3.120, 3.111, 3.103, 3.094, 3.085};

static void the_worked_example(void **state)
{
    (void)state;
    struct plyecho_outlier steps[MOST];
    struct plyecho_error err;
    size_t found = 99;
    assert_int_equal(plyecho_outliers_find(rosner, ROSNER, MOST, 0.05, steps, &found, &err),
                     PLYECHO_OK);
    assert_int_equal(found, 3);
    assert_int_equal(steps[0].index, 53);
    assert_int_equal(steps[1].index, 52);
    assert_int_equal(steps[2].index, 51);
    for (size_t i = 0; i < MOST; i++) {
        assert_float_equal(steps[i].distance, distances[i], 0.00101);
        assert_float_equal(steps[i].critical, criticals[i], 0.00101);
    }
}

static void both_sides_are_looked_at(void **state)
{
    (void)state;
    const double values[] = {3.20, 3.21, 3.19, 1.40, 3.20, 3.22, 3.18, 6.40,
                             3.20, 3.21, 3.19, 3.20, 3.22, 3.18, 3.20};
    struct plyecho_outlier steps[5];
    struct plyecho_error err;
    size_t found;
    assert_int_equal(plyecho_outliers_find(values, 15, 5, 0.05, steps, &found, &err),
                     PLYECHO_OK);
    assert_int_equal(found, 2);
    assert_int_equal(steps[0].index, 7);
    assert_int_equal(steps[1].index, 3);
}

static void equal_values_have_none(void **state)
{
    (void)state;
    double values[20];
    struct plyecho_outlier steps[18];
    struct plyecho_error err;
    size_t found;
    for (size_t i = 0; i < 20; i++)
        values[i] = 3.2 / 3.0;
    assert_int_equal(plyecho_outliers_find(values, 20, 18, 0.05, steps, &found, &err),
                     PLYECHO_OK);
    assert_int_equal(found, 0);
    /* the others are equal: what remains once it is gone has no spread */
    values[7] = 3.0;
    assert_int_equal(plyecho_outliers_find(values, 20, 18, 0.05, steps, &found, &err),
                     PLYECHO_OK);
    assert_int_equal(found, 1);
    assert_int_equal(steps[0].index, 7);
}

static void what_is_refused(void **state)
{
    (void)state;
    const double values[4] = {1.0, 2.0, 3.0, 4.0};
    struct plyecho_outlier steps[4];
    struct plyecho_error err;
    size_t found = 7;
    static const struct {
        size_t count, most;
        double chance;
    } bad[] = {{2, 1, 0.05}, {4, 0, 0.05}, {4, 3, 0.05}, {4, 1, 0.0}, {4, 1, 1.0}, {4, 1, NAN}};
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
        assert_int_equal(plyecho_outliers_find(values, bad[k].count, bad[k].most, bad[k].chance,
                                               steps, &found, &err),
                         PLYECHO_BAD_ARGUMENT);
        assert_int_equal(found, 0);
    }
    fail_allocation(0);
    assert_int_equal(plyecho_outliers_find(values, 4, 1, 0.05, steps, &found, &err),
                     PLYECHO_NO_MEMORY);
    fail_no_allocation();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worked_example),
        cmocka_unit_test(both_sides_are_looked_at),
        cmocka_unit_test(equal_values_have_none),
        cmocka_unit_test(what_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
