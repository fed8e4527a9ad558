/* clusters.h - are some values one group, or two?
 *
 * One normal distribution against a mixture of two, each with its mean and its spread. The mixture is fitted by
 * expectation-maximisation (A. Dempster, N. Laird, D. Rubin, J. R. Statist. Soc. B 39 (1977) 1) from the best split into
 * two by the sums of squares within them (W. Fisher, J. Am. Statist. Assoc. 53 (1958) 789), which in one dimension is found
 * exactly. No spread goes below a floor: without one the likelihood has no bound (a group that shrinks to one value).
 *
 * The two are compared by the Bayesian information criterion (G. Schwarz, Ann. Statist. 6 (1978) 461). Its three numbers more
 * are counted as if the comparison were regular, which it is not: where there is one group the second one's numbers
 * are determined by nothing, and twice the log-likelihood's gain has no chi-squared distribution. So where the
 * criterion prefers two, the chance of as large a gain from one group is counted on samples drawn from the one
 * that was fitted (parametric bootstrap; G. McLachlan, Appl. Statist. 36 (1987) 318). A group that is not normal
 * - skewed, or with a wide foot - is two by these numbers as well: how far apart the groups lie is for the caller to
 * judge.
 */
#ifndef PLYECHO_CLUSTERS_H
#define PLYECHO_CLUSTERS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_cluster {
    double mean;
    double spread; /* standard deviation (n), the floor at least */
    double share;  /* of the values, 0 to 1 */
};

struct plyecho_clusters {
    struct plyecho_cluster one;       /* all of them */
    struct plyecho_cluster low, high; /* by their means */
    double one_log_likelihood, two_log_likelihood;
    double criterion_gain; /* by which the criterion prefers two; below 0 it prefers one */
    struct plyecho_known
        chance; /* of such a gain from one group; not known where one is preferred, or
                                    nothing was drawn */
};

struct plyecho_clusters_options {
    double floor;       /* least spread, above 0: what values are rounded to, or their noise */
    size_t draws;       /* samples for the chance, 0: none; 99 tell 0.01 */
    unsigned long seed; /* of the random numbers: the same gives the same */
};

enum { PLYECHO_CLUSTERS_LEAST = 4 };

/* values: count finite ones, PLYECHO_CLUSTERS_LEAST at least. low_share: [count], how likely each belongs to the low
 * group where there are two; NULL: not wanted. PLYECHO_BAD_ARGUMENT, PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_clusters_find(
    const double *values, size_t count, const struct plyecho_clusters_options *options,
    struct plyecho_clusters *clusters, double *low_share, struct plyecho_error *err);

#endif
