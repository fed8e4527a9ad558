/* variance.h - sum, mean and variance of a stretch of samples
 *
 * Several sums at a time, because each addition waits for the one before it.
 */
#ifndef PLYECHO_LIB_VARIANCE_H
#define PLYECHO_LIB_VARIANCE_H

#include <stddef.h>

enum { PE_SUMS_ABREAST = 4 }; /* what stays in registers */

static inline double pe_sum_up(const double *sums)
{
    double all = 0.0;
    for (size_t k = 0; k < PE_SUMS_ABREAST; k++)
        all += sums[k];
    return all;
}

static inline double pe_sum(const float *x, size_t n)
{
    double sums[PE_SUMS_ABREAST] = {0.0};
    const size_t whole = n - n % PE_SUMS_ABREAST;
    for (size_t i = 0; i < whole; i += PE_SUMS_ABREAST)
        for (size_t k = 0; k < PE_SUMS_ABREAST; k++)
            sums[k] += (double)x[i + k];
    for (size_t i = whole; i < n; i++)
        sums[0] += (double)x[i];
    return pe_sum_up(sums);
}

/* n at least 1; divided by n - 1 where n is more. Taken about the first sample: in double, that loses
 * nothing as long as it is not a million deviations off. */
static inline double pe_variance(const float *x, size_t n)
{
    double off_by[PE_SUMS_ABREAST] = {0.0}, squares[PE_SUMS_ABREAST] = {0.0}, about = x[0];
    const size_t whole = n - n % PE_SUMS_ABREAST;
    for (size_t i = 0; i < whole; i += PE_SUMS_ABREAST)
        for (size_t k = 0; k < PE_SUMS_ABREAST; k++) {
            double off = (double)x[i + k] - about;
            off_by[k] += off;
            squares[k] += off * off;
        }
    for (size_t i = whole; i < n; i++) {
        double off = (double)x[i] - about;
        off_by[0] += off;
        squares[0] += off * off;
    }
    double sum = pe_sum_up(off_by), left = pe_sum_up(squares) - sum * sum / (double)n;
    return left > 0.0 ? left / (double)(n > 1 ? n - 1 : 1) : 0.0;
}

#endif
