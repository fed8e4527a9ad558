/* stack_fit.h - a stack of a few layers fitted to the whole of a trace, in the frequency domain
 *
 * The stretch of the record that the wall's echoes fill is transformed once; each line of the band
 * is amplitude x pulse x exp(-j w start) x reflection of the stack (stack_model.h). Noise and what
 * the model leaves out (plies, a real beam) make the variance of a line. What is known of a number
 * beforehand counts as one more observation.
 */
#ifndef PLYECHO_LIB_STACK_FIT_H
#define PLYECHO_LIB_STACK_FIT_H

#include <plyecho/condition.h>
#include <plyecho/error.h>
#include <plyecho/plate_fit.h>

#include "small_matrix.h"
#include "stack_model.h"

/* Terms that bend a pulse whose shape is not known: P(f) exp(sum of (a_k + j b_k) x^k), x from -1 to
 * 1 over the band. a_0 and b_1 are amplitude and start. */
enum { PE_SHAPE_TERMS = 6, PE_FIT_NUMBERS = PE_STACK_NUMBERS + PE_SHAPE_TERMS };

struct pe_prior {
    double mean, u; /* u 0: nothing is known */
};

struct pe_explanation_fit {
    struct pe_stack stack;
    double shape[PE_SHAPE_TERMS];
    double chi2; /* priors included */
    double
        log_evidence; /* logarithm of the probability density of the data, up to a constant that all
                            fits of one trace share (Laplace's approximation) */
    double u[PE_FIT_NUMBERS]; /* standard uncertainties; 0: not free */
    bool given_up;            /* the fit did not settle because it was hopeless */
};

struct pe_stack_gate {
    double origin_s; /* time of the wall's front, about */
    double end_s;    /* what comes later is not the wall's */
    double until_s;  /* echoes of a stack up to here are thought of, recorded or not */
    double wall_s;   /* transit of the wall, about */
    double reference_hz;
    double slope;      /* loss expected, Np/Hz/s */
    double full_scale; /* amplitude that the pulse is to be multiplied with, about */
    double
        gap_at_s; /* what the record has from here on is taken gap_s later, as if that much */
    double gap_s; /* time had been lost there; below 0: earlier, as if doubled; 0: as it is */
};

struct pe_stack_fit;

/* pulse: the probe's own, copied; NULL: not known. */
enum plyecho_code pe_stack_fit_new(struct pe_stack_fit **fit, double sample_rate_hz,
                                   const struct plyecho_pulse_shape *pulse,
                                   struct plyecho_error *err);

/* Take a trace's stretch. Without a known pulse it is a Gaussian of the trace's band and of height 1,
 * whose shape is fitted. PLYECHO_UNSUITABLE where the record does not hold the wall's echoes. */
enum plyecho_code pe_stack_fit_take(struct pe_stack_fit *fit,
                                    const struct plyecho_conditioned *trace,
                                    const struct pe_stack_gate *gate,
                                    struct plyecho_error *err);

/* Reverse the sign of the trace that was taken. */
void pe_stack_fit_invert(struct pe_stack_fit *fit);

/* Fit from the numbers given. free: which; prior: one each. hopeless: chi-squared above which a fit is of
 * no interest, 0: none. false where it does not settle. */
bool pe_stack_fit_run(struct pe_stack_fit *fit, const bool *free, const struct pe_prior *prior,
                      double hopeless, struct pe_explanation_fit *out);

/* Where, within reach_s either way of the origin, the pulse itself fits best with positive sign. */
double pe_stack_fit_align(const struct pe_stack_fit *fit, double reach_s);

/* An echo of free size and phase at some delay behind the front, beside a stack. */
struct pe_stray {
    double complex size; /* over the pulse */
    double gain;         /* what it takes off chi-squared */
};

/* At each of `count` delays, from 0 in steps of step_s, beside the stack `at`; front_only: beside its
 * outer face's own echo alone. */
void pe_stack_fit_scan(struct pe_stack_fit *fit, const struct pe_explanation_fit *at,
                       bool front_only, double step_s, int count, struct pe_stray *stray);

/* Delays behind the front, from from_s to to_s (changed by this), between which an echo with a gap's sign
 * can be told from the stack `at`: at most 1 - share of its energy is what a change of the free numbers
 * could look like. false: nowhere. */
bool pe_stack_fit_visible(struct pe_stack_fit *fit, const bool *free,
                          const struct pe_prior *prior, const struct pe_explanation_fit *at,
                          double share, double *from_s, double *to_s);

size_t pe_stack_fit_lines(const struct pe_stack_fit *fit);

void pe_stack_fit_free(struct pe_stack_fit *fit);

#endif
