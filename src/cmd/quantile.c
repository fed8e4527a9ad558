#include <config.h>

#include "quantile.h"

#include <stdlib.h>

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void quantile_sort(double *value, size_t count)
{
    qsort(value, count, sizeof *value, by_size);
}

double quantile_of(const double *sorted, size_t count, double share)
{
    double at = share * (double)(count - 1);
    size_t below = (size_t)at;
    double next = below + 1 < count ? sorted[below + 1] : sorted[below];
    return sorted[below] + (at - (double)below) * (next - sorted[below]);
}
