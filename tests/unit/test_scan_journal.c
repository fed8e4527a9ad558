/* The journal of a scan: what was put comes back, however it ended; one scan at a time; of one kind. */
#include <config.h>

#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "own_folder.h"
#include "scan_journal.h"

#define PARTIAL "tube3.partial"
#define JOURNAL PARTIAL "/journal"

enum { SHOTS = 5 };

static struct scan_head head_of(size_t shots)
{
    struct scan_head h = {.program = "1.0", .shots = shots, .day = "2024-11-30"};
    plyecho_digest("manifest", 8, h.manifest);
    plyecho_digest("procedure", 9, h.procedure);
    plyecho_digest("options", 7, h.options);
    return h;
}

static struct scan_shot shot_of(double wall_m)
{
    struct scan_shot s;
    memset(&s, 0, sizeof s);
    s.judged = true;
    s.assessment.thickness.thickness_m = wall_m;
    s.sample_rate_hz = 100e6;
    snprintf(s.digest, sizeof s.digest, "%g", wall_m);
    return s;
}

static struct scan_journal *open_journal(bool resume)
{
    struct scan_journal *j = NULL;
    struct plyecho_error err;
    const struct scan_head head = head_of(SHOTS);
    if (scan_journal_open(&j, PARTIAL, &head, resume, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    assert_non_null(j);
    return j;
}

static void put(struct scan_journal *j, size_t index, double wall_m)
{
    struct plyecho_error err;
    const struct scan_shot shot = shot_of(wall_m);
    assert_int_equal(scan_journal_put(j, index, &shot, &err), PLYECHO_OK);
}

static void check_there(const struct scan_journal *j, size_t index, double wall_m)
{
    struct scan_shot shot;
    const struct scan_shot expected = shot_of(wall_m);
    assert_true(scan_journal_get(j, index, &shot));
    assert_memory_equal(&shot, &expected, sizeof shot);
}

static void check_not_there(const struct scan_journal *j, size_t index)
{
    struct scan_shot shot;
    assert_false(scan_journal_get(j, index, &shot));
}

static off_t size_of(const char *name)
{
    struct stat info;
    assert_int_equal(stat(name, &info), 0);
    return info.st_size;
}

/* Three shots out of order, one of them twice, and an end before its time. */
static void begin_three(void)
{
    struct scan_journal *j = open_journal(false);
    put(j, 3, 3.3);
    put(j, 0, 3.0);
    put(j, 4, 3.9);
    put(j, 4, 3.4);
    scan_journal_close(j, false);
}

static void what_is_put_comes_back(void **state)
{
    (void)state;
    struct scan_journal *j = open_journal(false);
    assert_int_equal(scan_journal_held(j), 0);
    check_not_there(j, 0);
    put(j, 2, 3.2);
    put(j, 1, 3.1);
    put(j, 2, 2.2);
    check_there(j, 1, 3.1);
    check_there(j, 2, 2.2);
    check_not_there(j, 0);
    scan_journal_close(j, true);
    assert_int_equal(access(PARTIAL, F_OK), -1);
    scan_journal_close(NULL, true);
}

static void what_is_not_done_can_be_gone_on_with(void **state)
{
    (void)state;
    begin_three();
    struct scan_journal *j = open_journal(true);
    assert_int_equal(scan_journal_held(j), 3);
    check_there(j, 3, 3.3);
    check_there(j, 0, 3.0);
    check_there(j, 4, 3.4);
    check_not_there(j, 1);
    put(j, 1, 3.1);
    scan_journal_close(j, false);
    j = open_journal(true);
    assert_int_equal(scan_journal_held(j), 4);
    check_there(j, 1, 3.1);
    check_there(j, 4, 3.4);
    scan_journal_close(j, true);
}

static void a_record_cut_short_is_written_over(void **state)
{
    (void)state;
    struct scan_journal *j;
    begin_three();
    off_t whole = size_of(JOURNAL);
    put(j = open_journal(true), 1, 3.1);
    scan_journal_close(j, false);
    off_t record = size_of(JOURNAL) - whole;
    for (off_t left = 1; left < record; left += record / 3) {
        assert_int_equal(truncate(JOURNAL, whole + left), 0);
        j = open_journal(true);
        assert_int_equal(scan_journal_held(j), 3);
        check_not_there(j, 1);
        put(j, 2, 3.2);
        check_there(j, 2, 3.2);
        scan_journal_close(j, false);
        assert_int_equal(size_of(JOURNAL), whole + record);
        j = open_journal(true);
        assert_int_equal(scan_journal_held(j), 4);
        check_there(j, 2, 3.2);
        scan_journal_close(j, false);
    }
}

static void flip(off_t at)
{
    unsigned char byte;
    int fd = open(JOURNAL, O_RDWR);
    assert_true(fd >= 0);
    assert_int_equal(pread(fd, &byte, 1, at), 1);
    byte ^= 0x10;
    assert_int_equal(pwrite(fd, &byte, 1, at), 1);
    close(fd);
}

static void a_flipped_bit_is_seen(void **state)
{
    (void)state;
    begin_three();
    off_t whole = size_of(JOURNAL);
    struct scan_journal *j = open_journal(true);
    put(j, 1, 3.1);
    scan_journal_close(j, false);
    off_t record = size_of(JOURNAL) - whole;
    for (off_t at = 0; at < record - 8; at += 61) { /* behind the digest is padding */
        flip(whole + at);
        j = open_journal(true);
        if (scan_journal_held(j) != 3)
            fail_msg("byte %ld of a record: %zu held", (long)at, scan_journal_held(j));
        check_not_there(j, 1);
        scan_journal_close(j, false);
        flip(whole + at);
    }
    j = open_journal(true);
    assert_int_equal(scan_journal_held(j), 4);
    scan_journal_close(j, false);
}

static void check_refused(const struct scan_head *head, bool resume, const char *says)
{
    struct scan_journal *j = NULL;
    struct plyecho_error err;
    off_t before = size_of(JOURNAL);
    enum plyecho_code code = scan_journal_open(&j, PARTIAL, head, resume, &err);
    assert_null(j);
    if (code != PLYECHO_UNSUITABLE || strstr(err.text, says) == NULL)
        fail_msg("'%s' not in: %s", says, err.text);
    assert_int_equal(size_of(JOURNAL), before);
}

static void without_resume_nothing_is_touched(void **state)
{
    (void)state;
    begin_three();
    const struct scan_head head = head_of(SHOTS);
    check_refused(&head, false, "--resume goes on with it");
    struct scan_journal *j = open_journal(true);
    assert_int_equal(scan_journal_held(j), 3);
    scan_journal_close(j, false);
}

static void another_scan_is_told_by_what_differs(void **state)
{
    (void)state;
    begin_three();
    struct scan_head head = head_of(SHOTS);
    head.program[0] = '2';
    check_refused(&head, true, "another version of this program");
    head = head_of(SHOTS);
    head.manifest[0] ^= 1;
    check_refused(&head, true, "another manifest");
    head = head_of(SHOTS + 1);
    check_refused(&head, true, "another manifest");
    head = head_of(SHOTS);
    head.procedure[63] ^= 1;
    check_refused(&head, true, "another procedure");
    head = head_of(SHOTS);
    plyecho_digest("pulse", 5, head.pulse);
    check_refused(&head, true, "another reference pulse");
    head = head_of(SHOTS);
    head.options[5] ^= 1;
    check_refused(&head, true, "another set of options");
    for (off_t at = 0; at < 100; at += 33) { /* a head that is damaged */
        flip(at);
        head = head_of(SHOTS);
        check_refused(&head, true, "another version of this program");
        flip(at);
    }
    scan_journal_close(open_journal(true), false);
}

static void a_folder_without_a_journal(void **state)
{
    (void)state;
    struct scan_journal *j = NULL;
    struct plyecho_error err;
    const struct scan_head head = head_of(SHOTS);
    assert_int_equal(mkdir(PARTIAL, 0777), 0);
    assert_int_equal(scan_journal_open(&j, PARTIAL, &head, false, &err), PLYECHO_UNSUITABLE);
    assert_non_null(strstr(err.text, "holds no unfinished scan"));
    assert_int_equal(access(JOURNAL, F_OK), -1);
    /* nor is somebody else's folder filled */
    assert_int_equal(scan_journal_open(&j, PARTIAL, &head, true, &err), PLYECHO_UNSUITABLE);
    assert_int_equal(access(JOURNAL, F_OK), -1);
    assert_int_equal(rmdir(PARTIAL), 0);
    assert_int_equal(scan_journal_open(&j, "nowhere/x.partial", &head, true, &err), PLYECHO_IO);
    assert_null(j);
}

static void a_link_is_not_followed(void **state)
{
    (void)state;
    struct scan_journal *j = NULL;
    struct plyecho_error err;
    const struct scan_head head = head_of(SHOTS);
    assert_int_equal(mkdir(PARTIAL, 0777), 0);
    assert_int_equal(symlink("../precious", JOURNAL), 0);
    assert_int_not_equal(scan_journal_open(&j, PARTIAL, &head, true, &err), PLYECHO_OK);
    assert_null(j);
    assert_int_equal(access("precious", F_OK), -1);
}

/* A child holds it until told; 1: it could, 0: it could not. */
static pid_t hold(int told[2], int tells[2])
{
    assert_int_equal(pipe(told), 0);
    assert_int_equal(pipe(tells), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child > 0)
        return child;
    struct scan_journal *j = NULL;
    const struct scan_head head = head_of(SHOTS);
    char good = scan_journal_open(&j, PARTIAL, &head, true, NULL) == PLYECHO_OK, end;
    close(told[1]);
    if (write(tells[1], &good, 1) != 1 || read(told[0], &end, 1) < 0)
        _exit(1);
    scan_journal_close(j, false);
    _exit(0);
}

static void two_at_once(void **state)
{
    (void)state;
    int told[2], tells[2], status;
    char good = 0;
    begin_three();
    pid_t child = hold(told, tells);
    assert_int_equal(read(tells[0], &good, 1), 1);
    assert_int_equal(good, 1);
    const struct scan_head head = head_of(SHOTS);
    check_refused(&head, true, "another scan is at work in " PARTIAL);
    check_refused(&head, false, "another scan is at work in " PARTIAL);
    close(told[1]);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    scan_journal_close(open_journal(true), false);
    close(told[0]);
    close(tells[0]);
    close(tells[1]);
}

static void done_takes_nothing_else_away(void **state)
{
    (void)state;
    struct scan_journal *j = open_journal(false);
    FILE *notes = fopen(PARTIAL "/notes", "w");
    assert_non_null(notes);
    fclose(notes);
    scan_journal_close(j, true);
    assert_int_equal(access(JOURNAL, F_OK), -1);
    assert_int_equal(access(PARTIAL "/notes", F_OK), 0);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, enter_folder, leave_folder)

/* A scan that goes on does so by the day on which it began. */
static void the_day_is_that_of_the_beginning(void **state)
{
    (void)state;
    char day[SCAN_DAY_ROOM] = "none";
    assert_false(scan_journal_day(PARTIAL, day));
    scan_journal_close(open_journal(false), false);
    assert_true(scan_journal_day(PARTIAL, day));
    assert_string_equal(day, "2024-11-30");
    struct scan_journal *j;
    struct plyecho_error err;
    struct scan_head later = head_of(SHOTS);
    memcpy(later.day, "2024-12-01", SCAN_DAY_ROOM);
    assert_int_equal(scan_journal_open(&j, PARTIAL, &later, true, &err), PLYECHO_OK);
    scan_journal_close(j, false);
    assert_true(scan_journal_day(PARTIAL, day));
    assert_string_equal(day, "2024-11-30");
    FILE *file = fopen(JOURNAL, "r+");
    assert_non_null(file);
    fseek(file, 40, SEEK_SET); /* inside the head */
    fputc('x', file);
    fclose(file);
    assert_false(scan_journal_day(PARTIAL, day));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_FOLDER(what_is_put_comes_back),
        IN_FOLDER(what_is_not_done_can_be_gone_on_with),
        IN_FOLDER(a_record_cut_short_is_written_over),
        IN_FOLDER(a_flipped_bit_is_seen),
        IN_FOLDER(without_resume_nothing_is_touched),
        IN_FOLDER(another_scan_is_told_by_what_differs),
        IN_FOLDER(the_day_is_that_of_the_beginning),
        IN_FOLDER(a_folder_without_a_journal),
        IN_FOLDER(a_link_is_not_followed),
        IN_FOLDER(two_at_once),
        IN_FOLDER(done_takes_nothing_else_away),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
