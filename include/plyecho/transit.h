/* transit.h - time from one echo to a later one, from their spectra
 *
 * The later echo's spectrum is the earlier one's times
 *   H(f) = +-exp(a - s (f - f0)) exp(-j 2 pi f tau + j (2/pi) s f ln(f/f0)):
 * an amplitude, an attenuation that grows with frequency and the dispersion that causality ties
 * to it (Kramers-Kronig for attenuation proportional to frequency: Futterman, J. Geophys. Res.
 * 67 (1962) 5279-5291, from memory). tau is the phase delay at f0, so that thickness follows
 * from the phase velocity at f0. Both spectra are noisy, so each frequency weighs 1 / (1 +
 * |H|^2).
 */
#ifndef PLYECHO_TRANSIT_H
#define PLYECHO_TRANSIT_H

#include <plyecho/condition.h>
#include <plyecho/error.h>

struct plyecho_transit_task {
    double first_s, second_s; /* envelope peaks of the two echoes */
    double before_s, after_s; /* stretch of each echo that is compared, about its peak */
    double reference_hz;      /* f0 */
    int sign;                 /* +1, -1: of H, known; 0: both are tried */
    double loss_np_hz;        /* s expected, with the standard deviation of that expectation; */
    double loss_u_np_hz;      /* 0: nothing is known of it beforehand */
};

struct plyecho_transit {
    double time_s; /* tau */
    double u_s;   /* its standard uncertainty: noise, misfit, and the chance of another cycle */
    double ratio; /* H's signed amplitude at f0 */
    double ratio_u;    /* standard uncertainty of its magnitude */
    double loss_np_hz; /* s */
    double misfit;     /* chi-squared per degree of freedom; about 1 where only noise is left */
    double other_cycle; /* probability that the time is off by a cycle or more */
};

/* Compare two echoes of one conditioned trace. PLYECHO_UNSUITABLE where the trace has no sign,
 * where a stretch lies outside the record or where nothing lies above the noise. */
PLYECHO_API enum plyecho_code plyecho_transit_fit(const struct plyecho_conditioned *trace,
                                                  const struct plyecho_transit_task *task,
                                                  struct plyecho_transit *transit,
                                                  struct plyecho_error *err);

#endif
