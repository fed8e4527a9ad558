#include <plyecho/noise.h>

#include <math.h>

#include "sort.h"
#include "variance.h"

static const double quantile = 0.2;
static const double quantile_z = -0.841621233572914; /* standard normal at 0.2 */

/* Wilson and Hilferty: quantile of chi-squared over its degrees of freedom. */
static double chi_squared_share(double freedom)
{
    double c = 2.0 / (9.0 * freedom);
    double root = 1.0 - c + quantile_z * sqrt(c);
    return root > 0.0 ? root * root * root : 0.0;
}

double plyecho_noise_rms(const float *amplitude, size_t samples, double bandwidth_share,
                         float *scratch)
{
    size_t length = samples < PLYECHO_NOISE_BLOCK ? samples : PLYECHO_NOISE_BLOCK;
    size_t stretches = length > 0 ? samples / length : 0;
    if (stretches == 0)
        return 0.0;
    for (size_t k = 0; k < stretches; k++)
        scratch[k] = (float)pe_variance(amplitude + k * length, length);
    if (stretches == 1)
        return sqrt(scratch[0]);
    double freedom = fmax(1.0, bandwidth_share * (double)(length - 1));
    double share = chi_squared_share(freedom);
    double low = pe_ranked(scratch, stretches, (size_t)(quantile * (double)(stretches - 1)));
    return sqrt(low / fmax(share, 0.05));
}
