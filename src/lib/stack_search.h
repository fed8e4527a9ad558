/* stack_search.h - the physical explanations of a trace, each fitted as a stack of layers
 */
#ifndef PLYECHO_LIB_STACK_SEARCH_H
#define PLYECHO_LIB_STACK_SEARCH_H

#include "stack_trial.h"

struct pe_explained {
    /* without a coat and under one; log_evidence is -INFINITY where an explanation is impossible.
     * How often each is met is counted in. */
    struct pe_explanation_fit fit[PE_KINDS][2];
    size_t lines; /* of the spectrum */
    double
        left_over; /* most that any echo inside would take off the plain wall's chi-squared */
    bool range_known; /* where an echo can be told from a plain wall's: */
    double from_s, to_s;
    bool thorough; /* more than the plain wall was tried */
    bool outdone;  /* fits were given up because they stay far behind the best */
};

/* false: the wall is too deep to be looked through. */
bool pe_stack_search_holds(const struct pe_prospect *prospect);

/* Fit the plain wall, and unless that leaves nothing to explain (quick), all others. */
void pe_stack_search(struct pe_stack_fit *fit, const struct pe_prospect *prospect, bool quick,
                     struct pe_explained *out);

/* The same; where nothing explains the trace, also with the pulse of reverse polarity. true: that explains more,
 * and the fit goes on with the trace reversed. */
bool pe_stack_search_both_ways(struct pe_stack_fit *fit, const struct pe_prospect *prospect,
                               bool quick, struct pe_explained *out);

/* Chi-squared per degree of freedom. */
double pe_stack_misfit(const struct pe_explained *explained,
                       const struct pe_explanation_fit *fit);

/* The one of highest evidence; -INFINITY where none is possible. */
const struct pe_explanation_fit *pe_stack_best(const struct pe_explained *explained);

#endif
