#include <plyecho/beam.h>

#include <math.h>

#include <gsl/gsl_sf_bessel.h>

#include "pi.h"

double plyecho_near_field_m(double diameter_m, double wavelength_m)
{
    double square = diameter_m * diameter_m - wavelength_m * wavelength_m;
    return square > 0.0 ? square / (4.0 * wavelength_m) : 0.0;
}

double plyecho_beam_half_angle_rad(double diameter_m, double wavelength_m, double level)
{
    return asin(fmin(1.0, level * wavelength_m / diameter_m));
}

double plyecho_equivalent_path_m(double path_m, double path_velocity_m_s, double velocity_m_s)
{
    return path_m * path_velocity_m_s / velocity_m_s;
}

/* Pressure at `off` radii from the axis, over that at the face: (2 pi / s) times the integral of
 * exp(j pi x^2 / s) J0(2 pi x off / s) x dx from 0 to 1, by Simpson's rule. */
static double field(double s, double off)
{
    enum { PARTS = 400 };
    double complex sum = 0.0;
    for (int i = 1; i <= PARTS; i++) {
        double x = (double)i / PARTS, weight = i == PARTS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
        sum += weight * x * gsl_sf_bessel_J0(2.0 * PE_PI * x * off / s) *
               cexp(I * (PE_PI * x * x / s));
    }
    return 2.0 * PE_PI / s * cabs(sum) / (3.0 * PARTS);
}

/* Echo of a small reflector there: root of the energy over the band, there and back. */
static double echo_at(double s, double off, double bandwidth)
{
    enum { LINES = 4 };
    double sum = 0.0;
    for (int k = -LINES; k <= LINES; k++) {
        double shift = 0.8 * bandwidth * k / LINES; /* to where the spectrum is a sixth */
        double x = 2.0 * shift / bandwidth, amplitude = exp2(-x * x);
        double p = field(s / fmax(1.0 + shift, 0.1), off);
        sum += amplitude * amplitude * p * p * p * p;
    }
    return sqrt(sum);
}

double plyecho_beam_diameter_m(double diameter_m, double wavelength_m, double bandwidth,
                               double distance_m)
{
    enum { STEPS = 120 };
    double radius = diameter_m / 2.0, s = distance_m * wavelength_m / (radius * radius);
    if (!(s > 0.05))
        return diameter_m;
    /* in radii: the face, and a beam that opens up to its first zero */
    double reach = 1.2 + PLYECHO_BEAM_EDGE * s / 2.0, echo[STEPS + 1], most = 0.0;
    for (int i = 0; i <= STEPS; i++) {
        echo[i] = echo_at(s, reach * i / STEPS, bandwidth);
        most = fmax(most, echo[i]);
    }
    int last = STEPS - 1;
    while (last > 0 && echo[last] < 0.5 * most)
        last--;
    double share = (echo[last] - 0.5 * most) / (echo[last] - echo[last + 1]);
    return diameter_m * reach * ((double)last + fmin(share, 1.0)) / STEPS;
}

double complex plyecho_piston_diffraction(double s)
{
    double x = 2.0 * PE_PI / s;
    return 1.0 - cexp(-I * x) * (gsl_sf_bessel_J0(x) + I * gsl_sf_bessel_J1(x));
}

double plyecho_contact_gap_m(double face_diameter_m, double tube_diameter_m)
{
    double a = face_diameter_m / 2.0, r = tube_diameter_m / 2.0;
    return a < r ? r - sqrt(r * r - a * a) : r;
}

double plyecho_contact_width_m(double face_diameter_m, double tube_diameter_m, double gap_m)
{
    double width = 2.0 * sqrt(fmax(0.0, gap_m * (tube_diameter_m - gap_m)));
    return fmin(width, face_diameter_m);
}
