#include "sort.h"

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
