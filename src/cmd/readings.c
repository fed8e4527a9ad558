/* readings - a log of plain thickness readings, without traces: one wall, or something else mixed in */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "procedure_file.h"
#include "readings.h"
#include "verb.h"

struct readings_values {
    struct option_number nominal_mm, tolerance_mm;
    struct option_text procedure;
    struct option_text out;
    struct scan_picture_values pictures;
    struct table_values table;
};

static const struct option options[] = {
    {.name = "nominal",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_BETWEEN,
     .least = PLYECHO_WALL_LEAST_MM,
     .most = PLYECHO_WALL_MOST_MM,
     .offset = offsetof(struct readings_values, nominal_mm),
     .help =
         "wall that the part should have; without it readings are held against their median"},
    {.name = "tolerance",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct readings_values, tolerance_mm),
     .help = "either way of the nominal wall; without it a tenth. Half of it counts as a "
             "difference"},
    {.name = "procedure",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct readings_values, procedure),
     .help = "procedure file: name, nominal wall with its tolerance, diameter, zero mark"},
    {.name = "out",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "DIR",
     .offset = offsetof(struct readings_values, out),
     .help = "folder for readings.csv, summary.json and pictures, which is made"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = scan_picture_format_options,
     .offset = offsetof(struct readings_values, pictures)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct readings_values, table)},
    {.name = NULL},
};

/* ---- what is read ---- */

static struct plyecho_known known(const struct plyecho_setting *s)
{
    return (struct plyecho_known){s->set, s->value};
}

static struct plyecho_known chosen(const struct option_number *given,
                                   const struct plyecho_setting *setting)
{
    return given->set ? (struct plyecho_known){true, given->value * 1e-3} : known(setting);
}

/* Options that results depend on, for their provenance. */
static char *given_options(const struct readings_values *v)
{
    struct readings_values own = *v;
    own.out.set = own.procedure.set = false;
    own.pictures = (struct scan_picture_values){.row.set = false};
    own.table = (struct table_values){.no_header = false};
    return options_given(options, &own);
}

static void note_procedure(const struct readings *r, struct messages *messages)
{
    if (r->procedure.layers.count > 0)
        message_note(messages, r->procedure_name,
                     "its [layers] are not used: plain readings do not show what lies inside a "
                     "wall");
    size_t outside = 0;
    for (size_t i = 0; i < r->log->count; i++)
        outside += !r->log->place[i].nominal_m.known;
    if (r->procedure.part.nominal_along_m.count > 0 && !r->nominal_m.known && outside > 0)
        message_note(messages, r->procedure_name,
                     "nominal_mm does not reach to %zu of %zu places, so the readings are held "
                     "against their median",
                     outside, r->log->count);
}

static bool judge(struct readings *r, const struct readings_values *v,
                  struct messages *messages)
{
    const struct plyecho_procedure *p = &r->procedure;
    const struct plyecho_along *nominal =
        !v->nominal_mm.set && p->part.nominal_along_m.count > 0 ? &p->part.nominal_along_m
                                                                : NULL;
    const struct plyecho_gauge_log_options o = {
        .part = {.tube = r->tube,
                 .diameter_m = known(&p->part.diameter_m),
                 .diameter =
                     p->part.diameter_along_m.count > 0 ? &p->part.diameter_along_m : NULL},
        .nominal_m = r->nominal_m,
        .nominal = nominal,
        .least_m = known(&p->acceptance.least_m),
        .tolerance_m = chosen(&v->tolerance_mm, &p->part.nominal_tolerance_m),
    };
    struct plyecho_error err;
    if (plyecho_gauge_log_new(&r->log, r->reading, r->count, &o, &err) != PLYECHO_OK) {
        message_error(messages, r->name, &err);
        return false;
    }
    note_procedure(r, messages);
    return readings_find_spots(r, messages);
}

static bool check_tolerance(const struct readings *r, const struct readings_values *v,
                            struct messages *messages)
{
    if (!v->tolerance_mm.set || !r->nominal_m.known ||
        v->tolerance_mm.value * 1e-3 < r->nominal_m.value)
        return true;
    message_trouble(
        messages, NULL,
        "--tolerance %g mm is not below the nominal wall of %g mm; give how far off "
        "the wall may be, in mm",
        v->tolerance_mm.value, r->nominal_m.value * 1e3);
    return false;
}

static bool take(struct readings *r, const struct invocation *invocation)
{
    const struct readings_values *v = invocation->values;
    struct messages *messages = invocation->messages;
    if (invocation->file_count > 1) {
        message_trouble(messages, NULL, "give one log at a time");
        return false;
    }
    r->procedure_name = v->procedure.value;
    r->given = given_options(v);
    if (v->procedure.set && !procedure_file_read(v->procedure.value, &r->procedure, messages))
        return false;
    r->nominal_m = chosen(&v->nominal_mm, &r->procedure.part.nominal_m);
    return check_tolerance(r, v, messages) &&
           readings_read(r, invocation->file_count > 0 ? invocation->files[0] : "-",
                         messages) &&
           readings_check_unit(r, messages) && judge(r, v, messages);
}

/* ---- what is written ---- */

static void write_table(const struct readings *r, FILE *out)
{
    const struct table_values as_csv = {.format.index = TABLE_CSV};
    readings_table(r, &as_csv, out);
}

static bool write_file(const struct readings *r, const struct scan_folder *folder,
                       const char *name, void (*write)(const struct readings *, FILE *),
                       struct messages *messages)
{
    char *text = NULL;
    size_t size = 0;
    struct plyecho_error err;
    FILE *out = memory_stream(&text, &size);
    write(r, out);
    memory_stream_end(out);
    bool good = scan_folder_write(folder, name, text, size, &err) == PLYECHO_OK;
    if (!good)
        message_error(messages, name, &err);
    free(text);
    return good;
}

static bool fill(struct readings *r, const struct readings_values *v,
                 const struct scan_folder *folder, struct messages *messages)
{
    struct plyecho_error err;
    if (!write_file(r, folder, "readings.csv", write_table, messages) ||
        !readings_draw(r, &v->pictures, folder, messages) ||
        !write_file(r, folder, "summary.json", readings_summary_write, messages))
        return false;
    if (scan_folder_finish(folder, &err) == PLYECHO_OK)
        return true;
    message_error(messages, folder->name, &err);
    return false;
}

static bool write_folder(struct readings *r, const struct readings_values *v,
                         struct messages *messages)
{
    struct scan_folder folder;
    struct plyecho_error err;
    bool made = scan_folder_open(&folder, v->out.value, &err) == PLYECHO_OK &&
                scan_folder_make(&folder, &err) == PLYECHO_OK;
    if (!made)
        message_error(messages, v->out.value, &err);
    bool good = made && fill(r, v, &folder, messages);
    if (made)
        scan_folder_unmake(&folder);
    scan_folder_close(&folder);
    return good;
}

static void print_written(const struct readings *r, const char *folder)
{
    printf("Written to %s: readings.csv, summary.json", folder);
    for (size_t k = 0; k < r->pictures.count; k++)
        printf(", %s", r->pictures.name[k]);
    puts("");
}

static void print(const struct readings *r, const struct readings_values *v)
{
    if (v->table.format.index != TABLE_TEXT)
        readings_table(r, &v->table, stdout);
    else
        readings_summary_print(r, stdout);
    if (v->table.format.index == TABLE_TEXT && v->out.set)
        print_written(r, v->out.value);
}

static void clear(struct readings *r)
{
    plyecho_gauge_log_free(r->log);
    plyecho_procedure_clear(&r->procedure);
    free(r->reading);
    free(r->spot);
    free(r->member);
    free(r->given);
}

static enum status run(const struct invocation *invocation)
{
    const struct readings_values *v = invocation->values;
    struct readings r = {.name = NULL};
    bool flagged = false;
    if (take(&r, invocation) && (!v->out.set || write_folder(&r, v, invocation->messages))) {
        print(&r, v);
        flagged = r.log->answer != PLYECHO_GAUGE_ONE_WALL;
    }
    clear(&r);
    return verb_status(invocation->messages, flagged);
}

const struct verb verb_readings = {
    .name = "readings",
    .group = VERB_MEASURE,
    .help =
        "a log of plain thickness readings, without traces: one wall, or something mixed in?",
    .operands = "[LOG.csv]",
    .description =
        "Takes a table with a heading, a row a reading as it stood on a thickness gauge: "
        "angle_deg,axial_mm,thickness_mm of a tube, x_mm,y_mm,thickness_mm of a plate; "
        "thickness_u_mm (standard uncertainty) where it is known, other columns are passed over. An "
        "empty thickness is a place where the gauge showed none. Several rows of one place are "
        "averaged; where they disagree the least stands.\n"
        "A smooth wall (eccentric, oval, tapered) is taken out; what is left is held against one "
        "group and against two, and searched for outliers; and low places are asked how the readings "
        "around lead to them. The answer is one-wall, or one of mixed, low-spots, high-spots, "
        "two-walls, scattered, beyond-tolerance, unread-places, too-few, and then the exit status is "
        "1. No answer is a verdict: a log has no echo in it. Text is a summary; csv and json have a "
        "row a reading.",
    .example = "plyecho readings traces/fleet/tube3-gauge.csv --nominal 3.2\n"
               "plyecho readings log.csv --procedure tube.ini --out log --pictures both",
    .options = options,
    .values_size = sizeof(struct readings_values),
    .run = run,
};
