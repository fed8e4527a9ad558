/* quantile.h - quantiles of values
 */
#ifndef PLYECHO_CMD_QUANTILE_H
#define PLYECHO_CMD_QUANTILE_H

#include <stddef.h>

/* Put finite values into rising order. */
void quantile_sort(double *value, size_t count);

/* Of rising values, at least one; share 0 to 1. On a straight line between the two nearest: type 7 of R. J. Hyndman,
 * Y. Fan, The American Statistician 50 (1996) 361. */
double quantile_of(const double *sorted, size_t count, double share);

#endif
