/* noncentral.h - the noncentral t distribution, which GSL does not have
 */
#ifndef PLYECHO_LIB_NONCENTRAL_H
#define PLYECHO_LIB_NONCENTRAL_H

/* Probability that (Z + shift) / sqrt(C / freedom) is at most t, Z standard normal, C chi-squared with so many degrees of
 * freedom (1 or more). To about 1e-9. */
double pe_noncentral_t_below(double t, double freedom, double shift);

/* Its value at a probability between 0 and 1. */
double pe_noncentral_t_at(double probability, double freedom, double shift);

#endif
