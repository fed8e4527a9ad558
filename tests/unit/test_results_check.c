/* A summary that says what the rest of the folder says, and files that lead nowhere else. */
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

#include <plyecho/digest.h>

#include "made_results.h"
#include "own_folder.h"
#include "scan_summary.h"

/* The digests of the summary, its own one for who has the page only: FIPS 180-4, by sha256sum. */
static void the_summary_has_its_digest(void **state)
{
    (void)state;
    struct results r;
    char line[200] = "";
    made_good_folder("");
    made_read(&r, "tube");
    FILE *sum = popen("sha256sum tube/summary.json", "r");
    assert_non_null(sum);
    assert_non_null(fgets(line, sizeof line, sum));
    assert_int_equal(pclose(sum), 0);
    assert_int_equal(strlen(r.digest), 64);
    assert_memory_equal(line, r.digest, 64);
    results_clear(&r);
}

/* JCGM 106 is not asked here: the rule is that of acceptance.h, that one broken limit rejects and one open one
 * leaves undecided. */
static void a_verdict_follows_from_its_limits(void **state)
{
    (void)state;
#define HOLDS "{\"state\": \"holds\"}"
#define OPEN "{\"state\": \"open\"}"
#define BROKEN "{\"state\": \"broken\"}"
    static const struct {
        const char *verdict, *limits, *says; /* NULL: it is taken */
    } rows[] = {
        {"accepted", "[" HOLDS "]", NULL},
        {"undecided", "[" HOLDS "," OPEN "]", NULL},
        {"rejected", "[" OPEN "," BROKEN "," HOLDS "]", NULL},
        {"accepted", "[" HOLDS "," BROKEN "]", "'accepted' there, but 'rejected'"},
        {"accepted", "[" HOLDS "," OPEN "]", "'accepted' there, but 'undecided'"},
        {"undecided", "[" BROKEN "]", "'undecided' there, but 'rejected'"},
        {"rejected", "[" HOLDS "]", "'rejected' there, but 'accepted'"},
        {"accepted", "[]", "'accepted' there, but 'not evaluated'"},
        {"not evaluated", "[" HOLDS "]", "but 'accepted'"},
        {"passed", "[" HOLDS "]", "'passed' there"},
        {"accepted", "[" HOLDS ", 7]", "limit 2 has no state"},
        {"accepted", "[{\"state\": \"held\"}]", "limit 1 has no state"},
        {"accepted", "{}", "no part_verdict with its limits"},
        {"accepted", "null", "no part_verdict with its limits"},
    };
    char found[2048];
    snprintf(found, sizeof found, "%s%s", MADE_FOUND, made_gap_found);
    const char *readings =
        made_text(MADE_HEADING, made_sound_row, made_gap_row, made_unread_row);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct results r;
        made_folder_told(SCAN_RESULTS_FORMAT, readings, found,
                         made_words(rows[i].verdict, rows[i].limits, readings, found), "");
        if (rows[i].says != NULL) {
            made_refused("tube", PLYECHO_BAD_FILE, rows[i].says);
            continue;
        }
        made_read(&r, "tube");
        results_clear(&r);
    }
    made_folder_told(SCAN_RESULTS_FORMAT, readings, found, "\"limits\": []", "");
    made_refused("tube", PLYECHO_BAD_FILE, "no part_verdict");
}

static void counts_are_those_of_the_tables(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *says;
    } changes[] = {
        {"\"places\": 3", "\"places\": 4", "counts.places is not 3"},
        {"\"not_read\": 1", "\"not_read\": 0", "counts.not_read is not 1"},
        {"\"flagged\": 2", "\"flagged\": 0", "counts.flagged is not 2"},
        {"\"flagged\": 2", "\"flagged\": \"2\"", "counts.flagged is not 2"},
        {"\"flagged\": 2", "\"flaged\": 2", "counts.flagged is not 2"},
        {"\"indications\": 1", "\"indications\": 0", "counts.indications is not 1"},
        {"\"delamination\": 1", "\"delamination\": 0", "counts.verdicts.delamination is not 1"},
        {"\"second_verdicts\": {\"no-indication\": 1",
         "\"second_verdicts\": {\"no-indication\": 2",
         "counts.second_verdicts.no-indication is not 1"},
    };
    char found[2048], words[2048];
    snprintf(found, sizeof found, "%s%s", MADE_FOUND, made_gap_found);
    const char *readings =
        made_text(MADE_HEADING, made_sound_row, made_gap_row, made_unread_row);
    const char *good = made_words("not evaluated", "[]", readings, found);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(words, sizeof words, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        made_folder_told(SCAN_RESULTS_FORMAT, readings, found, words, "");
        made_refused("tube", PLYECHO_BAD_FILE, changes[i].says);
    }
}

static void pictures_are_those_of_the_scan(void **state)
{
    (void)state;
    struct results r;
    struct plyecho_error err;
    unsigned char *bytes;
    size_t size;
    char digest[PLYECHO_DIGEST_ROOM], more[600];
    plyecho_digest("<svg/>", 6, digest);
    snprintf(more, sizeof more,
             ", \"pictures\": [{\"name\": \"map.svg\", \"digest\": \"%s\"}, "
             "{\"name\": \"other.svg\", \"digest\": \"%s\"}, {\"name\": \"map.svg\"}, "
             "{\"digest\": \"%s\"}, \"map.svg\", {\"name\": \"../x\", \"digest\": \"%s\"}]",
             digest, digest, digest, digest);
    made_good_folder(more);
    made_file("tube/map.svg", "<svg/>", 6);
    made_file("tube/other.svg", "<svg />", 7);
    made_read(&r, "tube");
    assert_int_equal(results_pictures(&r), 6);
    assert_string_equal(results_picture_name(&r, 0), "map.svg");
    assert_int_equal(results_picture(&r, 0, &bytes, &size, &err), PLYECHO_OK);
    assert_int_equal(size, 6);
    assert_memory_equal(bytes, "<svg/>", 6);
    free(bytes);
    static const char *const says[] = {NULL,
                                       "other.svg: changed since the scan",
                                       "picture 3 has no name or no digest",
                                       "picture 4 has no name or no digest",
                                       "picture 5 has no name or no digest",
                                       "../x is not a file of this folder"};
    for (size_t i = 1; i < 6; i++) {
        assert_int_equal(results_picture(&r, i, &bytes, &size, &err), PLYECHO_UNSUITABLE);
        assert_null(bytes);
        if (strstr(err.text, says[i]) == NULL)
            fail_msg("picture %zu: %s", i, err.text);
    }
    assert_null(results_picture_name(&r, 3));
    assert_null(results_picture_name(&r, 4));
    results_clear(&r);
    made_good_folder(", \"pictures\": \"map.svg\"");
    made_read(&r, "tube");
    assert_int_equal(results_pictures(&r), 0);
    results_clear(&r);
}

/* A link could bring any file of the reader's into a page that is handed over; a pipe would never end. */
static void only_regular_files_are_read(void **state)
{
    (void)state;
    struct results r;
    struct plyecho_error err;
    unsigned char *bytes;
    size_t size;
    made_good_folder("");
    made_file("secret", "x", 1);
    assert_int_equal(symlink("../secret", "tube/link.svg"), 0);
    assert_int_equal(symlink("nowhere", "tube/dead.svg"), 0);
    assert_int_equal(mkfifo("tube/pipe.svg", 0600), 0);
    assert_int_equal(mkdir("tube/folder.svg", 0700), 0);
    static const struct {
        const char *name, *says;
        enum plyecho_code code;
    } rows[] = {{"link.svg", "link.svg: is a link", PLYECHO_UNSUITABLE},
                {"dead.svg", "dead.svg: is a link", PLYECHO_UNSUITABLE},
                {"pipe.svg", "pipe.svg: is a pipe", PLYECHO_UNSUITABLE},
                {"folder.svg", "folder.svg: is a folder", PLYECHO_IO}};
    made_read(&r, "tube");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(results_file(&r, rows[i].name, &bytes, &size, &err), rows[i].code);
        assert_null(bytes);
        if (strstr(err.text, rows[i].says) == NULL)
            fail_msg("%s: %s", rows[i].name, err.text);
    }
    results_clear(&r);
    static const char *const own[] = {"tube/summary.json", "tube/readings.csv",
                                      "tube/indications.csv"};
    for (size_t i = 0; i < 3; i++) {
        made_good_folder("");
        assert_int_equal(rename(own[i], "kept"), 0);
        assert_int_equal(symlink("../kept", own[i]), 0);
        made_refused("tube", PLYECHO_UNSUITABLE, "is a link");
        assert_int_equal(unlink(own[i]), 0);
        assert_int_equal(mkfifo(own[i], 0600), 0);
        made_refused("tube", PLYECHO_UNSUITABLE, "is a pipe");
        assert_int_equal(unlink(own[i]), 0);
    }
    made_good_folder(""); /* the folder itself may be one */
    assert_int_equal(symlink("tube", "also"), 0);
    made_read(&r, "also");
    results_clear(&r);
}

static void no_name_leads_out_of_the_folder(void **state)
{
    (void)state;
    static const char *const hostile[] = {"",          "..",          ".",
                                          "../secret", "/etc/passwd", "a/b",
                                          "./secret",  ".secret",     "tube/../../secret"};
    struct results r;
    struct plyecho_error err;
    unsigned char *bytes;
    size_t size;
    made_good_folder("");
    made_file("secret", "x", 1);
    made_file("tube/map.svg", "<svg/>", 6);
    made_read(&r, "tube");
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        assert_int_equal(results_file(&r, hostile[i], &bytes, &size, &err), PLYECHO_UNSUITABLE);
        assert_null(bytes);
        assert_non_null(strstr(err.text, "is not a file of this folder"));
    }
    assert_int_equal(results_file(&r, "map.svg", &bytes, &size, &err), PLYECHO_OK);
    assert_int_equal(size, 6);
    assert_memory_equal(bytes, "<svg/>", 6);
    free(bytes);
    assert_int_equal(results_file(&r, "none.svg", &bytes, &size, &err), PLYECHO_IO);
    assert_non_null(strstr(err.text, "none.svg: no such file"));
    results_clear(&r);
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, enter_folder, leave_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_summary_has_its_digest),     TEST(a_verdict_follows_from_its_limits),
        TEST(counts_are_those_of_the_tables), TEST(pictures_are_those_of_the_scan),
        TEST(only_regular_files_are_read),    TEST(no_name_leads_out_of_the_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
