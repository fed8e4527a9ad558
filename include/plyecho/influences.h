/* influences.h - what shifts a thickness besides its time, velocity and zero
 *
 * Each is a number that somebody stated, or not known. What is not known counts nothing in an
 * uncertainty, so who shows one must say that it lacks it (budget.h does). Half widths are those of
 * a rectangular distribution: u = a / sqrt(3) (JCGM 100:2008, 4.3.7; clause from memory).
 */
#ifndef PLYECHO_INFLUENCES_H
#define PLYECHO_INFLUENCES_H

#include <stdbool.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_influences {
    struct plyecho_known warmer_k;         /* the part's temperature less that of the steps */
    struct plyecho_known warmer_limit_k;   /* half width of that difference */
    struct plyecho_known velocity_per_k;   /* m/s for each K; the velocity has it in already */
    struct plyecho_known velocity_per_k_u; /* its standard uncertainty */
    struct plyecho_known clock_limit; /* half width of the sampling rate's relative error */
    struct plyecho_known
        couplant_limit; /* half width, s: a couplant's layer unlike the steps' */
    struct plyecho_known curvature_u_m; /* standard uncertainty of a thickness by curvature */
    struct plyecho_known freedom; /* degrees of freedom of velocity and zero; unlimited where
                                     not known, and where 0 */
};

/* The standard uncertainty of a rectangular distribution of that half width; 0 where not known. */
PLYECHO_API double plyecho_rectangular_u(const struct plyecho_known *half_width);

/* Standard uncertainty in m that those stated give a thickness (JCGM 100:2008, 5.1.2). couples: is the
 * couplant's layer on the way that was timed (modes 1 and 2)? */
PLYECHO_API double plyecho_influences_u(const struct plyecho_influences *influences,
                                        double thickness_m, double velocity_m_s, bool couples);

#endif
