/* Which indication comes first where not all can be shown. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include <plyecho/indications.h>

static const double mm2 = 1e-6;

static struct plyecho_indication made(enum plyecho_verdict kind, double area_m2, size_t places)
{
    return (struct plyecho_indication){.kind = kind, .area_m2 = area_m2, .places = places};
}

static void kinds_come_before_areas(void **state)
{
    (void)state;
    struct plyecho_indication list[] = {
        made(PLYECHO_INNER_ECHO, 500.0 * mm2, 90),  made(PLYECHO_INNER_ECHO, 20.0 * mm2, 3),
        made(PLYECHO_UNDECIDED, 30.0 * mm2, 5),     made(PLYECHO_ATTENUATED, 40.0 * mm2, 6),
        made(PLYECHO_UNDECIDED, 50.0 * mm2, 7),     made(PLYECHO_THIN, 10.0 * mm2, 2),
        made(PLYECHO_DELAMINATION, 8.0 * mm2, 1),   made(PLYECHO_DELAMINATION, 9.0 * mm2, 1),
        made(PLYECHO_DELAMINATION, 7.0 * mm2, 100),
    };
    static const size_t expected[] = {7, 6, 8, 5, 4, 3, 2, 1, 0};
    enum { COUNT = sizeof list / sizeof list[0] };
    size_t order[COUNT];
    list[0].declared = true;
    plyecho_indications_order(list, COUNT, order);
    for (size_t k = 0; k < COUNT; k++)
        assert_int_equal(order[k], expected[k]);
}

/* An area that is not known is neither small nor large: then all are told apart by their places. */
static void without_all_areas_places_count(void **state)
{
    (void)state;
    const struct plyecho_indication list[] = {
        made(PLYECHO_THIN, 90.0 * mm2, 2),
        made(PLYECHO_THIN, NAN, 3),
        made(PLYECHO_THIN, 10.0 * mm2, 4),
    };
    size_t order[3];
    plyecho_indications_order(list, 3, order);
    assert_int_equal(order[0], 2);
    assert_int_equal(order[1], 1);
    assert_int_equal(order[2], 0);
    plyecho_indications_order(list, 1, order);
    assert_int_equal(order[0], 0);
    plyecho_indications_order(NULL, 0, NULL);
}

/* All that it is sorted by as one number, the smallest one first. */
static double key(const struct plyecho_indication *n, size_t index)
{
    double kind = n->kind == PLYECHO_DELAMINATION ? 0
                  : n->kind == PLYECHO_THIN       ? 1
                  : n->kind == PLYECHO_INNER_ECHO ? 3
                                                  : 2;
    return 1e6 * ((n->declared ? 10 : 0) + kind) + 1e3 * (100 - n->area_m2 / mm2) +
           (double)index;
}

static void any_list_comes_out_whole_and_in_order(void **state)
{
    (void)state;
    enum { MOST = 60 };
    static const enum plyecho_verdict kinds[] = {PLYECHO_DELAMINATION, PLYECHO_THIN,
                                                 PLYECHO_ATTENUATED, PLYECHO_UNDECIDED,
                                                 PLYECHO_INNER_ECHO};
    srand(7);
    for (size_t count = 0; count <= MOST; count++) {
        struct plyecho_indication list[MOST];
        size_t order[MOST];
        bool seen[MOST] = {false};
        for (size_t i = 0; i < count; i++) {
            list[i] = made(kinds[rand() % 5], (1 + rand() % 5) * mm2, 1);
            list[i].declared = list[i].kind == PLYECHO_INNER_ECHO && rand() % 2 == 0;
        }
        plyecho_indications_order(list, count, order);
        for (size_t k = 0; k < count; k++) {
            assert_true(order[k] < count);
            assert_false(seen[order[k]]);
            seen[order[k]] = true;
            if (k > 0)
                assert_true(key(&list[order[k - 1]], order[k - 1]) <
                            key(&list[order[k]], order[k]));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(kinds_come_before_areas),
        cmocka_unit_test(without_all_areas_places_count),
        cmocka_unit_test(any_list_comes_out_whole_and_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
