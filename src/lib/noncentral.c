#include "noncentral.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

/* Steps of Simpson's rule, even: what is integrated is smooth and some standard deviations wide. */
enum { STEPS = 600, HALVINGS = 60 };

/* Density of sqrt(C / freedom). */
static double density(double s, double freedom)
{
    double half = 0.5 * freedom;
    double from_zero = freedom > 1.0 ? (freedom - 1.0) * log(s) : 0.0;
    return exp(log(2.0) + half * log(half) - lgamma(half) + from_zero - half * s * s);
}

double pe_noncentral_t_below(double t, double freedom, double shift)
{
    /* sqrt(C / freedom) lies within nine of its standard deviations, at most 1 / sqrt(2 freedom), about 1; the
     * normal goes from 0 to 1 within nine of its own about where t times it is the shift */
    double wide = 9.0 / sqrt(2.0 * freedom), from = fmax(0.0, 1.0 - wide), to = 1.0 + wide;
    double beyond = 0.0, sum = 0.0;
    if (t != 0.0) {
        double one = (shift - 9.0) / t, other = (shift + 9.0) / t;
        from = fmin(to, fmax(from, fmin(one, other)));
        to = fmax(from, fmin(to, fmax(one, other)));
        beyond = t > 0.0 ? to : from;
    }
    double step = (to - from) / STEPS;
    for (int i = 0; i <= STEPS && step > 0.0; i++) {
        double s = from + step * i, weight = i == 0 || i == STEPS ? 1.0 : i % 2 ? 4.0 : 2.0;
        if (s > 0.0 || freedom <= 1.0)
            sum += weight * density(s, freedom) * gsl_cdf_ugaussian_P(t * s - shift);
    }
    double squared = freedom * beyond * beyond;
    return sum * step / 3.0 + (t > 0.0   ? gsl_cdf_chisq_Q(squared, freedom)
                               : t < 0.0 ? gsl_cdf_chisq_P(squared, freedom)
                                         : 0.0);
}

double pe_noncentral_t_at(double probability, double freedom, double shift)
{
    double low = -1.0, high = 1.0;
    while (pe_noncentral_t_below(low, freedom, shift) > probability && low > -1e9)
        low *= 2.0;
    while (pe_noncentral_t_below(high, freedom, shift) < probability && high < 1e9)
        high *= 2.0;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (low + high);
        if (pe_noncentral_t_below(middle, freedom, shift) < probability)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}
