/* What a procedure comes to, and where each value is from. */
#include <config.h>

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <plyecho/laminate.h>

#include "effective.h"
#include "procedure_file.h"
#include "procedure_verb.h"

static const struct column columns[] = {
    {.name = "section", .kind = COLUMN_TEXT, .width = 11},
    {.name = "key", .kind = COLUMN_TEXT, .width = 29},
    {.name = "value", .kind = COLUMN_TEXT, .width = 20},
    {.name = "unit", .kind = COLUMN_TEXT, .width = 9},
    {.name = "origin", .kind = COLUMN_TEXT, .width = 7},
    {.name = "line", .kind = COLUMN_NUMBER, .width = 4},
    {.name = "words", .kind = COLUMN_TEXT},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
};

enum { COLUMNS = sizeof columns / sizeof columns[0], WORDS_ROOM = 400 };

/* ---- a layer in words ---- */

static void PLYECHO_PRINTF(2, 3) append(char out[PROCEDURE_LAYER_ROOM], const char *format, ...)
{
    size_t used = strlen(out);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(out + used, PROCEDURE_LAYER_ROOM - used, format, arguments);
    va_end(arguments);
}

static void append_known(char out[PROCEDURE_LAYER_ROOM], const struct plyecho_known *known,
                         const char *before, double unit, const char *behind)
{
    if (known->known)
        append(out, ", %s%.10g %s", before, known->value / unit, behind);
}

const char *procedure_layer_text(const struct plyecho_declared_layer *layer,
                                 char out[PROCEDURE_LAYER_ROOM])
{
    out[0] = '\0';
    append(out, "%.10g mm", layer->thickness_m * 1e3);
    append_known(out, &layer->thickness_u_m, "u ", 1e-3, "mm");
    append_known(out, &layer->velocity_m_s, "", 1.0, "m/s");
    append_known(out, &layer->velocity_u_m_s, "u ", 1.0, "m/s");
    append_known(out, &layer->impedance_rayl, "", 1e6, "MRayl");
    append_known(out, &layer->attenuation_np_m_hz, "", plyecho_attenuation_from_db_mm_mhz(1.0),
                 "dB/mm/MHz");
    if (layer->round_deg.set)
        append(out, ", %.10g to %.10g deg", layer->round_deg.from, layer->round_deg.to);
    if (layer->along_m.set)
        append(out, ", %.10g to %.10g mm", layer->along_m.from * 1e3, layer->along_m.to * 1e3);
    if (layer->coat)
        append(out, ", coat");
    return out;
}

/* ---- rows ---- */

/* A procedure as it was with file and options, and with the table of materials behind. */
struct shown {
    const struct procedure_values *values;
    struct plyecho_procedure stated, holds;
    const struct plyecho_medium *medium;
    struct table table;
};

static bool row(const struct shown *s, const char *section, const char *key, const char *value,
                const char *unit, const char *origin, long line, const char *words)
{
    const struct cell cells[COLUMNS] = {
        cell_text(section),
        cell_text(key),
        value[0] != '\0' ? cell_text(value) : cell_unknown(),
        unit[0] != '\0' ? cell_text(unit) : cell_unknown(),
        cell_text(origin),
        line > 0 ? cell_count((size_t)line) : cell_unknown(),
        words[0] != '\0' ? cell_text(words) : cell_unknown(),
        cell_text(s->holds.digest),
        cell_text(PACKAGE_VERSION),
    };
    return table_row(&s->table, cells);
}

/* The velocity that a wall is measured with, where temperatures move it from the one that is stated. */
static void warm(const struct plyecho_procedure *p, char words[WORDS_ROOM])
{
    const struct plyecho_setting *part = &p->material.temperature_c;
    const struct plyecho_setting *steps = &p->calibration.temperature_c;
    const struct plyecho_setting *slope = &p->material.velocity_per_k;
    if (p->material.velocity_m_s.line > 0 && part->set && steps->set && slope->set)
        snprintf(words, WORDS_ROOM, "%.1f m/s at the part's %g C: the steps were at %g C",
                 p->material.velocity_m_s.value + slope->value * (part->value - steps->value),
                 part->value, steps->value);
}

static const char *source(const struct shown *s, const struct plyecho_procedure_key *key,
                          char words[WORDS_ROOM])
{
    bool loss = strcmp(key->name, "attenuation_db_mm_mhz") == 0;
    snprintf(words, WORDS_ROOM, "table of materials, %s: %s%s", s->medium->name,
             loss ? s->medium->attenuation_source : s->medium->source,
             loss ? "" : "; a starting value: calibrate on the same lay-up");
    return words;
}

/* A tenth of the nominal wall has no key of its own; where the wall changes along the part so does it. */
static bool usual_tolerance(const struct shown *s, const struct plyecho_procedure_key *key,
                            char value[PLYECHO_PROCEDURE_VALUE_ROOM])
{
    const struct plyecho_setting *nominal = &s->holds.part.nominal_m;
    if (key->offset != offsetof(struct plyecho_procedure, part.nominal_tolerance_m))
        return false;
    if (nominal->set)
        snprintf(value, PLYECHO_PROCEDURE_VALUE_ROOM, "%.14g",
                 PLYECHO_NOMINAL_TOLERANCE_SHARE * nominal->value / key->scale);
    return nominal->set || s->holds.part.nominal_along_m.count > 0;
}

static bool key_row(const struct shown *s, const struct plyecho_procedure_key *key)
{
    char value[PLYECHO_PROCEDURE_VALUE_ROOM], other[PLYECHO_PROCEDURE_VALUE_ROOM];
    char words[WORDS_ROOM] = "";
    long line = 0, of_stated;
    if (!plyecho_procedure_value(&s->holds, key, value, &line)) {
        bool usual = key->preset != NULL || usual_tolerance(s, key, value);
        return row(s, key->section, key->name, key->preset != NULL ? key->preset : value,
                   key->unit, usual ? "default" : "none", 0, key->absent);
    }
    if (key->offset == offsetof(struct plyecho_procedure, material.velocity_m_s))
        warm(&s->holds, words);
    bool stated = plyecho_procedure_value(&s->stated, key, other, &of_stated);
    return row(s, key->section, key->name, value, key->unit,
               line > 0 ? "file"
               : stated ? "option"
                        : "table",
               line, stated ? words : source(s, key, words));
}

static bool layer_rows(const struct shown *s, const struct plyecho_procedure_key *key)
{
    char text[PROCEDURE_LAYER_ROOM];
    const struct plyecho_layers *layers = &s->holds.layers;
    bool going = true;
    if (layers->count == 0)
        return row(s, key->section, key->name, "", "", "none", 0, key->absent);
    for (size_t i = 0; going && i < layers->count; i++) {
        const struct plyecho_declared_layer *layer = &layers->items[i];
        going = row(s, key->section, layer->name, procedure_layer_text(layer, text), "",
                    layer->line > 0 ? "file" : "option", layer->line, "");
    }
    return going;
}

enum status procedure_show(const struct procedure_values *values, const char *file,
                           struct messages *messages)
{
    struct shown s = {.values = values};
    struct setup_values over = values->setup;
    const struct plyecho_procedure_key *key;
    over.procedure = (struct option_text){true, file};
    if (procedure_file_read(file, &s.holds, messages) &&
        effective_take_options(&s.holds, &over, messages)) {
        s.stated = s.holds; /* its texts belong to holds */
        s.medium = effective_take_material(&s.holds);
        bool going = true;
        table_begin(&s.table, &values->table, columns, COLUMNS, stdout);
        for (size_t k = 0; going && (key = plyecho_procedure_key_at(k)) != NULL; k++)
            going = key->kind == PLYECHO_KEY_LAYER ? layer_rows(&s, key) : key_row(&s, key);
    }
    plyecho_procedure_clear(&s.holds);
    return verb_status(messages, false);
}
