/* outliers.h - which of some values do not belong to the others: the generalised extreme studentised deviate test
 *
 * B. Rosner, Percentage points for a generalized ESD many-outlier procedure, Technometrics 25 (1983) 165;
 * NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3. The value furthest from the mean is taken away, time
 * and again; the last step at which it lies too far for a normal distribution says how many are outliers, so that
 * several do not hide each other. What counts as too far is an approximation that is good from 15 values on, very good
 * from 25. Outliers on both sides are found.
 */
#ifndef PLYECHO_OUTLIERS_H
#define PLYECHO_OUTLIERS_H

#include <stddef.h>

#include <plyecho/error.h>

struct plyecho_outlier {
    size_t index;    /* of the value taken away at this step; of equal ones any */
    double distance; /* from the mean of those left, over their standard deviation (n - 1) */
    double critical; /* above this it is too far */
};

/* count: 3 or more finite values; most: steps, 1 to count - 2; chance: of calling any where there is none, above 0
 * and below 1. steps: [most], filled; the first *outliers of them are outliers. Values that are all equal have none.
 * PLYECHO_BAD_ARGUMENT, PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_outliers_find(const double *values, size_t count,
                                                    size_t most, double chance,
                                                    struct plyecho_outlier *steps,
                                                    size_t *outliers,
                                                    struct plyecho_error *err);

#endif
