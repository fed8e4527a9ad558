/* calibrate - velocity and zero offset from traces of steps of known thickness */
#include <config.h>

#include "calibrate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/media.h>
#include <plyecho/number.h>

#include "calibrate_levels.h"
#include "file.h"
#include "memory.h"
#include "procedure_file.h"
#include "verb.h"

static const char *const modes[] = {"auto", "1", "2", "3", NULL};
const char *const calibrate_anvils[] = {"ball", "pin", "flat", "none", NULL};

static const struct option options[] = {
    {.name = "steps",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, steps),
     .help =
         "table of the steps: file,channel,thickness_mm,thickness_u_mm; files are relative to "
         "its folder"},
    {.name = "into",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, into),
     .help =
         "procedure file that velocity, zero and where they come from go into (date, operator, "
         "anvil, digest of the traces ...); an earlier calibration's goes, comments and order "
         "stay; the file is made where there is none"},
    {.name = "plot",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, plot),
     .help = "draw steps, line and residuals into FILE.png, .svg or .pdf"},
    {.name = "mode",
     .kind = OPTION_WORD,
     .argument = "MODE",
     .words = modes,
     .has_preset = true,
     .preset = 0,
     .offset = offsetof(struct calibrate_values, mode),
     .help = "measuring mode after ISO 16809, of all steps; auto takes the one that suits the "
             "first step, or else one that suits all"},
    {.name = "zero",
     .kind = OPTION_TEXT,
     .argument = "US",
     .offset = offsetof(struct calibrate_values, zero),
     .help =
         "zero offset in microseconds, or free: then the steps tell it (default: free in mode "
         "1, 0 in modes 2 and 3, where thickness takes no zero off)"},
    {.name = "zero-u",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .range = OPTION_AT_LEAST,
     .offset = offsetof(struct calibrate_values, zero_u_us),
     .help = "standard uncertainty of a zero that is given; without it the zero is held"},
    {.name = "velocity-range",
     .kind = OPTION_BAND,
     .argument = "M/S:M/S",
     .range = OPTION_BETWEEN,
     .least = 100, /* m/s: outside, km/s or a slip */
     .most = 20000,
     .has_preset = true,
     .preset = 2200,
     .preset_high = 3600,
     .offset = offsetof(struct calibrate_values, velocity_range),
     .help =
         "velocities that the steps' material can have; where the procedure names a material, its "
         "own by the table (plyecho plan --media), else that of carbon and glass-fibre "
         "laminates across the plies"},
    {.name = "nominal",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_BETWEEN,
     .least = PLYECHO_WALL_LEAST_MM,
     .most = PLYECHO_WALL_MOST_MM,
     .offset = offsetof(struct calibrate_values, nominal_mm),
     .help = "wall to be measured; a warning says where the steps do not span it"},
    {.name = "attenuation",
     .kind = OPTION_NUMBER,
     .argument = "DB/MM/MHZ",
     .range = OPTION_AT_LEAST,
     .offset = offsetof(struct calibrate_values, attenuation_db_mm_mhz),
     .help = "attenuation of the steps, one way; it tells the dispersion"},
    {.name = "anvil",
     .kind = OPTION_WORD,
     .argument = "KIND",
     .words = calibrate_anvils,
     .offset = offsetof(struct calibrate_values, anvil),
     .help = "the micrometer's anvil; on a tube's wall a flat one reads some tenths of a "
             "millimetre too much"},
    {.name = "check",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, check),
     .help =
         "instead of steps: has the set-up changed since the reference trace was kept? FILE is "
         "a new trace of the same block"},
    {.name = "sound",
     .kind = OPTION_TEXTS,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, sound),
     .help =
         "instead of steps: set recording and evaluation level by traces of the part's sound "
         "wall"},
    {.name = "artificial",
     .kind = OPTION_TEXTS,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, artificial),
     .help = "with --sound: traces over artificial delaminations in it"},
    {.name = "reference",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, reference),
     .help = "kept reference trace (default: reference under [calibration])"},
    {.name = "log",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, log),
     .help =
         "CSV to which the check is added (default: beside the procedure, NAME.checks.csv)"},
    {.name = "date",
     .kind = OPTION_TEXT,
     .argument = "DATE",
     .offset = offsetof(struct calibrate_values, date),
     .help = "when it was done, as 2026-11-28T14:05 (default: now, in UTC)"},
    {.name = "operator",
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct calibrate_values, operator),
     .help = "who calibrated, for --into"},
    {.name = "instrument",
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct calibrate_values, instrument),
     .help = "pulser and receiver used, for --into"},
    {.name = "probe",
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct calibrate_values, probe),
     .help = "probe used, with its number, for --into"},
    {.name = "temperature",
     .kind = OPTION_NUMBER,
     .argument = "C",
     .range = OPTION_BETWEEN,
     .least = -60,
     .most = 200,
     .offset = offsetof(struct calibrate_values, temperature_c),
     .help = "temperature of the steps in degrees Celsius, for --into"},
    {.name = "procedure",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, procedure),
     .help = "procedure file with part, band, pulse and attenuation; options win over it"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = band_options,
     .offset = offsetof(struct calibrate_values, band)},
    {.name = "pulse",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct calibrate_values, pulse),
     .help = "trace with one clean echo of the same probe and settings"},
    {.name = "sample-rate",
     .kind = OPTION_NUMBER,
     .argument = "HZ",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct calibrate_values, sample_rate_hz),
     .help = "sample rate of all traces, whatever they say"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct calibrate_values, table)},
    {.name = NULL},
};

static const struct column columns[] = {
    {.name = "velocity_m_s", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 6},
    {.name = "velocity_u_m_s", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 3},
    {.name = "zero_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 6},
    {.name = "zero_u_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 3},
    {.name = "points", .kind = COLUMN_COUNT},
    {.name = "rms_um", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 3},
    {.name = "mode", .kind = COLUMN_COUNT},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "coverage_factor", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "correlation", .kind = COLUMN_NUMBER, .digits = 4, .where = COLUMN_NOT_IN_TEXT},
    {.name = "chi2", .kind = COLUMN_NUMBER, .digits = 4, .where = COLUMN_NOT_IN_TEXT},
    {.name = "freedom", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "p", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "from_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 5},
    {.name = "to_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 5},
    {.name = "centre_mhz", .kind = COLUMN_NUMBER, .digits = 4, .where = COLUMN_NOT_IN_TEXT},
    {.name = "anvil", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "steps_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "warnings", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "steps", .kind = COLUMN_JSON, .where = COLUMN_ONLY_IN_JSON},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

/* ---- the fit ---- */

/* Of a thickness verb's options those that time steps; nothing that a velocity is needed for. */
static struct setup_values setup_of(const struct calibrate_values *v)
{
    return (struct setup_values){
        .procedure = v->procedure,
        .mode = v->mode,
        .nominal_mm = v->nominal_mm,
        .attenuation_db_mm_mhz = v->attenuation_db_mm_mhz,
        .band = v->band,
        .pulse = v->pulse,
    };
}

static bool take_zero(const struct calibrate_values *v, struct calibrated *c,
                      struct messages *messages)
{
    struct plyecho_error err;
    double us = 0.0;
    bool given = v->zero.set && strcmp(v->zero.value, "free") != 0;
    if (given && plyecho_number_parse(v->zero.value, &us, &err) != PLYECHO_OK) {
        message_trouble(messages, NULL,
                        "--zero '%s': neither free nor a number of microseconds",
                        v->zero.value);
        return false;
    }
    c->zero.time_s.known = given || (!v->zero.set && c->steps.mode != PLYECHO_MODE_1);
    c->zero.time_s.value = us * 1e-6;
    c->zero.u_s = given && v->zero_u_us.set ? v->zero_u_us.value * 1e-6 : 0.0;
    if (c->zero.time_s.known || c->steps.count > 1)
        return true;
    message_trouble(
        messages, v->steps.value,
        "one step cannot tell velocity and zero; add a step of another thickness, or "
        "give --zero");
    return false;
}

/* An echo's peak comes earlier than its phase by loss / pi^2, which grows with the way: velocities by
 * peaks (mode 1) are too high by that share (Kramers-Kronig; docs/method.md). The rest is as sure as
 * the attenuation. */
static void take_dispersion_off(struct calibrated *c, const struct plyecho_known *attenuation)
{
    static const double usual_loss = 1.15e-5; /* 0.1 dB/mm/MHz */
    const double pi2 = 9.869604401089358;
    if (c->steps.mode != PLYECHO_MODE_1)
        return;
    double per_m = attenuation->known ? attenuation->value : usual_loss;
    double share = per_m * c->line.velocity_m_s / pi2;
    double share_u = (attenuation->known ? 0.2 : 1.0) * share;
    double of_line = c->line.velocity_u_m_s;
    c->line.velocity_u_m_s = hypot(of_line, share_u * c->line.velocity_m_s);
    c->line.correlation *= of_line / c->line.velocity_u_m_s;
    c->line.velocity_m_s *= 1.0 - share;
}

static bool fit(const struct calibrate_values *v, struct calibrated *c, struct setup *setup,
                struct messages *messages)
{
    struct plyecho_error err;
    const struct steps *s = &c->steps;
    struct plyecho_known attenuation = setup->assess.wall.attenuation;
    const struct steps_expected expected = {
        .least_velocity_m_s = v->velocity_range.low,
        .most_velocity_m_s = v->velocity_range.high,
        .sample_rate_hz = v->sample_rate_hz.value,
    };
    setup->place.all.count = 0;
    if (!steps_read(&c->steps, v->steps.value, setup, &expected, messages) ||
        !take_zero(v, c, messages))
        return false;
    for (size_t i = 0; i < s->count; i++)
        c->centre_hz += s->timed[i].centre_hz / (double)s->count;
    c->finding = plyecho_calibration_check(s->step, s->count, &c->zero, v->velocity_range.low,
                                           v->velocity_range.high);
    if (plyecho_calibrate(s->step, s->count, &c->zero, &c->line, c->residuals, &err) !=
            PLYECHO_OK &&
        (c->finding.fault == PLYECHO_STEPS_VELOCITY ||
         c->finding.fault == PLYECHO_STEPS_GOOD)) {
        message_error(messages, v->steps.value, &err);
        return false;
    }
    take_dispersion_off(c, &attenuation);
    return calibrate_judge(c, v, messages);
}

/* ---- the table ---- */

enum { STEP_ROOM = 512 };

static void print_step_json(FILE *to, const struct calibrated *c, size_t i)
{
    const struct plyecho_step *s = &c->steps.step[i];
    const struct plyecho_residual *r = &c->residuals[i];
    const struct {
        const char *name;
        double value;
    } numbers[] = {
        {"thickness_mm", s->thickness_m * 1e3}, {"thickness_u_mm", s->thickness_u_m * 1e3},
        {"time_us", s->time_s * 1e6},           {"time_u_us", s->time_u_s * 1e6},
        {"residual_um", r->thickness_m * 1e6},  {"standardised", r->standardised},
    };
    fprintf(to, "%s{\"line\": %ld", i > 0 ? ", " : "", c->steps.rows.row[i].line);
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++) {
        char text[PLYECHO_NUMBER_ROOM];
        fprintf(to, ", \"%s\": %s", numbers[k].name,
                plyecho_number_format(numbers[k].value, text));
    }
    putc('}', to);
}

/* Allocated, to be freed. Without memory the program ends, as where it takes any. */
static char *steps_json(const struct calibrated *c)
{
    char *text = NULL;
    size_t size;
    FILE *to = open_memstream(&text, &size);
    if (to == NULL)
        memory_give_up();
    putc('[', to);
    for (size_t i = 0; i < c->steps.count; i++)
        print_step_json(to, c, i);
    putc(']', to);
    bool failed = ferror(to) != 0;
    if (fclose(to) != 0 || failed)
        memory_give_up();
    return text;
}

static char *join_warnings(const struct calibrated *c)
{
    char *text = memory_take(CALIBRATION_WARNINGS * (WARNING_ROOM + 2) + 1, 1);
    for (size_t i = 0; i < c->warning_count; i++) {
        if (i > 0)
            strcat(text, "; ");
        strcat(text, c->warnings[i]);
    }
    return text;
}

static void print_row(const struct table *table, const struct calibrated *c,
                      const struct calibrate_values *v)
{
    const struct plyecho_calibration *l = &c->line;
    char *steps = steps_json(c), *warnings = join_warnings(c);
    const struct cell cells[COLUMNS] = {
        cell_measured(l->velocity_m_s, l->velocity_u_m_s),
        cell_number(l->velocity_u_m_s),
        l->zero_u_s > 0.0 ? cell_measured(l->zero_s * 1e6, l->zero_u_s * 1e6)
                          : cell_number(l->zero_s * 1e6),
        l->zero_u_s > 0.0 ? cell_number(l->zero_u_s * 1e6) : cell_unknown(),
        cell_count(c->steps.count),
        cell_number(l->rms_m * 1e6),
        cell_count((size_t)c->steps.mode),
        cell_yes_no(c->warning_count > 0),
        cell_number(l->coverage),
        cell_number(l->correlation),
        cell_number(l->chi2),
        cell_count((size_t)l->freedom),
        l->freedom > 0 ? cell_number(l->p) : cell_unknown(),
        cell_number(l->least_m * 1e3),
        cell_number(l->most_m * 1e3),
        cell_number(c->centre_hz * 1e-6),
        v->anvil.set ? cell_text(calibrate_anvils[v->anvil.index]) : cell_unknown(),
        cell_text(c->steps.digest),
        cell_text(warnings),
        cell_text(steps),
        cell_text(PACKAGE_VERSION),
    };
    table_row(table, cells);
    free(steps);
    free(warnings);
}

/* In text the steps follow, and what to doubt. */
static void print_words(const struct calibrated *c)
{
    for (size_t i = 0; i < c->steps.count; i++)
        printf("    %7.3f mm at %9.4f us: residual %+6.1f um (u %.1f um)\n",
               c->steps.step[i].thickness_m * 1e3, c->steps.step[i].time_s * 1e6,
               c->residuals[i].thickness_m * 1e6, c->residuals[i].u_m * 1e6);
    if (!(c->line.zero_u_s > 0.0))
        printf("    Zero held at %.4f us, not measured.\n", c->line.zero_s * 1e6);
    for (size_t i = 0; i < c->warning_count; i++)
        printf("    Warning: %s.\n", c->warnings[i]);
    puts(
        "    The velocity holds for this material, lay-up and frequency, and for this temperature.");
}

static void remind(const struct calibrate_values *v, const struct messages *messages)
{
    if (!v->anvil.set)
        message_note(
            messages, v->steps.value,
            "which anvil measured the steps? A flat one reads a tube's wall some tenths "
            "of a millimetre too thick; say --anvil ball, pin, flat or none");
}

static enum status show(const struct calibrated *c, const struct calibrate_values *v,
                        struct messages *messages)
{
    struct table table;
    table_begin(&table, &v->table, columns, COLUMNS, stdout);
    print_row(&table, c, v);
    if (table.format == TABLE_TEXT)
        print_words(c);
    remind(v, messages);
    bool drawn = !v->plot.set || calibrate_plot(c, v, messages);
    if (v->into.set && drawn)
        calibrate_into(c, v, messages);
    return verb_status(messages, c->warning_count > 0);
}

static enum status calibrate_steps(const struct calibrate_values *v, struct setup *setup,
                                   struct messages *messages)
{
    struct calibrated *c = memory_take(1, sizeof *c);
    if (!v->velocity_range.set)
        c->material = setup->procedure.material.material.value;
    c->nominal_known = setup->assess.wall.nominal_m.known;
    c->nominal_m = setup->assess.wall.nominal_m.value;
    bool named = !v->plot.set || calibrate_plot_kind(v->plot.value, NULL, messages);
    enum status status =
        named && fit(v, c, setup, messages) ? show(c, v, messages) : STATUS_TROUBLE;
    steps_clear(&c->steps);
    free(c);
    return status;
}

/* The material may stand in the procedure that is used, or in the one that is to be filled in. False where
 * that does not read, which has been said. */
static bool take_range(struct calibrate_values *v, struct plyecho_procedure *procedure,
                       struct messages *messages)
{
    struct file_identity identity;
    struct plyecho_text_setting *name = &procedure->material.material;
    if (v->into.set && file_identify(v->into.value, &identity) &&
        !file_is_special(v->into.value)) {
        struct plyecho_procedure into;
        if (!procedure_file_read(v->into.value, &into, messages))
            return false;
        if (name->value == NULL) {
            *name = into.material.material;
            into.material.material.value = NULL;
        }
        plyecho_procedure_clear(&into);
    }
    const struct plyecho_medium *medium =
        name->value != NULL ? plyecho_medium_find(name->value) : NULL;
    if (medium != NULL && !v->velocity_range.set)
        plyecho_medium_velocity_range(medium, &v->velocity_range.low, &v->velocity_range.high);
    return true;
}

static enum status run(const struct invocation *invocation)
{
    struct calibrate_values own = *(const struct calibrate_values *)invocation->values;
    const struct calibrate_values *v = &own;
    struct messages *messages = invocation->messages;
    if (!calibrate_options_fit(options, &own, messages))
        return STATUS_TROUBLE;
    struct setup_values values = setup_of(v);
    struct setup setup;
    enum status status = STATUS_TROUBLE;
    if (setup_open(&setup, &values, false, v->sample_rate_hz.value, messages) &&
        take_range(&own, &setup.procedure, messages))
        status = v->check.set         ? calibrate_check(v, &setup, messages)
                 : v->sound.count > 0 ? calibrate_levels(v, &setup, messages)
                                      : calibrate_steps(v, &setup, messages);
    setup_close(&setup);
    return status;
}

const struct verb verb_calibrate = {
    .name = "calibrate",
    .group = VERB_MEASURE,
    .help = "velocity and zero offset from traces of steps of known thickness",
    .operands = NULL,
    .description =
        "Fits d = v (t - zero) / 2 to the steps, thickness and time each with its uncertainty, and "
        "tells velocity and zero with theirs, the residuals and whether the line fits. Where the "
        "residuals scatter more than the uncertainties say, u grows by as much, and "
        "coverage_factor is that of Student's t.\n"
        "A thickness in another unit, a multiple taken for the first echo, one thickness twice or a "
        "trace of another sample rate is refused. A step off the line of the others, a line that "
        "does not fit or a velocity that the material cannot have is a warning, and then nothing is "
        "written into a procedure. Exit status 0: done, 1: done with warnings, 2: trouble.\n"
        "Take steps of the part's own lay-up that span its wall: a velocity of another lay-up is "
        "the usual silent error.\n"
        "With --check, a new trace of a block is compared with the kept one: velocity, zero, "
        "sensitivity (gain_db counts) and the pulse's shape, each with a limit (by the procedure, "
        "else 0.5 %, 0.02 us, 2 dB and 0.05: common practice, no source). Each check is "
        "added to a log with its time, so that readings since the last good one can be told.\n"
        "With --sound, the levels against a full reflector from which an echo inside is recorded "
        "(6 dB above the highest of the sound wall) and evaluated (6 dB below the weakest "
        "artificial delamination, or as much above the recording level) go into the procedure, with "
        "the gain: common practice, no source.",
    .example =
        "plyecho calibrate --steps steps.csv --anvil ball --nominal 3.2 --into tricycle.ini",
    .options = options,
    .values_size = sizeof(struct calibrate_values),
    .run = run,
};
