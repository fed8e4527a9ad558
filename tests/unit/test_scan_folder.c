/* The folder of a scan: which name it may have, nothing in it is replaced, all of it or nothing. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "own_folder.h"
#include "scan_folder.h"

static void write_text(const char *name, const char *text)
{
    FILE *out = fopen(name, "w");
    assert_non_null(out);
    fputs(text, out);
    assert_int_equal(fclose(out), 0);
}

static void check_text(const char *name, const char *expected)
{
    char text[100] = "";
    FILE *in = fopen(name, "r");
    assert_non_null(in);
    size_t size = fread(text, 1, sizeof text - 1, in);
    text[size] = '\0';
    fclose(in);
    assert_string_equal(text, expected);
}

static bool is_there(const char *name)
{
    struct stat info;
    return lstat(name, &info) == 0;
}

static void check_refused(const char *name, enum plyecho_code code, const char *says)
{
    struct scan_folder f;
    struct plyecho_error err;
    if (scan_folder_open(&f, name, &err) != code || strstr(err.text, says) == NULL)
        fail_msg("'%s': code %d, %s", name, err.code, err.text);
    scan_folder_close(&f);
}

static void names_that_are_none(void **state)
{
    (void)state;
    static const char *const none[] = {"",    "-",    "/",       "///", ".",    "..",
                                       "../", "a/..", "tube3/.", "./",  "a/../"};
    assert_int_equal(mkdir("a", 0777), 0);
    assert_int_equal(mkdir("tube3", 0777), 0);
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        check_refused(none[i], PLYECHO_BAD_ARGUMENT, "give it a name");
}

static void check_names(const char *given, const char *name, const char *partial,
                        const char *results)
{
    struct scan_folder f;
    struct plyecho_error err;
    if (scan_folder_open(&f, given, &err) != PLYECHO_OK)
        fail_msg("'%s': %s", given, err.text);
    assert_string_equal(f.name, name);
    assert_string_equal(f.partial, partial);
    assert_string_equal(f.results, results);
    scan_folder_close(&f);
    assert_null(f.name);
}

static void slashes_behind_do_not_count(void **state)
{
    (void)state;
    check_names("tube3", "tube3", "tube3.partial", "tube3.partial/results");
    check_names("tube3///", "tube3", "tube3.partial", "tube3.partial/results");
    check_names("../x/-/", "../x/-", "../x/-.partial", "../x/-.partial/results");
    check_names("/tmp/./a..", "/tmp/./a..", "/tmp/./a...partial", "/tmp/./a...partial/results");
    assert_false(is_there("tube3"));
    assert_false(is_there("tube3.partial"));
}

static void what_is_there_is_not_replaced(void **state)
{
    (void)state;
    assert_int_equal(mkdir("full", 0777), 0);
    write_text("full/.hidden", "");
    write_text("file", "");
    assert_int_equal(symlink("nowhere", "link"), 0);
    assert_int_equal(mkdir("closed", 0000), 0);
    check_refused("full", PLYECHO_UNSUITABLE, "is there already");
    check_refused("full/", PLYECHO_UNSUITABLE, "is there already");
    check_refused("file", PLYECHO_UNSUITABLE, "is there already");
    check_refused("link", PLYECHO_UNSUITABLE, "is there already");
    if (geteuid() != 0) /* who may read all sees that it is empty */
        check_refused("closed", PLYECHO_UNSUITABLE, "is there already");
}

static void check_written(const char *given)
{
    struct scan_folder f;
    struct plyecho_error err;
    assert_int_equal(scan_folder_open(&f, given, &err), PLYECHO_OK);
    assert_int_equal(mkdir(f.partial, 0777), 0);
    assert_int_equal(scan_folder_begin(&f, &err), PLYECHO_OK);
    assert_int_equal(scan_folder_write(&f, "a.csv", "a\n", 2, &err), PLYECHO_OK);
    assert_false(is_there("tube3/a.csv"));
    check_text("tube3.partial/results/a.csv", "a\n");
    assert_int_equal(scan_folder_finish(&f, &err), PLYECHO_OK);
    check_text("tube3/a.csv", "a\n");
    assert_false(is_there("tube3.partial/results"));
    scan_folder_close(&f);
}

static void results_become_the_folder(void **state)
{
    (void)state;
    check_written("tube3/");
}

static void an_empty_folder_is_taken(void **state)
{
    (void)state;
    assert_int_equal(mkdir("tube3", 0777), 0);
    check_written("tube3");
}

static void half_written_results_are_gone(void **state)
{
    (void)state;
    struct scan_folder f;
    struct plyecho_error err;
    assert_int_equal(scan_folder_open(&f, "tube3", &err), PLYECHO_OK);
    assert_int_equal(scan_folder_begin(&f, &err), PLYECHO_IO); /* partial is not there */
    assert_int_equal(mkdir("tube3.partial", 0777), 0);
    assert_int_equal(mkdir("tube3.partial/results", 0777), 0);
    write_text("tube3.partial/results/old.csv", "old");
    write_text("tube3.partial/results/.a.csv.tmp", "old");
    write_text("precious", "kept");
    assert_int_equal(symlink("../../precious", "tube3.partial/results/link"), 0);
    assert_int_equal(scan_folder_begin(&f, &err), PLYECHO_OK);
    assert_false(is_there("tube3.partial/results/old.csv"));
    assert_false(is_there("tube3.partial/results/.a.csv.tmp"));
    assert_false(is_there("tube3.partial/results/link"));
    check_text("precious", "kept");
    scan_folder_close(&f);
}

static void a_link_is_not_followed_when_emptied(void **state)
{
    (void)state;
    struct scan_folder f;
    struct plyecho_error err;
    assert_int_equal(mkdir("precious", 0777), 0);
    write_text("precious/measured.csv", "kept");
    assert_int_equal(scan_folder_open(&f, "tube3", &err), PLYECHO_OK);
    assert_int_equal(mkdir("tube3.partial", 0777), 0);
    assert_int_equal(symlink("../precious", "tube3.partial/results"), 0);
    assert_int_not_equal(scan_folder_begin(&f, &err), PLYECHO_OK);
    check_text("precious/measured.csv", "kept");
    scan_folder_close(&f);
}

static void what_came_meanwhile_is_not_replaced(void **state)
{
    (void)state;
    struct scan_folder f;
    struct plyecho_error err;
    assert_int_equal(scan_folder_open(&f, "tube3", &err), PLYECHO_OK);
    assert_int_equal(mkdir("tube3.partial", 0777), 0);
    assert_int_equal(scan_folder_begin(&f, &err), PLYECHO_OK);
    assert_int_equal(scan_folder_write(&f, "a.csv", "a\n", 2, &err), PLYECHO_OK);
    assert_int_equal(mkdir("tube3", 0777), 0);
    write_text("tube3/notes", "kept");
    assert_int_equal(scan_folder_finish(&f, &err), PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "while the scan ran"));
    check_text("tube3/notes", "kept");
    check_text("tube3.partial/results/a.csv", "a\n");
    scan_folder_close(&f);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, enter_folder, leave_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_FOLDER(names_that_are_none),
        IN_FOLDER(slashes_behind_do_not_count),
        IN_FOLDER(what_is_there_is_not_replaced),
        IN_FOLDER(results_become_the_folder),
        IN_FOLDER(an_empty_folder_is_taken),
        IN_FOLDER(half_written_results_are_gone),
        IN_FOLDER(a_link_is_not_followed_when_emptied),
        IN_FOLDER(what_came_meanwhile_is_not_replaced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
