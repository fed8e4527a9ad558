/* Stacks fitted to traces that were made from the same model: the numbers come back, scatter as the
 * covariance says, and their evidence is the integral that it stands for. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "made_stack.h"
#include "pi.h"

/* Without noise what is left is float's rounding and the fade at the gate's ends. */
static void the_numbers_come_back(void **state)
{
    (void)state;
    struct made_task tasks[MADE_TASKS];
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    made_tasks(tasks);
    for (int i = 0; i < MADE_TASKS; i++) {
        const struct made_task *t = &tasks[i];
        struct made_record r;
        made_echoes(&t->truth, &pulse, NULL, &r);
        made_taken(fit, &r, 0.8);
        struct pe_explanation_fit f = made_start(t, 0.25);
        assert_true(pe_stack_fit_run(fit, t->free, t->prior, 0.0, &f));
        assert_true(f.chi2 >= 0.0 && f.chi2 < 0.5);
        for (int n = 0; n < PE_STACK_NUMBERS; n++) {
            double off = (f.stack.number[n] - t->truth.number[n]) / made_scale(n);
            if (t->free[n] ? !(fabs(off) < 2e-3 && f.u[n] > 0.0) : off != 0.0 || f.u[n] != 0.0)
                fail_msg("%s: number %d off by %g of its scale, u %g", t->name, n, off, f.u[n]);
        }
    }
    pe_stack_fit_free(fit);
}

/* Where a gate ends ahead of the wall's repeat, as the delay line's repeat makes it do, lines alone would
 * bring that repeat back at the gate's beginning: as a coat, say. */
static void what_lies_behind_the_gate_is_no_echo_in_it(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    double wall = t.truth.number[PE_TRANSIT], off[2];
    struct made_record r;
    made_echoes(&t.truth, &pulse, NULL, &r);
    for (int followed = 0; followed < 2; followed++) {
        struct pe_stack_gate gate = made_gate(0.8);
        struct pe_explanation_fit f = made_start(&t, 0.1);
        gate.end_s = gate.origin_s + 1.7 * wall;
        gate.until_s = followed ? gate.origin_s + 4.5 * wall : gate.end_s;
        assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, NULL), PLYECHO_OK);
        assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &f));
        off[followed] = fabs(f.stack.number[PE_FRONT] - t.truth.number[PE_FRONT]);
    }
    if (!(off[1] < 0.01 && off[0] > 10.0 * off[1]))
        fail_msg("front off by %g, %g where what lies behind the gate is not taken off", off[1],
                 off[0]);
    pe_stack_fit_free(fit);
}

/* 200 records: a mean of squares over the variance scatters by sqrt(2 / 200) = 0.1, chi-squared's mean
 * over its degrees of freedom by sqrt(2 / (200 nu)); both at four deviations, and 3 % more for what
 * is not linear. */
static void they_scatter_as_the_covariance_says(void **state)
{
    (void)state;
    enum { RECORDS = 200 };
    struct made_task tasks[MADE_TASKS];
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    made_tasks(tasks);
    for (int i = 0; i < MADE_TASKS - 1; i++) {
        const struct made_task *t = &tasks[i];
        struct made_record clean, r;
        double squares[PE_STACK_NUMBERS] = {0}, chi2 = 0.0;
        int freedom = 0;
        made_echoes(&t->truth, &pulse, NULL, &clean);
        for (unsigned long seed = 1; seed <= RECORDS; seed++) {
            r = clean;
            r.trace.in_phase = r.in_phase;
            made_white(&r, 0.005, seed);
            made_taken(fit, &r, 1e-9);
            struct pe_explanation_fit f = made_start(t, 0.02);
            assert_true(pe_stack_fit_run(fit, t->free, t->prior, 0.0, &f));
            freedom = 2 * (int)pe_stack_fit_lines(fit);
            for (int n = 0; n < PE_STACK_NUMBERS; n++) {
                if (!t->free[n])
                    continue;
                double off = (f.stack.number[n] - t->truth.number[n]) / f.u[n];
                squares[n] += off * off / RECORDS;
                freedom--;
            }
            chi2 += f.chi2 / RECORDS;
        }
        for (int n = 0; n < PE_STACK_NUMBERS; n++)
            if (t->free[n] && fabs(squares[n] - 1.0) > 0.43)
                fail_msg("%s: number %d scatters by %g of its variance", t->name, n,
                         squares[n]);
        assert_float_equal(chi2 / freedom, 1.0, 4.0 * sqrt(2.0 / (RECORDS * freedom)) + 0.03);
    }
    pe_stack_fit_free(fit);
}

/* Variance for what the model leaves out widens everything. */
static void what_the_model_leaves_out_widens_the_uncertainty(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    double u[2];
    made_echoes(&t.truth, &pulse, NULL, &r);
    r.trace.noise = 1e-3;
    for (int i = 0; i < 2; i++) {
        made_taken(fit, &r, i > 0 ? 0.8 : 1e-9);
        struct pe_explanation_fit f = made_start(&t, 0.0);
        assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &f));
        u[i] = f.u[PE_TRANSIT];
    }
    assert_true(u[1] > 1.5 * u[0]);
    pe_stack_fit_free(fit);
}

static void free_shape(struct made_task *t, double phase_u)
{
    for (int k = 0; k < PE_SHAPE_TERMS; k++) {
        t->free[PE_STACK_NUMBERS + k] = true;
        t->prior[PE_STACK_NUMBERS + k] = (struct pe_prior){0.0, k == 0 ? phase_u : 1.0};
    }
}

/* A Gaussian of another centre, width and phase is one of the shapes that can be fitted. */
static void the_shape_of_a_pulse_that_is_not_known_is_fitted(void **state)
{
    (void)state;
    struct made_task tasks[MADE_TASKS];
    struct plyecho_pulse pulse = made_gaussian(1.04 * MADE_STACK_CENTRE_HZ, 0.55, -0.6);
    struct pe_stack_fit *fit = made_fit(NULL);
    made_tasks(tasks);
    for (int i = 0; i < 4; i++) {
        struct made_task *t = &tasks[i];
        struct made_record r;
        made_echoes(&t->truth, &pulse, NULL, &r);
        made_taken(fit, &r, 0.8);
        free_shape(t, 10.0);
        /* the shape's height and the amplitude are one number, and so are slope and shape but for
         * the repeats; what is known beforehand parts them */
        t->prior[PE_SLOPE] = (struct pe_prior){0.034, 0.01};
        t->prior[PE_FRONT] = (struct pe_prior){0.22, 0.08};
        struct pe_explanation_fit f = made_start(t, 0.1);
        f.shape[0] = -0.3;
        assert_true(pe_stack_fit_run(fit, t->free, t->prior, 0.0, &f));
        assert_true(f.chi2 < 2.0);
        static const int told[] = {PE_TRANSIT, PE_DEPTH, PE_STEP_THERE, PE_COVER};
        for (size_t k = 0; k < sizeof told / sizeof told[0]; k++) {
            int n = told[k];
            double off = (f.stack.number[n] - t->truth.number[n]) / made_scale(n);
            if (t->free[n] && !(fabs(off) < 0.02))
                fail_msg("%s: number %d off by %g of its scale", t->name, n, off);
        }
        assert_float_equal(remainder(f.shape[0] + 0.6, 2.0 * PE_PI), 0.0, 0.25);
    }
    pe_stack_fit_free(fit);
}

/* ---- priors and evidence ---- */

/* A number that the trace says nothing of keeps what was known of it, and costs no evidence. */
static void what_the_trace_does_not_tell_stays_as_known(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_taken(fit, &r, 0.8);
    struct pe_explanation_fit without = made_start(&t, 0.0), with = without;
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &without));
    t.free[PE_COAT_TIME] = true; /* there is no coat */
    t.prior[PE_COAT_TIME] = (struct pe_prior){150e-9, 40e-9};
    with.stack.number[PE_COAT_TIME] = 160e-9;
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &with));
    assert_float_equal(with.stack.number[PE_COAT_TIME] * 1e9, 150.0, 0.01);
    assert_float_equal(with.u[PE_COAT_TIME] * 1e9, 40.0, 0.01);
    assert_float_equal(with.log_evidence, without.log_evidence, 1e-3);
    pe_stack_fit_free(fit);
}

/* What is known, and what the trace tells, weigh by their variances. */
static void priors_count_as_one_more_observation(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_taken(fit, &r, 0.8);
    memset(t.free, 0, sizeof t.free);
    t.free[PE_TRANSIT] = true;
    struct pe_explanation_fit alone = made_start(&t, 0.0), both = alone;
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &alone));
    double u = alone.u[PE_TRANSIT];
    t.prior[PE_TRANSIT] = (struct pe_prior){alone.stack.number[PE_TRANSIT] + u, u};
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &both));
    double moved = both.stack.number[PE_TRANSIT] - alone.stack.number[PE_TRANSIT];
    assert_float_equal(moved / u, 0.5, 0.01);
    assert_float_equal(both.u[PE_TRANSIT] / u, sqrt(0.5), 0.01);
    assert_float_equal(both.chi2 - alone.chi2, 0.5, 0.02);
    pe_stack_fit_free(fit);
}

/* The evidence is the integral of likelihood times prior: by the trapezoidal rule over two numbers. */
static void the_evidence_is_the_integral_that_it_stands_for(void **state)
{
    (void)state;
    enum { GRID = 41 };
    struct made_task t = made_place("gap", 0.81e-6);
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    t.truth.gap = true;
    t.truth.number[PE_COVER] = 0.4;
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_white(&r, 0.005, 5);
    made_taken(fit, &r, 0.8);
    memset(t.free, 0, sizeof t.free);
    t.free[PE_COVER] = t.free[PE_DEPTH] = true;
    t.prior[PE_COVER] = (struct pe_prior){0.5, 0.35};
    t.prior[PE_DEPTH] = (struct pe_prior){0.7e-6, 0.4e-6};
    struct pe_explanation_fit f = made_start(&t, 0.02);
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &f));
    double sum = 0.0, reach = 6.0, step = 2.0 * reach / (GRID - 1);
    const bool none[PE_FIT_NUMBERS] = {false};
    for (int i = 0; i < GRID; i++)
        for (int j = 0; j < GRID; j++) {
            struct pe_explanation_fit at = f;
            double *n = at.stack.number, prior = 0.0;
            n[PE_COVER] += (step * i - reach) * f.u[PE_COVER];
            n[PE_DEPTH] += (step * j - reach) * f.u[PE_DEPTH];
            assert_true(pe_stack_fit_run(fit, none, t.prior, 0.0, &at));
            static const int both[] = {PE_COVER, PE_DEPTH};
            for (int k = 0; k < 2; k++) {
                double z = (n[both[k]] - t.prior[both[k]].mean) / t.prior[both[k]].u;
                prior -= 0.5 * z * z + log(t.prior[both[k]].u * sqrt(2.0 * PE_PI));
            }
            sum += exp(-0.5 * (at.chi2 - f.chi2) + prior);
        }
    double integral = log(sum * step * f.u[PE_COVER] * step * f.u[PE_DEPTH]) - 0.5 * f.chi2;
    assert_float_equal(f.log_evidence, integral, 0.05);
    pe_stack_fit_free(fit);
}

/* Of two explanations the one that made the trace has the higher evidence. */
static void the_explanation_that_made_the_trace_wins(void **state)
{
    (void)state;
    struct made_task tasks[MADE_TASKS];
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    made_tasks(tasks);
    for (int made = 0; made < 3; made++) {
        struct made_record r;
        double evidence[3];
        made_echoes(&tasks[made].truth, &pulse, NULL, &r);
        made_white(&r, 0.005, 3);
        made_taken(fit, &r, 0.8);
        for (int as = 0; as < 3; as++) {
            struct made_task *t = &tasks[as];
            t->prior[PE_DEPTH] = (struct pe_prior){0.8e-6, 0.5e-6};
            t->prior[PE_STEP_THERE] = (struct pe_prior){0.0, 0.12};
            t->prior[PE_COVER] = (struct pe_prior){0.5, 0.35};
            struct pe_explanation_fit f = made_start(t, 0.02);
            f.stack.number[PE_DEPTH] = as > 0 && made > 0 ? tasks[made].truth.number[PE_DEPTH]
                                                          : f.stack.number[PE_DEPTH];
            evidence[as] =
                pe_stack_fit_run(fit, t->free, t->prior, 0.0, &f) ? f.log_evidence : -INFINITY;
        }
        for (int as = 0; as < 3; as++)
            if (as != made)
                assert_true(evidence[made] > evidence[as] + 1.0);
    }
    pe_stack_fit_free(fit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_numbers_come_back),
        cmocka_unit_test(what_lies_behind_the_gate_is_no_echo_in_it),
        cmocka_unit_test(they_scatter_as_the_covariance_says),
        cmocka_unit_test(what_the_model_leaves_out_widens_the_uncertainty),
        cmocka_unit_test(the_shape_of_a_pulse_that_is_not_known_is_fitted),
        cmocka_unit_test(what_the_trace_does_not_tell_stays_as_known),
        cmocka_unit_test(priors_count_as_one_more_observation),
        cmocka_unit_test(the_evidence_is_the_integral_that_it_stands_for),
        cmocka_unit_test(the_explanation_that_made_the_trace_wins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
