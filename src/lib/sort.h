/* sort.h - values in order, or one by its rank
 */
#ifndef PLYECHO_LIB_SORT_H
#define PLYECHO_LIB_SORT_H

#include <stddef.h>

/* Ascending; no value is NaN. */
void pe_sort(float *values, size_t count);
void pe_sort_doubles(double *values, size_t count);

/* The values are sorted; NAN of none. */
double pe_median(double *values, size_t count);

/* The value that sorting would put at `rank` < count; the values are moved. No value is NaN. */
float pe_ranked(float *values, size_t count, size_t rank);

#endif
