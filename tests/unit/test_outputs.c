#include <config.h>

#include <dirent.h>
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
#include "outputs.h"
#include "own_folder.h"

static size_t files_here(void)
{
    size_t count = 0;
    DIR *folder = opendir(".");
    while (readdir(folder) != NULL)
        count++;
    closedir(folder);
    return count - 2; /* . and .. */
}

static void put(const char *path, const char *text)
{
    struct plyecho_error err;
    assert_int_equal(file_write(path, text, strlen(text), &err), PLYECHO_OK);
}

static void expect(const char *path, const char *text)
{
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    assert_int_equal(file_read(path, &bytes, &err), PLYECHO_OK);
    assert_int_equal(bytes.size, strlen(text));
    assert_memory_equal(bytes.data, text, bytes.size);
    free(bytes.data);
}

static void test_write_and_read_back(void **state)
{
    (void)state;
    put("a", "first");
    expect("a", "first");
    put("a", "");
    expect("a", "");
    put("a", "second");
    expect("a", "second");
    assert_int_equal(files_here(), 1);
}

static void test_mode_follows_umask(void **state)
{
    (void)state;
    struct stat info;
    mode_t before = umask(027);
    put("a", "x");
    umask(before);
    assert_int_equal(stat("a", &info), 0);
    assert_int_equal(info.st_mode & 0777, 0640);
}

static void test_link_stays(void **state)
{
    (void)state;
    struct stat info;
    put("a", "x");
    assert_int_equal(symlink("a", "link"), 0);
    put("link", "y");
    expect("a", "y");
    assert_int_equal(lstat("link", &info), 0);
    assert_true(S_ISLNK(info.st_mode));
}

static void fails(const char *path, const char *text)
{
    struct plyecho_error err;
    assert_int_equal(file_write(path, "x", 1, &err), PLYECHO_IO);
    assert_string_equal(err.text, text);
}

static void test_refusals(void **state)
{
    (void)state;
    assert_int_equal(mkdir("folder", 0777), 0);
    fails("folder", "is a folder; give the name of a file in it");
    fails("none/a", "no such folder; make it first");
    if (access("/dev/full", W_OK) == 0)
        fails("/dev/full", "no space left; free some, or write elsewhere");
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    assert_int_equal(file_read("folder", &bytes, &err), PLYECHO_IO);
    assert_string_equal(err.text, "is a folder; name the files in it");
    assert_int_equal(file_read("none", &bytes, &err), PLYECHO_IO);
    assert_string_equal(err.text, "no such file; check its name and folder");
    assert_int_equal(files_here(), 1);
    free(bytes.data);
}

/* A file of holes takes no disk: 1 GiB and a byte. */
static void test_too_large(void **state)
{
    (void)state;
    put("a", "");
    if (truncate("a", ((off_t)1 << 30) + 1) != 0)
        skip();
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    assert_int_equal(file_read("a", &bytes, &err), PLYECHO_TOO_LARGE);
    assert_string_equal(err.text,
                        "larger than the limit of 1 GiB; split it into smaller files");
    assert_null(bytes.data); /* refused before anything is read */
}

static void test_names_in_a_folder(void **state)
{
    (void)state;
    static const struct {
        const char *folder;
        const char *input;
        enum plyecho_container container;
        const char *name;
    } cases[] = {
        {"out/", "a.wav", PLYECHO_CONTAINER_WAV, "out/a.wav"},
        {"out", "in/b/a.wav", PLYECHO_CONTAINER_CSV, "out/a.csv"},
        {"out/", "a.aiff", PLYECHO_CONTAINER_WAV, "out/a.wav"},
        {"out/", "a.WAV", PLYECHO_CONTAINER_WAV, "out/a.WAV"},
        {"out/", "a.Txt", PLYECHO_CONTAINER_CSV, "out/a.csv"},
        {"out/", "plate.1", PLYECHO_CONTAINER_WAV, "out/plate.1.wav"},
        {"out/", "noise.vox", PLYECHO_CONTAINER_CSV, "out/noise.vox.csv"},
        {"out/", "../a.b/plain", PLYECHO_CONTAINER_CSV, "out/plain.csv"},
        {"out/", ".csv", PLYECHO_CONTAINER_CSV, "out/.csv.csv"},
        {"/", "a.csv", PLYECHO_CONTAINER_CSV, "/a.csv"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *name = outputs_name(cases[i].folder, cases[i].input, cases[i].container);
        assert_string_equal(name, cases[i].name);
        free(name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_write_and_read_back, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_mode_follows_umask, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_link_stays, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_refusals, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_too_large, enter_folder, leave_folder),
        cmocka_unit_test(test_names_in_a_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
