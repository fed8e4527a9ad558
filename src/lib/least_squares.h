/* least_squares.h - damped Gauss-Newton steps (Levenberg-Marquardt) for a few parameters
 *
 * The problem gives, at any parameters, chi-squared and the normal equations; this walks down.
 * A general driver that wants residuals and a Jacobian would store both for every spectral line,
 * while the problems here sum them up as they go (Press et al., Numerical Recipes, 15.5; Madsen,
 * Nielsen and Tingleff, Methods for Non-Linear Least Squares Problems, 2004; both from memory).
 */
#ifndef PLYECHO_LIB_LEAST_SQUARES_H
#define PLYECHO_LIB_LEAST_SQUARES_H

#include <stdbool.h>

#include "small_matrix.h"

/* At `parameters`: chi-squared (returned), half its second derivatives without the second
 * derivatives of the model (matrix) and minus half its gradient, all in multiples of the
 * parameters' units. INFINITY where the model does not exist there. */
typedef double pe_normal_equations(const void *problem, const double *parameters,
                                   struct pe_matrix *matrix, double *gradient);

struct pe_least_squares {
    int parameters;
    const double *unit;  /* size of each parameter in which the equations are well scaled */
    double longest_step; /* of any parameter, in its units */
    double
        enough; /* done when no parameter moves by more than this, in its units, in a full step */
    double
        enough_gain; /* or where a full step promises to take no more than this off chi-squared;
                           that step is still taken */
    int rounds;      /* at most so many evaluations */
    double
        hopeless; /* chi-squared above which the minimum is of no interest: the walk is given up
                           where its next steps cannot come below; 0: never */
};

struct pe_least_squares_result {
    bool given_up; /* as hopeless */
    double chi2;
    double moved; /* last step, in units; above `enough` where the rounds ran out */
    struct pe_matrix covariance; /* in the parameters' own units */
    double log_determinant;      /* of that, its logarithm */
};

/* Walk from `parameters` to the nearest minimum and leave them there. false where a parameter is
 * determined by nothing, the walk was given up, or the model does not exist at the start. */
bool pe_least_squares_run(const struct pe_least_squares *plan, pe_normal_equations *equations,
                          const void *problem, double *parameters,
                          struct pe_least_squares_result *result);

#endif
