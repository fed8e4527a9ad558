/* outcome.h - a verdict that is withdrawn
 */
#ifndef PLYECHO_LIB_OUTCOME_H
#define PLYECHO_LIB_OUTCOME_H

#include <plyecho/verdict.h>

/* `undecided` or `unreadable`: that was not weighed against anything. */
static inline void pe_withdraw(enum plyecho_verdict verdict, enum plyecho_reason reason,
                               struct plyecho_assessment *a)
{
    a->verdict = a->next_best = verdict;
    a->reason = reason;
    a->evidence_ratio = 1.0;
}

/* What is found inside is told all the same, for a reason that is in doubt; that nothing is found is not. */
static inline void pe_refuse_pass(enum plyecho_reason reason, struct plyecho_assessment *a)
{
    if (a->verdict == PLYECHO_NO_INDICATION)
        pe_withdraw(PLYECHO_UNDECIDED, reason, a);
    else if (a->reason == PLYECHO_REASON_NONE)
        a->reason = reason;
}

#endif
