/* The line through steps against certified, published and exact values, and what is found wrong. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/calibration.h>

#include "nist_strd.h"

static const struct plyecho_zero free_zero = {.time_s = {false, 0.0}};
static const struct plyecho_zero held_zero = {.time_s = {true, 0.0}};

static void near(double value, double expected, double most)
{
    if (!(fabs(value - expected) <= most))
        fail_msg("%.12g instead of %.12g, most %g", value, expected, most);
}

static struct plyecho_calibration fit(const struct plyecho_step *steps, size_t count,
                                      const struct plyecho_zero *zero)
{
    struct plyecho_calibration c;
    struct plyecho_error err;
    if (plyecho_calibrate(steps, count, zero, &c, NULL, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return c;
}

/* Standard uncertainty of the thickness v (t - zero) / 2 by the line alone (JCGM 100:2008, 5.2.2). */
static double u_of_line(const struct plyecho_calibration *c, double thickness_m)
{
    double by_velocity = thickness_m / c->velocity_m_s * c->velocity_u_m_s;
    double by_zero = -0.5 * c->velocity_m_s * c->zero_u_s;
    return sqrt(by_velocity * by_velocity + by_zero * by_zero +
                2.0 * c->correlation * by_velocity * by_zero);
}

/* NIST StRD Norris: the line d = B0 + B1 t has v = 2 B1, zero = -B0 / B1. Its standard deviations are
 * from the residuals, so the stated uncertainty is small enough for `scatter` to decide. */
static void norris_is_certified(void **state)
{
    (void)state;
    enum { N = sizeof norris / sizeof norris[0] };
    const double b0 = -0.262323073774029, b1 = 1.00211681802045;
    const double s0 = 0.232818234301152, s1 = 0.429796848199937e-3;
    struct plyecho_step steps[N];
    for (size_t i = 0; i < N; i++)
        steps[i] = (struct plyecho_step){norris[i].y, 0.01, norris[i].x, 0.0};
    struct plyecho_calibration c = fit(steps, N, &free_zero);
    near(c.velocity_m_s / 2.0, b1, 1e-9 * b1);
    near(-c.zero_s * c.velocity_m_s / 2.0, b0, 1e-9);
    near(c.velocity_u_m_s / 2.0, s1, 1e-9 * s1);
    near(c.chi2 * 0.01 * 0.01, 26.6173985294224, 1e-7);
    assert_int_equal(c.freedom, 34);
    /* the intercept is the thickness at time 0, whose uncertainty needs the correlation */
    near(u_of_line(&c, b0), s0, 1e-8);
}

/* GUM (JCGM 100:2008) H.3, a thermometer's corrections: slope, intercept, correlation and the
 * prediction at 30 degrees; 1 is added to each correction, since a thickness is above 0. */
static void gum_h3_line(void **state)
{
    (void)state;
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                               24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                               -0.156, -0.157, -0.159, -0.161, -0.160};
    struct plyecho_step steps[11];
    for (size_t i = 0; i < 11; i++)
        steps[i] = (struct plyecho_step){1.0 + b[i], 1e-4, t[i] - 20.0, 0.0};
    struct plyecho_calibration c = fit(steps, 11, &free_zero);
    near(c.velocity_m_s / 2.0, 0.002183, 1e-6);
    near(c.velocity_u_m_s / 2.0, 0.000668, 1e-6);
    near(-c.zero_s * c.velocity_m_s / 2.0 - 1.0, -0.17120, 1e-5);
    double at_30 = 0.5 * c.velocity_m_s * (10.0 - c.zero_s);
    near(at_30 - 1.0, -0.1494, 1e-4);
    near(u_of_line(&c, at_30), 0.0041, 1e-4);
    near(u_of_line(&c, 1.0 - 0.17120), 0.00288, 1e-5);
}

/* Pearson's points with York's weights (York et al. 2004; data and results from memory, and
 * tests/reference/test_calibrate.py asks scipy.odr), mirrored so that the slope is positive. */
static void york_line(void **state)
{
    (void)state;
    static const double x[] = {0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
    static const double y[] = {5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
    static const double wx[] = {1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1};
    static const double wy[] = {1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500};
    struct plyecho_step steps[10];
    for (size_t i = 0; i < 10; i++)
        steps[i] = (struct plyecho_step){y[i], sqrt(1 / wy[i]), -x[i], sqrt(1 / wx[i])};
    struct plyecho_calibration c = fit(steps, 10, &free_zero);
    near(c.velocity_m_s / 2.0, 0.480533407, 1e-8);
    near(-c.zero_s * c.velocity_m_s / 2.0, 5.47991022, 1e-7);
    near(c.chi2, 11.8663531941, 1e-6);
    near(c.velocity_u_m_s / 2.0, 0.057985 * sqrt(11.8663531941 / 8), 2e-6);
}

/* ASTM E797, two blocks: v = 2 (d2 - d1) / (t2 - t1), zero = t1 - 2 d1 / v (rule from memory). */
static void two_blocks_as_e797(void **state)
{
    (void)state;
    const struct plyecho_step steps[] = {{1.45e-3, 2e-6, 1e-6, 0.0},
                                         {2.95e-3, 2e-6, 2e-6, 0.0}};
    struct plyecho_calibration c = fit(steps, 2, &free_zero);
    near(c.velocity_m_s, 3000.0, 1e-6);
    near(c.zero_s, 0.0333333333e-6, 1e-15);
    /* u(v) = 2 sqrt(2) u(d) / (t2 - t1) */
    near(c.velocity_u_m_s, 2.0 * sqrt(2.0) * 2.0, 1e-6);
    assert_int_equal(c.freedom, 0);
    near(c.p, 1.0, 0.0);
}

static void one_step_needs_its_zero(void **state)
{
    (void)state;
    const struct plyecho_step step = {3e-3, 3e-6, 2.1e-6, 1e-9};
    struct plyecho_zero zero = {{true, 0.1e-6}, 0.0};
    struct plyecho_calibration c;
    struct plyecho_error err;
    assert_int_equal(plyecho_calibrate(&step, 1, &free_zero, &c, NULL, &err),
                     PLYECHO_UNSUITABLE);
    c = fit(&step, 1, &zero);
    near(c.velocity_m_s, 3000.0, 1e-6);
    near(c.velocity_u_m_s, 3000.0 * hypot(1e-3, 0.5e-3), 1e-6);
    near(c.zero_u_s, 0.0, 0.0);
    /* a zero that is only known to 2 ns adds its share, 2 ns in 2 us */
    zero.u_s = 2e-9;
    c = fit(&step, 1, &zero);
    near(c.velocity_m_s, 3000.0, 1e-6);
    near(c.velocity_u_m_s, 3000.0 * sqrt(1e-6 + 0.25e-6 + 1e-6), 1e-6);
    near(c.zero_u_s, 2e-9, 1e-15);
    assert_int_equal(c.freedom, 0);
}

static void bad_steps_are_refused(void **state)
{
    (void)state;
    struct plyecho_calibration c;
    struct plyecho_error err;
    const struct plyecho_step bare[] = {{1e-3, 0, 1e-6, 0}, {2e-3, 0, 2e-6, 0}};
    const struct plyecho_step back[] = {{1e-3, 1e-6, 2e-6, 0}, {2e-3, 1e-6, 1e-6, 0}};
    const struct plyecho_step same[] = {{1e-3, 1e-6, 2e-6, 0}, {2e-3, 1e-6, 2e-6, 0}};
    const struct plyecho_step none[] = {{0.0, 1e-6, 2e-6, 0}, {2e-3, 1e-6, 3e-6, 0}};
    assert_int_equal(plyecho_calibrate(bare, 2, &free_zero, &c, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_calibrate(back, 2, &free_zero, &c, NULL, &err),
                     PLYECHO_UNSUITABLE);
    assert_int_equal(plyecho_calibrate(same, 2, &free_zero, &c, NULL, &err),
                     PLYECHO_UNSUITABLE);
    assert_int_equal(plyecho_calibrate(none, 2, &free_zero, &c, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_calibrate(back, 0, &held_zero, &c, NULL, &err),
                     PLYECHO_UNSUITABLE);
}

/* ---- faults ---- */

enum { STEPS = 5 };

/* Steps of 1 to 5 mm at 3000 m/s, time base reading 0.2 us at the front, a micrometer's scatter. */
static void make_steps(struct plyecho_step *steps)
{
    static const double off_um[STEPS] = {1.2, -2.1, 0.4, 1.9, -1.0};
    for (size_t i = 0; i < STEPS; i++) {
        double d = 1e-3 * (double)(i + 1);
        steps[i] =
            (struct plyecho_step){d + 1e-6 * off_um[i], 2e-6, 0.2e-6 + 2 * d / 3000, 0.3e-9};
    }
}

static struct plyecho_step_finding look(const struct plyecho_step *steps, size_t count,
                                        const struct plyecho_zero *zero)
{
    return plyecho_calibration_check(steps, count, zero, 2300.0, 3500.0);
}

static void good_steps_have_no_fault(void **state)
{
    (void)state;
    struct plyecho_step steps[STEPS];
    make_steps(steps);
    assert_int_equal(look(steps, STEPS, &free_zero).fault, PLYECHO_STEPS_GOOD);
}

static void a_thickness_in_another_unit_is_found(void **state)
{
    (void)state;
    static const double factors[] = {25.4, 1000.0, 1e-3};
    struct plyecho_step steps[STEPS];
    for (size_t k = 0; k < 3; k++) {
        for (size_t one = 0; one < STEPS; one++) {
            make_steps(steps);
            steps[one].thickness_m /= factors[k];
            struct plyecho_step_finding f = look(steps, STEPS, &free_zero);
            assert_int_equal(f.fault, PLYECHO_STEPS_UNIT);
            assert_true(f.one && f.step == one);
            near(f.factor, factors[k], 0.0);
            near(f.velocity_m_s, 3000.0, 10.0);
        }
        make_steps(steps);
        for (size_t i = 0; i < STEPS; i++)
            steps[i].thickness_m /= factors[k];
        struct plyecho_step_finding f = look(steps, STEPS, &free_zero);
        assert_int_equal(f.fault, PLYECHO_STEPS_UNIT);
        assert_false(f.one);
        near(f.factor, factors[k], 0.0);
    }
}

static void a_multiple_is_found(void **state)
{
    (void)state;
    struct plyecho_step steps[STEPS];
    for (size_t one = 0; one < STEPS; one++) {
        make_steps(steps);
        steps[one].time_s += 2 * 1e-3 * (double)(one + 1) / 3000;
        struct plyecho_step_finding f = look(steps, STEPS, &free_zero);
        assert_int_equal(f.fault, PLYECHO_STEPS_ORDER);
        assert_true(f.one && f.step == one);
        near(f.factor, 2.0, 0.0);
    }
    for (double order = 2; order < 4; order++) {
        make_steps(steps);
        for (size_t i = 0; i < STEPS; i++)
            steps[i].time_s += (order - 1) * 2 * 1e-3 * (double)(i + 1) / 3000;
        struct plyecho_step_finding f = look(steps, STEPS, &free_zero);
        assert_int_equal(f.fault, PLYECHO_STEPS_ORDER);
        assert_false(f.one);
        near(f.factor, order, 0.0);
        near(f.velocity_m_s, 3000.0, 10.0);
    }
}

static void an_outlier_is_found(void **state)
{
    (void)state;
    struct plyecho_step steps[STEPS];
    for (size_t one = 0; one < STEPS; one++) {
        make_steps(steps);
        steps[one].time_s += 0.1e-6; /* one period of 10 MHz: 150 um */
        struct plyecho_step_finding f = look(steps, STEPS, &free_zero);
        assert_int_equal(f.fault, PLYECHO_STEPS_OUTLIER);
        assert_int_equal(f.step, one);
        near(f.residual_m, -150e-6, 15e-6);
    }
}

static void what_is_neither_is_said_too(void **state)
{
    (void)state;
    struct plyecho_step steps[STEPS];
    make_steps(steps);
    assert_int_equal(plyecho_calibration_check(steps, STEPS, &free_zero, 5000, 7000).fault,
                     PLYECHO_STEPS_ORDER); /* 6000 m/s with a thickness twice as large */
    assert_int_equal(plyecho_calibration_check(steps, STEPS, &free_zero, 4000, 5000).fault,
                     PLYECHO_STEPS_VELOCITY);
    static const double off_ns[STEPS] = {40, -35, 45, -40, 30};
    for (size_t i = 0; i < STEPS; i++)
        steps[i].time_s += off_ns[i] * 1e-9;
    struct plyecho_calibration c = fit(steps, STEPS, &free_zero);
    assert_int_equal(look(steps, STEPS, &free_zero).fault, PLYECHO_STEPS_SCATTER);
    assert_true(c.scatter > 5.0 && c.p < 1e-6);
    near(c.coverage, 3.182446,
         1e-6); /* Student's t, 3 degrees of freedom, 95 %: GUM table G.2 has 3.18 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(norris_is_certified),
        cmocka_unit_test(gum_h3_line),
        cmocka_unit_test(york_line),
        cmocka_unit_test(two_blocks_as_e797),
        cmocka_unit_test(one_step_needs_its_zero),
        cmocka_unit_test(bad_steps_are_refused),
        cmocka_unit_test(good_steps_have_no_fault),
        cmocka_unit_test(a_thickness_in_another_unit_is_found),
        cmocka_unit_test(a_multiple_is_found),
        cmocka_unit_test(an_outlier_is_found),
        cmocka_unit_test(what_is_neither_is_said_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
