/* gnuplot as a child: a good run, and every way in which it can go wrong. False gnuplots are
 * small shell scripts put first on PATH. */
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

#include "../../src/cmd/gnuplot.h"

#define SHORT_S 0.3 /* time limit for a child that hangs */
#define LONG_S 60.0 /* for one that does not: never reached */

struct fixture {
    char dir[64];
    char file[80];
    char *path; /* PATH as it was */
};

static int make_dir(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    const char *path = getenv("PATH");
    strcpy(f->dir, "/tmp/plyecho-test-XXXXXX");
    if (path == NULL || mkdtemp(f->dir) == NULL)
        return -1;
    f->path = strdup(path);
    snprintf(f->file, sizeof f->file, "%s/gnuplot", f->dir);
    *state = f;
    return 0;
}

static int remove_dir(void **state)
{
    struct fixture *f = *state;
    setenv("PATH", f->path, 1);
    unlink(f->file);
    rmdir(f->dir);
    free(f->path);
    free(f);
    return 0;
}

/* Make a gnuplot that does `body`, and let it be the first on PATH. */
static void pretend(struct fixture *f, const char *body)
{
    FILE *out = fopen(f->file, "w");
    assert_non_null(out);
    fprintf(out, "#!/bin/sh\n%s\n", body);
    assert_int_equal(fclose(out), 0);
    assert_int_equal(chmod(f->file, 0700), 0);
    char path[4096];
    snprintf(path, sizeof path, "%s:%s", f->dir, f->path);
    setenv("PATH", path, 1);
}

static enum plyecho_code run(const char *script, double limit_s, char **output, size_t *size,
                             struct plyecho_error *err)
{
    memset(err, 0, sizeof *err);
    return gnuplot_run(script, strlen(script), limit_s, output, size, err);
}

/* Run and expect an error whose text has `words` in it. */
static void expect_failure(const char *script, double limit_s, enum plyecho_code code,
                           const char *words)
{
    struct plyecho_error err;
    char *output = (char *)1;
    size_t size = 1;
    assert_int_equal(run(script, limit_s, &output, &size, &err), code);
    assert_null(output);
    if (strstr(err.text, words) == NULL)
        fail_msg("'%s' is not in '%s'", words, err.text);
    assert_null(strchr(err.text, '\n'));
}

static void the_script_goes_in_and_the_picture_comes_out(void **state)
{
    pretend(*state, "test \"$*\" = '-d -' || exit 9\ncat\n");
    /* More than any pipe holds, so that both directions must be served at once. */
    size_t size = 3 * 1024 * 1024, got = 0;
    char *script = malloc(size), *output = NULL;
    struct plyecho_error err;
    assert_non_null(script);
    for (size_t i = 0; i < size; i++)
        script[i] = (char)(i * 7);
    assert_int_equal(gnuplot_run(script, size, LONG_S, &output, &got, &err), PLYECHO_OK);
    assert_int_equal(got, size);
    assert_memory_equal(output, script, size);
    free(output);
    free(script);
}

static void a_missing_gnuplot_names_its_package(void **state)
{
    struct fixture *f = *state;
    setenv("PATH", f->dir, 1);
    expect_failure("plot x\n", LONG_S, PLYECHO_IO, "apt-get install gnuplot-nox");
    expect_failure("plot x\n", LONG_S, PLYECHO_IO, "not installed");
    assert_int_equal(chdir(f->dir), 0);
    setenv("PATH", "", 1);
    expect_failure("plot x\n", LONG_S, PLYECHO_IO, "not installed");
    assert_int_equal(chdir("/"), 0);
}

static void a_gnuplot_that_is_no_program_is_said(void **state)
{
    struct fixture *f = *state;
    setenv("PATH", f->dir, 1);
    assert_int_equal(mkdir(f->file, 0700), 0);
    expect_failure("plot x\n", LONG_S, PLYECHO_IO, "cannot be started");
    rmdir(f->file);
}

static void a_failure_shows_its_words(void **state)
{
    pretend(*state,
            "cat > /dev/null; echo half a picture\n"
            "printf '\\ngnuplot> foo\\n   line 3: invalid \\033[2Jcommand\\n\\n' >&2; exit 3");
    expect_failure("foo\n", LONG_S, PLYECHO_UNSUITABLE,
                   "gnuplot failed (exit status 3): line 3: invalid ?[2Jcommand");
}

static void the_first_cause_is_shown_not_what_follows_from_it(void **state)
{
    pretend(*state,
            "cat > /dev/null; printf '\\n   line 0: warning: old\\n   line 0: the cause\\n"
            "   line 0: what follows\\nNothing drawn.\\n' >&2; exit 1");
    expect_failure("foo\n", LONG_S, PLYECHO_UNSUITABLE, "(exit status 1): the cause");
}

static void a_failure_without_words_is_still_one(void **state)
{
    pretend(*state, "exit 4");
    expect_failure("foo\n", LONG_S, PLYECHO_UNSUITABLE,
                   "gnuplot failed (exit status 4): no explanation");
}

static void a_crash_is_said_with_its_signal(void **state)
{
    pretend(*state, "echo half a picture; kill -SEGV $$");
    expect_failure("foo\n", LONG_S, PLYECHO_UNSUITABLE, "gnuplot crashed (signal 11)");
}

static void a_child_that_does_not_read_raises_no_signal(void **state)
{
    pretend(*state, "exec <&-; sleep 0.1; exit 5");
    size_t size = 1024 * 1024, got;
    char *script = calloc(1, size), *output;
    struct plyecho_error err;
    assert_int_equal(gnuplot_run(script, size, LONG_S, &output, &got, &err),
                     PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "exit status 5"));
    free(script);
}

static void a_hanging_child_is_killed_with_its_children(void **state)
{
    struct fixture *f = *state;
    char body[200], mark[100];
    snprintf(mark, sizeof mark, "%s/pid", f->dir);
    snprintf(body, sizeof body, "sleep 1000 & echo $! > %s; wait", mark);
    pretend(f, body);
    expect_failure("plot x\n", SHORT_S, PLYECHO_IO, "no picture after 0.3 s");
    /* The sleeping grandchild is gone or a zombie that nobody here can reap. */
    FILE *in = fopen(mark, "r");
    int pid = 0;
    assert_non_null(in);
    assert_int_equal(fscanf(in, "%d", &pid), 1);
    fclose(in);
    unlink(mark);
    char line[200] = "", name[64];
    snprintf(name, sizeof name, "/proc/%d/stat", pid);
    for (int i = 0; i < 500; i++) {
        in = fopen(name, "r");
        if (in == NULL)
            return;
        char *read = fgets(line, sizeof line, in);
        fclose(in);
        if (read == NULL || strstr(line, ") Z") != NULL)
            return;
        usleep(10000);
    }
    fail_msg("the grandchild still runs: %s", line);
}

static void endless_words_do_not_hold_us_up(void **state)
{
    pretend(*state, "exec yes >&2");
    expect_failure("plot x\n", SHORT_S, PLYECHO_IO, "no picture after 0.3 s");
}

static void an_endless_picture_is_cut_off(void **state)
{
    pretend(*state, "exec cat /dev/zero");
    expect_failure("plot x\n", LONG_S, PLYECHO_TOO_LARGE, "more than 256 MB");
}

static void a_silent_child_gives_nothing(void **state)
{
    pretend(*state, "cat > /dev/null");
    struct plyecho_error err;
    char *output;
    size_t size;
    assert_int_equal(run("plot x\n", LONG_S, &output, &size, &err), PLYECHO_OK);
    assert_int_equal(size, 0);
    free(output);
}

/* As the process of an open window does, which holds on to the streams. */
static void what_the_child_leaves_behind_is_not_waited_for(void **state)
{
    struct fixture *f = *state;
    pretend(f, "cat > /dev/null; echo done; sleep 3 & exit 0");
    struct plyecho_error err;
    char *output;
    size_t size;
    /* The limit is shorter than the sleep: waiting for the streams' end would be an error. */
    assert_int_equal(run("plot x\n", 2.5, &output, &size, &err), PLYECHO_OK);
    assert_int_equal(size, 5);
    assert_memory_equal(output, "done\n", 5);
    free(output);
}

int main(void)
{
#define WITH_DIR(test) cmocka_unit_test_setup_teardown(test, make_dir, remove_dir)
    const struct CMUnitTest tests[] = {
        WITH_DIR(the_script_goes_in_and_the_picture_comes_out),
        WITH_DIR(a_missing_gnuplot_names_its_package),
        WITH_DIR(a_gnuplot_that_is_no_program_is_said),
        WITH_DIR(a_failure_shows_its_words),
        WITH_DIR(the_first_cause_is_shown_not_what_follows_from_it),
        WITH_DIR(a_failure_without_words_is_still_one),
        WITH_DIR(a_crash_is_said_with_its_signal),
        WITH_DIR(a_child_that_does_not_read_raises_no_signal),
        WITH_DIR(a_hanging_child_is_killed_with_its_children),
        WITH_DIR(endless_words_do_not_hold_us_up),
        WITH_DIR(an_endless_picture_is_cut_off),
        WITH_DIR(a_silent_child_gives_nothing),
        WITH_DIR(what_the_child_leaves_behind_is_not_waited_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
