#include <plyecho/influences.h>

#include <math.h>

double plyecho_rectangular_u(const struct plyecho_known *half_width)
{
    return half_width->known ? half_width->value / sqrt(3.0) : 0.0;
}

static double square(double x)
{
    return x * x;
}

static double value_of(const struct plyecho_known *known)
{
    return known->known ? known->value : 0.0;
}

double plyecho_influences_u(const struct plyecho_influences *i, double thickness_m,
                            double velocity_m_s, bool couples)
{
    double time_s = 2.0 * thickness_m / velocity_m_s;
    double by_temperature =
        0.5 * time_s * value_of(&i->velocity_per_k) * plyecho_rectangular_u(&i->warmer_limit_k);
    double by_coefficient =
        0.5 * time_s * value_of(&i->warmer_k) * value_of(&i->velocity_per_k_u);
    double by_clock = thickness_m * plyecho_rectangular_u(&i->clock_limit);
    double by_couplant =
        couples ? 0.5 * velocity_m_s * plyecho_rectangular_u(&i->couplant_limit) : 0.0;
    return sqrt(square(by_temperature) + square(by_coefficient) + square(by_clock) +
                square(by_couplant) + square(value_of(&i->curvature_u_m)));
}
