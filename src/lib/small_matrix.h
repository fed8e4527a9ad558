/* small_matrix.h - symmetric positive matrices of a few rows, on the stack
 *
 * Gauss-Newton steps of fits with a handful of parameters: a general least-squares driver would
 * spend longer on its workspace than on the arithmetic.
 */
#ifndef PLYECHO_LIB_SMALL_MATRIX_H
#define PLYECHO_LIB_SMALL_MATRIX_H

#include <stdbool.h>

enum { PE_MOST_ROWS = 18 };

struct pe_matrix {
    double at[PE_MOST_ROWS][PE_MOST_ROWS];
};

/* Inverse of the symmetric positive n x n matrix in the upper left corner, by Cholesky's method, and the
 * logarithm of the inverse's determinant (NULL: not wanted). false where it is not positive: a
 * parameter that nothing determines. */
bool pe_invert(int n, const struct pe_matrix *matrix, struct pe_matrix *inverse,
               double *log_determinant);

/* Add the step that solves matrix x step = gradient, the matrix's diagonal raised by the share `damping`,
 * to the n parameters, which were fitted in multiples of `unit`; a step whose largest part is above
 * `most` is shortened to that. Returns the largest part before shortening, in units, and what the whole
 * step would take off chi-squared; NaN, and nothing is added, where the matrix is not positive. */
double pe_newton_step(int n, const struct pe_matrix *matrix, double damping,
                      const double *gradient, const double *unit, double most,
                      double *parameters, double *promised);

/* A matrix in multiples of `unit` (row and column) in the parameters' own units. */
void pe_in_units(int n, const struct pe_matrix *matrix, const double *unit,
                 struct pe_matrix *out);

#endif
