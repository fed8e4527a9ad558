/* The list of echoes inside a wall: full, it keeps the strongest. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "interface.h"

static void test_full_list_keeps_strongest(void **state)
{
    (void)state;
    static const double strengths[] = {0.5, 0.1, 0.3, 0.2, 0.6, 0.7, 0.8, 0.9, 0.4, 0.05, 0.25};
    struct pe_interface list[PE_INTERFACES];
    int count = 0;
    for (size_t i = 0; i < sizeof strengths / sizeof strengths[0]; i++) {
        const struct pe_interface one = {.delay_s = (double)i, .strength = strengths[i]};
        pe_interface_add(list, &count, &one);
    }
    /* 0.4 goes in for 0.1, 0.25 for 0.2; 0.05 finds no room */
    static const double left[PE_INTERFACES] = {0.5, 0.4, 0.3, 0.25, 0.6, 0.7, 0.8, 0.9};
    static const double delays[PE_INTERFACES] = {0, 8, 2, 10, 4, 5, 6, 7};
    assert_int_equal(count, PE_INTERFACES);
    for (int k = 0; k < count; k++) {
        assert_true(list[k].strength == left[k]);
        assert_true(list[k].delay_s == delays[k]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_full_list_keeps_strongest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
