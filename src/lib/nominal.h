/* nominal.h - is the nominal wall stated this wall's?
 *
 * A nominal says where the back wall's echo belongs; a wrong one makes a wall out of whatever stands there.
 * Where the highest echo stands elsewhere, or nothing explains the trace, it is looked at without the
 * nominal as well, and the two are weighed.
 */
#ifndef PLYECHO_LIB_NOMINAL_H
#define PLYECHO_LIB_NOMINAL_H

#include "stacks.h"

enum pe_nominal {
    PE_NOMINAL_HOLDS,
    PE_NOMINAL_UNSURE, /* about as well explained without it, by another wall */
    PE_NOMINAL_BEYOND, /* the wall ends beyond it */
    PE_NOMINAL_SHORT   /* an echo short of it ends the wall, or hides what lies behind */
};

/* Measure the trace and conclude from it. Where the wall ends beyond or short of the nominal, options come
 * back without it, and evidence and conclusion are what was found so. other_wall_s: transit of the wall found
 * without it, 0 where none was looked for or told. */
enum pe_nominal pe_nominal_look(const struct plyecho_conditioned *trace,
                                const struct plyecho_trace *raw,
                                struct plyecho_assess_options *options,
                                struct pe_evidence *evidence, struct pe_conclusion *conclusion,
                                double *other_wall_s);

/* What becomes of the verdict. given: with the nominal. */
void pe_nominal_doubt(enum pe_nominal nominal, const struct plyecho_wall_options *given,
                      double other_wall_s, const struct pe_evidence *evidence,
                      struct plyecho_assessment *assessment);

/* Odds, as a logarithm, of a full shadow against a thin wall, for an echo at this share of the nominal: the
 * further from it, the less a thin wall can explain; they grow tenfold for each tenth below the limit. */
double pe_shadow_log_odds(double share);

#endif
