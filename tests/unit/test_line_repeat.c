/* The delay line's repeat tells a whole record from one with samples lost or doubled within the wall,
 * whatever the wall holds; the walls come from the layer model, which knows nothing of that. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "judged_wall.h"
#include "line_repeat.h"

static struct pe_line_says ask(const struct plyecho_traces *t, double nominal_mm)
{
    struct plyecho_trace raw = plyecho_traces_channel(t, 1);
    struct plyecho_assess_options o = judged_options(nominal_mm, WITHOUT_PULSE);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct pe_evidence e;
    struct pe_line_repeat *repeat;
    assert_int_equal(judged_condition(&raw, NULL, &conditioner, &c), PLYECHO_OK);
    pe_evidence_take(&c, &raw, &o, &e);
    assert_int_equal(pe_line_repeat_new(&repeat, raw.sample_rate_hz, NULL), PLYECHO_OK);
    struct pe_line_says says = pe_line_repeat_ask(repeat, &c, &e);
    pe_line_repeat_free(repeat);
    plyecho_conditioner_free(conditioner);
    return says;
}

/* Front at 8.96 us: the place to cut is ahead of the back wall, behind any echo inside. */
static size_t ahead_of_back(const struct judged_wall *w)
{
    double transit_s = 2e-3 * (w->upper_mm + w->lower_mm) / JUDGED_VELOCITY_M_S;
    return (size_t)((8.96e-6 + 0.72 * transit_s) * JUDGED_RATE_HZ);
}

static struct judged_wall walls[4];

static int make_walls(void **state)
{
    (void)state;
    walls[0] = judged_plain(1.8);
    walls[1] = judged_parted("step", 1.0, 1.1, 6.0);
    walls[2] = judged_parted("gap", 1.0, 1.1, 4.65);
    walls[2].cover = 0.5;
    walls[3] = judged_plain(2.2);
    walls[3].loss_db = 0.5; /* too lossy for a second back-wall echo */
    return 0;
}

enum { WALLS = sizeof walls / sizeof walls[0] };

static double whole_mm(const struct judged_wall *w)
{
    return w->upper_mm + w->lower_mm;
}

static void whole_records_lack_nothing(void **state)
{
    (void)state;
    for (size_t k = 0; k < WALLS; k++) {
        struct plyecho_traces t = judged_record(&walls[k], 60.0, 3);
        struct pe_line_says says = ask(&t, whole_mm(&walls[k]));
        assert_true(says.lost_s == 0.0 && !says.disagrees);
        plyecho_traces_clear(&t);
    }
}

static void lost_samples_are_counted(void **state)
{
    (void)state;
    for (size_t k = 0; k < WALLS; k++)
        for (size_t lost = 4; lost <= 12; lost += 4) {
            struct plyecho_traces t = judged_record(&walls[k], 60.0, 3);
            size_t at = ahead_of_back(&walls[k]);
            memmove(t.amplitude + at, t.amplitude + at + lost,
                    (t.samples - at - lost) * sizeof *t.amplitude);
            t.samples -= lost;
            struct pe_line_says says = ask(&t, whole_mm(&walls[k]));
            assert_float_equal(says.lost_s * JUDGED_RATE_HZ, (double)lost, 1.5);
            plyecho_traces_clear(&t);
        }
}

static void doubled_samples_are_counted(void **state)
{
    (void)state;
    for (size_t k = 0; k < WALLS; k++)
        for (size_t twice = 4; twice <= 12; twice += 4) {
            struct plyecho_traces t = judged_record(&walls[k], 60.0, 3);
            size_t at = ahead_of_back(&walls[k]);
            memmove(t.amplitude + at + twice, t.amplitude + at,
                    (t.samples - at - twice) * sizeof *t.amplitude);
            struct pe_line_says says = ask(&t, whole_mm(&walls[k]));
            assert_float_equal(says.lost_s * JUDGED_RATE_HZ, -(double)twice, 1.5);
            plyecho_traces_clear(&t);
        }
}

static void nothing_is_told_without_the_repeat(void **state)
{
    (void)state;
    struct plyecho_traces t = judged_record(&walls[0], 40.0, 3);
    t.samples = 1600;
    struct pe_line_says says = ask(&t, whole_mm(&walls[0]));
    assert_true(says.lost_s == 0.0 && !says.disagrees);
    plyecho_traces_clear(&t);
}

static void no_memory_is_an_error(void **state)
{
    (void)state;
    struct pe_line_repeat *repeat;
    fail_allocation(0);
    enum plyecho_code code = pe_line_repeat_new(&repeat, 1e8, NULL);
    fail_no_allocation();
    assert_int_equal(code, PLYECHO_NO_MEMORY);
    assert_null(repeat);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_records_lack_nothing),
        cmocka_unit_test(lost_samples_are_counted),
        cmocka_unit_test(doubled_samples_are_counted),
        cmocka_unit_test(nothing_is_told_without_the_repeat),
        cmocka_unit_test(no_memory_is_an_error),
    };
    return cmocka_run_group_tests(tests, make_walls, NULL);
}
