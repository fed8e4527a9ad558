/* profile_take.h - the profile of one trace
 */
#ifndef PLYECHO_LIB_PROFILE_TAKE_H
#define PLYECHO_LIB_PROFILE_TAKE_H

#include <plyecho/condition.h>
#include <plyecho/profile.h>

#include "evidence.h"

/* No steps where there is no interface echo, or no scale. */
void pe_profile_take(const struct plyecho_conditioned *trace, const struct pe_evidence *e,
                     double velocity_m_s, struct plyecho_profile *profile);

#endif
