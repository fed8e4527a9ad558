/* A nominal wall that is wrong, beside walls whose truth the layer model sets. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "judged_wall.h"

static const double wrong[] = {0.6, 0.75, 1.3, 1.5, 1.9};

static double whole_mm(const struct judged_wall *wall)
{
    return wall->upper_mm + wall->lower_mm;
}

/* Whatever the nominal says, a wall that is told is the true one: within five standard uncertainties. */
static void only_the_true_wall(const struct judged_wall *wall, double share,
                               const struct plyecho_assessment *a)
{
    double off_mm = 1e3 * a->thickness.thickness_m - whole_mm(wall);
    if (a->wall_seen && fabs(off_mm) > 5e3 * a->thickness.thickness_u.value)
        fail_msg("%s, nominal %.2f of the wall: %.3f mm told, %.3f mm true", wall->name, share,
                 1e3 * a->thickness.thickness_m, whole_mm(wall));
}

static void a_wrong_nominal_makes_no_wall(void **state)
{
    (void)state;
    struct judged_wall walls[] = {judged_plain(2.6), judged_half_gap(),
                                  judged_parted("step", 1.6, 1.2, 5.6),
                                  judged_parted("glue", 1.7, 1.1, 4.65)};
    walls[3].film_um = 60.0;
    walls[3].film_mrayl = 3.0;
    for (size_t w = 0; w < sizeof walls / sizeof walls[0]; w++)
        for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++)
            for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++) {
                struct plyecho_assessment a =
                    judged(&walls[w], wrong[k] * whole_mm(&walls[w]), (enum judged_how)how, 7);
                only_the_true_wall(&walls[w], wrong[k], &a);
                assert_int_not_equal(a.verdict, PLYECHO_NO_INDICATION);
            }
}

/* A gap under half of the beam is found all the same, where it lies. */
static void a_gap_is_found_beside_a_wrong_nominal(void **state)
{
    (void)state;
    struct judged_wall wall = judged_half_gap();
    for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
        if (wrong[k] * whole_mm(&wall) < 1.3 * wall.upper_mm)
            continue; /* there the gap's echo may pass for the wall's */
        struct plyecho_assessment a = judged(&wall, wrong[k] * whole_mm(&wall), WITH_PULSE, 3);
        judged_as(&wall, &a, PLYECHO_DELAMINATION);
        assert_true(fabs(1e3 * a.depth_m - wall.upper_mm) < 0.05);
    }
}

/* With the true nominal, a gap that leaves next to nothing of the back wall stays one. */
static void a_gap_is_not_lost_to_a_thinner_wall(void **state)
{
    (void)state;
    for (double cover = 0.6; cover < 0.95; cover += 0.1)
        for (unsigned long seed = 1; seed <= 3; seed++)
            for (int how = WITHOUT_PULSE; how <= WITH_PULSE; how++) {
                struct judged_wall wall = judged_parted("gap", 1.4, 1.2, 4.65);
                wall.cover = cover;
                struct plyecho_assessment a =
                    judged(&wall, whole_mm(&wall), (enum judged_how)how, seed);
                judged_as(&wall, &a, PLYECHO_DELAMINATION);
                only_the_true_wall(&wall, 1.0, &a);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wrong_nominal_makes_no_wall),
        cmocka_unit_test(a_gap_is_found_beside_a_wrong_nominal),
        cmocka_unit_test(a_gap_is_not_lost_to_a_thinner_wall),
    };
    return cmocka_run_group_tests(tests, judged_reference_take, NULL);
}
