/* A scan's folder read again: what was written comes back, and what is not the scan's own is told. */
#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "made_results.h"
#include "memory.h"
#include "own_folder.h"
#include "scan_summary.h"
#include "scan_tables.h"

static void check_known(struct plyecho_known is, double value)
{
    assert_true(is.known);
    assert_true(fabs(is.value - value) <= 1e-12 * fabs(value));
}

/* ---- what comes back ---- */

static void readings_come_back(void **state)
{
    (void)state;
    struct results r;
    made_good_folder("");
    made_read(&r, "tube");
    assert_true(r.tube);
    assert_int_equal(r.places, 3);
    const struct plyecho_place_reading *p = &r.reading[0];
    assert_true(p->read && p->wall_seen && !p->has_indication && !p->flagged);
    assert_int_equal(p->shots, 1);
    assert_int_equal(p->verdict, PLYECHO_NO_INDICATION);
    assert_true(fabs(p->place.along - 20e-3) < 1e-15 && p->place.across == 0.0);
    check_known((struct plyecho_known){true, p->wall_m}, 3.1587e-3);
    check_known(p->wall_u_m, 0.011e-3);
    check_known(p->second_wall_m, 3.15867e-3);
    check_known(p->second_wall_u_m, 0.0123e-3);
    check_known(p->nominal_m, 3.2e-3);
    check_known(p->balance_db, -0.278);
    check_known(p->highest_inner, 0.052);
    p = &r.reading[1];
    assert_true(p->read && !p->wall_seen && p->has_indication && p->flagged &&
                p->second_flagged);
    assert_int_equal(p->second, PLYECHO_DELAMINATION);
    assert_int_equal(p->context, PLYECHO_CONTEXT_EDGE);
    check_known((struct plyecho_known){true, p->depth_m}, 1.4012e-3);
    check_known((struct plyecho_known){true, p->second_depth_m}, 1.401e-3);
    check_known(p->depth_u_m, 0.0052e-3);
    assert_true(fabs(20.0 * log10(p->strength) + 0.35) < 1e-12);
    assert_false(p->second_wall_m.known || p->second_wall_u_m.known || p->wall_u_m.known);
    assert_int_equal(r.member[1], 1);
    p = &r.reading[2];
    assert_true(!p->read && plyecho_place_unread(p));
    assert_int_equal(p->shots, 0);
    assert_int_equal(r.member[0] + r.member[2], 0);
    results_clear(&r);
}

static void the_summary_is_found_by_paths(void **state)
{
    (void)state;
    struct results r;
    made_good_folder(
        ",\"wall\": {\"least_mm\": 2.75, \"deep\": {\"word\": \"x\"}}, \"none\": null,"
        "\"settings\": [{\"section\": \"part\", \"key\": \"name\", \"value\": \"t\"},"
        "{\"section\": \"part\"}, 7, null],"
        "\"a_key_that_is_longer_than_any_of_a_summary_of_our_own\": 5");
    made_read(&r, "tube");
    check_known(results_number(&r, "a_key_that_is_longer_than_any_of_a_summary_of_our_own"),
                5.0);
    assert_false(
        results_number(&r, "a_key_that_is_longer_than_any_of_a_summary_of_our_ow").known);
    check_known(results_number(&r, "wall.least_mm"), 2.75);
    assert_string_equal(results_text(&r, "wall.deep.word"), "x");
    assert_null(results_text(&r, "wall.least_mm"));
    assert_null(results_text(&r, "none"));
    assert_null(results_text(&r, "wall.least_mm.more"));
    assert_false(results_number(&r, "wall.none").known);
    assert_false(results_number(&r, "program").known);
    assert_string_equal(results_setting(&r, "part", "name"), "t");
    assert_null(results_setting(&r, "part", "date"));
    assert_null(results_setting(&r, "name", "part"));
    results_clear(&r);
    results_clear(&r); /* twice does no harm */
}

static void slashes_behind_the_name_do_not_count(void **state)
{
    (void)state;
    struct results r;
    made_good_folder("");
    made_read(&r, "tube///");
    assert_string_equal(r.name, "tube");
    results_clear(&r);
}

/* ---- indications there and back: written by what writes them in a scan ---- */

static char *written_indications(const struct plyecho_manifest *manifest,
                                 struct plyecho_place_reading *reading,
                                 struct plyecho_indication *indication, size_t count)
{
    const struct scan_results s = {.manifest = manifest,
                                   .reading = reading,
                                   .indication = indication,
                                   .indications = count};
    char *text;
    size_t size;
    FILE *out = memory_stream(&text, &size);
    assert_true(scan_indications_write(&s, out));
    memory_stream_end(out);
    return text;
}

/* The tables hold four digits and more. */
static void check_close(double is, double was)
{
    if (isnan(was))
        assert_true(isnan(is));
    else
        assert_true(fabs(is - was) <= 1e-3 * fabs(was));
}

static void check_indication(const struct plyecho_indication *is,
                             const struct plyecho_indication *was)
{
    assert_int_equal(is->kind, was->kind);
    assert_int_equal(is->places, was->places);
    assert_int_equal(is->worst, was->worst);
    assert_true(is->declared == was->declared && is->open_ended == was->open_ended);
    assert_true(is->within_beam == was->within_beam && is->seam_like == was->seam_like);
    check_close(is->from_across, was->from_across);
    check_close(is->to_across, was->to_across);
    check_close(is->across, was->across);
    check_close(is->arc_m, was->arc_m);
    check_close(is->from_along_m, was->from_along_m);
    check_close(is->to_along_m, was->to_along_m);
    check_close(is->along_m, was->along_m);
    check_close(is->least_depth_m, was->least_depth_m);
    check_close(is->most_depth_m, was->most_depth_m);
    check_close(is->area_m2, was->area_m2);
    check_close(is->strength, fabs(was->strength)); /* a level in dB has no sign */
    assert_int_equal(is->least_wall_m.known, was->least_wall_m.known);
    assert_int_equal(is->next_m.known, was->next_m.known);
    check_close(is->next_m.value, was->next_m.value);
    check_close(is->least_wall_m.value, was->least_wall_m.value);
}

static const struct plyecho_indication gap = {
    .kind = PLYECHO_DELAMINATION,
    .places = 20,
    .worst = 1,
    .from_across = 345.0,
    .to_across = 15.25,
    .across = 30.25,
    .arc_m = 7.1e-3,
    .from_along_m = 18e-3,
    .to_along_m = 22.5e-3,
    .along_m = 4.5e-3,
    .arc_u_m = 1.4e-3,
    .along_u_m = 1.6e-3,
    .within_beam = true,
    .least_depth_m = 1.395e-3,
    .most_depth_m = 1.4e-3,
    .area_m2 = 24.1e-6,
    .strength = -0.93,
    .next_m = {true, 10.45e-3},
};

static const struct plyecho_indication thin_ring = {
    .kind = PLYECHO_THIN,
    .declared = true,
    .places = 24,
    .worst = 0,
    .from_across = 0.0,
    .to_across = 360.0,
    .across = 360.0,
    .arc_m = NAN, /* no diameter */
    .from_along_m = 30e-3,
    .to_along_m = 34e-3,
    .along_m = 4e-3,
    .arc_u_m = 0.0,
    .along_u_m = 1.6e-3,
    .open_ended = true,
    .seam_like = true,
    .least_depth_m = NAN,
    .most_depth_m = NAN,
    .area_m2 = NAN,
    .strength = NAN,
    .least_wall_m = {true, 2.7585e-3},
};

static void indications_come_back(void **state)
{
    (void)state;
    struct results r;
    struct plyecho_place_reading reading[3] = {
        {.place = {0.0, 20e-3}}, {.place = {15.0, 20e-3}}, {.place = {30.0, 20e-3}}};
    struct plyecho_indication indication[2] = {gap, thin_ring};
    const struct plyecho_manifest manifest = {.tube = true};
    char *found = written_indications(&manifest, reading, indication, 2);
    char thin_row[256];
    const char *name = strstr(made_sound_row, ",a.wav");
    snprintf(thin_row, sizeof thin_row, "%.*s2%s", (int)(name - made_sound_row), made_sound_row,
             name);
    made_folder(SCAN_RESULTS_FORMAT,
                made_text(MADE_HEADING, thin_row, made_gap_row, made_unread_row), found, "");
    free(found);
    made_read(&r, "tube");
    assert_int_equal(r.indications, 2);
    check_indication(&r.indication[0], &gap);
    check_indication(&r.indication[1], &thin_ring);
    results_clear(&r);
}

/* MADE_HEADING with other coordinates: millimetres both ways. */
static const char *on_a_plate(void)
{
    static char text[4096];
    snprintf(text, sizeof text, "%s%s%s", MADE_HEADING, made_sound_row, made_gap_row);
    memcpy(strstr(text, "angle_deg"), "     x_mm", 9); /* blanks are no part of a cell */
    memcpy(strstr(text, "axial_mm"), "    y_mm", 8);
    return text;
}

static void a_plate_is_told_by_its_columns(void **state)
{
    (void)state;
    struct results r;
    struct plyecho_place_reading reading[2] = {{.place = {0.0, 20e-3}},
                                               {.place = {15e-3, 20e-3}}};
    struct plyecho_indication indication = gap;
    const struct plyecho_manifest manifest = {.tube = false};
    indication.from_across = 13e-3;
    indication.to_across = 17e-3;
    indication.arc_m = indication.across = 4e-3;
    char *found = written_indications(&manifest, reading, &indication, 1);
    made_folder(SCAN_RESULTS_FORMAT, on_a_plate(), found, "");
    free(found);
    made_read(&r, "tube");
    assert_false(r.tube);
    check_close(r.reading[1].place.across, 15e-3);
    check_indication(&r.indication[0], &indication);
    results_clear(&r);
}

static void no_indication_is_fine(void **state)
{
    (void)state;
    struct results r;
    made_folder(SCAN_RESULTS_FORMAT, made_text(MADE_HEADING, made_sound_row, "", ""),
                MADE_FOUND, "");
    made_read(&r, "tube");
    assert_int_equal(r.indications, 0);
    results_clear(&r);
}

/* ---- what is refused ---- */

static void folders_that_are_none(void **state)
{
    (void)state;
    made_refused("nowhere", PLYECHO_IO, "name one that scan wrote");
    made_file("file", "x", 1);
    made_refused("file", PLYECHO_IO, "name one that scan wrote");
    mkdir("empty", 0777);
    made_refused("empty", PLYECHO_UNSUITABLE, "no summary.json in it");
    made_refused("", PLYECHO_IO, "name one that scan wrote");
}

static void an_unfinished_scan_is_told(void **state)
{
    (void)state;
    mkdir("begun.partial", 0777);
    made_refused("begun", PLYECHO_UNSUITABLE, "scan --resume");
    made_refused("begun/", PLYECHO_UNSUITABLE, "scan --resume");
    made_refused("begun.partial", PLYECHO_UNSUITABLE, "scan --resume");
    mkdir("tube.partial", 0777); /* another try beside a scan that is whole */
    made_good_folder("");
    struct results r;
    made_read(&r, "tube");
    results_clear(&r);
}

static void another_format_is_told(void **state)
{
    (void)state;
    const char *readings = made_text(MADE_HEADING, made_sound_row, "", "");
    made_folder(SCAN_RESULTS_FORMAT + 1, readings, MADE_FOUND, "");
    char says[100];
    snprintf(says, sizeof says, "results of format %d, by plyecho x; this version",
             SCAN_RESULTS_FORMAT + 1);
    made_refused("tube", PLYECHO_UNSUITABLE, says);
    static const char *const summaries[] = {"{}", "{\"results_format\": \"1\"}",
                                            "{\"results_format\": 1.0, \"program\": 7}"};
    for (size_t i = 0; i < sizeof summaries / sizeof summaries[0]; i++) {
        made_file("tube/summary.json", summaries[i], strlen(summaries[i]));
        made_refused("tube", PLYECHO_UNSUITABLE, "no results_format");
    }
}

static void a_broken_summary_is_told(void **state)
{
    (void)state;
    static const char *const none[] = {"",
                                       "[]",
                                       "7",
                                       "{",
                                       "{\"results_format\": 1",
                                       "{\"a\": 1, \"a\": 2}",
                                       "{\"a\": \"\xff\"}",
                                       "{\"a\": \"\\u0000\"}",
                                       "{} {}",
                                       "{\"a\": 1e999}",
                                       "\xef\xbb\xbf"};
    made_good_folder("");
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        made_file("tube/summary.json", none[i], strlen(none[i]));
        made_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
    }
    enum { DEEP = 100000 };
    char *deep = memory_take(DEEP, 1);
    memset(deep, '[', DEEP);
    made_file("tube/summary.json", deep, DEEP);
    made_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
    free(deep);
}

static void what_changed_since_the_scan_is_told(void **state)
{
    (void)state;
    static const char *const tables[] = {"tube/readings.csv", "tube/indications.csv"};
    for (size_t i = 0; i < 2; i++) {
        made_good_folder("");
        FILE *out = fopen(tables[i], "a");
        assert_non_null(out);
        fputs("\n", out);
        fclose(out);
        made_refused("tube", PLYECHO_UNSUITABLE, tables[i] + strlen("tube/"));
        assert_int_equal(unlink(tables[i]), 0);
        made_refused("tube", PLYECHO_IO, tables[i] + strlen("tube/"));
    }
    made_good_folder(", \"readings_digest\": \"twice\"");
    made_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
}

/* Tables whose digest is right and that a scan cannot have written. */
static void rows_that_make_no_sense_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *says;
    } changes[] = {
        {"verdict,", "verdikt,", "no column verdict"},
        {"indication,trace", "indicatio,trace", "no column indication"},
        {"angle_deg", "angle_rad", "no column x_mm"},
        {"no-indication,no,0,", "fine,no,0,", "line 2: 'fine' under verdict"},
        {",edge,", ",edgy,", "line 3: 'edgy' under context"},
        {"15,20,,,", ",20,,,", "line 3: angle_deg is empty"},
        {"15,20,,,", "15,north,,,", "line 3"},
        {"3.1587,", "nan,", "line 2"},
        {"3.1587,", "inf,", "line 2"},
        {"3.1587,", "1e999,", "line 2"},
        {"3.2,1,\"", "3.2,2,\"", "line 3: belongs to an indication"},
        {"3.2,1,\"", "3.2,1e300,\"", "line 3"},
        {"0.96,2,", "0.96,-2,", "line 3"},
        {"0.96,2,", "0.96,1e300,", "line 3"},
        {"\"a, b.wav\"", "\"a, b.wav", "line 3"},
        {"\"a, b.wav\"", "\"a, b\".wav", "line 3: text behind a closing quote"},
        {"3.2,1,\"a, b.wav\"", "3.2", "line 3: ends before indication"},
        {",1.401,3.2,1,\"a, b.wav\"", "", "line 3: ends before second_depth_mm"},
    };
    char found[2048];
    snprintf(found, sizeof found, "%s%s", MADE_FOUND, made_gap_found);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        char text[4096];
        const char *good =
            made_text(MADE_HEADING, made_sound_row, made_gap_row, made_unread_row);
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        made_folder(SCAN_RESULTS_FORMAT, text, found, "");
        struct results r;
        struct plyecho_error err;
        if (results_read(&r, "tube", &err) == PLYECHO_OK ||
            strstr(err.text, changes[i].says) == NULL ||
            strncmp(err.text, "readings.csv: ", 14) != 0)
            fail_msg("%s: %s", changes[i].to, err.text);
        results_clear(&r);
    }
    made_folder(SCAN_RESULTS_FORMAT, MADE_HEADING, MADE_FOUND, "");
    made_refused("tube", PLYECHO_BAD_FILE, "readings.csv: no places");
}

static void indications_that_make_no_sense_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *says;
    } changes[] = {
        {"delamination,1", "delaminated,1", "line 2: 'delaminated' under kind"},
        {"-0.35,15,20", "-0.35,16,20", "line 2: its worst place is not in readings.csv"},
        {"worst_db", "worst_dB", "no column worst_db"},
        {",7.5,22.5,", ",,22.5,", "line 2: from_deg is empty"},
        {"no,1,7.5", "no,-1,7.5", "line 2"},
        {"no,1,7.5", "no,1e300,7.5", "line 2"},
    };
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        char text[4096], good[4096];
        snprintf(good, sizeof good, "%s%s", MADE_FOUND, made_gap_found);
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        made_folder(SCAN_RESULTS_FORMAT,
                    made_text(MADE_HEADING, made_sound_row, made_gap_row, made_unread_row),
                    text, "");
        struct results r;
        struct plyecho_error err;
        if (results_read(&r, "tube", &err) == PLYECHO_OK ||
            strstr(err.text, changes[i].says) == NULL ||
            strncmp(err.text, "indications.csv: ", 17) != 0)
            fail_msg("%s: %s", changes[i].to, err.text);
        results_clear(&r);
    }
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, enter_folder, leave_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(readings_come_back),
        TEST(the_summary_is_found_by_paths),
        TEST(slashes_behind_the_name_do_not_count),
        TEST(indications_come_back),
        TEST(a_plate_is_told_by_its_columns),
        TEST(no_indication_is_fine),
        TEST(folders_that_are_none),
        TEST(an_unfinished_scan_is_told),
        TEST(another_format_is_told),
        TEST(a_broken_summary_is_told),
        TEST(what_changed_since_the_scan_is_told),
        TEST(rows_that_make_no_sense_are_told),
        TEST(indications_that_make_no_sense_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
