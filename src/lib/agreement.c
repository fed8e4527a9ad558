#include <plyecho/agreement.h>

#include <math.h>

#include <gsl/gsl_cdf.h>

#include "noncentral.h"

static const double tail = 0.025; /* on either side of 95 % */

/* Squares about the mean: the first pass has it, so that nothing is lost where the spread is small. */
static void take_moments(const double *d, size_t count, double *mean, double *deviation)
{
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += d[i];
    *mean = sum / (double)count;
    for (size_t i = 0; i < count; i++)
        squares += (d[i] - *mean) * (d[i] - *mean);
    *deviation = count > 1 ? sqrt(squares / (double)(count - 1)) : 0.0;
}

enum plyecho_code plyecho_agreement_take(const double *differences, size_t count,
                                         struct plyecho_agreement *a, struct plyecho_error *err)
{
    *a = (struct plyecho_agreement){.count = count};
    if (count == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "agreement needs differences; measure at least one place");
    take_moments(differences, count, &a->bias, &a->spread);
    a->spread_known = a->spread > 0.0;
    if (!a->spread_known)
        return PLYECHO_OK;
    double freedom = (double)(count - 1), root = sqrt((double)count);
    a->bias_u = a->spread / root;
    double t = gsl_cdf_tdist_Pinv(1.0 - tail, freedom);
    a->bias_95 = (struct plyecho_interval){a->bias - t * a->bias_u, a->bias + t * a->bias_u};
    a->lower = a->bias - PLYECHO_LIMITS_FACTOR * a->spread;
    a->upper = a->bias + PLYECHO_LIMITS_FACTOR * a->spread;
    /* (mean + factor sigma - bias) root / spread is noncentral t; the lower limit is its mirror image */
    double near = pe_noncentral_t_at(tail, freedom, PLYECHO_LIMITS_FACTOR * root) * a->bias_u;
    double far =
        pe_noncentral_t_at(1.0 - tail, freedom, PLYECHO_LIMITS_FACTOR * root) * a->bias_u;
    a->upper_95 = (struct plyecho_interval){a->bias + near, a->bias + far};
    a->lower_95 = (struct plyecho_interval){a->bias - far, a->bias - near};
    return PLYECHO_OK;
}

struct plyecho_share plyecho_share_take(size_t hits, size_t count)
{
    struct plyecho_share s = {
        .hits = hits, .count = count, .share = {count > 0, 0.0}, .interval_95 = {0.0, 1.0}};
    if (count == 0)
        return s;
    double h = (double)hits, misses = (double)(count - hits);
    s.share.value = h / (double)count;
    if (hits > 0)
        s.interval_95.least = gsl_cdf_beta_Pinv(tail, h, misses + 1.0);
    if (hits < count)
        s.interval_95.most = gsl_cdf_beta_Pinv(1.0 - tail, h + 1.0, misses);
    return s;
}
