/* plan - what a probe can see of a part, worked out beforehand; may start a procedure file */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure_keys.h>

#include "file.h"
#include "memory.h"
#include "plan.h"
#include "procedure_changes.h"
#include "procedure_file.h"
#include "rig.h"
#include "table.h"
#include "verb.h"

struct plan_values {
    struct rig_values rig;
    struct layup_values layup;
    struct option_number face_mm, tube_mm, length_mm;
    struct option_text couplant;
    struct option_number temperature_c;
    struct option_number least_depth_mm, wanted_db, overlap, snr_db;
    struct option_text into;
    bool media;
    struct table_values table;
};

#define OFFSET(member) offsetof(struct plan_values, member)

static const struct option options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = rig_probe_options, .offset = OFFSET(rig)},
    {.name = "face-diameter",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_BETWEEN,
     .least = 0.1, /* as the procedure's key */
     .most = 1000,
     .offset = OFFSET(face_mm),
     .help = "diameter of the probe's crystal, taken for its face: for near field, beam and "
             "spacing"},
    {.name = "", .kind = OPTION_GROUP, .group = layup_part_options, .offset = OFFSET(layup)},
    {.name = "tube-diameter",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_BETWEEN,
     .least = 1, /* as the procedure's key */
     .most = 100000,
     .offset = OFFSET(tube_mm),
     .help = "outer diameter of a tube; a flat part without it"},
    {.name = "length",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_ABOVE,
     .offset = OFFSET(length_mm),
     .help = "length to be scanned, for the number of rings"},
    {.name = "couplant",
     .kind = OPTION_TEXT,
     .argument = "MEDIUM",
     .offset = OFFSET(couplant),
     .help = "between a flat face and a tube (default: water)"},
    {.name = "temperature",
     .kind = OPTION_NUMBER,
     .argument = "C",
     .range = OPTION_BETWEEN,
     .least = PLYECHO_WATER_LEAST_C,
     .most = PLYECHO_WATER_MOST_C,
     .has_preset = true,
     .preset = 20.0,
     .offset = OFFSET(temperature_c),
     .help = "of water, as couplant or path"},
    {.name = "least-depth",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_ABOVE,
     .offset = OFFSET(least_depth_mm),
     .help = "least depth at which something must be found"},
    {.name = "wanted",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .range = OPTION_BETWEEN,
     .least = -60.0,
     .most = 0.0,
     .has_preset = true,
     .preset = -14.0,
     .offset = OFFSET(wanted_db),
     .help =
         "least indication wanted, against a full reflector at its depth; -14 is a gap under a "
         "fifth of the beam"},
    {.name = "overlap",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .range = OPTION_BETWEEN,
     .least = 0.0,
     .most = 0.95,
     .has_preset = true,
     .preset = 0.3,
     .offset = OFFSET(overlap),
     .help = "of neighbouring beams"},
    {.name = "reference-snr",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .range = OPTION_ABOVE,
     .has_preset = true,
     .preset = 40.0,
     .offset = OFFSET(snr_db),
     .help =
         "the echo of the delay line's end in air over the noise, as `plyecho probe` tells it"},
    {.name = "into",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = OFFSET(into),
     .help =
         "put part, equipment, material, layers and band into the procedure file FILE, made where "
         "there is none; what else stands in it is kept, but for the velocity of another "
         "material"},
    {.name = "media",
     .kind = OPTION_FLAG,
     .offset = OFFSET(media),
     .help =
         "print the table of media instead: velocity, impedance, attenuation, uncertainties, "
         "sources"},
    {.name = "", .kind = OPTION_GROUP, .group = table_options, .offset = OFFSET(table)},
    {.name = NULL},
};

/* ---- the table of media ---- */

static const struct column media_columns[] = {
    {.name = "medium", .kind = COLUMN_TEXT, .width = 20},
    {.name = "velocity_m_s", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 6},
    {.name = "velocity_u_m_s", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 3},
    {.name = "density_kg_m3", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 5},
    {.name = "impedance_mrayl", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 4},
    {.name = "attenuation_db_mm_mhz", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "attenuation_u_db_mm_mhz", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "source", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "attenuation_source", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
};

static void print_media(const struct table_values *values)
{
    enum { COLUMNS = sizeof media_columns / sizeof media_columns[0] };
    struct table table;
    const struct plyecho_medium *m;
    bool going = true;
    table_begin(&table, values, media_columns, COLUMNS, stdout);
    for (size_t i = 0; going && (m = plyecho_medium_at(i)) != NULL; i++) {
        const struct cell cells[COLUMNS] = {
            cell_text(m->name),
            cell_number(m->velocity_m_s),
            cell_number(m->velocity_u_m_s),
            cell_number(m->density_kg_m3),
            cell_number(m->density_kg_m3 * m->velocity_m_s * 1e-6),
            cell_number(m->attenuation_db_mm_mhz),
            cell_number(m->attenuation_u_db_mm_mhz),
            cell_text(m->source),
            cell_text(m->attenuation_source),
        };
        going = table_row(&table, cells);
    }
}

/* ---- the plan ---- */

static struct plyecho_known in_metres(const struct option_number *mm)
{
    return (struct plyecho_known){mm->set, mm->value * 1e-3};
}

/* The medium of the table that a layer's text begins with; NULL where numbers replace its velocity. */
static const struct plyecho_medium *medium_of(const char *text)
{
    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(text, ":,"), text);
    return strstr(text, "v=") == NULL ? plyecho_medium_find(name) : NULL;
}

static bool is_water(const char *text)
{
    const struct plyecho_medium *medium = medium_of(text);
    return medium != NULL && strcmp(medium->name, "water") == 0;
}

static enum plyecho_code read_coupling(const struct plan_values *values, struct plan *plan,
                                       struct plyecho_error *err)
{
    const char *couplant = values->couplant.set ? values->couplant.value : "water";
    double water_m_s = plyecho_water_velocity(values->temperature_c.value);
    struct plyecho_plies medium;
    if (values->rig.delay_line.set && is_water(values->rig.delay_line.value)) {
        plan->line.impedance_rayl *= water_m_s / plan->line.velocity_m_s;
        plan->line.velocity_m_s = water_m_s;
        plan->front_rayl = plan->line.impedance_rayl;
        plan->water_path = true;
    }
    enum plyecho_code code = layup_read_layer(couplant, false, &medium, err);
    plan->couplant_m_s = is_water(couplant) ? water_m_s : medium.wall.velocity_m_s;
    if (code == PLYECHO_OK && !(plan->couplant_m_s > 0.0))
        code = plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "--couplant \"%s\" has no velocity",
                            couplant);
    return code;
}

static const struct plyecho_procedure_key *find_key(const char *section, const char *name)
{
    const struct plyecho_procedure_key *key;
    size_t i = 0;
    while ((key = plyecho_procedure_key_at(i)) != NULL &&
           (strcmp(key->section, section) != 0 || strcmp(key->name, name) != 0))
        i++;
    return key;
}

/* What --into could not write is not planned either: a slip of unit, mostly. */
static enum plyecho_code check_ranges(const struct plan *plan, struct plyecho_error *err)
{
    const struct {
        const char *section, *key, *what;
        double value;
    } written[] = {
        {"equipment", "probe_frequency_hz", "--probe: a centre frequency",
         plan->pulse.centre_hz},
        {"equipment", "probe_bandwidth", "--probe: a bandwidth", plan->bandwidth},
        {"equipment", "delay_line_mm", "--delay-line: a length", plan->line.thickness_m},
        {"part", "nominal_mm", "--layer: a wall", plan->wall_m},
    };
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++) {
        const struct plyecho_procedure_key *key = find_key(written[i].section, written[i].key);
        double value = key != NULL ? written[i].value / key->scale : 0.0;
        bool absent = value == 0.0; /* contact: no delay line */
        if (!absent && (value < key->least || value > key->most))
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "%s of %g %s is out of range; it must be from %g to %g%s",
                                written[i].what, value, key->unit, key->least, key->most,
                                key->hint);
    }
    return PLYECHO_OK;
}

static enum plyecho_code check_sizes(const struct plan *plan, struct plyecho_error *err)
{
    if (plan->tube_m.known && plan->face_m.known && plan->face_m.value > plan->tube_m.value)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a face of %g mm is wider than the tube of %g mm; both are in mm",
                            plan->face_m.value * 1e3, plan->tube_m.value * 1e3);
    if (plan->tube_m.known && 2.0 * plan->wall_m >= plan->tube_m.value)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a wall of %g mm does not fit into a tube of %g mm",
                            plan->wall_m * 1e3, plan->tube_m.value * 1e3);
    if (plan->least_depth_m.known && plan->least_depth_m.value >= plan->wall_m)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "--least-depth %g lies behind the wall of %g mm",
                            plan->least_depth_m.value * 1e3, plan->wall_m * 1e3);
    return PLYECHO_OK;
}

static enum plyecho_code make_plan(const struct plan_values *values, struct plan *plan,
                                   struct plyecho_error *err)
{
    struct recorder_values no_recorder = {.samples = {false, 2}};
    struct plyecho_setup setup;
    *plan = (struct plan){
        .face_m = in_metres(&values->face_mm),
        .tube_m = in_metres(&values->tube_mm),
        .length_m = in_metres(&values->length_mm),
        .least_depth_m = in_metres(&values->least_depth_mm),
        .wanted = pow(10.0, values->wanted_db.value / 20.0),
        .overlap = values->overlap.value,
        .snr_db = values->snr_db.value,
        .snr_given = values->snr_db.set,
    };
    if (values->layup.layers.count == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "no wall: give --layer, such as --layer carbon:3.2");
    enum plyecho_code code =
        rig_read(&values->rig, &no_recorder, &setup, &plan->front_rayl, err);
    if (code != PLYECHO_OK)
        return code;
    plan->pulse = setup.pulse;
    plan->bandwidth = rig_bandwidth(&values->rig);
    plan->line = setup.delay_line;
    code = read_coupling(values, plan, err);
    if (code == PLYECHO_OK)
        code = layup_read(&values->layup, &plan->layup, err);
    if (code == PLYECHO_OK)
        code = layup_build(&plan->layup, 1, plan->front_rayl, plan->pulse.centre_hz,
                           &plan->part, err);
    if (code != PLYECHO_OK)
        return code;
    plan->handbook = medium_of(values->layup.layers.items[0]);
    plan_prepare(plan);
    code = check_ranges(plan, err);
    return code == PLYECHO_OK ? check_sizes(plan, err) : code;
}

static const struct column columns[] = {
    {.name = "group", .kind = COLUMN_TEXT, .width = 10},
    {.name = "quantity", .kind = COLUMN_TEXT, .width = 34},
    {.name = "value", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 5, .width = 9},
    {.name = "words", .kind = COLUMN_TEXT},
};

static void print_report(const struct table_values *values, const struct plan_report *report)
{
    enum { COLUMNS = sizeof columns / sizeof columns[0] };
    struct table table;
    bool going = true;
    table_begin(&table, values, columns, COLUMNS, stdout);
    for (size_t i = 0; going && i < report->count; i++) {
        const struct plan_row *row = &report->rows[i];
        const struct cell cells[COLUMNS] = {cell_text(row->group), cell_text(row->quantity),
                                            cell_number(row->value), cell_text(row->words)};
        going = table_row(&table, cells);
    }
}

/* ---- the procedure file ---- */

static double db_mm_mhz(double attenuation_np_m_hz)
{
    return attenuation_np_m_hz / plyecho_attenuation_from_db_mm_mhz(1.0);
}

/* Layers as [layers] wants them; a wall of one layer needs none. */
static void change_layers(const struct plan *plan, struct procedure_changes *c)
{
    for (size_t i = plan->layup.coats;
         plan->layup.count - plan->layup.coats > 1 && i < plan->layup.count; i++) {
        const struct plyecho_layer *layer = &plan->layup.items[i].wall;
        char key[32];
        snprintf(key, sizeof key, "layer_%zu", i - plan->layup.coats + 1);
        procedure_changes_add(c, "layers", key, "%.6g mm, %.6g m/s, %.4g MRayl, %.4g dB/mm/MHz",
                              layer->thickness_m * 1e3, layer->velocity_m_s,
                              layer->impedance_rayl * 1e-6,
                              db_mm_mhz(layer->attenuation_np_m_hz));
    }
}

static void change_equipment(const struct plan_values *values, const struct plan *plan,
                             struct procedure_changes *c)
{
    static const char section[] = "equipment";
    const struct plyecho_medium *line =
        values->rig.delay_line.set ? medium_of(values->rig.delay_line.value) : NULL;
    procedure_changes_add(c, section, "probe_frequency_hz", "%.6gM",
                          plan->pulse.centre_hz * 1e-6);
    procedure_changes_add(c, section, "probe_bandwidth", "%.6g", plan->bandwidth);
    if (plan->face_m.known)
        procedure_changes_add(c, section, "probe_diameter_mm", "%.6g",
                              plan->face_m.value * 1e3);
    procedure_changes_add_text(c, section, "delay_line_material",
                               line != NULL ? line->name : NULL);
    if (plan->line.thickness_m > 0.0)
        procedure_changes_add(c, section, "delay_line_mm", "%.6g",
                              plan->line.thickness_m * 1e3);
    else
        procedure_changes_drop(c, section, "delay_line_mm");
    if (values->couplant.set)
        procedure_changes_add_text(c, section, "couplant", values->couplant.value);
}

/* A velocity that was calibrated on this material stays; one of another material would pass for it. False where
 * the file does not read, which has been said. */
static bool change_velocity(const char *path, const struct plyecho_medium *medium,
                            struct procedure_changes *c, struct messages *messages)
{
    struct file_identity identity;
    struct plyecho_procedure before;
    if (file_is_special(path) || !file_identify(path, &identity))
        return true; /* new, or writing says what is wrong */
    if (!procedure_file_read(path, &before, messages))
        return false;
    const char *name = before.material.material.value;
    const struct plyecho_setting *velocity = &before.material.velocity_m_s;
    bool other = name == NULL || strcmp(name, medium->name) != 0;
    if (other && velocity->set)
        message_note(
            messages, path,
            "line %ld: velocity_m_s = %g taken out, since it is not said to be that of "
            "%s: calibrate on the part's own lay-up",
            velocity->line, velocity->value, medium->name);
    if (other) {
        procedure_changes_drop(c, "material", "velocity_m_s");
        procedure_changes_drop(c, "material", "velocity_u_m_s");
    }
    plyecho_procedure_clear(&before);
    return true;
}

/* A material by its name gives its numbers, and a note to calibrate goes with them wherever they are used;
 * what was stated otherwise is written. */
static void change_material(const struct plan *plan, struct procedure_changes *c)
{
    static const char section[] = "material";
    const struct plyecho_layer *wall = &plan->layup.items[plan->layup.coats].wall;
    const struct plyecho_medium *m = plan->handbook;
    bool single = plan->layup.count == plan->layup.coats + 1;
    double attenuation = db_mm_mhz(wall->attenuation_np_m_hz);
    double density = wall->impedance_rayl / wall->velocity_m_s;
    procedure_changes_add_text(c, section, "material", m != NULL ? m->name : NULL);
    if (m == NULL) {
        procedure_changes_drop(c, section, "velocity_u_m_s"); /* another velocity's */
        procedure_changes_add(c, section, "velocity_m_s", "%.6g",
                              single ? plan->velocity_m_s : wall->velocity_m_s);
    }
    if (m != NULL && fabs(attenuation - m->attenuation_db_mm_mhz) < 1e-9)
        procedure_changes_drop(c, section, "attenuation_db_mm_mhz");
    else
        procedure_changes_add(c, section, "attenuation_db_mm_mhz", "%.4g", attenuation);
    if (m != NULL && fabs(density - m->density_kg_m3) < 1e-6)
        procedure_changes_drop(c, section, "density_kg_m3");
    else
        procedure_changes_add(c, section, "density_kg_m3", "%.5g", density);
}

static bool start_procedure(const struct plan_values *values, const struct plan *plan,
                            const struct plan_report *report, struct messages *messages)
{
    struct procedure_changes c = {.count = 0};
    const char *path = values->into.value;
    if (plan->handbook != NULL && !change_velocity(path, plan->handbook, &c, messages))
        return false;
    procedure_changes_add(&c, "part", "nominal_mm", "%.6g", plan->wall_m * 1e3);
    if (plan->tube_m.known)
        procedure_changes_add(&c, "part", "diameter_mm", "%.6g", plan->tube_m.value * 1e3);
    change_equipment(values, plan, &c);
    change_material(plan, &c);
    procedure_changes_add(&c, "signal", "band_hz", "%.3gM:%.3gM", report->band_low_hz * 1e-6,
                          report->band_high_hz * 1e-6);
    change_layers(plan, &c);
    return procedure_changes_write(&c, path, messages);
}

static enum status run(const struct invocation *invocation)
{
    const struct plan_values *values = invocation->values;
    struct plan plan = {0};
    struct plan_report report = {.count = 0};
    struct plyecho_error err;
    if (values->media) {
        print_media(&values->table);
        return verb_status(invocation->messages, false);
    }
    if (make_plan(values, &plan, &err) == PLYECHO_OK) {
        plan_numbers(&plan, &report);
        plan_warnings(&plan, &report);
        if (!values->into.set || start_procedure(values, &plan, &report, invocation->messages))
            print_report(&values->table, &report);
    } else {
        message_error(invocation->messages, "plan", &err);
    }
    free(report.rows);
    layup_stack_clear(&plan.part);
    layup_clear(&plan.layup);
    return verb_status(invocation->messages, false);
}

const struct verb verb_plan = {
    .name = "plan",
    .group = VERB_MODEL,
    .help = "what a probe can see of a wall: beam, dead zone, levels, spacing, gates",
    .operands = NULL,
    .description =
        "Works out from probe, delay line and wall, one number a row: wavelength, pulse length, near "
        "field, beam, dead zones, what can be told apart, expected echoes with their levels and "
        "signal-to-noise by the layer model, the couplant's wedge on a tube, spacing of rings and "
        "angles, pass band, sample rate and gates; and then what a practitioner would warn of. "
        "Levels are over the echo of the delay line's end in air; with --face-diameter the beam's "
        "spread is in them. Times count from when the sound leaves the probe: add the zero of the "
        "set-up.\n"
        "The numbers follow from what was given: handbook velocities and attenuations are good "
        "enough to choose a probe, not to judge a part. After the principle of ISO 16809 and ISO "
        "16811; the procedure is for qualified personnel to write, by the local code.",
    .example = "plyecho plan --probe 10M:0.6 --face-diameter 6 --delay-line pmma:10 --layer "
               "carbon:3.2 --tube-diameter 28.6 --length 180 --least-depth 0.4\n  "
               "plyecho plan --media",
    .options = options,
    .values_size = sizeof(struct plan_values),
    .run = run,
};
