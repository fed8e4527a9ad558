/* doubts.h - what in a record misleads a judge, and what that leaves of a verdict
 *
 * The explanations of verdict.h hold for records that are whole, unclipped, undisturbed and of the
 * kind that they say they are. Here is looked for what shows that one is not.
 */
#ifndef PLYECHO_LIB_DOUBTS_H
#define PLYECHO_LIB_DOUBTS_H

#include <plyecho/verdict.h>

#include "evidence.h"

/* Withdraw or weaken an assessment that the record does not bear: the verdict becomes unreadable or
 * undecided with the reason, or the odds fall and the uncertainty of the time grows. */
void pe_doubt(const struct plyecho_conditioned *trace, const struct plyecho_trace *raw,
              const struct plyecho_assess_options *options, const struct pe_evidence *evidence,
              struct plyecho_assessment *assessment);

#endif
