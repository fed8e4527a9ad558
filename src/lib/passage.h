/* passage.h - one way through a layer and back, along evenly spaced spectral lines
 *   E = exp(-s f - j 2 pi f t + j (2/pi) s f ln(f / f0))
 */
#ifndef PLYECHO_LIB_PASSAGE_H
#define PLYECHO_LIB_PASSAGE_H

#include <math.h>

#include "lanes.h"
#include "pi.h"

/* Spectral lines: f, 2 pi f, and (2/pi) f ln(f / f0). */
struct pe_line {
    pe_lanes hz, omega, bend;
};

struct pe_passage {
    double loss;           /* s, Np/Hz */
    struct pe_series turn; /* all but the dispersion */
};

PE_INLINE double complex pe_decay(double loss, double time_s, double hz)
{
    double size = exp(-loss * hz), phase = -2.0 * PE_PI * hz * time_s;
    return size * cos(phase) + I * (size * sin(phase));
}

/* first: the first block of lines. */
PE_INLINE struct pe_passage pe_passage_from(double loss, double time_s,
                                            const struct pe_line *first)
{
    double hz = first->hz[0], step = first->hz[1] - first->hz[0];
    return (struct pe_passage){
        loss, pe_series_from(pe_decay(loss, time_s, hz), pe_decay(loss, time_s, step))};
}

/* exp(j loss bend), for the small angles that dispersion brings. */
PE_INLINE struct pe_phasors pe_dispersion(double loss, const pe_lanes *bend)
{
    pe_lanes x = loss * *bend, q = x * x;
    pe_lanes c = q * (1.0 / 40320.0) - 1.0 / 720.0, s = q * (1.0 / 362880.0) - 1.0 / 5040.0;
    c = 1.0 + q * (q * (1.0 / 24.0 + q * c) - 0.5);
    s = x * (1.0 + q * (q * (1.0 / 120.0 + q * s) - 1.0 / 6.0));
    struct pe_phasors turn = {c, s};
    for (int k = 0; k < PE_LANES; k++)
        if (q[k] > 1.0)
            pe_set_phasor(&turn, k, cos(x[k]) + I * sin(x[k]));
    return turn;
}

/* The passage at these lines, then on to the next. */
PE_INLINE struct pe_phasors pe_passage_next(struct pe_passage *p, const struct pe_line *line)
{
    return pe_product(pe_series_next(&p->turn), pe_dispersion(p->loss, &line->bend));
}

#endif
