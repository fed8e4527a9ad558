/* sort.h - samples in order of their value
 */
#ifndef PLYECHO_LIB_SORT_H
#define PLYECHO_LIB_SORT_H

#include <stddef.h>

/* Ascending; no value is NaN. */
void pe_sort(float *values, size_t count);

#endif
