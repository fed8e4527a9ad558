#include "profile_range.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "moments.h"
#include "sort.h"

/* Of fewer there is no range worth the name; and the share of them that stand out: our choice. */
enum { LEAST_PROFILES = 20 };
static const double share_above = 0.01;

/* An echo that is told stands where it is told, half as high at the least, unless others hide it: our choice. */
static const double most_steps_off = 1.5, least_of_told = 0.5;

/* How many steps as deep as that are; a profile that has fewer does not reach. */
static double steps_to(const struct plyecho_profile *p, double to_m)
{
    return ceil(to_m / p->step_m);
}

/* In standard deviations, above or below. */
static double departure_at(const struct pe_profile_range *range,
                           const struct plyecho_profile *p, size_t step)
{
    return (p->strength[step] - range->mean[step]) / range->sd[step];
}

static double largest_departure(const struct pe_profile_range *range,
                                const struct plyecho_profile *p)
{
    double largest = 0.0;
    for (size_t k = 0; k < range->steps; k++)
        largest = fmax(largest, fabs(departure_at(range, p, k)));
    return largest;
}

/* The step at which it stands highest over them. */
static size_t highest(const struct pe_profile_range *range, const struct plyecho_profile *p)
{
    size_t at = 0;
    for (size_t k = 1; k < range->steps; k++)
        if (departure_at(range, p, k) > departure_at(range, p, at))
            at = k;
    return at;
}

/* ---- to learn it ---- */

struct learning {
    const struct plyecho_profile *const *profiles;
    bool *is_in; /* [count] of those that it is learnt from */
    double *numbers;
    size_t count, in;
};

static void take_moments(const struct learning *l, struct pe_profile_range *range)
{
    for (size_t k = 0; k < range->steps; k++) {
        struct pe_moments m = {.count = 0};
        for (size_t i = 0; i < l->count; i++)
            if (l->is_in[i])
                pe_moments_add(&m, l->profiles[i]->strength[k]);
        range->mean[k] = m.mean;
        range->sd[k] = fmax(pe_moments_sd(&m).value, 1e-6); /* of equal ones as well */
    }
}

static void take_most(const struct learning *l, struct pe_profile_range *range)
{
    size_t held = 0;
    for (size_t i = 0; i < l->count; i++)
        if (l->is_in[i])
            l->numbers[held++] = largest_departure(range, l->profiles[i]);
    pe_sort_doubles(l->numbers, held);
    size_t above = (size_t)(share_above * (double)held); /* that may stand out */
    range->most = l->numbers[held - 1 - above];
}

static void add_those_within(struct learning *l, const struct pe_profile_range *range)
{
    for (size_t i = 0; i < l->count; i++)
        l->is_in[i] |= pe_profile_is_within(range, l->profiles[i]);
}

static void learn(struct learning *l, struct pe_profile_range *range)
{
    take_moments(l, range);
    take_most(l, range);
    range->known = true;
    add_those_within(l, range);
    take_moments(l, range);
    take_most(l, range);
}

/* Those that are sound and reach as far; false where there are too few. */
static bool begin(const bool *sound, double to_m, struct learning *l,
                  struct pe_profile_range *range)
{
    for (size_t i = 0; i < l->count; i++) {
        const struct plyecho_profile *p = l->profiles[i];
        l->is_in[i] = sound[i] && p->count > 0 && (double)p->count >= steps_to(p, to_m);
        if (l->is_in[i] && l->in++ == 0) {
            range->steps = (size_t)steps_to(p, to_m);
            range->step_m = p->step_m;
        }
        l->is_in[i] = l->is_in[i] && p->step_m == range->step_m; /* of one velocity */
    }
    return l->in >= LEAST_PROFILES;
}

enum plyecho_code pe_profile_range_learn(const struct plyecho_profile *const *profiles,
                                         const bool *sound, size_t count, double to_m,
                                         struct pe_profile_range *range,
                                         struct plyecho_error *err)
{
    struct learning l = {
        .profiles = profiles,
        .is_in = pe_alloc(count, sizeof *l.is_in),
        .numbers = pe_alloc(count, sizeof *l.numbers),
        .count = count,
    };
    bool there = l.is_in != NULL && l.numbers != NULL;
    *range = (struct pe_profile_range){.known = false};
    if (there && begin(sound, to_m, &l, range))
        learn(&l, range);
    free(l.is_in);
    free(l.numbers);
    return there ? PLYECHO_OK
                 : plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", count);
}

/* ---- to hold a trace against it ---- */

static bool is_comparable(const struct pe_profile_range *range,
                          const struct plyecho_profile *profile)
{
    return range->known && profile->count >= range->steps && profile->step_m == range->step_m;
}

bool pe_profile_is_within(const struct pe_profile_range *range,
                          const struct plyecho_profile *profile)
{
    bool within = is_comparable(range, profile);
    for (size_t k = 0; within && k < range->steps; k++) /* false also of what is no number */
        within = fabs(departure_at(range, profile, k)) <= range->most;
    return within;
}

struct plyecho_known pe_profile_highest_m(const struct pe_profile_range *range,
                                          const struct plyecho_profile *profile)
{
    if (!is_comparable(range, profile))
        return (struct plyecho_known){false, 0.0};
    size_t at = highest(range, profile);
    return (struct plyecho_known){departure_at(range, profile, at) > range->most,
                                  ((double)at + 0.5) * profile->step_m};
}

bool pe_profile_has_echo(const struct plyecho_profile *p, double depth_m, double strength)
{
    for (size_t k = 1; k + 1 < p->count; k++)
        if (fabs((double)k + 0.5 - depth_m / p->step_m) <= most_steps_off &&
            p->strength[k] >= p->strength[k - 1] && p->strength[k] >= p->strength[k + 1] &&
            p->strength[k] > least_of_told * strength)
            return true;
    return !(depth_m < ((double)p->count - most_steps_off) * p->step_m);
}
