#include <config.h>

#include "stack_fit_inside.h"

#include <math.h>

/* ---- one more echo ---- */

/* What the stack leaves of the data, against the carrier; returns the carrier's energy. */
PE_CLONES
static double leave(struct pe_stack_fit *fit, struct pe_phasors *left)
{
    const struct pe_phasors *seen = pe_stack_seen(fit);
    pe_lanes energy = {0.0};
    for (int b = 0; b < fit->blocks; b++) {
        struct pe_phasors c = fit->carrier[b];
        left[b] = pe_against(pe_difference(fit->data[b], seen[b]), c);
        energy += c.re * c.re + c.im * c.im;
    }
    return pe_lanes_sum(&energy);
}

/* How far a line turns over a time. */
static struct pe_series turns(const struct pe_stack_fit *fit, double time_s)
{
    double a_line = 2.0 * PE_PI * fit->step_hz * time_s;
    return pe_series_from(cexp(I * (a_line * (double)fit->first_bin)), cexp(I * a_line));
}

/* Sums over the lines at delays in steps of step_s; from one to the next the lines turn on. */
PE_CLONES
static void sum_along(const struct pe_stack_fit *fit, double step_s, int count,
                      struct pe_phasors *left, struct pe_stray *stray)
{
    struct pe_phasors turn[PE_MOST_BLOCKS];
    struct pe_series along = turns(fit, step_s);
    for (int b = 0; b < fit->blocks; b++)
        turn[b] = pe_series_next(&along);
    for (int i = 0; i < count; i++) {
        struct pe_phasors sum = {{0.0}, {0.0}};
        for (int b = 0; b < fit->blocks; b++) {
            sum = pe_sum_of(sum, left[b]);
            left[b] = pe_product(left[b], turn[b]);
        }
        stray[i].size = pe_lanes_sum(&sum.re) + I * pe_lanes_sum(&sum.im);
    }
}

PE_CLONES
static void reflect_front_only(struct pe_stack_fit *fit, double front)
{
    for (int b = 0; b < fit->blocks; b++)
        fit->model[b] = pe_scaled(fit->carrier[b], front);
}

void pe_stack_fit_scan(struct pe_stack_fit *fit, const struct pe_explanation_fit *at,
                       bool front_only, double step_s, int count, struct pe_stray *stray)
{
    struct pe_phasors left[PE_MOST_BLOCKS];
    const double *number = at->stack.number;
    struct pe_stack_walk walk = {
        .blocks = fit->blocks, .line = fit->line, .carrier = fit->carrier, .model = fit->model};
    pe_stack_carry(fit, at);
    if (front_only)
        reflect_front_only(fit, number[PE_FRONT] * exp(number[PE_JITTER]));
    else
        pe_stack_model(&at->stack, &walk);
    double energy = leave(fit, left);
    sum_along(fit, step_s, count, left, stray);
    for (int i = 0; i < count; i++) {
        double complex sum = stray[i].size;
        stray[i].size = sum / energy;
        stray[i].gain = creal(sum * conj(sum)) / energy;
    }
}

PE_CLONES
static void correlate(const struct pe_stack_fit *fit, double late_s, struct pe_phasors *left)
{
    struct pe_series early = turns(fit, late_s);
    for (int b = 0; b < fit->blocks; b++)
        left[b] = pe_product(pe_against(fit->data[b], fit->sent[b]), pe_series_next(&early));
}

double pe_stack_fit_align(const struct pe_stack_fit *fit, double reach_s)
{
    enum { MOST_STEPS = 256 };
    struct pe_phasors left[PE_MOST_BLOCKS];
    struct pe_stray stray[MOST_STEPS];
    double step = 0.05 / fit->reference_hz;
    int steps = (int)fmin(2.0 * reach_s / step + 1.0, MOST_STEPS), best = 0;
    correlate(fit, -reach_s, left);
    sum_along(fit, step, steps, left, stray);
    for (int i = 1; i < steps; i++)
        if (creal(stray[i].size) > creal(stray[best].size))
            best = i;
    return best * step - reach_s;
}

/* ---- where an echo can be told ---- */

/* A row for each free number of its covariance with all. */
struct told {
    const struct pe_stack_problem *problem;
    struct pe_matrix covariance;
};

/* Share of an echo's energy that no change of the free numbers looks like. */
PE_CLONES
static double own_share(const struct told *t, const struct pe_phasors *echo)
{
    const struct pe_stack_fit *fit = t->problem->fit;
    double by[PE_MOST_ROWS], all = pe_stack_dot(echo, echo, fit->blocks), own = all;
    int count = t->problem->count;
    for (int i = 0; i < count; i++)
        by[i] = pe_stack_dot(fit->column[i], echo, fit->blocks) * t->problem->unit[i];
    for (int i = 0; i < count; i++) {
        double sum = 0.0;
        for (int j = 0; j < count; j++)
            sum += t->covariance.at[i][j] * by[j];
        own -= by[i] * sum;
    }
    return own / all;
}

/* Factor of each line for a passage through the wall's material. */
PE_CLONES
static void pass(const struct pe_stack_fit *fit, double slope, double time_s,
                 struct pe_phasors *factor)
{
    struct pe_passage passage = pe_passage_from(slope * time_s, time_s, &fit->line[0]);
    for (int b = 0; b < fit->blocks; b++)
        factor[b] = pe_passage_next(&passage, &fit->line[b]);
}

PE_CLONES
static void multiply(struct pe_phasors *a, const struct pe_phasors *b, int blocks)
{
    for (int k = 0; k < blocks; k++)
        a[k] = pe_product(a[k], b[k]);
}

/* First delay, from start_s on in steps of step_s (either sign), at which the echo is seen. Its size is
 * of no matter to its share. */
static bool first_seen(const struct told *t, double share, double start_s, double step_s,
                       int steps, double *seen_s)
{
    const struct pe_stack_fit *fit = t->problem->fit;
    double slope = t->problem->fixed->stack.number[PE_SLOPE];
    struct pe_phasors echo[PE_MOST_BLOCKS], turn[PE_MOST_BLOCKS];
    pass(fit, slope, start_s, echo);
    pass(fit, slope, step_s, turn);
    multiply(echo, fit->carrier, fit->blocks);
    for (int i = 0; i < steps; i++) {
        if (own_share(t, echo) >= share) {
            *seen_s = start_s + i * step_s;
            return true;
        }
        multiply(echo, turn, fit->blocks);
    }
    return false;
}

bool pe_stack_fit_visible(struct pe_stack_fit *fit, const bool *free,
                          const struct pe_prior *prior, const struct pe_explanation_fit *at,
                          double share, double *from_s, double *to_s)
{
    struct pe_stack_problem p;
    struct told told = {.problem = &p};
    struct pe_matrix matrix;
    double parameters[PE_MOST_ROWS], gradient[PE_MOST_ROWS];
    double step = 0.1 / fit->reference_hz;
    int steps = (int)fmax(0.0, (*to_s - *from_s) / step) + 1;
    if (!pe_stack_problem_set(fit, free, prior, at, &p, parameters) ||
        !isfinite(pe_stack_equations(&p, parameters, &matrix, gradient)) ||
        !pe_invert(p.count, &matrix, &told.covariance, NULL))
        return false;
    return first_seen(&told, share, *from_s, step, steps, from_s) &&
           first_seen(&told, share, *to_s, -step, steps, to_s) && *to_s > *from_s;
}
