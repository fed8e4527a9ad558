/* What sound places of the part say, and those over a layer that is as declared. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_statistics.h>

#include "alloc.h"
#include "context_inside.h"
#include "sort.h"

/* Fewer sound places tell nothing of the part: our choice. */
enum { LEAST_SOUND = 8 };

/* The laminate's own echoes stay below their mean and so many standard deviations; the level learnt is not taken
 * further below the raw one than this: our choice. */
static const double deviations = 3.0, lowest_level = 0.5;

/* Behind the wall's back its repeats tell nothing of it: so far, for the back's own width. */
static const double behind_back_m = 0.15e-3;

bool pe_is_sound(const struct plyecho_place_reading *r)
{
    bool near_nominal = !r->nominal_m.known || !r->wall_seen ||
                        fabs(r->wall_m - r->nominal_m.value) <= r->tolerance_m;
    return r->read && r->verdict == PLYECHO_NO_INDICATION &&
           r->second == PLYECHO_NO_INDICATION && near_nominal;
}

bool pe_is_declared(const struct plyecho_place_reading *r)
{
    return r->read && r->verdict == PLYECHO_INNER_ECHO && !r->flagged &&
           r->second == PLYECHO_INNER_ECHO;
}

typedef bool place_test(const struct plyecho_place_reading *r);
typedef struct plyecho_known place_number(const struct plyecho_place_reading *r);

static struct plyecho_known balance_of(const struct plyecho_place_reading *r)
{
    return r->balance_db;
}

static struct plyecho_known wall_of(const struct plyecho_place_reading *r)
{
    return r->second_wall_m;
}

static struct plyecho_known coat_of(const struct plyecho_place_reading *r)
{
    return r->coat_m;
}

static struct plyecho_known level_of(const struct plyecho_place_reading *r)
{
    return (struct plyecho_known){r->range_known, r->level};
}

static struct plyecho_known highest_of(const struct plyecho_place_reading *r)
{
    return r->highest_inner;
}

static struct plyecho_known strength_of(const struct plyecho_place_reading *r)
{
    return (struct plyecho_known){r->has_indication, fabs(r->strength)};
}

/* A number of all such places, to `numbers`; returns how many there are. */
static size_t collect(const struct pe_neighbourhood *n, place_test *is, place_number *number,
                      double *numbers)
{
    size_t count = 0;
    for (size_t i = 0; i < n->grid->count; i++) {
        struct plyecho_known one = number(&n->readings[i]);
        if (is(&n->readings[i]) && one.known)
            numbers[count++] = one.value;
    }
    return count;
}

static struct plyecho_known median(const struct pe_neighbourhood *n, place_test *is,
                                   place_number *number, double *numbers)
{
    size_t count = collect(n, is, number, numbers);
    if (count < LEAST_SOUND)
        return (struct plyecho_known){false, 0.0};
    return (struct plyecho_known){true, pe_median(numbers, count)};
}

static struct plyecho_known learn_level(const struct pe_neighbourhood *n, double *numbers)
{
    struct plyecho_known raw = median(n, pe_is_sound, level_of, numbers);
    size_t count = collect(n, pe_is_sound, highest_of, numbers);
    if (!raw.known || count < LEAST_SOUND)
        return (struct plyecho_known){false, 0.0};
    double level =
        gsl_stats_mean(numbers, 1, count) + deviations * gsl_stats_sd(numbers, 1, count);
    return (struct plyecho_known){
        true, fmin(fmax(level, lowest_level * raw.value), pe_highest_level * raw.value)};
}

static void learn_numbers(struct pe_neighbourhood *n, double *numbers)
{
    for (size_t i = 0; i < n->grid->count; i++)
        n->sound.count += pe_is_sound(&n->readings[i]);
    n->sound.level = learn_level(n, numbers);
    n->sound.balance_db = median(n, pe_is_sound, balance_of, numbers);
    n->sound.wall_m = median(n, pe_is_sound, wall_of, numbers);
    n->declared_strength = median(n, pe_is_declared, strength_of, numbers);
    n->declared_balance_db = median(n, pe_is_declared, balance_of, numbers);
}

/* ---- whole traces ---- */

struct traces {
    const struct plyecho_profile **profile; /* a place each */
    bool *is;
    double *numbers; /* scratch */
};

static double median_coat(const struct pe_neighbourhood *n, place_test *is, double *numbers)
{
    size_t all = collect(n, is, wall_of, numbers), coated = collect(n, is, coat_of, numbers);
    return 2 * coated > all ? pe_median(numbers, coated) : 0.0;
}

/* Also of those to be taken in only such as have that wall. */
static enum plyecho_code learn_traces(const struct pe_neighbourhood *n, place_test *is,
                                      const struct traces *t, struct pe_usual_traces *usual,
                                      struct plyecho_error *err)
{
    size_t count = 0;
    usual->wall_m = median(n, is, wall_of, t->numbers);
    usual->coat_m = median_coat(n, is, t->numbers);
    for (size_t i = 0; i < n->grid->count; i++) {
        const struct plyecho_place_reading *r = &n->readings[i];
        if (!r->read || !pe_is_of_wall(usual, r))
            continue;
        t->profile[count] = &r->profile;
        t->is[count++] = is(r);
    }
    if (count == 0)
        return PLYECHO_OK;
    return pe_profile_range_learn(t->profile, t->is, count,
                                  usual->coat_m + usual->wall_m.value + behind_back_m,
                                  &usual->range, err);
}

/* How far declared places are off their neighbours, as deep as the range of those goes. */
static enum plyecho_code learn_off(struct pe_neighbourhood *n, const struct traces *t,
                                   struct plyecho_error *err)
{
    const struct pe_usual_traces *usual = &n->declared_traces;
    if (!usual->range.known)
        return PLYECHO_OK;
    struct plyecho_profile *off = pe_alloc(n->grid->count, sizeof *off);
    if (off == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", n->grid->count);
    size_t count = 0;
    for (size_t i = 0; i < n->grid->count; i++) {
        const struct plyecho_place_reading *r = &n->readings[i];
        if (!pe_shows_interface(r) || !pe_is_of_wall(usual, r))
            continue;
        off[count] = pe_off_neighbours(n, i);
        t->profile[count] = &off[count];
        t->is[count++] = pe_is_declared(r);
    }
    double to_m =
        ((double)usual->range.steps - 0.5) * usual->range.step_m; /* within the last */
    enum plyecho_code code =
        pe_profile_range_learn(t->profile, t->is, count, to_m, &n->declared_off, err);
    free(off);
    return code;
}

enum plyecho_code pe_context_sound(struct pe_neighbourhood *n, struct plyecho_error *err)
{
    size_t count = n->grid->count;
    struct traces t = {
        .profile = pe_alloc(count, sizeof *t.profile),
        .is = pe_alloc(count, sizeof *t.is),
        .numbers = pe_alloc(count, sizeof *t.numbers),
    };
    enum plyecho_code code = PLYECHO_OK;
    if (t.numbers == NULL || t.is == NULL || t.profile == NULL)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", count);
    if (code == PLYECHO_OK) {
        learn_numbers(n, t.numbers);
        code = learn_traces(n, pe_is_sound, &t, &n->sound_traces, err);
    }
    if (code == PLYECHO_OK)
        code = learn_traces(n, pe_is_declared, &t, &n->declared_traces, err);
    if (code == PLYECHO_OK)
        code = learn_off(n, &t, err);
    free(t.profile);
    free(t.is);
    free(t.numbers);
    return code;
}
