/* calibration.h - velocity and zero offset from steps of known thickness
 *
 * A step's thickness and its time lie on the line d = v (t - zero) / 2: one step tells v where the
 * zero is known, two tell both, more of them also tell how well the line fits. Both thickness
 * (micrometer) and time have an uncertainty, so the line is that of York, Evensen, Lopez Martinez and
 * De Basabe Delgado, Am. J. Phys. 72 (2004) 367-375 (equations from memory), which for an exact
 * time is the weighted straight line of every handbook.
 */
#ifndef PLYECHO_CALIBRATION_H
#define PLYECHO_CALIBRATION_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_step {
    double thickness_m;   /* above 0 */
    double thickness_u_m; /* standard uncertainty, 0 or more */
    double time_s;        /* what the time base reads for the step, round trip */
    double time_u_s;      /* standard uncertainty, 0 or more; not both of them 0 */
};

/* What is known of the zero beforehand. Not known: it comes from the steps. */
struct plyecho_zero {
    struct plyecho_known time_s;
    double u_s; /* 0: it is held there; above: it counts as one more measurement */
};

struct plyecho_calibration {
    double velocity_m_s;
    double velocity_u_m_s; /* standard uncertainty, `scatter` in it */
    double zero_s;
    double zero_u_s;    /* 0 where it was held */
    double correlation; /* of velocity and zero; 0 where it was held */
    double chi2;        /* weighted squares of the residuals */
    int freedom;        /* degrees of freedom of that; 0: the line fits by force */
    double
        p; /* chance of a larger chi2 if the line and the uncertainties hold; 1 for no freedom */
    double scatter;  /* sqrt(chi2 / freedom) where that is above 1, else 1 */
    double coverage; /* factor for 95 %: of Student's t where scatter is above 1, else 1.96 */
    double rms_m;    /* of the residuals in thickness */
    double least_m, most_m; /* what the steps span */
};

struct plyecho_residual {
    double thickness_m; /* stated less that of the line */
    double u_m;         /* standard uncertainty of the step by itself, its time's share in it */
    double
        standardised; /* residual over what it should scatter by; 0 where the line goes through by force */
};

/* Fit the line. residuals: count long, or NULL. PLYECHO_BAD_ARGUMENT: a value out of its range, or no
 * uncertainty at all; PLYECHO_UNSUITABLE: too few steps for a zero that is not known, or times that do
 * not grow with thickness. */
PLYECHO_API enum plyecho_code plyecho_calibrate(const struct plyecho_step *steps, size_t count,
                                                const struct plyecho_zero *zero,
                                                struct plyecho_calibration *calibration,
                                                struct plyecho_residual *residuals,
                                                struct plyecho_error *err);

enum plyecho_step_fault {
    PLYECHO_STEPS_GOOD,
    PLYECHO_STEPS_VELOCITY, /* the velocity is outside of what was said to be possible */
    PLYECHO_STEPS_UNIT, /* thickness stated in another unit: it is `factor` times what is stated */
    PLYECHO_STEPS_ORDER, /* the echo taken is one of `factor` passages through the step, not of one */
    PLYECHO_STEPS_OUTLIER, /* one step is off the line of all others */
    PLYECHO_STEPS_SCATTER  /* the line does not fit, and no single step explains it */
};

struct plyecho_step_finding {
    enum plyecho_step_fault fault;
    bool one;            /* it is one step's fault, else that of all */
    size_t step;         /* which, from 0 */
    double factor;       /* unit, order */
    double velocity_m_s; /* unit, order, outlier: of the line without the fault */
    double residual_m;   /* outlier: stated less what the line of all others says */
};

/* What may be wrong with steps: a line that fits badly or a velocity out of the range is tried again with
 * the thickness in inches, metres or micrometres and with repeats taken for the first echo, of all
 * steps and of each; then without each step. Returns what explains it best. */
PLYECHO_API struct plyecho_step_finding plyecho_calibration_check(
    const struct plyecho_step *steps, size_t count, const struct plyecho_zero *zero,
    double least_velocity_m_s, double most_velocity_m_s);

enum { PLYECHO_MOST_STEPS = 64 };

#endif
