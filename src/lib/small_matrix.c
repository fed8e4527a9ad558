#include "small_matrix.h"

#include <math.h>

/* matrix = L L^T, its diagonal raised by a share. */
static bool factor(int n, const struct pe_matrix *matrix, double damping, struct pe_matrix *l)
{
    for (int i = 0; i < n; i++) {
        for (int j = 0; j <= i; j++) {
            double sum = matrix->at[i][j] * (i == j ? 1.0 + damping : 1.0);
            for (int k = 0; k < j; k++)
                sum -= l->at[i][k] * l->at[j][k];
            if (i != j)
                l->at[i][j] = sum / l->at[j][j];
            else if (sum > 0.0 && isfinite(sum))
                l->at[i][i] = sqrt(sum);
            else
                return false;
        }
    }
    return true;
}

bool pe_invert(int n, const struct pe_matrix *matrix, struct pe_matrix *inverse)
{
    struct pe_matrix l, m; /* lower triangles */
    if (!factor(n, matrix, 0.0, &l))
        return false;
    for (int j = 0; j < n; j++) { /* m = L^-1 */
        m.at[j][j] = 1.0 / l.at[j][j];
        for (int i = j + 1; i < n; i++) {
            double sum = 0.0;
            for (int k = j; k < i; k++)
                sum -= l.at[i][k] * m.at[k][j];
            m.at[i][j] = sum / l.at[i][i];
        }
    }
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) {
            inverse->at[i][j] = 0.0;
            for (int k = i > j ? i : j; k < n; k++)
                inverse->at[i][j] += m.at[k][i] * m.at[k][j];
        }
    return true;
}

double pe_newton_step(int n, const struct pe_matrix *matrix, double damping,
                      const double *gradient, const double *unit, double most,
                      double *parameters)
{
    struct pe_matrix l;
    double step[PE_MOST_ROWS], largest = 0.0;
    if (!factor(n, matrix, damping, &l))
        return NAN;
    for (int i = 0; i < n; i++) { /* L y = gradient */
        double sum = gradient[i];
        for (int k = 0; k < i; k++)
            sum -= l.at[i][k] * step[k];
        step[i] = sum / l.at[i][i];
    }
    for (int i = n - 1; i >= 0; i--) { /* L^T step = y */
        double sum = step[i];
        for (int k = i + 1; k < n; k++)
            sum -= l.at[k][i] * step[k];
        step[i] = sum / l.at[i][i];
        largest = fmax(largest, fabs(step[i]));
    }
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
