/* stack_verdict.h - what the conclusion from whole stacks makes of the evidence and the verdict
 */
#ifndef PLYECHO_LIB_STACK_VERDICT_H
#define PLYECHO_LIB_STACK_VERDICT_H

#include "stacks.h"

/* Put the conclusion's wall and its interface in place of what single echoes gave, where the stack
 * knows better: an echo inside, a coat, no certain back-wall echo. */
void pe_stacks_refine(const struct pe_conclusion *conclusion,
                      const struct plyecho_conditioned *trace,
                      const struct plyecho_assess_options *options,
                      struct pe_evidence *evidence);

/* Verdict, odds, and whether the wall was seen. */
void pe_stacks_judge(const struct pe_conclusion *conclusion, const struct pe_evidence *evidence,
                     struct plyecho_assessment *assessment);

/* The echo inside: depth, strength, sign, cover. */
void pe_stacks_tell(const struct pe_conclusion *conclusion,
                    const struct plyecho_assess_options *options,
                    const struct plyecho_conditioned *trace,
                    struct plyecho_assessment *assessment);

#endif
