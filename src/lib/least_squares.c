#include "least_squares.h"

#include <math.h>
#include <string.h>

/* Damping to begin with, and how it changes (our choice; nearly undamped, as the starts are good). */
static const double first_damping = 1e-6, least_damping = 1e-9, most_damping = 1e6;
static const double harder = 10.0, easier = 0.1, felt = 1e-3; /* less changes no step */

/* A walk is not judged in its first rounds, and then may gain so many times what its next step promises
 * (our choice, from walks on simulated walls). */
enum { UNJUDGED = 4 };
static const double hope = 4.0;

bool pe_least_squares_run(const struct pe_least_squares *plan, pe_normal_equations *equations,
                          const void *problem, double *parameters,
                          struct pe_least_squares_result *result)
{
    int n = plan->parameters;
    double damping = first_damping, gradient[PE_MOST_ROWS], gradient_there[PE_MOST_ROWS];
    struct pe_matrix matrices[2], *here = &matrices[0], *there = &matrices[1], inverse;
    double chi2 = equations(problem, parameters, here, gradient);
    result->moved = INFINITY;
    result->given_up = false;
    if (!isfinite(chi2))
        return false;
    for (int round = 1; round < plan->rounds && result->moved > plan->enough; round++) {
        double trial[PE_MOST_ROWS];
        memcpy(trial, parameters, (size_t)n * sizeof *trial);
        double promised, moved = pe_newton_step(n, here, damping, gradient, plan->unit,
                                                plan->longest_step, trial, &promised);
        result->given_up =
            plan->hopeless > 0.0 && round > UNJUDGED && chi2 - hope * promised > plan->hopeless;
        if (isnan(moved) || result->given_up)
            return false;
        bool last = promised < plan->enough_gain;
        double chi2_there = equations(problem, trial, there, gradient_there);
        if (chi2_there <= chi2 * (1.0 + 1e-14)) {
            memcpy(parameters, trial, (size_t)n * sizeof *trial);
            memcpy(gradient, gradient_there, (size_t)n * sizeof *gradient);
            struct pe_matrix *left = here;
            here = there;
            there = left;
            chi2 = chi2_there;
            result->moved = moved;
            damping = fmax(damping * easier, least_damping);
        } else {
            damping = fmax(harder * damping, felt);
            if (damping > most_damping)
                break;
        }
        if (last)
            break;
    }
    result->chi2 = chi2;
    if (!pe_invert(n, here, &inverse, &result->log_determinant))
        return false;
    for (int i = 0; i < n; i++)
        result->log_determinant += 2.0 * log(plan->unit[i]);
    pe_in_units(n, &inverse, plan->unit, &result->covariance);
    return true;
}
