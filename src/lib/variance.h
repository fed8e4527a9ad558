/* variance.h - variance of a stretch of samples about its mean
 */
#ifndef PLYECHO_LIB_VARIANCE_H
#define PLYECHO_LIB_VARIANCE_H

#include <stddef.h>

/* n at least 1; divided by n - 1 where n is more. */
static inline double pe_variance(const float *x, size_t n)
{
    double mean = 0.0, sum = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += x[i];
    mean /= (double)n;
    for (size_t i = 0; i < n; i++)
        sum += (x[i] - mean) * (x[i] - mean);
    return sum / (double)(n > 1 ? n - 1 : 1);
}

#endif
