/* agreement.h - do readings agree with a truth: bias, limits of agreement, hits and misses
 *
 * Of paired differences, reading less truth, after Bland & Altman (Lancet 1986; 327: 307-310): their mean, and the
 * limits mean -+ 1.96 standard deviations between which 95 % of differences are expected. The limits' own 95 %
 * intervals are the exact ones from the noncentral t distribution (Carkeet, Optom. Vis. Sci. 2015; 92: e71-80,
 * from memory): cut sections come by the handful, and the usual s sqrt(3/n) is symmetric and too narrow for few.
 */
#ifndef PLYECHO_AGREEMENT_H
#define PLYECHO_AGREEMENT_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_interval {
    double least, most;
};

#define PLYECHO_LIMITS_FACTOR 1.96 /* of standard deviations, as published */

/* In the unit of the differences. Intervals hold 95 %. */
struct plyecho_agreement {
    size_t count;
    double bias;                     /* mean difference */
    bool spread_known;               /* two differences at least, not all alike; then: */
    double spread;                   /* standard deviation, squares over count - 1 */
    double bias_u;                   /* standard error of the mean */
    struct plyecho_interval bias_95; /* Student's t */
    double lower, upper;             /* limits of agreement */
    struct plyecho_interval lower_95, upper_95;
};

/* differences: count of them, finite. Independent of each other, about normally distributed: neither is checked.
 * PLYECHO_BAD_ARGUMENT for none. */
PLYECHO_API enum plyecho_code plyecho_agreement_take(const double *differences, size_t count,
                                                     struct plyecho_agreement *agreement,
                                                     struct plyecho_error *err);

/* The share hits / count and its exact 95 % interval (Clopper & Pearson, Biometrika 1934; 26: 404-413, from
 * memory). count 0: nothing is known, 0 to 1. */
struct plyecho_share {
    size_t hits, count;
    struct plyecho_known share;
    struct plyecho_interval interval_95;
};

/* hits at most count. */
PLYECHO_API struct plyecho_share plyecho_share_take(size_t hits, size_t count);

#endif
