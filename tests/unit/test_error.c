/* Messages are one safe line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/error.h>

static void a_message_is_one_line_that_steers_no_terminal(void **state)
{
    (void)state;
    struct plyecho_error err;
    enum plyecho_code code =
        plyecho_fail_line(&err, PLYECHO_BAD_FILE, 7, "found '%s'", "a\033[2J\nb");
    assert_int_equal(code, PLYECHO_BAD_FILE);
    assert_int_equal(err.code, PLYECHO_BAD_FILE);
    assert_int_equal(err.line, 7);
    assert_string_equal(err.text, "found 'a?[2J?b'");
}

static void a_long_message_is_cut_not_overrun(void **state)
{
    (void)state;
    struct plyecho_error err;
    char text[2000];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    plyecho_fail(&err, PLYECHO_BAD_FILE, "%s", text);
    assert_int_equal(strlen(err.text), sizeof err.text - 1);
    assert_int_equal(plyecho_fail(NULL, PLYECHO_IO, "nobody listens"), PLYECHO_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_message_is_one_line_that_steers_no_terminal),
        cmocka_unit_test(a_long_message_is_cut_not_overrun),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
