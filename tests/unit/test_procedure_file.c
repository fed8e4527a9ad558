/* Procedure files by name: replaced whole or left as they were. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "file.h"
#include "own_folder.h"
#include "procedure_file.h"

/* What the program says goes here. */
static char said[400];

static bool change(const char *path, const char *key, const char *value)
{
    const struct plyecho_procedure_change changes[] = {{"material", key, value}};
    memset(said, 0, sizeof said);
    struct messages messages = {.to = fmemopen(said, sizeof said, "w")};
    bool good = procedure_file_change(path, changes, 1, &messages);
    fclose(messages.to);
    assert_true(messages.trouble == !good);
    return good;
}

static void expect(const char *path, const char *text)
{
    struct file_bytes bytes = {0};
    assert_int_equal(file_read(path, &bytes, NULL), PLYECHO_OK);
    assert_int_equal(bytes.size, strlen(text));
    assert_memory_equal(bytes.data, text, bytes.size);
    free(bytes.data);
}

static void a_file_is_made_and_changed(void **state)
{
    (void)state;
    assert_true(change("a.ini", "velocity_m_s", "2950"));
    expect("a.ini", "[material]\nvelocity_m_s = 2950\n");
    assert_true(change("a.ini", "velocity_m_s", "2960"));
    expect("a.ini", "[material]\nvelocity_m_s = 2960\n");
    assert_string_equal(said, "");
    struct plyecho_procedure procedure;
    struct messages messages = {.to = stderr};
    assert_true(procedure_file_read("a.ini", &procedure, &messages));
    assert_true(procedure.material.velocity_m_s.value == 2960.0);
    plyecho_procedure_clear(&procedure);
}

static void what_is_refused_leaves_the_file(void **state)
{
    (void)state;
    assert_true(change("a.ini", "velocity_m_s", "2950"));
    assert_false(change("a.ini", "velocity_m_s", "2.95"));
    assert_string_equal(said, "plyecho: a.ini: velocity_m_s = 2.95 is out of range; it must be "
                              "from 100 to 20000; 2.95 mm/us is written 2950\n");
    expect("a.ini", "[material]\nvelocity_m_s = 2950\n");
    assert_false(change("-", "velocity_m_s", "2950"));
    assert_non_null(strstr(said, "give a file's name"));
    assert_false(change("/dev/null", "velocity_m_s", "2950"));
    assert_false(change("none/a.ini", "velocity_m_s", "2950"));
    assert_string_equal(said, "plyecho: none/a.ini: no such folder; make it first\n");
    assert_int_equal(mkdir("folder", 0777), 0);
    assert_false(change("folder", "velocity_m_s", "2950"));
    assert_int_equal(access("-", F_OK), -1);
}

static void a_name_is_relative_to_the_procedure(void **state)
{
    (void)state;
    static const char *const rows[][3] = {
        {"a.ini", "p.wav", "p.wav"},
        {"job/a.ini", "p.wav", "job/p.wav"},
        {"/x/y/a.ini", "../p.wav", "/x/y/../p.wav"},
        {"job/a.ini", "/p.wav", "/p.wav"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *path = procedure_file_beside(rows[i][0], rows[i][1]);
        assert_string_equal(path, rows[i][2]);
        free(path);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_file_is_made_and_changed, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(what_is_refused_leaves_the_file, enter_folder,
                                        leave_folder),
        cmocka_unit_test(a_name_is_relative_to_the_procedure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
