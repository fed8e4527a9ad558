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

#include <plyecho/digest.h>

#include "memory.h"
#include "own_folder.h"
#include "results.h"
#include "scan_summary.h"
#include "scan_tables.h"

/* Columns that are read, in an order of our own: they are found by their names. */
#define HEADING                                                                                \
    "verdict,flagged,angle_deg,axial_mm,thickness_mm,thickness_u_mm,indication_depth_mm,"      \
    "indication_depth_u_mm,indication_db,evidence_ratio,reason,balance_db,highest_inner,"      \
    "shots,second_verdict,second_flagged,context,second_thickness_mm,second_thickness_u_mm,"   \
    "second_depth_mm,nominal_mm,indication,trace\n"

static const char sound_row[] =
    "no-indication,no,0,20,3.1587,0.011,,,,23.7,,-0.278,0.052,1,no-indication,no,,3.15867,0.0123,"
    ",3.2,,a.wav\n";
static const char gap_row[] =
    "delamination,yes,15,20,,,1.4012,0.0052,-0.35,1000,,-0.2,0.96,2,delamination,yes,edge,,,"
    "1.401,3.2,1,\"a, b.wav\"\n";
static const char unread_row[] =
    "unreadable,yes,30,20,,,,,,,not-read,,,0,unreadable,yes,,,,,,,c.wav\n";

#define FOUND                                                                                  \
    "kind,number,declared,places,from_deg,to_deg,extent_deg,extent_arc_mm,extent_arc_u_mm,"    \
    "from_axial_mm,to_axial_mm,extent_axial_mm,extent_axial_u_mm,area_mm2,least_depth_mm,"     \
    "most_depth_mm,worst_db,worst_angle_deg,worst_axial_mm,least_thickness_mm,next_mm,"        \
    "within_beam,open_ended,seam_like\n"

static const char gap_found[] =
    "delamination,1,no,1,7.5,22.5,15,3.377,1.4,18,22,4,1.6,10.6,1.401,1.401,-0.35,15,20,,,yes,"
    "yes,no\n";

/* ---- folders ---- */

static void write_text(const char *name, const char *text, size_t size)
{
    FILE *out = fopen(name, "wb");
    assert_non_null(out);
    assert_int_equal(fwrite(text, 1, size, out), size);
    assert_int_equal(fclose(out), 0);
}

static size_t times(const char *text, const char *piece)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, piece)) != NULL; at += strlen(piece))
        count++;
    return count;
}

/* Verdict and counts of tables that are made of the rows above; what the words must be is told by `limits`. */
static const char *told(const char *verdict, const char *limits, const char *readings,
                        const char *found)
{
    static char text[2048];
    size_t places = times(readings, "\n") - 1, gaps = times(readings, "\ndelamination,yes"),
           unread = times(readings, ",not-read,");
    char verdicts[200];
    snprintf(verdicts, sizeof verdicts,
             "{\"no-indication\": %zu, \"inner-echo\": 0, \"delamination\": %zu, \"thin\": 0, "
             "\"attenuated\": 0, \"undecided\": 0, \"unreadable\": 0}",
             places - gaps - unread, gaps);
    snprintf(text, sizeof text,
             "\"part_verdict\": \"%s\", \"limits\": %s, \"counts\": {\"places\": %zu, "
             "\"not_read\": %zu, \"flagged\": %zu, \"indications\": %zu, \"verdicts\": %s, "
             "\"second_verdicts\": %s}",
             verdict, limits, places, unread, gaps + unread, times(found, "\n") - 1, verdicts,
             verdicts);
    return text;
}

/* The folder "tube" with these tables and what is told of them. more: further members, each with a comma ahead. */
static void write_told(int format, const char *readings, const char *found, const char *words,
                       const char *more)
{
    char digest[2][PLYECHO_DIGEST_ROOM];
    static char summary[8192];
    plyecho_digest(readings, strlen(readings), digest[0]);
    plyecho_digest(found, strlen(found), digest[1]);
    int size = snprintf(summary, sizeof summary,
                        "{\"results_format\": %d, \"program\": \"plyecho x\",\n"
                        " \"readings_digest\": \"%s\", \"indications_digest\": \"%s\",\n"
                        " %s%s}\n",
                        format, digest[0], digest[1], words, more);
    assert_true(size > 0 && (size_t)size < sizeof summary);
    mkdir("tube", 0777);
    write_text("tube/summary.json", summary, (size_t)size);
    write_text("tube/readings.csv", readings, strlen(readings));
    write_text("tube/indications.csv", found, strlen(found));
}

/* With a summary that knows them. */
static void write_folder(int format, const char *readings, const char *found, const char *more)
{
    write_told(format, readings, found, told("not evaluated", "[]", readings, found), more);
}

static const char *joined(const char *a, const char *b, const char *c, const char *d)
{
    static char text[4096];
    snprintf(text, sizeof text, "%s%s%s%s", a, b, c, d);
    return text;
}

static void write_good(const char *more)
{
    char found[2048];
    snprintf(found, sizeof found, "%s%s", FOUND, gap_found);
    write_folder(SCAN_RESULTS_FORMAT, joined(HEADING, sound_row, gap_row, unread_row), found,
                 more);
}

static void read_good(struct results *r, const char *name)
{
    struct plyecho_error err;
    if (results_read(r, name, &err) != PLYECHO_OK)
        fail_msg("%s: %s", name, err.text);
}

static void check_refused(const char *name, enum plyecho_code code, const char *says)
{
    struct results r;
    struct plyecho_error err = {.code = PLYECHO_OK};
    if (results_read(&r, name, &err) != code || strstr(err.text, says) == NULL)
        fail_msg("%s: code %d, %s", name, err.code, err.text);
    results_clear(&r);
}

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
    write_good("");
    read_good(&r, "tube");
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
    write_good(",\"wall\": {\"least_mm\": 2.75, \"deep\": {\"word\": \"x\"}}, \"none\": null,"
               "\"settings\": [{\"section\": \"part\", \"key\": \"name\", \"value\": \"t\"},"
               "{\"section\": \"part\"}, 7, null],"
               "\"a_key_that_is_longer_than_any_of_a_summary_of_our_own\": 5");
    read_good(&r, "tube");
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
    write_good("");
    read_good(&r, "tube///");
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
    char thin_row[sizeof sound_row + 1];
    const char *name = strstr(sound_row, ",a.wav");
    snprintf(thin_row, sizeof thin_row, "%.*s2%s", (int)(name - sound_row), sound_row, name);
    write_folder(SCAN_RESULTS_FORMAT, joined(HEADING, thin_row, gap_row, unread_row), found,
                 "");
    free(found);
    read_good(&r, "tube");
    assert_int_equal(r.indications, 2);
    check_indication(&r.indication[0], &gap);
    check_indication(&r.indication[1], &thin_ring);
    results_clear(&r);
}

/* HEADING with other coordinates: millimetres both ways. */
static const char *on_a_plate(void)
{
    static char text[4096];
    snprintf(text, sizeof text, "%s%s%s", HEADING, sound_row, gap_row);
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
    write_folder(SCAN_RESULTS_FORMAT, on_a_plate(), found, "");
    free(found);
    read_good(&r, "tube");
    assert_false(r.tube);
    check_close(r.reading[1].place.across, 15e-3);
    check_indication(&r.indication[0], &indication);
    results_clear(&r);
}

static void no_indication_is_fine(void **state)
{
    (void)state;
    struct results r;
    write_folder(SCAN_RESULTS_FORMAT, joined(HEADING, sound_row, "", ""), FOUND, "");
    read_good(&r, "tube");
    assert_int_equal(r.indications, 0);
    results_clear(&r);
}

/* ---- what is refused ---- */

static void folders_that_are_none(void **state)
{
    (void)state;
    check_refused("nowhere", PLYECHO_IO, "name one that scan wrote");
    write_text("file", "x", 1);
    check_refused("file", PLYECHO_IO, "name one that scan wrote");
    mkdir("empty", 0777);
    check_refused("empty", PLYECHO_IO, "summary.json: no such file");
    check_refused("", PLYECHO_IO, "name one that scan wrote");
}

static void an_unfinished_scan_is_told(void **state)
{
    (void)state;
    mkdir("begun.partial", 0777);
    check_refused("begun", PLYECHO_UNSUITABLE, "scan --resume");
    check_refused("begun/", PLYECHO_UNSUITABLE, "scan --resume");
    check_refused("begun.partial", PLYECHO_UNSUITABLE, "scan --resume");
    mkdir("tube.partial", 0777); /* another try beside a scan that is whole */
    write_good("");
    struct results r;
    read_good(&r, "tube");
    results_clear(&r);
}

static void another_format_is_told(void **state)
{
    (void)state;
    const char *readings = joined(HEADING, sound_row, "", "");
    write_folder(SCAN_RESULTS_FORMAT + 1, readings, FOUND, "");
    char says[100];
    snprintf(says, sizeof says, "results of format %d, by plyecho x; this version",
             SCAN_RESULTS_FORMAT + 1);
    check_refused("tube", PLYECHO_UNSUITABLE, says);
    static const char *const summaries[] = {"{}", "{\"results_format\": \"1\"}",
                                            "{\"results_format\": 1.0, \"program\": 7}"};
    for (size_t i = 0; i < sizeof summaries / sizeof summaries[0]; i++) {
        write_text("tube/summary.json", summaries[i], strlen(summaries[i]));
        check_refused("tube", PLYECHO_UNSUITABLE, "no results_format");
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
    write_good("");
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        write_text("tube/summary.json", none[i], strlen(none[i]));
        check_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
    }
    enum { DEEP = 100000 };
    char *deep = memory_take(DEEP, 1);
    memset(deep, '[', DEEP);
    write_text("tube/summary.json", deep, DEEP);
    check_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
    free(deep);
}

static void what_changed_since_the_scan_is_told(void **state)
{
    (void)state;
    static const char *const tables[] = {"tube/readings.csv", "tube/indications.csv"};
    for (size_t i = 0; i < 2; i++) {
        write_good("");
        FILE *out = fopen(tables[i], "a");
        assert_non_null(out);
        fputs("\n", out);
        fclose(out);
        check_refused("tube", PLYECHO_UNSUITABLE, tables[i] + strlen("tube/"));
        assert_int_equal(unlink(tables[i]), 0);
        check_refused("tube", PLYECHO_IO, tables[i] + strlen("tube/"));
    }
    write_good(", \"readings_digest\": \"twice\"");
    check_refused("tube", PLYECHO_BAD_FILE, "summary.json: ");
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
    snprintf(found, sizeof found, "%s%s", FOUND, gap_found);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        char text[4096];
        const char *good = joined(HEADING, sound_row, gap_row, unread_row);
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        write_folder(SCAN_RESULTS_FORMAT, text, found, "");
        struct results r;
        struct plyecho_error err;
        if (results_read(&r, "tube", &err) == PLYECHO_OK ||
            strstr(err.text, changes[i].says) == NULL ||
            strncmp(err.text, "readings.csv: ", 14) != 0)
            fail_msg("%s: %s", changes[i].to, err.text);
        results_clear(&r);
    }
    write_folder(SCAN_RESULTS_FORMAT, HEADING, FOUND, "");
    check_refused("tube", PLYECHO_BAD_FILE, "readings.csv: no places");
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
        snprintf(good, sizeof good, "%s%s", FOUND, gap_found);
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        write_folder(SCAN_RESULTS_FORMAT, joined(HEADING, sound_row, gap_row, unread_row), text,
                     "");
        struct results r;
        struct plyecho_error err;
        if (results_read(&r, "tube", &err) == PLYECHO_OK ||
            strstr(err.text, changes[i].says) == NULL ||
            strncmp(err.text, "indications.csv: ", 17) != 0)
            fail_msg("%s: %s", changes[i].to, err.text);
        results_clear(&r);
    }
}

/* The digests of the summary, its own one for who has the page only: FIPS 180-4, by sha256sum. */
static void the_summary_has_its_digest(void **state)
{
    (void)state;
    struct results r;
    char line[200] = "";
    write_good("");
    read_good(&r, "tube");
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
    snprintf(found, sizeof found, "%s%s", FOUND, gap_found);
    const char *readings = joined(HEADING, sound_row, gap_row, unread_row);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct results r;
        write_told(SCAN_RESULTS_FORMAT, readings, found,
                   told(rows[i].verdict, rows[i].limits, readings, found), "");
        if (rows[i].says != NULL) {
            check_refused("tube", PLYECHO_BAD_FILE, rows[i].says);
            continue;
        }
        read_good(&r, "tube");
        results_clear(&r);
    }
    write_told(SCAN_RESULTS_FORMAT, readings, found, "\"limits\": []", "");
    check_refused("tube", PLYECHO_BAD_FILE, "no part_verdict");
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
    snprintf(found, sizeof found, "%s%s", FOUND, gap_found);
    const char *readings = joined(HEADING, sound_row, gap_row, unread_row);
    const char *good = told("not evaluated", "[]", readings, found);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        const char *at = strstr(good, changes[i].from);
        assert_non_null(at);
        snprintf(words, sizeof words, "%.*s%s%s", (int)(at - good), good, changes[i].to,
                 at + strlen(changes[i].from));
        write_told(SCAN_RESULTS_FORMAT, readings, found, words, "");
        check_refused("tube", PLYECHO_BAD_FILE, changes[i].says);
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
    write_good(more);
    write_text("tube/map.svg", "<svg/>", 6);
    write_text("tube/other.svg", "<svg />", 7);
    read_good(&r, "tube");
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
    write_good(", \"pictures\": \"map.svg\"");
    read_good(&r, "tube");
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
    write_good("");
    write_text("secret", "x", 1);
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
    read_good(&r, "tube");
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
        write_good("");
        assert_int_equal(rename(own[i], "kept"), 0);
        assert_int_equal(symlink("../kept", own[i]), 0);
        check_refused("tube", PLYECHO_UNSUITABLE, "is a link");
        assert_int_equal(unlink(own[i]), 0);
        assert_int_equal(mkfifo(own[i], 0600), 0);
        check_refused("tube", PLYECHO_UNSUITABLE, "is a pipe");
        assert_int_equal(unlink(own[i]), 0);
    }
    write_good(""); /* the folder itself may be one */
    assert_int_equal(symlink("tube", "also"), 0);
    read_good(&r, "also");
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
    write_good("");
    write_text("secret", "x", 1);
    write_text("tube/map.svg", "<svg/>", 6);
    read_good(&r, "tube");
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
        TEST(the_summary_has_its_digest),
        TEST(a_verdict_follows_from_its_limits),
        TEST(counts_are_those_of_the_tables),
        TEST(pictures_are_those_of_the_scan),
        TEST(only_regular_files_are_read),
        TEST(no_name_leads_out_of_the_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
