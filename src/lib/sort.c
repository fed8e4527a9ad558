#include "sort.h"

#include <math.h>
#include <stdlib.h>

static int ascending(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

void pe_sort(float *values, size_t count)
{
    qsort(values, count, sizeof *values, ascending);
}

static int ascending_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void pe_sort_doubles(double *values, size_t count)
{
    qsort(values, count, sizeof *values, ascending_doubles);
}

double pe_median(double *values, size_t count)
{
    if (count == 0)
        return NAN;
    pe_sort_doubles(values, count);
    return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}

/* Hoare's selection: split at a middle value, and go on in the part that holds the rank. */
float pe_ranked(float *values, size_t count, size_t rank)
{
    size_t low = 0, high = count - 1;
    while (low < high) {
        float middle = values[low + (high - low) / 2];
        size_t i = low, k = high;
        for (;;) {
            while (values[i] < middle)
                i++;
            while (values[k] > middle)
                k--;
            if (i >= k)
                break;
            float left = values[i];
            values[i++] = values[k];
            values[k--] = left;
        }
        if (rank <= k)
            high = k;
        else
            low = k + 1;
    }
    return values[rank];
}
