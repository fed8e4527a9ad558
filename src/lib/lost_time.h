/* lost_time.h - samples lost or doubled within the wall, by the echoes that follow each other
 *
 * The back wall repeats a whole wall later. Where one of the echoes behind it would be that repeat if the
 * record were so many samples longer, or shorter, within the wall, the record is fitted anew with those
 * put in (docs/method.md, section 12).
 */
#ifndef PLYECHO_LIB_LOST_TIME_H
#define PLYECHO_LIB_LOST_TIME_H

#include <plyecho/condition.h>

#include "evidence.h"
#include "stack_search.h"

struct pe_lost_time {
    double
        lost_s; /* with this much put in, below 0 taken out, far more is explained; 0: no such time */
    bool none; /* time put in or taken out explains less */
};

/* as_it_is: the record's highest log evidence as it was taken. Leaves another record in the fit. */
struct pe_lost_time pe_lost_time_seek(struct pe_stack_fit *fit,
                                      const struct plyecho_conditioned *trace,
                                      const struct pe_evidence *evidence,
                                      const struct pe_stack_gate *gate,
                                      const struct pe_prospect *prospect, double as_it_is);

#endif
