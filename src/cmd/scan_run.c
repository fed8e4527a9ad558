#include <config.h>

#include "scan_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/digest.h>
#include <plyecho/tracefile.h>

#include "file.h"
#include "memory.h"
#include "procedure_file.h"
#include "scan_axes.h"
#include "scan_progress.h"

/* Shots that one worker takes at a time, all of one file. */
enum { MOST_AT_ONCE = 32 };

/* Places that agree to a thousandth of a degree, of a mm, are the same. */
static const double same = 1e-3;

/* What a worker has of its own. */
struct worker {
    const struct scan_run *run;
    struct setup setup;
    struct messages unheard; /* what the set-up says was said once already */
    struct scan_file file;
};

/* Stretches of the manifest that workers take: of one file each. */
struct stretches {
    size_t *from; /* count + 1 of them */
    size_t count;
};

static struct stretches split(const struct plyecho_manifest *m)
{
    struct stretches s = {memory_take(m->count + 1, sizeof *s.from), 0};
    for (size_t i = 0; i < m->count; i++)
        if (i == 0 || strcmp(m->shot[i].file, m->shot[i - 1].file) != 0 ||
            i - s.from[s.count - 1] >= MOST_AT_ONCE)
            s.from[s.count++] = i;
    s.from[s.count] = m->count;
    return s;
}

/* ---- files ---- */

void scan_file_clear(struct scan_file *file)
{
    plyecho_traces_clear(&file->traces);
    free(file->name);
    *file = (struct scan_file){.name = NULL};
}

void scan_file_read(const struct scan_run *run, const char *name, struct scan_file *file)
{
    if (file->name != NULL && strcmp(file->name, name) == 0)
        return;
    scan_file_clear(file);
    file->name = memory_text(name);
    const struct plyecho_read_options options = {.sample_rate_hz = run->sample_rate_hz,
                                                 .velocity_m_s = run->velocity_m_s};
    struct file_bytes bytes = {0};
    char *path = procedure_file_beside(run->beside, name);
    enum plyecho_code code = file_read(path, &bytes, &file->trouble);
    if (code == PLYECHO_OK) {
        plyecho_digest(bytes.data, bytes.size, file->digest);
        code = plyecho_tracefile_read(bytes.data, bytes.size, &options, &file->traces,
                                      &file->trouble);
    }
    if (code == PLYECHO_OK)
        file->trouble = (struct plyecho_error){.code = PLYECHO_OK};
    free(path);
    free(bytes.data);
}

/* Does the file itself tell another place? */
static bool is_elsewhere(const struct plyecho_labels *labels, const struct scan_axis *axis,
                         size_t channel, double coordinate)
{
    struct plyecho_known told = {0};
    if (plyecho_labels_known(labels, axis->name, channel, &told, NULL) != PLYECHO_OK ||
        !told.known)
        return false;
    return fabs(told.value - coordinate / axis->unit) > same;
}

static bool tells_elsewhere(const struct scan_run *run, const struct scan_file *file,
                            const struct plyecho_shot *shot)
{
    const struct plyecho_labels *labels = &file->traces.labels;
    const struct scan_axes *axes = scan_axes_of(run->manifest->tube);
    const struct plyecho_place *p = &shot->place;
    double turn = run->manifest->tube ? 360.0 : 0.0; /* -10 and 350 degrees are the same */
    return (is_elsewhere(labels, &axes->across, shot->channel, p->across) &&
            is_elsewhere(labels, &axes->across, shot->channel, p->across - turn) &&
            is_elsewhere(labels, &axes->across, shot->channel, p->across + turn)) ||
           is_elsewhere(labels, &axes->along, shot->channel, p->along);
}

enum plyecho_code scan_file_trace(const struct scan_run *run, struct scan_file *file,
                                  const struct plyecho_shot *shot, struct plyecho_trace *trace,
                                  struct plyecho_error *err)
{
    struct plyecho_labels *labels = &file->traces.labels;
    enum plyecho_code code = PLYECHO_OK;
    if (file->trouble.code != PLYECHO_OK) {
        *err = file->trouble;
        return err->code;
    }
    if (shot->channel > file->traces.channels)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "no channel %zu: it has %zu; mend the manifest", shot->channel,
                            file->traces.channels);
    const struct scan_axes *axes = scan_axes_of(run->manifest->tube);
    code = plyecho_labels_set_number(labels, axes->across.name, shot->channel,
                                     shot->place.across / axes->across.unit, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_set_number(labels, axes->along.name, shot->channel,
                                         shot->place.along / axes->along.unit, err);
    if (code == PLYECHO_OK)
        *trace = plyecho_traces_channel(&file->traces, shot->channel);
    return code;
}

/* ---- one shot ---- */

static enum plyecho_code judge(struct worker *w, const struct plyecho_shot *shot,
                               struct scan_shot *out)
{
    struct plyecho_trace trace;
    struct plyecho_conditioned conditioned;
    out->labelled_elsewhere =
        w->file.trouble.code == PLYECHO_OK && tells_elsewhere(w->run, &w->file, shot);
    enum plyecho_code code = scan_file_trace(w->run, &w->file, shot, &trace, &out->trouble);
    if (code != PLYECHO_OK)
        return code;
    out->sample_rate_hz = trace.sample_rate_hz;
    setup_begin_file(&w->setup); /* what is found must not depend on the shot before */
    code = setup_condition(&w->setup, &trace, &conditioned, &out->trouble);
    memcpy(out->note, w->setup.place.note, sizeof out->note);
    if (code != PLYECHO_OK && code != PLYECHO_UNSUITABLE)
        return code;
    if (code == PLYECHO_OK)
        plyecho_assess(&conditioned, &trace, &w->setup.assess, &out->assessment);
    else
        out->assessment = plyecho_assessment_of_silence();
    out->tolerance_m = w->setup.assess.wall.tolerance_m;
    return PLYECHO_OK;
}

static void judge_shot(struct worker *w, const struct plyecho_shot *shot, struct scan_shot *out)
{
    memset(out, 0, sizeof *out);
    memcpy(out->digest, w->file.digest, sizeof out->digest);
    out->judged = judge(w, shot, out) == PLYECHO_OK;
    if (out->judged)
        memset(&out->trouble, 0, sizeof out->trouble);
}

/* ---- several at once ---- */

/* What workers share; changed by one at a time. */
struct shared {
    struct scan_journal *journal;
    struct scan_progress progress;
    struct plyecho_error err; /* of the journal; code PLYECHO_OK: none */
};

static bool worker_open(struct worker *w, const struct scan_run *run)
{
    *w = (struct worker){.run = run, .unheard = {.quiet = true}};
    w->unheard.to = fopen("/dev/null", "we");
    return w->unheard.to != NULL &&
           setup_open(&w->setup, run->setup, true, run->sample_rate_hz, &w->unheard) &&
           strcmp(w->setup.procedure.digest, run->procedure_digest) == 0;
}

static void worker_close(struct worker *w)
{
    setup_close(&w->setup);
    scan_file_clear(&w->file);
    if (w->unheard.to != NULL)
        fclose(w->unheard.to);
}

/* Is the shot there already, from the same bytes? */
static bool is_held(const struct worker *w, struct shared *shared, size_t index)
{
    struct scan_shot held;
    bool there;
#pragma omp critical(journal)
    there = scan_journal_get(shared->journal, index, &held);
    return there && held.judged && strcmp(held.digest, w->file.digest) == 0;
}

static void keep(struct shared *shared, size_t index, const struct scan_shot *shot)
{
#pragma omp critical(journal)
    {
        if (shared->err.code == PLYECHO_OK)
            scan_journal_put(shared->journal, index, shot, &shared->err);
        scan_progress_step(&shared->progress);
    }
}

static bool is_broken(struct shared *shared)
{
    bool broken;
#pragma omp critical(journal)
    broken = shared->err.code != PLYECHO_OK;
    return broken;
}

static void take_stretch(struct worker *w, struct shared *shared, size_t from, size_t to)
{
    const struct plyecho_manifest *m = w->run->manifest;
    bool some_held = scan_journal_held(shared->journal) > 0;
    struct scan_shot *shot = memory_take(1, sizeof *shot);
    scan_file_read(w->run, m->shot[from].file, &w->file);
    for (size_t i = from; i < to && !is_broken(shared); i++) {
        if (some_held && is_held(w, shared, i)) {
#pragma omp critical(journal)
            scan_progress_step(&shared->progress);
            continue;
        }
        judge_shot(w, &m->shot[i], shot);
        keep(shared, i, shot);
    }
    free(shot);
}

static void say_unopened(struct shared *shared)
{
#pragma omp critical(journal)
    plyecho_fail(
        &shared->err, PLYECHO_IO,
        "procedure or pulse cannot be read again as they were: keep both as files, unchanged "
        "while a scan runs");
}

bool scan_run(const struct scan_run *run, struct scan_journal *journal,
              struct plyecho_error *err)
{
    struct shared shared = {.journal = journal, .err.code = PLYECHO_OK};
    struct stretches s = split(run->manifest);
    scan_progress_begin(&shared.progress, run->manifest->count, run->progress);
#pragma omp parallel num_threads((int)run->jobs)
    {
        struct worker w;
        if (!worker_open(&w, run))
            say_unopened(&shared);
#pragma omp for schedule(dynamic, 1)
        for (size_t k = 0; k < s.count; k++)
            if (!is_broken(&shared))
                take_stretch(&w, &shared, s.from[k], s.from[k + 1]);
        worker_close(&w);
    }
    scan_progress_end(&shared.progress);
    free(s.from);
    *err = shared.err;
    return shared.err.code == PLYECHO_OK;
}
