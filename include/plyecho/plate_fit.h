/* plate_fit.h - one fit of a plain wall's whole trace: interface echo and all back-wall echoes
 *
 * With the pulse known (a reference echo) the trace behind the interface is
 *   X(f) = A P(f) exp(-j 2 pi f t0) (r - (1 - r^2) sum over n >= 1 of r^(n-1) E^n),
 *   E = exp(-s f - j 2 pi f T + j (2/pi) s f ln(f / f0)),
 * the reflection of a lossy layer against air (reflection -1 behind it), cut where the record is
 * cut. Amplitude A, start t0, front reflection r, loss s and transit T are found together, so
 * that the multiples count too. The covariance of T is the Cramer-Rao bound of this model for
 * white noise, which the fit reaches where the model holds.
 */
#ifndef PLYECHO_PLATE_FIT_H
#define PLYECHO_PLATE_FIT_H

#include <stddef.h>

#include <plyecho/condition.h>
#include <plyecho/error.h>

enum { PLYECHO_PULSE_ROOM = 1024 };

/* A pulse as samples, on a time base of its own. */
struct plyecho_pulse_shape {
    size_t samples; /* 0: none */
    double sample_rate_hz;
    double peak_sample;                   /* where its envelope peaks, between samples */
    float amplitude[PLYECHO_PULSE_ROOM];  /* as off a full reflector of positive sign */
    float quadrature[PLYECHO_PULSE_ROOM]; /* its Hilbert transform */
};

struct plyecho_plate_task {
    double front_s;      /* envelope peak of the interface echo */
    double transit_s;    /* T, to within a cycle or so */
    double reference_hz; /* f0 */
    double loss_np_hz;   /* s expected, with its standard deviation (0: not known beforehand) */
    double loss_u_np_hz;
    double front_reflection; /* r to start from */
    double end_s;            /* what comes later is not the wall's */
    int cycles;              /* starts this many cycles off, either way, are tried too */
};

struct plyecho_plate {
    double transit_s;
    double transit_bound_s; /* Cramer-Rao bound of T: this pulse, this noise, these echoes */
    double transit_u_s;     /* the bound, widened by what the model leaves unexplained */
    double front_reflection;
    double loss_np_hz;
    double amplitude; /* A */
    double misfit;    /* chi-squared per degree of freedom */
    double
        other_cycle; /* probability of a transit a cycle or more off; the uncertainty holds it */
};

struct plyecho_plate_fit;

/* Make ready for traces of one sample rate and one pulse, which is copied. band: where the pulse
 * has something to say. */
PLYECHO_API enum plyecho_code plyecho_plate_fit_new(struct plyecho_plate_fit **fit,
                                                    const struct plyecho_pulse_shape *pulse,
                                                    const struct plyecho_band *band,
                                                    double sample_rate_hz,
                                                    struct plyecho_error *err);

/* Fit one trace, conditioned with the same band. PLYECHO_UNSUITABLE where the record does not
 * hold the first back-wall echo, or where the fit does not settle. */
PLYECHO_API enum plyecho_code plyecho_plate_fit_run(struct plyecho_plate_fit *fit,
                                                    const struct plyecho_conditioned *trace,
                                                    const struct plyecho_plate_task *task,
                                                    struct plyecho_plate *plate,
                                                    struct plyecho_error *err);

PLYECHO_API void plyecho_plate_fit_free(struct plyecho_plate_fit *fit);

#endif
