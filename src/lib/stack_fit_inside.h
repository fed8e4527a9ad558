/* stack_fit_inside.h - what the files of a stack's fit share
 *
 * stack_take.c makes spectral lines of a trace, stack_fit.c fits a stack to them, stack_scan.c looks
 * through delays. Include config.h first.
 */
#ifndef PLYECHO_LIB_STACK_FIT_INSIDE_H
#define PLYECHO_LIB_STACK_FIT_INSIDE_H

#include <complex.h> /* then FFTW takes its numbers */

#include <fftw3.h>

#include "stack_fit.h"

enum {
    PE_MOST_LINES = 320,
    PE_MOST_BLOCKS = PE_MOST_LINES / PE_LANES,
    /* derivatives and residual, and what makes the number a multiple of PE_LANES */
    PE_COLUMNS = 20
};

struct pe_stack_fit {
    double sample_rate_hz;
    struct plyecho_pulse_shape known; /* where it is */
    bool shaped;                      /* the pulse is not known: its shape is fitted */
    /* the transform; length 0: none planned yet */
    size_t length;
    float *gate;
    fftwf_complex *bins;
    fftwf_plan forward, backward;
    /* of the gate, from its first sample: how many are recorded; cut: fewer than a stack is followed */
    size_t recorded;
    bool cut;
    struct pe_series late; /* turns the lines from the gate's first sample to the origin */
    /* the lines; what they were chosen for */
    size_t lines_length;
    struct plyecho_band band;
    double reference_hz;
    /* evenly spaced; behind the last one blocks are filled up with lines without a pulse */
    int lines, blocks;
    size_t first_bin;
    double step_hz;
    double x_first, x_step; /* -1 to 1 over the band */
    struct pe_line line[PE_MOST_BLOCKS];
    struct pe_phasors pulse[PE_MOST_BLOCKS];
    /* the trace's: pulse and data over a line's standard deviation */
    double root_weight[PE_MOST_LINES];
    struct pe_phasors sent[PE_MOST_BLOCKS], data[PE_MOST_BLOCKS];
    /* scratch */
    struct pe_phasors carrier[PE_MOST_BLOCKS], model[PE_MOST_BLOCKS], seen[PE_MOST_BLOCKS];
    struct pe_phasors column[PE_COLUMNS][PE_MOST_BLOCKS];
};

/* One explanation's fit on its way. */
struct pe_stack_problem {
    struct pe_stack_fit *fit;
    const struct pe_explanation_fit *fixed; /* the numbers that are not free */
    const struct pe_prior *prior;
    int count, index[PE_MOST_ROWS];
    double unit[PE_MOST_ROWS];
};

/* The free numbers and where they stand. false: too many. */
bool pe_stack_problem_set(struct pe_stack_fit *fit, const bool *free,
                          const struct pe_prior *prior, const struct pe_explanation_fit *at,
                          struct pe_stack_problem *problem, double *parameters);

/* Normal equations (least_squares.h); leaves the derivatives, in the numbers' own units, in
 * fit->column, in the order of problem->index. */
double pe_stack_equations(const void *problem, const double *parameters,
                          struct pe_matrix *matrix, double *gradient);

/* The pulse with its amplitude, start and shape: all but the reflection, over a line's standard
 * deviation. Left in fit->carrier. */
void pe_stack_carry(struct pe_stack_fit *fit, const struct pe_explanation_fit *at);

/* What a record like this one shows of fit->model. A gate holds less than a stack is followed where the
 * delay line's repeat or the end of the record is near; what lies behind it is taken off, since
 * lines would bring it back at the gate's beginning. */
const struct pe_phasors *pe_stack_seen(struct pe_stack_fit *fit);

/* Sum of the products of real and imaginary parts. */
PE_INLINE double pe_stack_dot(const struct pe_phasors *a, const struct pe_phasors *b,
                              int blocks)
{
    pe_lanes re = {0.0}, im = {0.0};
    for (int k = 0; k < blocks; k++) {
        re += a[k].re * b[k].re;
        im += a[k].im * b[k].im;
    }
    re += im;
    return pe_lanes_sum(&re);
}

#endif
