#include "small_matrix.h"

#include <math.h>
#include <stddef.h>

/* matrix = U^T U, its diagonal raised by a share. Row by row, so that no sum waits for itself. */
static bool factor(int n, const struct pe_matrix *matrix, double damping, struct pe_matrix *u)
{
    for (int i = 0; i < n; i++) {
        for (int j = i; j < n; j++)
            u->at[i][j] = matrix->at[i][j];
        u->at[i][i] *= 1.0 + damping;
    }
    for (int k = 0; k < n; k++) {
        double pivot = u->at[k][k];
        if (!(pivot > 0.0) || !isfinite(pivot))
            return false;
        double root = 1.0 / sqrt(pivot);
        for (int j = k; j < n; j++)
            u->at[k][j] *= root;
        for (int i = k + 1; i < n; i++)
            for (int j = i; j < n; j++)
                u->at[i][j] -= u->at[k][i] * u->at[k][j];
    }
    return true;
}

bool pe_invert(int n, const struct pe_matrix *matrix, struct pe_matrix *inverse,
               double *log_determinant)
{
    struct pe_matrix u,
        m; /* upper triangle, and lower: m = U^-T, of which the inverse is made */
    double half = 0.0;
    if (!factor(n, matrix, 0.0, &u))
        return false;
    for (int j = 0; j < n; j++) {
        half -= log(u.at[j][j]);
        m.at[j][j] = 1.0 / u.at[j][j];
        for (int i = j + 1; i < n; i++) {
            double sum = 0.0;
            for (int k = j; k < i; k++)
                sum -= u.at[k][i] * m.at[k][j];
            m.at[i][j] = sum / u.at[i][i];
        }
    }
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            double sum = 0.0;
            for (int k = i; k < n; k++)
                sum += m.at[k][i] * m.at[k][j];
            inverse->at[i][j] = inverse->at[j][i] = sum;
        }
    if (log_determinant != NULL)
        *log_determinant = 2.0 * half;
    return true;
}

double pe_newton_step(int n, const struct pe_matrix *matrix, double damping,
                      const double *gradient, const double *unit, double most,
                      double *parameters, double *promised)
{
    struct pe_matrix u;
    double step[PE_MOST_ROWS], largest = 0.0;
    if (!factor(n, matrix, damping, &u))
        return NAN;
    for (int i = 0; i < n; i++)
        step[i] = gradient[i];
    for (int i = 0; i < n; i++) { /* U^T y = gradient */
        step[i] /= u.at[i][i];
        for (int k = i + 1; k < n; k++)
            step[k] -= u.at[i][k] * step[i];
    }
    for (int i = n - 1; i >= 0; i--) { /* U step = y */
        double sum = step[i];
        for (int k = i + 1; k < n; k++)
            sum -= u.at[i][k] * step[k];
        step[i] = sum / u.at[i][i];
        largest = fmax(largest, fabs(step[i]));
    }
    *promised = 0.0;
    for (int i = 0; i < n; i++)
        *promised += gradient[i] * step[i];
    double shrink = largest > most ? most / largest : 1.0;
    for (int i = 0; i < n; i++)
        parameters[i] += shrink * step[i] * unit[i];
    return largest;
}

void pe_in_units(int n, const struct pe_matrix *matrix, const double *unit,
                 struct pe_matrix *out)
{
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++)
            out->at[i][j] = matrix->at[i][j] * unit[i] * unit[j];
}
