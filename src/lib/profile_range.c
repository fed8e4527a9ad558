#include "profile_range.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "moments.h"
#include "sort.h"

/* Of fewer there is no range worth the name; and the share of them that may stand out: our choice. */
enum { LEAST_PROFILES = 20 };
static const double share_below = 0.98;

static size_t steps_to(const struct plyecho_profile *p, double to_m)
{
    return (size_t)fmin(ceil(to_m / p->step_m), PLYECHO_PROFILE_STEPS);
}

/* The largest excess, in standard deviations; *at is its step. */
static double excess(const struct pe_profile_range *range, const struct plyecho_profile *p,
                     size_t *at)
{
    double most = -INFINITY;
    for (size_t k = 0; k < range->steps; k++) {
        double z = (p->strength[k] - range->mean[k]) / range->sd[k];
        if (z > most) {
            most = z;
            *at = k;
        }
    }
    return most;
}

static bool reaches(const struct plyecho_profile *p, double to_m)
{
    return p->count > 0 && p->count >= steps_to(p, to_m);
}

static bool take_moments(const struct plyecho_profile *const *profiles, size_t count,
                         double to_m, struct pe_profile_range *range)
{
    struct pe_moments m[PLYECHO_PROFILE_STEPS] = {{.count = 0}};
    for (size_t i = 0; i < count; i++) {
        if (!reaches(profiles[i], to_m))
            continue;
        range->steps = steps_to(profiles[i], to_m);
        for (size_t k = 0; k < range->steps; k++)
            pe_moments_add(&m[k], profiles[i]->strength[k]);
    }
    if (m[0].count < LEAST_PROFILES)
        return false;
    for (size_t k = 0; k < range->steps; k++) {
        range->mean[k] = m[k].mean;
        range->sd[k] = fmax(pe_moments_sd(&m[k]).value, 1e-6); /* of equal ones as well */
    }
    return true;
}

enum plyecho_code pe_profile_range_learn(const struct plyecho_profile *const *profiles,
                                         size_t count, double to_m,
                                         struct pe_profile_range *range,
                                         struct plyecho_error *err)
{
    *range = (struct pe_profile_range){.known = false};
    if (!take_moments(profiles, count, to_m, range))
        return PLYECHO_OK;
    double *numbers = pe_alloc(count, sizeof *numbers);
    if (numbers == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", count);
    size_t held = 0, at = 0;
    for (size_t i = 0; i < count; i++)
        if (reaches(profiles[i], to_m))
            numbers[held++] = excess(range, profiles[i], &at);
    pe_sort_doubles(numbers, held);
    range->most = numbers[(size_t)(share_below * (double)(held - 1))];
    range->known = true;
    free(numbers);
    return PLYECHO_OK;
}

static bool is_comparable(const struct pe_profile_range *range,
                          const struct plyecho_profile *profile)
{
    return range->known && profile->count >= range->steps;
}

bool pe_profile_is_within(const struct pe_profile_range *range,
                          const struct plyecho_profile *profile)
{
    size_t at = 0;
    return is_comparable(range, profile) && excess(range, profile, &at) <= range->most;
}

struct plyecho_known pe_profile_highest_m(const struct pe_profile_range *range,
                                          const struct plyecho_profile *profile)
{
    size_t at = 0;
    if (!is_comparable(range, profile) || excess(range, profile, &at) <= range->most)
        return (struct plyecho_known){false, 0.0};
    return (struct plyecho_known){true, ((double)at + 0.5) * profile->step_m};
}

bool pe_profile_has_echo(const struct plyecho_profile *p, double depth_m)
{
    double step = depth_m / p->step_m;
    for (size_t k = 1; k + 1 < p->count; k++)
        if (fabs((double)k + 0.5 - step) <= 1.5 && p->strength[k] >= p->strength[k - 1] &&
            p->strength[k] >= p->strength[k + 1])
            return true;
    return false;
}
