#include "near_surface.h"

#include <complex.h>
#include <math.h>

#include "fourier.h"

/* The pulse at a time from its peak, between samples: the phase turns evenly from one sample to the
 * next, so magnitude and turn are interpolated rather than the oscillation. */
static double complex pulse_at(const struct plyecho_pulse_shape *p, double time_s)
{
    double x = time_s * p->sample_rate_hz + p->peak_sample;
    if (x < 0.0 || x > (double)p->samples - 2.0)
        return 0.0;
    size_t k = (size_t)x;
    double share = x - (double)k;
    double complex a = p->amplitude[k] + I * (double)p->quadrature[k];
    double complex b = p->amplitude[k + 1] + I * (double)p->quadrature[k + 1];
    double size = (1.0 - share) * cabs(a) + share * cabs(b);
    return size * cexp(I * (carg(a) + share * carg(b * conj(a))));
}

struct edge {
    size_t first, last; /* samples of the leading edge */
};

/* Best real amplitude for a peak at `time_s`; returns what it leaves of the edge's energy. */
static double left_over(const struct plyecho_conditioned *t,
                        const struct plyecho_pulse_shape *p, const struct edge *edge,
                        double time_s, double *amplitude)
{
    double cross = 0.0, power = 0.0, energy = 0.0;
    for (size_t i = edge->first; i <= edge->last; i++) {
        double complex z = t->in_phase[i] + I * (double)t->quadrature[i];
        double complex q = pulse_at(p, t->start_s + (double)i / t->sample_rate_hz - time_s);
        cross += creal(conj(q) * z);
        power += creal(conj(q) * q);
        energy += creal(conj(z) * z);
    }
    *amplitude = power > 0.0 ? cross / power : 0.0;
    return energy - *amplitude * cross;
}

/* Peak time and amplitude that explain the leading edge best: a search over a period either way,
 * then the vertex of a parabola. */
static double fit_edge(const struct plyecho_conditioned *t, const struct plyecho_pulse_shape *p,
                       const struct edge *edge, double front_s, double *amplitude)
{
    enum { STEPS = 24 };
    double step = 1.0 / (t->centre_hz * STEPS), best = INFINITY, at = front_s, a;
    for (int k = -STEPS; k <= STEPS; k++) {
        double left = left_over(t, p, edge, front_s + k * step, &a);
        if (left < best) {
            best = left;
            at = front_s + k * step;
        }
    }
    double before = left_over(t, p, edge, at - step, &a);
    double after = left_over(t, p, edge, at + step, &a);
    double curvature = before - 2.0 * best + after;
    if (curvature > 0.0)
        at += 0.5 * step * (before - after) / curvature;
    left_over(t, p, edge, at, amplitude);
    return at;
}

void pe_near_surface(const struct plyecho_conditioned *t, const struct plyecho_pulse_shape *p,
                     double front_s, double reach_s, struct pe_near *near)
{
    near->samples = 0;
    double rate = t->sample_rate_hz, front = (front_s - t->start_s) * rate;
    double before = t->pulse_s * rate, after = reach_s * rate;
    if (!t->has_sign || p->samples == 0 || front - before < 0.0 ||
        front + after >= (double)t->samples || before + after >= PE_NEAR_ROOM)
        return;
    struct edge edge = {(size_t)(front - before), (size_t)front};
    near->front_s = fit_edge(t, p, &edge, front_s, &near->reflection);
    near->first = edge.first;
    near->samples = (size_t)(before + after);
    for (size_t k = 0; k < near->samples; k++) {
        size_t i = near->first + k;
        double complex left =
            t->in_phase[i] + I * (double)t->quadrature[i] -
            near->reflection * pulse_at(p, t->start_s + (double)i / rate - near->front_s);
        near->in_phase[k] = (float)creal(left);
        near->quadrature[k] = (float)cimag(left);
        near->envelope[k] = (float)cabs(left);
    }
}
