/* stacks.h - the explanations of one trace, fitted and weighed
 */
#ifndef PLYECHO_LIB_STACKS_H
#define PLYECHO_LIB_STACKS_H

#include <plyecho/stacks.h>
#include <plyecho/verdict.h>

#include "evidence.h"
#include "lost_time.h"
#include "stack_search.h"

/* What the explanations come to. */
struct pe_conclusion {
    bool told;        /* they could be fitted, and the best explains the trace */
    bool unexplained; /* they could be fitted, but not even the best explains it */
    bool dry;         /* best is that the probe's face is dry */
    bool inverted;    /* all echoes have the sign opposite to the reference's */
    enum plyecho_verdict verdict,
        next;          /* PLYECHO_UNDECIDED: thin wall, sleeve or full shadow */
    double log_odds;   /* of the verdict against the next */
    enum pe_kind kind; /* the verdict's best explanation */
    bool coat;
    double coat_log_odds; /* of a coat, among the verdict's explanations */
    struct pe_explanation_fit fit;
    double
        transit_u_s; /* of its transit: the fit's, and what the verdict's other explanations say */
    bool range_known; /* delays between which the least reportable echo would be seen: */
    double from_s, to_s;
    double misfit; /* chi-squared per degree of freedom */
    double lost_s; /* with this much time put in within the wall, below 0 taken out, far more is
                      explained; 0: none is known to be amiss */
    struct pe_line_says line;
    struct pe_lost_time train;
    double log_evidence;            /* of the best explanation of all */
    double lines;                   /* of the spectrum that it was fitted to */
    double looked_from_s, looked_s; /* the record was fitted from here on, for a wall so deep */
};

/* Fit and weigh. Without an interface echo, an oscillation or a place for the back wall nothing is
 * told. As much of the record is taken as a wall of least_look_s deep, or of the depth expected, repeats in:
 * with the same, evidence can be compared. */
void pe_stacks_conclude(struct plyecho_stacks *stacks, const struct plyecho_conditioned *trace,
                        const struct plyecho_assess_options *options,
                        const struct pe_evidence *evidence, double least_look_s,
                        struct pe_conclusion *conclusion);

#endif
