/* transit.h - time of flight through a wall, from the spectra of its echoes
 *
 * An earlier echo of unknown spectrum S(f) is followed by n = 1, 2 ... echoes that went through the
 * wall n times:
 *   X_0 = S,   X_n = +-exp(a) G (exp(b) G)^(n-1) S,
 *   G(f) = exp(-s (f - f0)) exp(-j 2 pi f tau + j (2/pi) s f ln(f/f0)):
 * an amplitude ratio for the first passage and one for each further one, an attenuation that grows
 * with frequency, and the dispersion that causality ties to it (Kramers-Kronig for attenuation
 * proportional to frequency: Futterman, J. Geophys. Res. 67 (1962) 5279-5291, from memory). tau is
 * the phase delay at f0, so that thickness follows from the phase velocity at f0.
 *
 * All echoes are noisy. S is eliminated line by line (variable projection: Golub and Pereyra, SIAM
 * J. Numer. Anal. 10 (1973) 413-432, with Kaufman's simplification, BIT 15 (1975) 49-57; from
 * memory); with two echoes a line then weighs 1 / (1 + |H|^2).
 */
#ifndef PLYECHO_TRANSIT_H
#define PLYECHO_TRANSIT_H

#include <plyecho/condition.h>
#include <plyecho/error.h>

enum { PLYECHO_TRANSIT_ECHOES = 4 }; /* later echoes that are compared, at most */

struct plyecho_transit_task {
    double first_s, second_s; /* envelope peaks of the earlier echo and the next */
    unsigned further; /* bit n - 2 set: echo n = 2 ... PLYECHO_TRANSIT_ECHOES, one more spacing
                         on each, is compared too where the record holds it */
    double before_s, after_s; /* stretch of each echo that is compared, about its peak */
    double reference_hz;      /* f0 */
    int sign;                 /* +1, -1: of X_1 / X_0, known; 0: both are tried */
    double loss_np_hz;        /* s expected, with the standard deviation of that expectation; */
    double loss_u_np_hz;      /* 0: nothing is known of it beforehand */
};

struct plyecho_transit {
    double time_s; /* tau */
    double u_s; /* its standard uncertainty: noise, misfit, and the chance of another cycle */
    double
        bound_s;  /* what the noise alone allows: the Cramer-Rao bound of tau for these echoes,
                       their spectrum unknown */
    int echoes;   /* later echoes compared */
    double ratio; /* signed amplitude of X_1 / X_0 at f0 */
    double ratio_u;    /* standard uncertainty of its magnitude */
    double loss_np_hz; /* s */
    double misfit;     /* chi-squared per degree of freedom; about 1 where only noise is left */
    double other_cycle; /* probability that the time is off by a cycle or more */
};

/* Compare the echoes of one conditioned trace. PLYECHO_UNSUITABLE where the trace has no sign,
 * where the stretch of one of the first two lies outside the record or where nothing lies above
 * the noise. */
PLYECHO_API enum plyecho_code plyecho_transit_fit(const struct plyecho_conditioned *trace,
                                                  const struct plyecho_transit_task *task,
                                                  struct plyecho_transit *transit,
                                                  struct plyecho_error *err);

#endif
