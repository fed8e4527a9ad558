/* moments.h - mean and standard deviation of values as they come
 *
 * By updates (Welford's recurrence), which stay exact where the spread is small and need no copy of the values, as
 * gsl_stats_sd does.
 */
#ifndef PLYECHO_LIB_MOMENTS_H
#define PLYECHO_LIB_MOMENTS_H

#include <math.h>
#include <stddef.h>

#include <plyecho/known.h>

/* Zeroed: no value yet. */
struct pe_moments {
    size_t count;
    double mean, squares;
};

static inline void pe_moments_add(struct pe_moments *m, double value)
{
    double off = value - m->mean;
    m->count++;
    m->mean += off / (double)m->count;
    m->squares += off * (value - m->mean);
}

/* From two values on. */
static inline struct plyecho_known pe_moments_sd(const struct pe_moments *m)
{
    if (m->count < 2)
        return (struct plyecho_known){false, 0.0};
    return (struct plyecho_known){true, sqrt(m->squares / (double)(m->count - 1))};
}

#endif
