/* scan - a whole part: judged place by place, mapped, sized, held against the limits */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "file.h"
#include "memory.h"
#include "scan_evidence.h"
#include "scan_folder.h"
#include "scan_journal.h"
#include "scan_notes.h"
#include "scan_pictures.h"
#include "scan_results.h"
#include "scan_run.h"
#include "scan_same.h"
#include "scan_source.h"
#include "scan_summary.h"
#include "scan_tables.h"
#include "verb.h"

struct scan_values {
    struct setup_values setup;
    struct option_text out;
    struct option_number sample_rate_hz;
    struct option_count jobs;
    bool resume;
    struct scan_picture_values pictures;
};

static const struct option options[] = {
    {.name = "out",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "DIR",
     .offset = offsetof(struct scan_values, out),
     .help = "folder for the results, which is made; what is found on the way is kept in "
             "DIR.partial until all is done"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = setup_options,
     .offset = offsetof(struct scan_values, setup)},
    {.name = "sample-rate",
     .kind = OPTION_NUMBER,
     .argument = "HZ",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct scan_values, sample_rate_hz),
     .help = "sample rate of all traces, whatever they say"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = scan_picture_options,
     .offset = offsetof(struct scan_values, pictures)},
    {.name = "jobs",
     .letter = 'j',
     .kind = OPTION_COUNT,
     .argument = "N",
     .range = OPTION_BETWEEN,
     .least = 1,
     .most = 256,
     .offset = offsetof(struct scan_values, jobs),
     .help = "traces judged at a time; without it as many as there are processors. The "
             "results do not depend on it"},
    {.name = "resume",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct scan_values, resume),
     .help = "go on with the unfinished scan in DIR.partial"},
    {.name = NULL},
};

/* All that a scan holds open. */
struct scan {
    const struct scan_values *values;
    struct messages *messages;
    struct scan_source source;
    struct setup setup;
    struct scan_folder folder;
    struct scan_head head;
    char *given; /* options, as text */
    struct scan_run run;
    struct scan_journal *journal;
    struct scan_results results;
    char **evidence;
    struct scan_pictures pictures;
    char readings_digest[PLYECHO_DIGEST_ROOM], indications_digest[PLYECHO_DIGEST_ROOM];
};

static bool said(struct scan *s, const char *name, const struct plyecho_error *err)
{
    message_error(s->messages, name, err);
    return false;
}

/* ---- what is scanned, and how ---- */

static bool digest_pulse(struct scan *s)
{
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    char *path = setup_pulse_path(&s->setup, s->values->setup.procedure.value);
    bool good = path == NULL || file_read(path, &bytes, &err) == PLYECHO_OK;
    if (path != NULL && good)
        plyecho_digest(bytes.data, bytes.size, s->head.pulse);
    if (!good)
        message_error(s->messages, path, &err);
    free(bytes.data);
    free(path);
    return good;
}

/* The options that results depend on, for the journal's head and the summary. */
static void take_given(struct scan *s)
{
    struct scan_values own = *s->values;
    own.out.set = false;
    own.jobs.set = false;
    own.resume = false;
    own.setup.procedure.set = false; /* told by its digest */
    own.setup.pulse.set = false;
    own.pictures = (struct scan_picture_values){.row.set = false};
    s->given = options_given(options, &own);
}

static bool make_head(struct scan *s)
{
    snprintf(s->head.program, sizeof s->head.program, "%s", PACKAGE_VERSION);
    memcpy(s->head.manifest, s->source.digest, sizeof s->head.manifest);
    memcpy(s->head.procedure, s->setup.procedure.digest, sizeof s->head.procedure);
    take_given(s);
    plyecho_digest(s->given, strlen(s->given), s->head.options);
    s->head.shots = s->source.manifest.count;
    return digest_pulse(s);
}

/* One that goes on is of the day on which it began, so that its results are the same. */
static void take_day(struct scan *s)
{
    if (!s->values->resume || !scan_journal_day(s->folder.partial, s->head.day))
        setup_today(s->head.day);
}

static size_t processors(void)
{
    long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count > 0 && count <= 256 ? (size_t)count : 1;
}

static bool prepare(struct scan *s, const struct invocation *invocation)
{
    const struct scan_values *v = s->values;
    struct setup_values as_given = v->setup;
    struct plyecho_error err;
    if (!v->out.set) {
        message_trouble(s->messages, NULL, "no folder for the results; give --out DIR");
        return false;
    }
    if (scan_folder_open(&s->folder, v->out.value, &err) != PLYECHO_OK)
        return said(s, v->out.value, &err);
    take_day(s);
    as_given.day = s->head.day;
    if (!scan_source_open(&s->source, invocation, v->sample_rate_hz.value) ||
        !setup_open(&s->setup, &as_given, true, v->sample_rate_hz.value, s->messages) ||
        !make_head(s))
        return false;
    scan_notes_before(&s->setup, &s->source.manifest, v->setup.procedure.value, s->messages);
    s->run = (struct scan_run){
        .manifest = &s->source.manifest,
        .beside = s->source.beside,
        .setup = &v->setup,
        .procedure_digest = s->setup.procedure.digest,
        .sample_rate_hz = v->sample_rate_hz.value,
        .velocity_m_s = s->setup.assess.wall.velocity_m_s,
        .jobs = v->jobs.set ? (size_t)v->jobs.value : processors(),
        .progress = isatty(STDERR_FILENO) && !s->messages->quiet,
    };
    return true;
}

/* ---- judging and writing ---- */

static bool judge(struct scan *s)
{
    struct plyecho_error err;
    if (scan_journal_open(&s->journal, s->folder.partial, &s->head, s->values->resume, &err) !=
        PLYECHO_OK)
        return said(s, s->folder.name, &err);
    if (scan_journal_held(s->journal) > 0)
        message_note(s->messages, s->folder.partial, "goes on behind %zu of %zu traces",
                     scan_journal_held(s->journal), s->head.shots);
    if (!scan_run(&s->run, s->journal, &err))
        return said(s, s->folder.partial, &err);
    scan_notes_after(s->journal, &s->source.manifest, s->source.name, s->messages);
    if (scan_results_take(&s->results, &s->source.manifest, &s->setup, s->journal, &err) !=
        PLYECHO_OK)
        return said(s, s->source.name, &err);
    scan_same_tell_copies(&s->results.copies, &s->source.manifest, s->source.name, s->messages);
    s->evidence = scan_evidence_take(&s->results);
    return true;
}

typedef void writer(const struct scan *scan, FILE *out);

static void write_readings(const struct scan *s, FILE *out)
{
    scan_readings_write(&s->results, out);
}

static void write_indications(const struct scan *s, FILE *out)
{
    scan_indications_write(&s->results, out);
}

static struct scan_about about(const struct scan *s)
{
    return (struct scan_about){
        .manifest_name = s->source.name,
        .procedure_name = s->values->setup.procedure.value,
        .head = &s->head,
        .options = s->given,
        .doubts = s->setup.doubts,
        .judged_on = s->setup.judged_on[0] != '\0' ? s->setup.judged_on : NULL,
        .evidence = s->evidence,
        .pictures = &s->pictures,
        .readings_digest = s->readings_digest,
        .indications_digest = s->indications_digest,
    };
}

static void write_summary(const struct scan *s, FILE *out)
{
    struct scan_about a = about(s);
    scan_summary_write(&s->results, &a, out);
}

/* digest: of what was written, NULL: not wanted. */
static bool write_file(struct scan *s, const char *name, writer *write, char *digest)
{
    char *text = NULL;
    size_t size = 0;
    struct plyecho_error err;
    FILE *out = memory_stream(&text, &size);
    write(s, out);
    memory_stream_end(out);
    if (digest != NULL)
        plyecho_digest(text, size, digest);
    bool good = scan_folder_write(&s->folder, name, text, size, &err) == PLYECHO_OK;
    free(text);
    return good || said(s, name, &err);
}

static bool write_all(struct scan *s)
{
    struct plyecho_error err;
    if (scan_folder_begin(&s->folder, &err) != PLYECHO_OK)
        return said(s, s->folder.results, &err);
    if (!write_file(s, "readings.csv", write_readings, s->readings_digest) ||
        !write_file(s, "indications.csv", write_indications, s->indications_digest) ||
        !scan_pictures_write(&s->results, &s->run, &s->setup, &s->values->pictures, &s->folder,
                             s->messages, &s->pictures) ||
        !write_file(s, "summary.json", write_summary, NULL))
        return false;
    if (scan_folder_finish(&s->folder, &err) != PLYECHO_OK)
        return said(s, s->folder.name, &err);
    scan_journal_close(s->journal, true);
    s->journal = NULL;
    return true;
}

static void print_written(const struct scan *s)
{
    printf("Written to %s: readings.csv, indications.csv, summary.json", s->folder.name);
    for (size_t k = 0; k < s->pictures.count; k++)
        printf(", %s", s->pictures.name[k]);
    puts("");
}

static enum status run(const struct invocation *invocation)
{
    struct scan s = {.values = invocation->values, .messages = invocation->messages};
    bool flagged = false;
    if (prepare(&s, invocation) && judge(&s) && write_all(&s)) {
        struct scan_about a = about(&s);
        scan_summary_print(&s.results, &a, stdout);
        print_written(&s);
        flagged = scan_results_flagged(&s.results);
    }
    scan_evidence_free(s.evidence, s.results.indications);
    scan_results_clear(&s.results);
    scan_journal_close(s.journal, false);
    scan_folder_close(&s.folder);
    setup_close(&s.setup);
    scan_source_close(&s.source);
    free(s.given);
    return verb_status(s.messages, flagged);
}

const struct verb verb_scan = {
    .name = "scan",
    .group = VERB_MEASURE,
    .help = "judge a whole part place by place; map, size and accept it",
    .operands = "MANIFEST | FILE...",
    .description =
        "Takes a manifest, a CSV file with a row a trace: file, channel (from 1), and where it was "
        "taken: angle_deg and axial_mm on a tube, x_mm and y_mm on a plate; or trace files whose "
        "channels carry these as labels. Rows of one place are shots of it: the best coupled one "
        "counts, their spread is uncertainty. Every place is judged as assess does; then its "
        "neighbours give a second verdict beside that: whether a low reading is a thin wall or "
        "the shadow of a delamination, what is an edge, what is the laminate's own.\n"
        "Into DIR, all at once or not at all, come readings.csv (a row a place), indications.csv (a "
        "row an indication with its extent by the 6 dB drop), summary.json (counts, coverage, "
        "wall, the part's verdict with each limit and its reading), and pictures: thickness and "
        "level maps, a B-scan, a histogram. Exit status 0: nothing flagged, 1: something flagged, 2: "
        "trouble.\n"
        "A scan is a reading, not a clearance. It sees nothing between its places that the "
        "beam does not reach, no cracks through the thickness, no broken fibres, nothing under "
        "metal, and it does not prove a bond. Acceptance belongs to the part's maker, the "
        "governing code and qualified personnel.",
    .example = "plyecho scan tube3.csv --procedure tube3.ini --out tube3",
    .options = options,
    .values_size = sizeof(struct scan_values),
    .run = run,
};
