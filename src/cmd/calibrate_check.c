/* A set-up against its kept reference trace, with a log of all checks. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/drift.h>
#include <plyecho/procedure_keys.h>

#include "calibrate.h"
#include "csv_log.h"
#include "file.h"
#include "memory.h"
#include "procedure_file.h"

static const struct column columns[] = {
    {.name = "date", .kind = COLUMN_TEXT, .width = 20},
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "velocity_change_percent", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "velocity_change_u_percent", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "zero_change_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 3},
    {.name = "sensitivity_change_db", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "shape_change", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "beyond", .kind = COLUMN_TEXT, .width = 12},
    {.name = "trace_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "reference_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "setup_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

/* Where the procedure states none: common practice, no source. */
static const double usual_velocity_limit = 0.005, usual_zero_limit_s = 0.02e-6;
static const double usual_sensitivity_limit_db = 2.0, usual_shape_limit = 0.05;

enum { BEYOND_ROOM = 64 };

struct check {
    bool read;  /* there is a new trace */
    bool timed; /* and it was compared: otherwise nothing is known of the set-up */
    struct plyecho_drift drift;
    char date[CALIBRATION_DATE_ROOM];
    char beyond[BEYOND_ROOM]; /* what is beyond its limit */
    char now[PLYECHO_DIGEST_ROOM], reference[PLYECHO_DIGEST_ROOM];
    char setup[PLYECHO_DIGEST_ROOM]; /* what the set-up is, whatever the part */
};

/* A trace of the block, and whose. */
struct block {
    struct plyecho_block block;
    char digest[PLYECHO_DIGEST_ROOM];
    bool read;
};

static bool take_block(struct setup *setup, const char *path, double sample_rate_hz,
                       struct block *block, struct messages *messages)
{
    struct plyecho_read_options read = {.sample_rate_hz = sample_rate_hz};
    struct plyecho_traces traces = {0};
    struct plyecho_conditioned conditioned;
    struct plyecho_error err;
    struct file_bytes bytes = {0};
    enum plyecho_code code = file_read(path, &bytes, &err);
    if (code == PLYECHO_OK)
        code = plyecho_tracefile_read(bytes.data, bytes.size, &read, &traces, &err);
    if (code == PLYECHO_OK && traces.channels > 1)
        code = plyecho_fail(&err, PLYECHO_UNSUITABLE,
                            "%zu channels; a check is one trace of the reference block",
                            traces.channels);
    if (code == PLYECHO_OK) {
        struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
        plyecho_digest(bytes.data, bytes.size, block->digest);
        block->read = true;
        code = setup_condition(setup, &trace, &conditioned, &err);
        if (code == PLYECHO_OK)
            code = plyecho_block_take(&conditioned, &trace, &setup->assess.wall, &block->block,
                                      &err);
    }
    if (code != PLYECHO_OK)
        message_error(messages, path, &err);
    plyecho_traces_clear(&traces);
    free(bytes.data);
    return code == PLYECHO_OK;
}

static double limit(const struct plyecho_setting *stated, double usual)
{
    return stated->set ? stated->value : usual;
}

static void add_beyond(struct check *check, bool is_beyond, const char *what)
{
    if (!is_beyond)
        return;
    if (check->beyond[0] != '\0')
        strcat(check->beyond, " ");
    strcat(check->beyond, what);
}

static void judge(struct check *check, const struct plyecho_procedure *p)
{
    const struct plyecho_drift *d = &check->drift;
    const struct plyecho_setting *velocity = &p->calibration.check_velocity_limit;
    const struct plyecho_setting *zero = &p->calibration.check_zero_limit_s;
    const struct plyecho_setting *level = &p->calibration.check_sensitivity_limit_db;
    const struct plyecho_setting *shape = &p->calibration.check_shape_limit;
    add_beyond(check, !check->timed, "untimed");
    if (!check->timed)
        return;
    add_beyond(check,
               d->velocity.known &&
                   fabs(d->velocity.value) > limit(velocity, usual_velocity_limit),
               "velocity");
    add_beyond(check, fabs(d->zero_s) > limit(zero, usual_zero_limit_s), "zero");
    add_beyond(check, fabs(d->sensitivity_db) > limit(level, usual_sensitivity_limit_db),
               "sensitivity");
    add_beyond(check, d->shape > limit(shape, usual_shape_limit), "shape");
}

static void print_check(const struct table *table, const struct check *check, const char *trace,
                        const char *procedure_digest)
{
    const struct plyecho_drift *d = &check->drift;
    bool velocity = check->timed && d->velocity.known;
    const struct cell cells[COLUMNS] = {
        cell_text(check->date),
        cell_text(trace),
        cell_yes_no(check->beyond[0] != '\0'),
        velocity ? cell_number(d->velocity.value * 100.0) : cell_unknown(),
        velocity ? cell_number(d->velocity_u * 100.0) : cell_unknown(),
        check->timed ? cell_number(d->zero_s * 1e6) : cell_unknown(),
        check->timed ? cell_number(d->sensitivity_db) : cell_unknown(),
        check->timed ? cell_number(d->shape) : cell_unknown(),
        check->beyond[0] != '\0' ? cell_text(check->beyond) : cell_unknown(),
        cell_text(check->now),
        cell_text(check->reference),
        cell_text(check->setup),
        procedure_digest[0] != '\0' ? cell_text(procedure_digest) : cell_unknown(),
    };
    table_row(table, cells);
}

/* No change of temperature moves a block's velocity so far (common practice, no source). */
static const double most_by_temperature = 0.05;

/* In text, under the row: what may have happened to each quantity that is beyond its limit. */
static void print_cures(const struct check *check)
{
    const struct plyecho_drift *d = &check->drift;
    const struct {
        const char *what, *unit;
        double change;
        int places;
        const char *cure;
    } all[] = {
        {"velocity", "%", d->velocity.value * 100.0, 1,
         fabs(d->velocity.value) > most_by_temperature
             ? "another block, a wrong echo or another sample rate; look at both traces with "
               "plyecho plot"
             : "let the block reach the temperature of the reference and check again, else "
               "calibrate anew"},
        {"zero", "us", d->zero_s * 1e6, 3,
         "delay line worn or warm, couplant under it, or another trigger; couple again, else "
         "calibrate anew"},
        {"sensitivity", "dB", d->sensitivity_db, 1,
         "couple again; look at gain, cable and probe, then set the levels anew (--sound)"},
        {"shape", "of a correlation", d->shape, 3,
         "another probe, damping or filter; compare the pulses with plyecho probe --compare"},
    };
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        if (strstr(check->beyond, all[i].what) != NULL)
            printf("    %s %+.*f %s off: %s.\n", all[i].what, all[i].places, all[i].change,
                   all[i].unit, all[i].cure);
    if (check->beyond[0] != '\0')
        puts("    Readings since the last good check are in doubt: repeat them.");
}

/* NAME.ini has its log in NAME.checks.csv. */
static char *log_name(const char *procedure)
{
    static const char ending[] = ".checks.csv";
    size_t length = strlen(procedure);
    if (length > 4 && strcmp(procedure + length - 4, ".ini") == 0)
        length -= 4;
    char *name = memory_take(length + sizeof ending, 1);
    memcpy(name, procedure, length);
    strcpy(name + length, ending);
    return name;
}

/* Heading and row as the log has them; allocated, NULL without memory. */
static char *log_text(const struct check *check, const char *trace,
                      const char *procedure_digest, size_t *heading_size, size_t *size)
{
    static const struct table_values values = {.format = {.index = TABLE_CSV}};
    struct table table;
    char *text = NULL;
    FILE *to = open_memstream(&text, size);
    if (to == NULL)
        return NULL;
    table_begin(&table, &values, columns, COLUMNS, to);
    bool failed = fflush(to) != 0;
    *heading_size = *size;
    print_check(&table, check, trace, procedure_digest);
    failed |= ferror(to) != 0;
    failed |= fclose(to) != 0;
    if (!failed)
        return text;
    free(text);
    return NULL;
}

static enum plyecho_code extend_log(const char *name, const struct check *check,
                                    const char *trace, const char *procedure_digest,
                                    struct plyecho_error *err)
{
    size_t heading_size, size;
    char *text = log_text(check, trace, procedure_digest, &heading_size, &size);
    if (text == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory");
    enum plyecho_code code = csv_log_add(name, text, heading_size, size, err);
    free(text);
    return code;
}

static bool keep_log(const struct calibrate_values *v, const struct check *check,
                     const char *procedure_digest, struct messages *messages)
{
    struct plyecho_error err;
    if (!v->log.set && !v->procedure.set)
        return true;
    char *name = v->log.set ? memory_text(v->log.value) : log_name(v->procedure.value);
    enum plyecho_code code = extend_log(name, check, v->check.value, procedure_digest, &err);
    if (code != PLYECHO_OK)
        message_error(messages, name, &err);
    free(name);
    return code == PLYECHO_OK;
}

/* Named by an option or in the procedure; allocated. NULL: said. */
static char *reference_name(const struct calibrate_values *v, const struct setup *setup,
                            struct messages *messages)
{
    if (v->reference.set)
        return memory_text(v->reference.value);
    if (setup->procedure.calibration.reference.value != NULL)
        return procedure_file_beside(v->procedure.value,
                                     setup->procedure.calibration.reference.value);
    message_trouble(
        messages, v->procedure.value,
        "no reference trace to check against; give --reference FILE, or reference = "
        "FILE under [calibration]");
    return NULL;
}

/* False where there is nothing to compare, which was said. A new trace that was read but cannot be compared
 * leaves check->timed false. */
static bool compare(const struct calibrate_values *v, struct setup *setup,
                    const char *reference, struct check *check, struct messages *messages)
{
    struct block *blocks = memory_take(2, sizeof *blocks), *now = &blocks[1];
    struct plyecho_error err;
    double rate = v->sample_rate_hz.value;
    bool good = take_block(setup, reference, rate, &blocks[0], messages) &&
                take_block(setup, v->check.value, rate, now, messages);
    check->read = now->read;
    strcpy(check->reference, blocks[0].digest);
    strcpy(check->now, now->digest);
    if (now->read && strcmp(check->now, check->reference) == 0) {
        message_trouble(messages, v->check.value,
                        "is the reference trace itself: that tells nothing of the set-up; "
                        "record the block anew");
        check->read = good = false;
    }
    if (good && plyecho_drift_compare(&blocks[0].block, &now->block, &check->drift, &err) !=
                    PLYECHO_OK) {
        message_error(messages, v->check.value, &err);
        good = false;
    }
    check->timed = good;
    free(blocks);
    return check->read;
}

static enum status show(const struct calibrate_values *v, struct check *check,
                        const struct plyecho_procedure *procedure, const char *digest,
                        struct messages *messages)
{
    struct table table;
    judge(check, procedure);
    if (check->timed) {
        table_begin(&table, &v->table, columns, COLUMNS, stdout);
        print_check(&table, check, v->check.value, digest);
        if (table.format == TABLE_TEXT)
            print_cures(check);
    }
    keep_log(v, check, digest, messages);
    return verb_status(messages, check->beyond[0] != '\0');
}

enum status calibrate_check(const struct calibrate_values *v, struct setup *setup,
                            struct messages *messages)
{
    struct check check = {.date = ""};
    plyecho_procedure_setup_digest(&setup->procedure, check.setup);
    char *reference = reference_name(v, setup, messages);
    if (!(setup->assess.wall.velocity_m_s > 0.0))
        setup->assess.wall.velocity_m_s =
            0.5 * (v->velocity_range.low + v->velocity_range.high);
    setup->assess.wall.nominal_m.known = false; /* the block is not the part */
    setup->place.all.count = 0;
    bool good = reference != NULL && calibrate_date(v, check.date, messages) &&
                compare(v, setup, reference, &check, messages);
    free(reference);
    return good ? show(v, &check, &setup->procedure, setup->procedure.digest, messages)
                : STATUS_TROUBLE;
}
