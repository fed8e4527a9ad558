/* profile_range.h - what whole traces range over at places of one kind
 *
 * At each step of depth mean and standard deviation over the places; of a trace the largest departure from them, up or
 * down, in standard deviations, is one number. Where it stays below that of nearly all places of the kind, nothing in the
 * trace is as it is not there, at any depth. The number's own distribution is taken from the places, so that
 * none has to be assumed.
 */
#ifndef PLYECHO_LIB_PROFILE_RANGE_H
#define PLYECHO_LIB_PROFILE_RANGE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>
#include <plyecho/profile.h>

struct pe_profile_range {
    bool known; /* of places enough to tell */
    size_t steps;
    double step_m;
    double mean[PLYECHO_PROFILE_STEPS], sd[PLYECHO_PROFILE_STEPS];
    double most; /* departure that all but one in a hundred of the places stay below */
};

/* Over those profiles that are `sound`, as far as `to_m` deep; ones that are shorter, or of another velocity, are left out. What passes by itself is
 * the lower part of what is sound, so it is learnt anew with all that lie within: once, since ever higher ones would
 * follow. Not known: fewer than 20. */
enum plyecho_code pe_profile_range_learn(const struct plyecho_profile *const *profiles,
                                         const bool *sound, size_t count, double to_m,
                                         struct pe_profile_range *range,
                                         struct plyecho_error *err);

/* Is the trace as those, as far as they reach? False where the range or the profile is not known. */
bool pe_profile_is_within(const struct pe_profile_range *range,
                          const struct plyecho_profile *profile);

/* Depth at which it stands highest over them; not known where it is within. */
struct plyecho_known pe_profile_highest_m(const struct pe_profile_range *range,
                                          const struct plyecho_profile *profile);

/* Does an echo stand at that depth, to a step, with half that strength at the least? True where the profile
 * does not reach. */
bool pe_profile_has_echo(const struct plyecho_profile *profile, double depth_m,
                         double strength);

#endif
