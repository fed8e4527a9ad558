/* Where stacks cannot be fitted single echoes judge; the scratch for the fit keeps nothing from trace to
 * trace; the short way ends where the whole comparison does. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "judged_wall.h"

static void assert_same(const struct plyecho_assessment *a, const struct plyecho_assessment *b)
{
    assert_int_equal(a->verdict, b->verdict);
    assert_int_equal(a->next_best, b->next_best);
    assert_int_equal(a->reason, b->reason);
    assert_int_equal(a->wall_seen, b->wall_seen);
    assert_true(a->evidence_ratio == b->evidence_ratio);
    assert_true(a->thickness.thickness_m == b->thickness.thickness_m);
    assert_true(a->depth_m == b->depth_m && a->cover == b->cover && a->strength == b->strength);
}

/* Judge with stacks and without: the same. */
static struct plyecho_assessment both_ways(const struct plyecho_trace *raw,
                                           const struct plyecho_assess_options *o)
{
    struct plyecho_assessment with = judged_raw(raw, *o, WITHOUT_PULSE);
    struct plyecho_assessment without = judged_raw(raw, *o, SINGLE_ECHOES);
    assert_same(&with, &without);
    return with;
}

static void without_sign_single_echoes_judge(void **state)
{
    (void)state;
    struct judged_wall w = judged_half_gap();
    struct plyecho_traces t = judged_record(&w, 40.0, 1);
    struct plyecho_assess_options o = judged_options(2.6, WITHOUT_PULSE);
    for (size_t k = 0; k < t.samples; k++)
        t.amplitude[k] = fabsf(t.amplitude[k]);
    t.signal = PLYECHO_SIGNAL_RECTIFIED;
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    struct plyecho_assessment a = both_ways(&raw, &o);
    assert_true(a.sign_lost);
    plyecho_traces_clear(&t);
}

static void short_records_are_judged_by_single_echoes(void **state)
{
    (void)state;
    struct judged_wall w = judged_half_gap();
    struct plyecho_traces t = judged_record(&w, 40.0, 1);
    struct plyecho_assess_options o = judged_options(2.6, WITHOUT_PULSE);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    /* the back wall lies 1.76 us behind a front at 8.96 us: its peak is still there, its end is not */
    raw.samples = 1085;
    both_ways(&raw, &o);
    plyecho_traces_clear(&t);
}

/* In contact there is no interface echo: a wall of 2.6 mm, sounded from 0.3 us on. */
static void in_contact_single_echoes_judge(void **state)
{
    (void)state;
    struct plyecho_traces t;
    struct plyecho_simulator *simulator;
    struct plyecho_setup setup = judged_setup(40.0);
    struct plyecho_layer wall = judged_layer(4.65, JUDGED_VELOCITY_M_S, 5.2, JUDGED_LOSS_DB);
    setup.delay_line.thickness_m = 0.0;
    setup.zero_s = 0.3e-6;
    setup.initial_level = 1.0;
    struct plyecho_stack stack = {.front_impedance_rayl = setup.delay_line.impedance_rayl,
                                  .layers = &wall,
                                  .count = 1,
                                  .behind_impedance_rayl = 420.0,
                                  .reference_frequency_hz = setup.pulse.centre_hz};
    assert_int_equal(plyecho_traces_init(&t, 1, JUDGED_SAMPLES, NULL), PLYECHO_OK);
    t.sample_rate_hz = JUDGED_RATE_HZ;
    assert_int_equal(plyecho_simulator_new(&simulator, &setup, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_simulator_run(simulator, &stack, 1, t.amplitude, NULL, NULL),
                     PLYECHO_OK);
    plyecho_simulator_free(simulator);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    struct plyecho_assess_options o = judged_options(5.2, WITHOUT_PULSE);
    o.wall.mode = PLYECHO_MODE_1;
    o.wall.zero_s = (struct plyecho_known){true, 0.3e-6};
    o.wall.zero_u_s = (struct plyecho_known){true, 2e-9};
    struct plyecho_assessment a = both_ways(&raw, &o);
    assert_true(a.wall_seen);
    plyecho_traces_clear(&t);
}

static void without_nominal_and_attenuation_it_still_judges(void **state)
{
    (void)state;
    struct judged_wall walls[2] = {judged_plain(2.6), judged_half_gap()};
    static const enum plyecho_verdict verdicts[] = {PLYECHO_NO_INDICATION,
                                                    PLYECHO_DELAMINATION};
    for (int i = 0; i < 2; i++)
        for (int how = SINGLE_ECHOES; how <= WITH_PULSE; how++) {
            struct plyecho_traces t = judged_record(&walls[i], 40.0, 1);
            struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
            struct plyecho_assess_options o = judged_options(2.6, (enum judged_how)how);
            o.wall.nominal_m.known = o.wall.attenuation.known = false;
            struct plyecho_assessment a = judged_raw(&raw, o, (enum judged_how)how);
            judged_as(&walls[i], &a, verdicts[i]);
            assert_false(a.nominal_known);
            plyecho_traces_clear(&t);
        }
}

/* ---- the object ---- */

static void stacks_keep_nothing_of_the_trace_before(void **state)
{
    (void)state;
    struct plyecho_stacks *stacks;
    struct judged_wall walls[4] = {judged_plain(2.6),
                                   judged_half_gap(),
                                   judged_parted("interface", 1.4, 1.2, 6.0),
                                   {.name = "dry", .dry = true}};
    assert_int_equal(plyecho_stacks_new(&stacks, JUDGED_RATE_HZ, &judged_reference.shape, NULL),
                     PLYECHO_OK);
    for (int i = 0; i < 8; i++) {
        const struct judged_wall *w = &walls[i % 4];
        struct plyecho_traces t = judged_record(w, 40.0, 1);
        struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
        struct plyecho_assess_options o = judged_options(2.6, WITH_PULSE);
        struct plyecho_conditioner *conditioner;
        struct plyecho_conditioned c;
        struct plyecho_assessment used, fresh = judged_raw(&raw, o, WITH_PULSE);
        o.stacks = stacks;
        assert_int_equal(judged_condition(&raw, &judged_reference.band, &conditioner, &c),
                         PLYECHO_OK);
        c.pulse_s = judged_reference.pulse_s;
        plyecho_assess(&c, &raw, &o, &used);
        assert_same(&used, &fresh);
        plyecho_conditioner_free(conditioner);
        plyecho_traces_clear(&t);
    }
    plyecho_stacks_free(stacks);
}

/* A clean trace ends early; the whole comparison comes to the same. */
static void the_whole_comparison_agrees_on_clean_traces(void **state)
{
    (void)state;
    for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++)
        for (double mm = 1.6; mm < 3.3; mm += 0.11) {
            struct judged_wall w = judged_plain(mm);
            struct plyecho_traces t = judged_record(&w, 36.0, (unsigned long)(100.0 * mm));
            struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
            struct plyecho_assess_options o = judged_options(mm, (enum judged_how)how);
            struct plyecho_assessment a = judged_raw(&raw, o, (enum judged_how)how);
            o.thorough = true;
            struct plyecho_assessment b = judged_raw(&raw, o, (enum judged_how)how);
            assert_int_equal(a.verdict, b.verdict);
            judged_as(&w, &a, PLYECHO_NO_INDICATION);
            plyecho_traces_clear(&t);
        }
}

static void bad_arguments_and_failing_allocations_are_survived(void **state)
{
    (void)state;
    struct plyecho_stacks *stacks;
    struct plyecho_error err;
    assert_int_equal(plyecho_stacks_new(&stacks, 0.0, NULL, &err), PLYECHO_BAD_ARGUMENT);
    assert_null(stacks);
    for (long n = 0; n < 2; n++) {
        fail_allocation(n);
        assert_int_equal(
            plyecho_stacks_new(&stacks, JUDGED_RATE_HZ, &judged_reference.shape, &err),
            PLYECHO_NO_MEMORY);
        fail_no_allocation();
        assert_null(stacks);
    }
    plyecho_stacks_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_sign_single_echoes_judge),
        cmocka_unit_test(short_records_are_judged_by_single_echoes),
        cmocka_unit_test(in_contact_single_echoes_judge),
        cmocka_unit_test(without_nominal_and_attenuation_it_still_judges),
        cmocka_unit_test(stacks_keep_nothing_of_the_trace_before),
        cmocka_unit_test(the_whole_comparison_agrees_on_clean_traces),
        cmocka_unit_test(bad_arguments_and_failing_allocations_are_survived),
    };
    return cmocka_run_group_tests(tests, judged_reference_take, NULL);
}
