/* What profiles of sound places range over: which of them it is learnt from, and what lies within. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_statistics.h>

#include "failing_alloc.h"
#include "profile_range.h"

enum { STEPS = 40, MOST = 400 };

static const double step_m = 75e-6, to_m = 39.5 * 75e-6; /* ends within step 39 */
static const double mean = 0.03, sd = 0.01;              /* of the laminate's own echoes */

/* Profiles, and which of them are sound. */
struct places {
    struct plyecho_profile profile[MOST];
    bool sound[MOST];
    size_t count;
};

static struct plyecho_profile flat(double strength)
{
    struct plyecho_profile p = {.step_m = step_m, .count = STEPS};
    for (size_t k = 0; k < STEPS; k++)
        p.strength[k] = (float)strength;
    return p;
}

static void add(struct places *p, const struct plyecho_profile *profile, bool sound)
{
    assert_true(p->count < MOST);
    p->profile[p->count] = *profile;
    p->sound[p->count++] = sound;
}

/* Normal at each step, the same on every run. */
static void draw(struct places *p, size_t count)
{
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, 11);
    *p = (struct places){.count = 0};
    for (size_t i = 0; i < count; i++) {
        struct plyecho_profile one = flat(0.0);
        for (size_t k = 0; k < STEPS; k++)
            one.strength[k] = (float)(mean + gsl_ran_gaussian(rng, sd));
        add(p, &one, true);
    }
    gsl_rng_free(rng);
}

static enum plyecho_code learn(const struct places *p, struct pe_profile_range *range,
                               struct plyecho_error *err)
{
    const struct plyecho_profile *profiles[MOST];
    for (size_t i = 0; i < p->count; i++)
        profiles[i] = &p->profile[i];
    return pe_profile_range_learn(profiles, p->sound, p->count, to_m, range, err);
}

static struct pe_profile_range learnt(const struct places *p)
{
    struct pe_profile_range range;
    struct plyecho_error err;
    if (learn(p, &range, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return range;
}

static size_t count_within(const struct places *p, const struct pe_profile_range *range)
{
    size_t within = 0;
    for (size_t i = 0; i < p->count; i++)
        within += pe_profile_is_within(range, &p->profile[i]);
    return within;
}

/* ---- to learn it ---- */

static void it_takes_twenty(void **state)
{
    (void)state;
    static struct places p;
    for (size_t sound = 19; sound <= 20; sound++) {
        draw(&p, 60);
        for (size_t i = 0; i < p.count; i++)
            p.sound[i] = i % 3 == 0 && i / 3 < sound; /* 20 of 60 */
        struct pe_profile_range range = learnt(&p);
        struct plyecho_profile same = flat(mean);
        assert_int_equal(range.known, sound == 20);
        assert_int_equal(pe_profile_is_within(&range, &same), sound == 20);
    }
}

/* Against GSL's statistics of the same numbers; and one in a hundred stands out. */
static void it_is_mean_and_deviation_at_each_step(void **state)
{
    (void)state;
    static struct places p;
    double numbers[MOST];
    draw(&p, 200);
    struct pe_profile_range range = learnt(&p);
    assert_int_equal(range.steps, STEPS);
    for (size_t k = 0; k < STEPS; k++) {
        for (size_t i = 0; i < p.count; i++)
            numbers[i] = p.profile[i].strength[k];
        assert_float_equal(range.mean[k], gsl_stats_mean(numbers, 1, p.count), 1e-9);
        assert_float_equal(range.sd[k], gsl_stats_sd(numbers, 1, p.count), 1e-9);
    }
    assert_int_equal(count_within(&p, &range), 198);
}

static void equal_ones_have_a_range(void **state)
{
    (void)state;
    static struct places p;
    p = (struct places){.count = 0};
    struct plyecho_profile one = flat(mean);
    for (size_t i = 0; i < 25; i++)
        add(&p, &one, true);
    struct pe_profile_range range = learnt(&p);
    assert_true(range.known);
    assert_true(pe_profile_is_within(&range, &one));
    for (float off = -1e-5f; off < 2e-5f;
         off += 2e-5f) { /* an echo that is not there, or another */
        struct plyecho_profile other = one;
        other.strength[7] += off;
        assert_false(pe_profile_is_within(&range, &other));
    }
}

/* No profile reaches a wall's back that lies deeper than its last step: what was not looked at is not sound. */
static void a_wall_beyond_the_last_step_has_no_range(void **state)
{
    (void)state;
    struct plyecho_profile deep = {.step_m = step_m, .count = PLYECHO_PROFILE_STEPS};
    const struct plyecho_profile *profiles[30];
    bool sound[30];
    for (size_t i = 0; i < 30; i++) {
        profiles[i] = &deep;
        sound[i] = true;
    }
    for (int beyond = 0; beyond < 2; beyond++) {
        struct pe_profile_range range;
        double reach_m = (PLYECHO_PROFILE_STEPS - 0.5 + beyond) * step_m;
        assert_int_equal(pe_profile_range_learn(profiles, sound, 30, reach_m, &range, NULL),
                         PLYECHO_OK);
        assert_true(range.known == (beyond == 0));
    }
}

static void what_is_no_number_is_not_within(void **state)
{
    (void)state;
    static struct places p;
    draw(&p, 50);
    struct pe_profile_range range = learnt(&p);
    struct plyecho_profile one = flat(mean);
    assert_true(pe_profile_is_within(&range, &one));
    one.strength[5] = NAN;
    assert_false(pe_profile_is_within(&range, &one));
}

/* Depths of another velocity are others. */
static void another_velocity_is_not_compared(void **state)
{
    (void)state;
    static struct places p;
    draw(&p, 50);
    struct pe_profile_range range = learnt(&p);
    struct plyecho_profile one = flat(mean);
    one.step_m = 1.01 * step_m;
    assert_false(pe_profile_is_within(&range, &one));
}

/* Records that end above the wall's back, and places that have no profile. */
static void shorter_ones_are_left_out(void **state)
{
    (void)state;
    static struct places p;
    for (size_t whole = 19; whole <= 20; whole++) {
        draw(&p, whole);
        struct plyecho_profile shorter = flat(0.5), none = {.count = 0};
        shorter.count = STEPS - 1;
        for (size_t i = 0; i < 30; i++) {
            add(&p, &shorter, true);
            add(&p, &none, true);
        }
        struct pe_profile_range range = learnt(&p);
        assert_int_equal(range.known, whole == 20);
        if (!range.known)
            continue;
        assert_true(range.mean[5] < 2.0 * mean);
        shorter = flat(0.0);
        shorter.count = STEPS - 1;
        assert_false(pe_profile_is_within(&range, &shorter));
        assert_false(pe_profile_is_within(&range, &none));
    }
}

/* Behind the wall's back its repeats tell nothing. */
static void what_lies_deeper_does_not_count(void **state)
{
    (void)state;
    static struct places p;
    draw(&p, 100);
    struct pe_profile_range range = learnt(&p);
    struct plyecho_profile one = flat(mean);
    one.count = PLYECHO_PROFILE_STEPS;
    one.strength[STEPS] = 1.0f;
    assert_true(pe_profile_is_within(&range, &one));
    one.strength[STEPS - 1] = 1.0f;
    assert_false(pe_profile_is_within(&range, &one));
}

static double sum(const struct plyecho_profile *p)
{
    double sum = 0.0;
    for (size_t k = 0; k < STEPS; k++)
        sum += p->strength[k];
    return sum;
}

static double mean_of(const struct pe_profile_range *range)
{
    return gsl_stats_mean(range->mean, 1, range->steps);
}

/* Only the quieter half passed by itself: a normal mean of 40 steps, cut at its middle, lies lower by
 * sqrt(2 / pi) sd / sqrt(40) = 0.126 sd. With the other half it is the mean again, to 0.011 sd (of 40 * 200 numbers). */
static void those_within_are_taken_in(void **state)
{
    (void)state;
    static struct places p, quiet;
    draw(&p, MOST);
    quiet = (struct places){.count = 0};
    for (size_t i = 0; i < p.count; i++) {
        p.sound[i] = sum(&p.profile[i]) < STEPS * mean;
        if (p.sound[i])
            add(&quiet, &p.profile[i], true);
    }
    struct pe_profile_range half = learnt(&quiet), all = learnt(&p);
    assert_float_equal(mean_of(&half), mean - 0.126 * sd, 0.04 * sd);
    assert_float_equal(mean_of(&all), mean, 0.04 * sd);
}

/* Each a little higher at one depth than the last, from what is sound to what is an echo: taken in again and again,
 * those at the range's edge would widen it step by step, up to the highest of all. */
static void growth_does_not_creep(void **state)
{
    (void)state;
    enum { FIRST = 100, CHAIN = 200, AT = 12 };
    static struct places p, first;
    draw(&p, FIRST);
    first = p;
    for (size_t i = 1; i <= CHAIN; i++) {
        struct plyecho_profile one = flat(mean);
        one.strength[AT] = (float)(mean + 10.0 * sd * (double)i / CHAIN);
        add(&p, &one, false);
    }
    struct pe_profile_range of_sound = learnt(&first), range = learnt(&p);
    size_t within = count_within(&p, &range) - count_within(&first, &range);
    size_t before = count_within(&p, &of_sound) - count_within(&first, &of_sound);
    assert_true(before > CHAIN / 4 && within > before); /* from 3 sd on, once */
    assert_true(within < CHAIN * 3 / 4);
    assert_false(pe_profile_is_within(&range, &p.profile[FIRST + CHAIN - 1]));
}

static void no_memory_is_an_error(void **state)
{
    (void)state;
    static struct places p;
    struct pe_profile_range range;
    struct plyecho_error err;
    draw(&p, 40);
    for (long n = 0; n < 2; n++) {
        range.known = true;
        fail_allocation(n);
        enum plyecho_code code = learn(&p, &range, &err);
        fail_no_allocation();
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_int_equal(err.code, PLYECHO_NO_MEMORY);
        assert_false(range.known);
    }
    fail_allocation(2);
    assert_int_equal(learn(&p, &range, &err), PLYECHO_OK);
    fail_no_allocation();
    assert_true(range.known);
}

/* ---- to hold a trace against it ---- */

static void an_echo_shows_at_its_depth(void **state)
{
    (void)state;
    static struct places p;
    draw(&p, 200);
    struct pe_profile_range range = learnt(&p);
    for (size_t k = 0; k < STEPS; k++) {
        struct plyecho_profile one = flat(mean);
        assert_true(pe_profile_is_within(&range, &one));
        assert_false(pe_profile_highest_m(&range, &one).known);
        one.strength[k] += (float)(8.0 * sd);
        struct plyecho_known deep_m = pe_profile_highest_m(&range, &one);
        assert_false(pe_profile_is_within(&range, &one));
        assert_true(deep_m.known);
        assert_float_equal(deep_m.value, ((double)k + 0.5) * step_m, 1e-12);
    }
}

/* Back walls differ from place to place by more than the laminate's echoes: there more is nothing. */
static void higher_is_by_what_is_usual_there(void **state)
{
    (void)state;
    enum { BACK = 38 };
    static struct places p;
    draw(&p, 200);
    for (size_t i = 0; i < p.count; i++)
        p.profile[i].strength[BACK] = 0.8f + 10.0f * (p.profile[i].strength[BACK] - 0.03f);
    struct pe_profile_range range = learnt(&p);
    struct plyecho_profile one = flat(mean);
    one.strength[BACK] = 1.0f; /* by 0.2, 2 sd */
    assert_true(pe_profile_is_within(&range, &one));
    one.strength[10] = 0.12f; /* by 0.09, 9 sd */
    assert_false(pe_profile_is_within(&range, &one));
    assert_float_equal(pe_profile_highest_m(&range, &one).value, 10.5 * step_m, 1e-12);
}

static void what_is_not_known_is_not_within(void **state)
{
    (void)state;
    static struct places p;
    draw(&p, 100);
    struct pe_profile_range range = learnt(&p), unknown = {.known = false};
    struct plyecho_profile high = flat(0.5), none = {.count = 0};
    assert_false(pe_profile_is_within(&unknown, &p.profile[0]));
    assert_false(pe_profile_highest_m(&unknown, &high).known);
    assert_false(pe_profile_is_within(&range, &none));
    assert_false(pe_profile_highest_m(&range, &none).known);
    assert_true(pe_profile_highest_m(&range, &high).known);
}

/* ---- an echo where it is told ---- */

/* An echo of 0.4 over three steps on a laminate of 0.03. */
static struct plyecho_profile with_echo(size_t at)
{
    struct plyecho_profile p = flat(mean);
    p.strength[at - 1] = p.strength[at + 1] = 0.25f;
    p.strength[at] = 0.4f;
    return p;
}

static bool has_echo(const struct plyecho_profile *p, double step, double strength)
{
    return pe_profile_has_echo(p, step * step_m, strength);
}

static void an_echo_stands_at_its_depth(void **state)
{
    (void)state;
    const struct plyecho_profile p = with_echo(20);
    assert_true(has_echo(&p, 20.5, 0.4));
    assert_true(has_echo(&p, 19.1, 0.4) && has_echo(&p, 21.9, 0.4)); /* a step off its middle */
    assert_false(has_echo(&p, 18.5, 0.4) || has_echo(&p, 22.5, 0.4));
    assert_false(has_echo(&p, 5.5, 0.4) || has_echo(&p, 35.5, 0.4));
}

/* On its way up to another echo a trace is high, too. */
static void another_echos_flank_is_none(void **state)
{
    (void)state;
    struct plyecho_profile p = flat(mean);
    for (size_t k = 10; k <= 20; k++)
        p.strength[k] = p.strength[40 - k] = 0.1f * (float)(k - 9);
    assert_true(has_echo(&p, 20.5, 1.0));
    for (double step = 11.5; step < 19.0; step += 1.0)
        assert_false(has_echo(&p, step, 0.1) || has_echo(&p, 41.0 - step, 0.1));
}

static void half_the_strength_told_is_enough(void **state)
{
    (void)state;
    const struct plyecho_profile p = with_echo(20);
    assert_true(has_echo(&p, 20.5, 0.79));
    assert_false(has_echo(&p, 20.5, 0.81));
    assert_true(has_echo(&p, 20.5, 0.05)); /* others may lie over it */
}

/* At either end of a profile it is not seen whether there is a peak. */
static void the_ends_tell_no_peak(void **state)
{
    (void)state;
    struct plyecho_profile p = flat(mean);
    p.strength[0] = p.strength[STEPS - 1] = 0.4f;
    assert_false(has_echo(&p, 0.5, 0.4));
    assert_true(has_echo(&p, STEPS - 0.5, 0.4));  /* whether it falls again is not known */
    assert_true(has_echo(&p, STEPS + 20.0, 0.4)); /* nor what lies deeper */
}

static void of_an_unknown_profile_the_fit_is_believed(void **state)
{
    (void)state;
    const struct plyecho_profile none = {.count = 0};
    assert_true(has_echo(&none, 20.5, 0.4));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_takes_twenty),
        cmocka_unit_test(it_is_mean_and_deviation_at_each_step),
        cmocka_unit_test(equal_ones_have_a_range),
        cmocka_unit_test(a_wall_beyond_the_last_step_has_no_range),
        cmocka_unit_test(what_is_no_number_is_not_within),
        cmocka_unit_test(another_velocity_is_not_compared),
        cmocka_unit_test(shorter_ones_are_left_out),
        cmocka_unit_test(what_lies_deeper_does_not_count),
        cmocka_unit_test(those_within_are_taken_in),
        cmocka_unit_test(growth_does_not_creep),
        cmocka_unit_test(no_memory_is_an_error),
        cmocka_unit_test(an_echo_shows_at_its_depth),
        cmocka_unit_test(higher_is_by_what_is_usual_there),
        cmocka_unit_test(what_is_not_known_is_not_within),
        cmocka_unit_test(an_echo_stands_at_its_depth),
        cmocka_unit_test(another_echos_flank_is_none),
        cmocka_unit_test(half_the_strength_told_is_enough),
        cmocka_unit_test(the_ends_tell_no_peak),
        cmocka_unit_test(of_an_unknown_profile_the_fit_is_believed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
