#include <config.h>

#include "steps.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/tracefile.h>

#include "file.h"
#include "memory.h"
#include "procedure_file.h"

/* With velocities further apart than this either way, the stated thickness says too little of where to
 * look. */
static const double widest_slack = 0.4;

/* What reading the steps carries along. */
struct job {
    struct steps *steps;
    struct setup *setup;
    struct messages *messages;
    const char *table; /* its name, for what is said */
    double sample_rate_hz;
    double slack; /* of the stated thickness, for the velocities that are possible */
    bool untimed; /* a step could not be timed in this mode, which is not said yet: */
    size_t untimed_step;
    enum plyecho_reason untimed_reason;
    struct file_bytes bytes;
    char *digests; /* lines as sha256sum prints them */
    size_t digests_size;
};

static bool say(const struct job *job, size_t i, const char *text)
{
    const struct plyecho_step_row *row = &job->steps->rows.row[i];
    message_trouble(job->messages, job->table, "line %ld: %s: %s", row->line, row->file, text);
    return false;
}

static void add_digest(struct job *job, const char *name)
{
    char digest[PLYECHO_DIGEST_ROOM];
    plyecho_digest(job->bytes.data, job->bytes.size, digest);
    size_t more = strlen(digest) + 2 + strlen(name) + 1;
    job->digests = memory_resize(job->digests, job->digests_size + more + 1, 1);
    snprintf(job->digests + job->digests_size, more + 1, "%s  %s\n", digest, name);
    job->digests_size += more;
}

/* Off the nominal is no fault here: velocity and zero are not known yet. */
static enum plyecho_reason reason_of(const struct plyecho_thickness *t)
{
    bool sound = t->reason == PLYECHO_REASON_NO_ZERO || t->reason == PLYECHO_REASON_OFF_NOMINAL;
    return sound ? PLYECHO_REASON_NONE : t->reason;
}

/* One mode for all steps, and one that a line can be fitted in. */
static enum plyecho_mode choose_mode(const struct plyecho_picks *picks,
                                     const struct plyecho_thickness *first)
{
    if (first->mode != 0 && reason_of(first) == PLYECHO_REASON_NONE)
        return first->mode;
    return picks->contact ? PLYECHO_MODE_1 : PLYECHO_MODE_2;
}

/* The stated thickness at the velocities that are possible says where to look first. */
static void measure(struct job *job, size_t i, const struct plyecho_trace *trace,
                    const struct plyecho_conditioned *conditioned, struct plyecho_picks *picks,
                    struct plyecho_thickness *out)
{
    struct plyecho_wall_options wall = job->setup->assess.wall;
    wall.nominal_m =
        (struct plyecho_known){job->slack < widest_slack, job->steps->rows.row[i].thickness_m};
    wall.tolerance_m = job->slack * wall.nominal_m.value;
    wall.mode = job->steps->mode;
    plyecho_wall_pick(conditioned, &wall, picks);
    /* by the echo's peak as it stands: what dispersion does to that is one factor for all steps, and
     * the zero is part of the reading */
    const struct plyecho_known none = {false, 0.0}, no_loss = {true, 0.0};
    wall.zero_s = none;
    wall.zero_u_s = none;
    if (job->steps->mode == PLYECHO_MODE_AUTO) {
        plyecho_wall_measure(conditioned, trace, &wall, picks, out);
        job->steps->mode = choose_mode(picks, out);
    }
    wall.mode = job->steps->mode;
    if (wall.mode == PLYECHO_MODE_1)
        wall.attenuation = no_loss;
    plyecho_wall_measure(conditioned, trace, &wall, picks, out);
}

/* Of a multiple and the echo that it repeats the later one is the weaker; noise may make up as much. */
static const double least_earlier = 0.8;

static struct timed_step take_echoes(const struct plyecho_conditioned *conditioned,
                                     const struct plyecho_picks *p,
                                     const struct plyecho_thickness *t)
{
    struct timed_step timed = {
        .reason = t->reason,
        .front_s = p->front >= 0 ? p->echoes[p->front].time_s : 0.0,
        .back_s = p->back >= 0 ? p->echoes[p->back].time_s : 0.0,
        .centre_hz = conditioned->centre_hz,
        .pulse_s = p->pulse_s,
    };
    bool between_backs = t->mode == PLYECHO_MODE_3;
    double from = between_backs               ? timed.back_s
                  : t->mode == PLYECHO_MODE_2 ? timed.front_s
                                              : 0.0;
    int last = between_backs ? p->second : p->back;
    for (int k = 0; k < last; k++)
        if (p->echoes[k].time_s > from &&
            p->echoes[k].amplitude > least_earlier * p->echoes[last].amplitude)
            timed.earlier_s[timed.earlier++] = p->echoes[k].time_s - from;
    return timed;
}

int steps_passages(const struct timed_step *timed, double time_s, double zero_s)
{
    enum { MOST_PASSAGES = 5 };
    int passages = 1;
    for (int n = 2; n <= MOST_PASSAGES; n++) {
        double one = (time_s - zero_s) / n;
        if (one < timed->pulse_s) /* the interface echo itself still rings */
            break;
        for (int k = 0; k < timed->earlier; k++)
            if (fabs(timed->earlier_s[k] - zero_s - one) < 0.25 * timed->pulse_s)
                passages = n;
    }
    return passages;
}

static bool time_step(struct job *job, size_t i, const struct plyecho_trace *trace)
{
    struct steps *s = job->steps;
    struct plyecho_conditioned conditioned;
    struct plyecho_picks picks;
    struct plyecho_thickness t;
    struct plyecho_error err;
    if (s->sample_rate_hz == 0.0)
        s->sample_rate_hz = trace->sample_rate_hz;
    if (trace->sample_rate_hz != s->sample_rate_hz) {
        plyecho_fail(
            &err, PLYECHO_UNSUITABLE,
            "sample rate %g MHz, the steps before it %g MHz; record all steps with one "
            "setting, or correct the rate (label sample_rate_hz)",
            trace->sample_rate_hz * 1e-6, s->sample_rate_hz * 1e-6);
        return say(job, i, err.text);
    }
    if (setup_condition(job->setup, trace, &conditioned, &err) != PLYECHO_OK)
        return say(job, i, err.text);
    measure(job, i, trace, &conditioned, &picks, &t);
    t.reason = reason_of(&t);
    if ((t.reason != PLYECHO_REASON_NONE && t.reason != PLYECHO_REASON_CYCLE) ||
        !(t.time_s > 0.0)) {
        job->untimed = true;
        job->untimed_step = i;
        job->untimed_reason = t.reason;
        return false;
    }
    s->step[i] = (struct plyecho_step){
        .thickness_m = s->rows.row[i].thickness_m,
        .thickness_u_m = s->rows.row[i].thickness_u_m,
        .time_s = t.time_s,
        .time_u_s = t.time_u_s,
    };
    s->timed[i] = take_echoes(&conditioned, &picks, &t);
    return true;
}

static bool choose_channel(const struct job *job, size_t i, const struct plyecho_traces *traces,
                           size_t *channel)
{
    struct plyecho_error err;
    *channel = job->steps->rows.row[i].channel;
    if (*channel == 0 && traces->channels == 1)
        *channel = 1;
    if (*channel >= 1 && *channel <= traces->channels)
        return true;
    plyecho_fail(&err, PLYECHO_UNSUITABLE,
                 "it has %zu channel%s; write in the column channel which one is the step's",
                 traces->channels, traces->channels == 1 ? "" : "s");
    return say(job, i, err.text);
}

static bool read_step(struct job *job, size_t i)
{
    struct plyecho_error err;
    struct plyecho_traces traces = {0};
    size_t channel;
    struct plyecho_read_options read = {
        .sample_rate_hz = job->sample_rate_hz,
        .velocity_m_s = job->setup->assess.wall.velocity_m_s,
    };
    char *path = procedure_file_beside(job->table, job->steps->rows.row[i].file);
    enum plyecho_code code = file_read(path, &job->bytes, &err);
    if (code == PLYECHO_OK)
        code = plyecho_tracefile_read(job->bytes.data, job->bytes.size, &read, &traces, &err);
    bool good = code == PLYECHO_OK || say(job, i, err.text);
    if (good && choose_channel(job, i, &traces, &channel)) {
        struct plyecho_trace trace = plyecho_traces_channel(&traces, channel);
        add_digest(job, job->steps->rows.row[i].file);
        good = time_step(job, i, &trace);
    } else {
        good = false;
    }
    plyecho_traces_clear(&traces);
    free(path);
    return good;
}

static bool read_table(struct job *job)
{
    struct plyecho_error err;
    enum plyecho_code code = file_read(job->table, &job->bytes, &err);
    if (code == PLYECHO_OK)
        code =
            plyecho_step_rows_read(&job->steps->rows, job->bytes.data, job->bytes.size, &err);
    if (code != PLYECHO_OK)
        message_error(job->messages, job->table, &err);
    return code == PLYECHO_OK;
}

/* All steps in the mode that is set; auto is what suits the first. */
static bool read_steps(struct job *job, enum plyecho_mode mode)
{
    struct steps *s = job->steps;
    s->mode = mode;
    s->count = 0;
    job->digests_size = 0;
    job->untimed = false;
    while (s->count < s->rows.count && read_step(job, s->count))
        s->count++;
    return s->count == s->rows.count;
}

static bool say_untimed(const struct job *job, const struct steps *steps, const char *modes)
{
    const struct plyecho_step_row *row = &steps->rows.row[job->untimed_step];
    message_trouble(
        job->messages, job->table,
        "line %ld: %s: not timed in mode %d (%s)%s; look at it with plyecho plot, record "
        "it again or choose another --mode",
        row->line, row->file, (int)steps->mode, plyecho_reason_word(job->untimed_reason),
        modes);
    return false;
}

/* Where the mode that suits the first step does not suit all, another may. */
static bool read_in_one_mode(struct job *job)
{
    static const enum plyecho_mode others[] = {PLYECHO_MODE_2, PLYECHO_MODE_3, PLYECHO_MODE_1};
    enum plyecho_mode asked = job->steps->mode;
    if (read_steps(job, asked))
        return true;
    if (!job->untimed)
        return false;
    if (asked != PLYECHO_MODE_AUTO)
        return say_untimed(job, job->steps, "");
    enum plyecho_mode first = job->steps->mode;
    struct job as_first = *job;
    for (size_t k = 0; k < sizeof others / sizeof others[0]; k++) {
        if (others[k] == first)
            continue;
        if (read_steps(job, others[k]))
            return true;
        if (!job->untimed)
            return false;
    }
    job->steps->mode = first;
    return say_untimed(&as_first, job->steps, ", and no other mode suits all steps");
}

bool steps_read(struct steps *steps, const char *path, struct setup *setup,
                const struct steps_expected *expected, struct messages *messages)
{
    struct job job = {
        .steps = steps,
        .setup = setup,
        .messages = messages,
        .table = path,
        .sample_rate_hz = expected->sample_rate_hz,
        .slack = (expected->most_velocity_m_s - expected->least_velocity_m_s) /
                 (expected->most_velocity_m_s + expected->least_velocity_m_s),
    };
    memset(steps, 0, sizeof *steps);
    steps->mode = setup->assess.wall.mode;
    setup->assess.wall.velocity_m_s =
        0.5 * (expected->least_velocity_m_s + expected->most_velocity_m_s);
    bool good = read_table(&job) && read_in_one_mode(&job);
    if (good)
        plyecho_digest(job.digests, job.digests_size, steps->digest);
    free(job.digests);
    free(job.bytes.data);
    return good;
}

void steps_clear(struct steps *steps)
{
    plyecho_step_rows_clear(&steps->rows);
}
