#include <config.h>

#include "made_results.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

#include <plyecho/digest.h>

#include "scan_summary.h"

const char made_sound_row[] =
    "no-indication,no,0,20,3.1587,0.011,,,,23.7,,-0.278,0.052,1,no-indication,no,,3.15867,0.0123,"
    ",3.2,,a.wav\n";
const char made_gap_row[] =
    "delamination,yes,15,20,,,1.4012,0.0052,-0.35,1000,,-0.2,0.96,2,delamination,yes,edge,,,"
    "1.401,3.2,1,\"a, b.wav\"\n";
const char made_unread_row[] =
    "unreadable,yes,30,20,,,,,,,not-read,,,0,unreadable,yes,,,,,,,c.wav\n";

const char made_gap_found[] =
    "delamination,1,no,1,7.5,22.5,15,3.377,1.4,18,22,4,1.6,10.6,1.401,1.401,-0.35,15,20,,,yes,"
    "yes,no\n";

void made_file(const char *name, const char *text, size_t size)
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
const char *made_words(const char *verdict, const char *limits, const char *readings,
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
void made_folder_told(int format, const char *readings, const char *found, const char *words,
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
    made_file("tube/summary.json", summary, (size_t)size);
    made_file("tube/readings.csv", readings, strlen(readings));
    made_file("tube/indications.csv", found, strlen(found));
}

/* With a summary that knows them. */
void made_folder(int format, const char *readings, const char *found, const char *more)
{
    made_folder_told(format, readings, found,
                     made_words("not evaluated", "[]", readings, found), more);
}

const char *made_text(const char *a, const char *b, const char *c, const char *d)
{
    static char text[4096];
    snprintf(text, sizeof text, "%s%s%s%s", a, b, c, d);
    return text;
}

void made_good_folder(const char *more)
{
    char found[2048];
    snprintf(found, sizeof found, "%s%s", MADE_FOUND, made_gap_found);
    made_folder(SCAN_RESULTS_FORMAT,
                made_text(MADE_HEADING, made_sound_row, made_gap_row, made_unread_row), found,
                more);
}

void made_read(struct results *r, const char *name)
{
    struct plyecho_error err;
    if (results_read(r, name, &err) != PLYECHO_OK)
        fail_msg("%s: %s", name, err.text);
}

void made_refused(const char *name, enum plyecho_code code, const char *says)
{
    struct results r;
    struct plyecho_error err = {.code = PLYECHO_OK};
    if (results_read(&r, name, &err) != code || strstr(err.text, says) == NULL)
        fail_msg("%s: code %d, %s", name, err.code, err.text);
    results_clear(&r);
}
