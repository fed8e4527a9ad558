/* profile.h - how high a trace stands at each depth, to be held against that of other places
 *
 * An echo that one trace's fit tells inside a sound wall may be the laminate's own. Whether it is shows where the same
 * depths of sound places are known: practice compares a doubtful A-scan with that of a sound place of the same part
 * (common practice, no source).
 */
#ifndef PLYECHO_PROFILE_H
#define PLYECHO_PROFILE_H

#include <stddef.h>

/* Delays of one step, there and back; 160 of them reach 12 mm deep at 3000 m/s. They are the same for all traces. */
#define PLYECHO_PROFILE_STEP_S 50e-9
enum { PLYECHO_PROFILE_STEPS = 160 };

/* By delay behind the interface echo's peak; a coat is in it, since whether there is one is the fit's to tell. */
struct plyecho_profile {
    double step_m; /* what one step is of depth */
    size_t
        count; /* of steps, all within the record and ahead of the delay line's repeat; 0: no interface echo */
    float strength
        [PLYECHO_PROFILE_STEPS]; /* the highest within the step, over a full reflector's at that depth */
};

#endif
