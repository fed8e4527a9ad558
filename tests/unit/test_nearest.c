/* Edit distance: textbook values and the properties of a distance. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/nearest.h>

static size_t distance(const char *text, const char *known)
{
    return plyecho_edit_distance(text, strlen(text), known);
}

/* kitten/sitting and Saturday/Sunday: the usual textbook examples, from memory. */
static void textbook_pairs_have_their_distance(void **state)
{
    (void)state;
    assert_int_equal(distance("kitten", "sitting"), 3);
    assert_int_equal(distance("Saturday", "Sunday"), 3);
    assert_int_equal(distance("", "part"), 4);
    assert_int_equal(distance("part", ""), 4);
    assert_int_equal(distance("part", "part"), 0);
}

static void it_is_symmetric_and_obeys_the_triangle(void **state)
{
    (void)state;
    static const char *const words[] = {"nominal_mm", "nominal", "diameter_mm", "mm_nominal",
                                        "x"};
    const size_t count = sizeof words / sizeof words[0];
    for (size_t a = 0; a < count; a++)
        for (size_t b = 0; b < count; b++) {
            assert_int_equal(distance(words[a], words[b]), distance(words[b], words[a]));
            for (size_t c = 0; c < count; c++)
                assert_true(distance(words[a], words[c]) <=
                            distance(words[a], words[b]) + distance(words[b], words[c]));
        }
}

static void a_very_long_text_is_far_from_every_name(void **state)
{
    (void)state;
    char text[100000];
    memset(text, 'q', sizeof text);
    assert_true(plyecho_edit_distance(text, sizeof text, "nominal_mm") > PLYECHO_NEAREST_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(textbook_pairs_have_their_distance),
        cmocka_unit_test(it_is_symmetric_and_obeys_the_triangle),
        cmocka_unit_test(a_very_long_text_is_far_from_every_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
