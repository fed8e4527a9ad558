#include <config.h>

#include "stack_fit_inside.h"

#include <math.h>
#include <string.h>

#include "least_squares.h"

static const double half_log_two_pi = 0.91893853320467274;

static double unit_of(const struct pe_stack_fit *fit, int number)
{
    switch (number) {
    case PE_START:
    case PE_TRANSIT:
    case PE_DEPTH:
    case PE_FILM_TIME:
    case PE_COAT_TIME:
        return 1.0 / (2.0 * PE_PI * fit->reference_hz);
    case PE_SLOPE:
        return 1e6 / fit->reference_hz;
    default:
        return 1.0;
    }
}

static void place_numbers(const struct pe_stack_problem *p, const double *parameters,
                          struct pe_explanation_fit *at)
{
    *at = *p->fixed;
    for (int i = 0; i < p->count; i++) {
        int n = p->index[i];
        if (n < PE_STACK_NUMBERS)
            at->stack.number[n] = parameters[i];
        else
            at->shape[n - PE_STACK_NUMBERS] = parameters[i];
    }
}

bool pe_stack_problem_set(struct pe_stack_fit *fit, const bool *free,
                          const struct pe_prior *prior, const struct pe_explanation_fit *at,
                          struct pe_stack_problem *p, double *parameters)
{
    *p = (struct pe_stack_problem){.fit = fit, .fixed = at, .prior = prior};
    for (int n = 0; n < PE_FIT_NUMBERS; n++) {
        if (!free[n])
            continue;
        if (p->count == PE_MOST_ROWS)
            return false;
        p->unit[p->count] = unit_of(fit, n);
        parameters[p->count] =
            n < PE_STACK_NUMBERS ? at->stack.number[n] : at->shape[n - PE_STACK_NUMBERS];
        p->index[p->count++] = n;
    }
    return true;
}

/* ---- pulse, amplitude, start and shape ---- */

/* Exponents of x for the shape's terms: b_0, a_1, a_2, b_2, a_3, b_3. */
static const struct {
    int power;
    bool turns;
} terms[PE_SHAPE_TERMS] = {{0, true}, {1, false}, {2, false}, {2, true}, {3, false}, {3, true}};

enum { ORDER = 3 }; /* of the polynomial in x that these make */

/* exp of a polynomial along the lines, by multiplying: its value at a block of lines, the ratio to the
 * next block, that ratio's own ratio and so on, as many as the polynomial has differences. */
struct bent {
    int order;
    struct pe_phasors power[ORDER + 1];
};

static double complex polynomial(const double complex *c, double x)
{
    return c[0] + x * (c[1] + x * (c[2] + x * c[3]));
}

static void start_bent(struct bent *bent, int order, const double complex *coefficient,
                       double x_first, double x_step)
{
    bent->order = order;
    for (int lane = 0; lane < PE_LANES; lane++) {
        double complex difference[ORDER + 1];
        for (int i = 0; i <= order; i++)
            difference[i] = polynomial(coefficient, x_first + x_step * (lane + i * PE_LANES));
        for (int i = 1; i <= order; i++)
            for (int j = order; j >= i; j--)
                difference[j] -= difference[j - 1];
        for (int i = 0; i <= order; i++)
            pe_set_phasor(&bent->power[i], lane, cexp(difference[i]));
    }
}

/* What amplitude, start and shape multiply the pulse with: the exponent's polynomial in x. Returns its
 * order. */
static int bend(const struct pe_stack_fit *fit, const struct pe_explanation_fit *at,
                double complex coefficient[ORDER + 1])
{
    const double *number = at->stack.number;
    double per_x = 2.0 * PE_PI * fit->step_hz / fit->x_step; /* omega is linear in x */
    double middle = 2.0 * PE_PI * fit->step_hz * (double)fit->first_bin - per_x * fit->x_first;
    coefficient[0] = number[PE_AMPLITUDE] - I * (middle * number[PE_START]);
    coefficient[1] = -I * (per_x * number[PE_START]);
    coefficient[2] = coefficient[3] = 0.0;
    for (int i = 0; i < PE_SHAPE_TERMS && fit->shaped; i++)
        coefficient[terms[i].power] += at->shape[i] * (terms[i].turns ? I : 1.0);
    return fit->shaped ? ORDER : 1;
}

PE_CLONES
void pe_stack_carry(struct pe_stack_fit *fit, const struct pe_explanation_fit *at)
{
    double complex coefficient[ORDER + 1];
    struct bent bent;
    start_bent(&bent, bend(fit, at, coefficient), coefficient, fit->x_first, fit->x_step);
    for (int b = 0; b < fit->blocks; b++) {
        fit->carrier[b] = pe_product(fit->sent[b], bent.power[0]);
        for (int i = 0; i < bent.order; i++)
            bent.power[i] = pe_product(bent.power[i], bent.power[i + 1]);
    }
}

/* ---- normal equations ---- */

/* Derivative of the model, where it stands, by a number that its reflection does not hold. */
PE_CLONES
static void fill_column(const struct pe_stack_fit *fit, int number, struct pe_phasors *column)
{
    const struct pe_phasors *model = fit->model;
    int term = number - PE_STACK_NUMBERS, power = term >= 0 ? terms[term].power : 0;
    bool turns = term >= 0 && terms[term].turns;
    pe_lanes x, one = {1.0, 1.0, 1.0, 1.0};
    for (int lane = 0; lane < PE_LANES; lane++)
        x[lane] = fit->x_first + lane * fit->x_step;
    for (int b = 0; b < fit->blocks; b++) {
        pe_lanes factor = number == PE_START ? -fit->line[b].omega : one;
        for (int i = 0; i < power; i++)
            factor *= x;
        column[b] = turns || number == PE_START ? pe_times_j(model[b], &factor)
                                                : pe_times(model[b], &factor);
        x += PE_LANES * fit->x_step;
    }
}

PE_CLONES
static void fill_residual(struct pe_stack_fit *fit, struct pe_phasors *residual)
{
    const struct pe_phasors *seen = pe_stack_seen(fit);
    for (int b = 0; b < fit->blocks; b++)
        residual[b] = pe_difference(fit->data[b], seen[b]);
}

/* Derivatives of the model by the free numbers, and behind them the residual. */
static void fill_columns(const struct pe_stack_problem *p, const struct pe_explanation_fit *at)
{
    struct pe_stack_fit *fit = p->fit;
    struct pe_stack_walk walk = {
        .blocks = fit->blocks, .line = fit->line, .carrier = fit->carrier, .model = fit->model};
    for (int i = 0; i < p->count; i++)
        if (p->index[i] > PE_START && p->index[i] < PE_STACK_NUMBERS)
            walk.by[p->index[i]] = fit->column[i];
    pe_stack_carry(fit, at);
    pe_stack_model(&at->stack, &walk);
    for (int i = 0; i < p->count; i++)
        if (p->index[i] <= PE_START || p->index[i] >= PE_STACK_NUMBERS)
            fill_column(fit, p->index[i], fit->column[i]);
    fill_residual(fit, fit->column[p->count]);
}

/* Products of all columns with one another: the lower triangle, several of a row at a time. */
PE_CLONES
static void multiply_columns(const struct pe_stack_fit *fit, int columns,
                             double product[PE_COLUMNS][PE_COLUMNS])
{
    for (int i = 0; i < columns; i++)
        for (int j = 0; j <= i; j += PE_LANES) {
            const struct pe_phasors *a = fit->column[i], *b0 = fit->column[j],
                                    *b1 = fit->column[j + 1], *b2 = fit->column[j + 2],
                                    *b3 = fit->column[j + 3];
            pe_lanes s0 = {0.0}, s1 = {0.0}, s2 = {0.0}, s3 = {0.0};
            for (int k = 0; k < fit->blocks; k++) {
                s0 += a[k].re * b0[k].re + a[k].im * b0[k].im;
                s1 += a[k].re * b1[k].re + a[k].im * b1[k].im;
                s2 += a[k].re * b2[k].re + a[k].im * b2[k].im;
                s3 += a[k].re * b3[k].re + a[k].im * b3[k].im;
            }
            product[i][j] = pe_lanes_sum(&s0);
            product[i][j + 1] = pe_lanes_sum(&s1);
            product[i][j + 2] = pe_lanes_sum(&s2);
            product[i][j + 3] = pe_lanes_sum(&s3);
        }
}

double pe_stack_equations(const void *problem, const double *parameters,
                          struct pe_matrix *matrix, double *gradient)
{
    const struct pe_stack_problem *p = problem;
    struct pe_explanation_fit at;
    double product[PE_COLUMNS][PE_COLUMNS];
    int n = p->count;
    place_numbers(p, parameters, &at);
    const double *number = at.stack.number;
    if (fabs(number[PE_FRONT]) > 1.0 || fabs(number[PE_STEP_THERE]) > 0.95 ||
        number[PE_TRANSIT] <= 0.0)
        return INFINITY;
    fill_columns(p, &at);
    multiply_columns(p->fit, n + 1, product);
    double chi2 = product[n][n];
    for (int i = 0; i < n; i++) {
        gradient[i] = product[n][i] * p->unit[i];
        for (int j = 0; j <= i; j++)
            matrix->at[i][j] = matrix->at[j][i] = product[i][j] * p->unit[i] * p->unit[j];
        const struct pe_prior *prior = &p->prior[p->index[i]];
        if (prior->u <= 0.0)
            continue;
        double u = prior->u / p->unit[i], off = (parameters[i] - prior->mean) / p->unit[i];
        chi2 += off * off / (u * u);
        gradient[i] -= off / (u * u);
        matrix->at[i][i] += 1.0 / (u * u);
    }
    return chi2;
}

/* ---- the fit ---- */

bool pe_stack_fit_run(struct pe_stack_fit *fit, const bool *free, const struct pe_prior *prior,
                      double hopeless, struct pe_explanation_fit *out)
{
    memset(out->u, 0, sizeof out->u);
    out->given_up = false;
    struct pe_explanation_fit start = *out;
    struct pe_stack_problem problem;
    double parameters[PE_MOST_ROWS];
    if (!pe_stack_problem_set(fit, free, prior, &start, &problem, parameters))
        return false;
    struct pe_least_squares plan = {.parameters = problem.count,
                                    .unit = problem.unit,
                                    .longest_step = 0.5,
                                    .enough = 3e-3,
                                    .enough_gain = 0.02,
                                    .rounds = 16,
                                    .hopeless = hopeless};
    struct pe_least_squares_result result;
    if (!pe_least_squares_run(&plan, pe_stack_equations, &problem, parameters, &result)) {
        out->given_up = result.given_up;
        return false;
    }
    place_numbers(&problem, parameters, out);
    out->chi2 = result.chi2;
    /* Laplace's approximation: a Gaussian integral over the free numbers */
    out->log_evidence = 0.5 * (result.log_determinant - result.chi2);
    for (int i = 0; i < problem.count; i++) {
        const struct pe_prior *p = &prior[problem.index[i]];
        out->u[problem.index[i]] = sqrt(result.covariance.at[i][i]);
        out->log_evidence += half_log_two_pi - (p->u > 0.0 ? log(p->u) + half_log_two_pi : 0.0);
    }
    return true;
}
