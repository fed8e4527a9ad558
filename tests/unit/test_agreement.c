/* Bias, limits of agreement and shares; tests/reference/test_agreement.py has them against SciPy live. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/agreement.h>

#include "noncentral.h"

static struct plyecho_agreement take(const double *d, size_t count)
{
    struct plyecho_agreement a;
    struct plyecho_error err;
    if (plyecho_agreement_take(d, count, &a, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return a;
}

/* Bland & Altman, Lancet 1986; 327: 307-310, peak flow by two meters, 17 subjects (values from memory): mean
 * difference -2.1 l/min (-22.0 to 17.8), standard deviation 38.8; they round 1.96 to 2 for their limits
 * -79.7 and 75.5. */
static void the_published_example(void **state)
{
    (void)state;
    static const double wright[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                                    433, 417, 656, 267, 478, 178, 423, 427},
                        mini[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                                  445, 432, 626, 260, 477, 259, 350, 451};
    double d[17];
    for (size_t i = 0; i < 17; i++)
        d[i] = wright[i] - mini[i];
    struct plyecho_agreement a = take(d, 17);
    assert_true(a.spread_known);
    assert_float_equal(a.bias, -2.1, 0.05);
    assert_float_equal(a.spread, 38.8, 0.05);
    assert_float_equal(a.bias_95.least, -22.0, 0.05);
    assert_float_equal(a.bias_95.most, 17.8, 0.05);
    assert_float_equal(a.lower - 0.04 * a.spread, -79.7, 0.1);
    assert_float_equal(a.upper + 0.04 * a.spread, 75.5, 0.1);
    assert_float_equal(a.upper - a.bias, 1.96 * a.spread, 1e-12);
    /* scipy.stats.nct.ppf 1.10 with 16 degrees of freedom */
    assert_float_equal(a.upper_95.least, 48.86076706991128, 1e-6);
    assert_float_equal(a.upper_95.most, 119.9275336668272, 1e-6);
    assert_float_equal(a.lower_95.least, -124.16282778447427, 1e-6);
    assert_float_equal(a.lower_95.most, -53.09606118755834, 1e-6);
}

static void little_says_little(void **state)
{
    (void)state;
    static const double one[] = {0.02}, alike[] = {0.02, 0.02, 0.02}, two[] = {0.01, 0.03};
    struct plyecho_agreement a = take(one, 1);
    assert_float_equal(a.bias, 0.02, 1e-15);
    assert_false(a.spread_known);
    assert_false(take(alike, 3).spread_known);
    a = take(two, 2);
    assert_true(a.spread_known);
    /* Student's t of 1 degree of freedom, 12.706 (any table), times the standard error 0.01 */
    assert_float_equal(a.bias_95.most, 0.02 + 0.12706, 1e-5);
    assert_true(a.upper_95.most > 0.9);
    struct plyecho_error err;
    assert_int_equal(plyecho_agreement_take(one, 0, &a, &err), PLYECHO_BAD_ARGUMENT);
}

static void noncentral_t_is_right(void **state)
{
    (void)state;
    /* scipy.stats.nct.ppf 1.10 at 0.025, 0.5, 0.975; shift 0 is Student's t */
    static const struct {
        double freedom, shift, at[3];
    } cases[] = {
        {1, 2.7718585822512662, {0.7391114715930978, 3.9876863900766653, 88.47149583517565}},
        {4, 4.4, {2.0768932084351697, 4.769398844194896, 13.407665368389296}},
        {150, 20.0, {17.25017736662552, 20.03976511044371, 23.298161791692863}},
        {1, 0.0, {-12.706204736174705, 0.0, 12.706204736174692}},
        {3, 0.0, {-3.182446305283708, 0.0, 3.1824463052837078}},
    };
    static const double probability[] = {0.025, 0.5, 0.975};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (int k = 0; k < 3; k++) {
            double want = cases[i].at[k];
            double got = pe_noncentral_t_at(probability[k], cases[i].freedom, cases[i].shift);
            assert_float_equal(got, want, 1e-6 * fmax(1.0, fabs(want)));
            assert_float_equal(pe_noncentral_t_below(want, cases[i].freedom, cases[i].shift),
                               probability[k], 1e-8);
        }
}

static void shares_have_exact_intervals(void **state)
{
    (void)state;
    /* scipy.stats.binomtest(...).proportion_ci(method="exact") 1.10 */
    static const struct {
        size_t hits, count;
        double least, most;
    } cases[] = {
        {0, 5, 0.0, 0.5218237501049814},
        {3, 5, 0.14663279963467254, 0.9472550494736843},
        {5, 5, 0.47817624989501856, 1.0},
        {19, 20, 0.7512672372279723, 0.998734910502044},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct plyecho_share s = plyecho_share_take(cases[i].hits, cases[i].count);
        assert_true(s.share.known);
        assert_float_equal(s.share.value, (double)s.hits / (double)s.count, 1e-15);
        assert_float_equal(s.interval_95.least, cases[i].least, 1e-9);
        assert_float_equal(s.interval_95.most, cases[i].most, 1e-9);
    }
    struct plyecho_share none = plyecho_share_take(0, 0);
    assert_false(none.share.known);
    assert_float_equal(none.interval_95.least, 0.0, 0.0);
    assert_float_equal(none.interval_95.most, 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_example),
        cmocka_unit_test(little_says_little),
        cmocka_unit_test(noncentral_t_is_right),
        cmocka_unit_test(shares_have_exact_intervals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
