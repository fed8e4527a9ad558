/* A quantity along a part: read, interpolated, written, refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/along.h>

static const struct plyecho_along_range wall = {"nominal_mm", 1e-6, 1000.0, 1e-3};

static enum plyecho_code read_text(struct plyecho_along *along, const char *text,
                                   struct plyecho_error *err)
{
    return plyecho_along_read(along, text, strlen(text), &wall, 7, err);
}

/* A straight line between two points is the mean of both in the middle. */
static void lines_go_from_point_to_point(void **state)
{
    (void)state;
    struct plyecho_along a = {0};
    assert_int_equal(read_text(&a, "3.2 at -10,2.8 at 110 ,\t2.4 at 300", NULL), PLYECHO_OK);
    assert_int_equal(a.count, 3);
    assert_int_equal(a.line, 7);
    const double at_mm[] = {-10, 50, 110, 205, 300}, mm[] = {3.2, 3.0, 2.8, 2.6, 2.4};
    for (int k = 0; k < 5; k++) {
        struct plyecho_known v = plyecho_along_at(&a, at_mm[k] * 1e-3);
        assert_true(v.known);
        assert_true(fabs(v.value * 1e3 - mm[k]) < 1e-12);
    }
    assert_false(plyecho_along_at(&a, -0.0101).known);
    assert_false(plyecho_along_at(&a, 0.3001).known);
    assert_false(plyecho_along_at(&a, NAN).known);
    const struct plyecho_along none = {0};
    assert_false(plyecho_along_at(&none, 0.0).known);
}

static void what_is_written_reads_back(void **state)
{
    (void)state;
    struct plyecho_along a = {0}, again = {0};
    char text[PLYECHO_ALONG_ROOM];
    assert_int_equal(read_text(&a, "3.2 at 0, 2.875 at 120.5", NULL), PLYECHO_OK);
    plyecho_along_text(&a, wall.scale, text);
    assert_string_equal(text, "3.2 at 0, 2.875 at 120.5");
    assert_int_equal(read_text(&again, text, NULL), PLYECHO_OK);
    assert_memory_equal(again.axial_m, a.axial_m, sizeof a.axial_m);
    assert_memory_equal(again.value, a.value, sizeof a.value);
    /* the longest numbers there are */
    a.count = PLYECHO_ALONG_MOST;
    for (size_t k = 0; k < a.count; k++) {
        a.axial_m[k] = -1.0 / 3.0 * 1e-205;
        a.value[k] = -1.0 / 3.0 * 1e-205;
    }
    plyecho_along_text(&a, 1.0, text);
    assert_true(strlen(text) < PLYECHO_ALONG_ROOM - 1);
    assert_string_equal(text + strlen(text) - 4, "-203");
}

static void what_is_no_table_is_refused(void **state)
{
    (void)state;
    const struct {
        const char *text;
        enum plyecho_code code;
        const char *says;
    } bad[] = {
        {"", PLYECHO_BAD_NUMBER, "is no point of nominal_mm"},
        {"3.2 at 0", PLYECHO_BAD_FILE, "two or more"},
        {"3.2 at 0,", PLYECHO_BAD_NUMBER, "commas between points"},
        {"3.2, 2.8 at 120", PLYECHO_BAD_NUMBER, "3.2"},
        {"3.2 at 0, 2.8 at 120 mm", PLYECHO_BAD_NUMBER, "120 mm"},
        {"3.2 at 0; 2.8 at 120", PLYECHO_BAD_NUMBER, "no point"},
        {"3.2at 0, 2.8 at 120", PLYECHO_BAD_NUMBER, "3.2at 0"},
        {"3,2 at 0, 2,8 at 120", PLYECHO_BAD_NUMBER, "'3'"},
        {"3.2 at 0, nan at 120", PLYECHO_BAD_NUMBER, "nan"},
        {"3.2 at 0, -1 at 120", PLYECHO_BAD_ARGUMENT, "out of range"},
        {"3.2 at 0, 2000 at 120", PLYECHO_BAD_ARGUMENT, "1e-06 to 1000"},
        {"3.2 at 0, 2.8 at 1e9", PLYECHO_BAD_ARGUMENT, "axial_mm"},
        {"3.2 at 120, 2.8 at 0", PLYECHO_BAD_ARGUMENT, "rising order"},
        {"3.2 at 120, 2.8 at 120", PLYECHO_BAD_ARGUMENT, "rising order"},
    };
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
        struct plyecho_along a = {.count = 2};
        struct plyecho_error err;
        enum plyecho_code code = read_text(&a, bad[k].text, &err);
        if (code != bad[k].code || strstr(err.text, bad[k].says) == NULL)
            fail_msg("'%s': %d, %s", bad[k].text, (int)code, err.text);
        assert_int_equal(err.line, 7);
        assert_int_equal(a.count, 2);
    }
}

static void too_many_points_are_refused(void **state)
{
    (void)state;
    char text[1000] = "";
    for (int k = 0; k <= PLYECHO_ALONG_MOST; k++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s3 at %d",
                 k > 0 ? ", " : "", k);
    struct plyecho_along a = {0};
    struct plyecho_error err;
    assert_int_equal(read_text(&a, text, &err), PLYECHO_TOO_LARGE);
    *strrchr(text, ',') = '\0';
    assert_int_equal(read_text(&a, text, &err), PLYECHO_OK);
    assert_int_equal(a.count, PLYECHO_ALONG_MOST);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_go_from_point_to_point),
        cmocka_unit_test(what_is_written_reads_back),
        cmocka_unit_test(what_is_no_table_is_refused),
        cmocka_unit_test(too_many_points_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
