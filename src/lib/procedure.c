#include <plyecho/procedure.h>

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/nearest.h>
#include <plyecho/number.h>

#include "alloc.h"
#include "ini.h"
#include "units.h"

static const size_t most_bytes = 1 << 20;

enum kind { KIND_NUMBER, KIND_MODE, KIND_BAND, KIND_TEXT, KIND_LAYER };

/* One key of the file. scale turns the file's unit into the field's; least and most are the
 * range in the file's unit, both allowed. The ranges are wide: they are there to catch a slip
 * of unit. */
struct key {
    const char *section;
    const char *name;
    enum kind kind;
    size_t offset;
    double scale;
    double least;
    double most;
    const char
        *hint; /* what an out-of-range value most likely is, "" where nothing is likely */
};

#define AT(field) offsetof(struct plyecho_procedure, field)
#define TINY 1e-6 /* "above 0" in mm: a nanometre */

static const struct key keys[] = {
    {"part", "name", KIND_TEXT, AT(part.name), 1, 0, 0, ""},
    {"part", "nominal_mm", KIND_NUMBER, AT(part.nominal_m), 1e-3, TINY, 1000, ""},
    {"part", "nominal_tolerance_mm", KIND_NUMBER, AT(part.nominal_tolerance_m), 1e-3, TINY,
     1000, ""},
    {"part", "diameter_mm", KIND_NUMBER, AT(part.diameter_m), 1e-3, TINY, 100000, ""},
    {"material", "velocity_m_s", KIND_NUMBER, AT(material.velocity_m_s), 1, 100, 20000,
     "; 2.95 mm/us is written 2950"},
    {"material", "velocity_u_m_s", KIND_NUMBER, AT(material.velocity_u_m_s), 1, 0, 20000, ""},
    {"material", "attenuation_db_mm_mhz", KIND_NUMBER, AT(material.attenuation_np_m_hz),
     PE_NP_M_HZ_PER_DB_MM_MHZ, 0, 100, ""},
    {"material", "density_kg_m3", KIND_NUMBER, AT(material.density_kg_m3), 1, 10, 25000,
     "; 1.55 g/cm3 is written 1550"},
    {"signal", "mode", KIND_MODE, AT(signal.mode), 1, 0, 0, ""},
    {"signal", "band_hz", KIND_BAND, AT(signal.band_hz), 1, 0, 1e9, ""},
    {"signal", "pulse", KIND_TEXT, AT(signal.pulse), 1, 0, 0, ""},
    {"calibration", "zero_us", KIND_NUMBER, AT(calibration.zero_s), 1e-6, -10000, 10000, ""},
    {"calibration", "zero_u_us", KIND_NUMBER, AT(calibration.zero_u_s), 1e-6, 0, 10000, ""},
    {"acceptance", "least_mm", KIND_NUMBER, AT(acceptance.least_m), 1e-3, TINY, 1000, ""},
    {"layers", "", KIND_LAYER, AT(layers), 1, 0, 0, ""}, /* any name: each is a layer's */
};

enum { KEY_COUNT = sizeof keys / sizeof keys[0] };

/* What is known while reading: the section and where each one began. */
struct reader {
    struct plyecho_procedure *procedure;
    const char *section;          /* NULL ahead of the first */
    long section_line[KEY_COUNT]; /* where the section whose first key is k began, else 0 */
    struct plyecho_error *err;
};

static void *field(struct plyecho_procedure *procedure, const struct key *key)
{
    return (char *)procedure + key->offset;
}

/* Index of the table's first key of that section, KEY_COUNT where there is none. */
static size_t find_section(struct pe_span name)
{
    size_t k = 0;
    while (k < KEY_COUNT && !pe_span_is(name, keys[k].section))
        k++;
    return k;
}

static const char *nearest_section(struct pe_span name)
{
    const char *nearest = keys[0].section;
    for (size_t k = 1; k < KEY_COUNT; k++)
        if (plyecho_edit_distance(name.text, name.size, keys[k].section) <
            plyecho_edit_distance(name.text, name.size, nearest))
            nearest = keys[k].section;
    return nearest;
}

/* A name without its unit is one slip away, not as many as the unit has letters. */
static size_t distance_to(struct pe_span name, const char *known)
{
    if (name.size < strlen(known) && memcmp(name.text, known, name.size) == 0)
        return 1;
    return plyecho_edit_distance(name.text, name.size, known);
}

/* Of two keys as near, the one of the section at hand. */
static const struct key *nearest_key(struct pe_span name, const char *section)
{
    const struct key *nearest = &keys[0];
    size_t least = SIZE_MAX;
    for (size_t k = 0; k < KEY_COUNT; k++) {
        if (keys[k].kind == KIND_LAYER)
            continue;
        size_t distance = 2 * distance_to(name, keys[k].name);
        if (strcmp(keys[k].section, section) != 0)
            distance++;
        if (distance < least) {
            least = distance;
            nearest = &keys[k];
        }
    }
    return nearest;
}

static enum plyecho_code read_section(struct reader *reader, const struct pe_ini_item *item)
{
    size_t k = find_section(item->name);
    if (k == KEY_COUNT)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "unknown section [%.*s]; the nearest known is [%s]",
                                 pe_span_shown(item->name), item->name.text,
                                 nearest_section(item->name));
    if (reader->section_line[k] != 0)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "section [%s] began in line %ld already; put its keys there",
                                 keys[k].section, reader->section_line[k]);
    reader->section_line[k] = item->line;
    reader->section = keys[k].section;
    return PLYECHO_OK;
}

static enum plyecho_code find_key(struct reader *reader, const struct pe_ini_item *item,
                                  const struct key **key)
{
    if (reader->section == NULL)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%.*s' stands ahead of the first section; put [%s] before it",
                                 pe_span_shown(item->name), item->name.text,
                                 nearest_key(item->name, "")->section);
    const struct key *first =
        &keys[find_section((struct pe_span){reader->section, strlen(reader->section)})];
    if (first->kind == KIND_LAYER) {
        *key = first;
        return PLYECHO_OK;
    }
    const struct key *nearest = nearest_key(item->name, reader->section);
    bool known = pe_span_is(item->name, nearest->name);
    if (known && strcmp(nearest->section, reader->section) == 0) {
        *key = nearest;
        return PLYECHO_OK;
    }
    if (known)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' belongs to section [%s], not [%s]; move the line there",
                                 nearest->name, nearest->section, reader->section);
    return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                             "unknown key '%.*s'; the nearest known is '%s' in [%s]",
                             pe_span_shown(item->name), item->name.text, nearest->name,
                             nearest->section);
}

/* A whole number and nothing behind it. */
static enum plyecho_code read_number(struct reader *reader, const struct pe_ini_item *item,
                                     const struct key *key)
{
    struct pe_span text = item->value;
    double value = 0;
    size_t used = plyecho_number_scan(text.text, text.size, '.', &value);
    if (used == 0 || used != text.size)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_NUMBER, item->line,
                                 "'%.*s' is not a number for '%s'; write the number alone, "
                                 "with a decimal point; the key's name has its unit",
                                 pe_span_shown(text), text.text, key->name);
    if (!(value >= key->least && value <= key->most))
        return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                                 "%s = %.*s is out of range; it must be from %g to %g%s",
                                 key->name, pe_span_shown(text), text.text, key->least,
                                 key->most, key->hint);
    struct plyecho_setting *setting = field(reader->procedure, key);
    *setting = (struct plyecho_setting){true, value * key->scale, item->line};
    return PLYECHO_OK;
}

static enum plyecho_code read_mode(struct reader *reader, const struct pe_ini_item *item,
                                   const struct key *key)
{
    static const char *const words[] = {"auto", "1", "2", "3"};
    struct plyecho_setting *setting = field(reader->procedure, key);
    for (size_t mode = 0; mode < sizeof words / sizeof words[0]; mode++)
        if (pe_span_is(item->value, words[mode])) {
            *setting = (struct plyecho_setting){true, (double)mode, item->line};
            return PLYECHO_OK;
        }
    return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                             "'%.*s' is no measuring mode; write auto, 1, 2 or 3",
                             pe_span_shown(item->value), item->value.text);
}

/* A frequency with its suffix k, M or G, as on the command line; false where it is none. */
static bool read_frequency(struct pe_span text, double *value)
{
    char copy[PLYECHO_NUMBER_ROOM];
    if (text.size == 0 || text.size >= sizeof copy)
        return false;
    memcpy(copy, text.text, text.size);
    copy[text.size] = '\0';
    return plyecho_number_parse(copy, value, NULL) == PLYECHO_OK;
}

static enum plyecho_code read_band(struct reader *reader, const struct pe_ini_item *item,
                                   const struct key *key)
{
    struct pe_span text = item->value;
    const char *colon = memchr(text.text, ':', text.size);
    size_t at = colon != NULL ? (size_t)(colon - text.text) : text.size;
    struct plyecho_band band = {0, 0};
    if (colon == NULL || !read_frequency((struct pe_span){text.text, at}, &band.low_hz) ||
        !read_frequency((struct pe_span){colon + 1, text.size - at - 1}, &band.high_hz))
        return plyecho_fail_line(reader->err, PLYECHO_BAD_NUMBER, item->line,
                                 "'%.*s' is no band; write both ends in Hz as 4M:16M",
                                 pe_span_shown(text), text.text);
    if (!(band.low_hz >= key->least && band.low_hz < band.high_hz && band.high_hz <= key->most))
        return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                                 "band %.*s is out of range; the low end comes first, "
                                 "both from 0 to 1 GHz",
                                 pe_span_shown(text), text.text);
    struct plyecho_band_setting *setting = field(reader->procedure, key);
    *setting = (struct plyecho_band_setting){true, band, item->line};
    return PLYECHO_OK;
}

static enum plyecho_code read_text(struct reader *reader, const struct pe_ini_item *item,
                                   const struct key *key)
{
    if (item->value.size == 0)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' is empty; write a text or take the line out", key->name);
    char *copy = pe_alloc(item->value.size + 1, 1);
    if (copy == NULL)
        return plyecho_fail_line(reader->err, PLYECHO_NO_MEMORY, item->line,
                                 "no memory for the value of '%s'", key->name);
    memcpy(copy, item->value.text, item->value.size);
    struct plyecho_text_setting *setting = field(reader->procedure, key);
    *setting = (struct plyecho_text_setting){copy, item->line};
    return PLYECHO_OK;
}

static long line_of(struct plyecho_procedure *procedure, const struct key *key)
{
    switch (key->kind) {
    case KIND_BAND:
        return ((struct plyecho_band_setting *)field(procedure, key))->line;
    case KIND_TEXT:
        return ((struct plyecho_text_setting *)field(procedure, key))->line;
    case KIND_LAYER: /* the layers themselves tell a repeated one */
        return 0;
    case KIND_NUMBER:
    case KIND_MODE:
        break;
    }
    return ((struct plyecho_setting *)field(procedure, key))->line;
}

static enum plyecho_code read_entry(struct reader *reader, const struct pe_ini_item *item)
{
    const struct key *key = NULL;
    enum plyecho_code code = find_key(reader, item, &key);
    if (code != PLYECHO_OK)
        return code;
    long before = line_of(reader->procedure, key);
    if (before != 0)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' stands in line %ld already; keep one of the two",
                                 key->name, before);
    switch (key->kind) {
    case KIND_MODE:
        return read_mode(reader, item, key);
    case KIND_BAND:
        return read_band(reader, item, key);
    case KIND_TEXT:
        return read_text(reader, item, key);
    case KIND_LAYER:
        return plyecho_layers_add(field(reader->procedure, key), item->name.text,
                                  item->name.size, item->value.text, item->value.size,
                                  item->line, reader->err);
    case KIND_NUMBER:
        break;
    }
    return read_number(reader, item, key);
}

static enum plyecho_code read_items(struct reader *reader, struct pe_ini *ini)
{
    for (;;) {
        struct pe_ini_item item;
        enum plyecho_code code = pe_ini_next(ini, &item, reader->err);
        if (code == PLYECHO_OK && item.kind == PE_INI_END)
            return PLYECHO_OK;
        if (code == PLYECHO_OK)
            code = item.kind == PE_INI_SECTION ? read_section(reader, &item)
                                               : read_entry(reader, &item);
        if (code != PLYECHO_OK)
            return code;
    }
}

/* What no key can tell alone. */
static enum plyecho_code check_together(const struct plyecho_procedure *procedure,
                                        struct plyecho_error *err)
{
    const struct plyecho_setting *nominal = &procedure->part.nominal_m;
    const struct plyecho_setting *tolerance = &procedure->part.nominal_tolerance_m;
    if (nominal->set && tolerance->set && tolerance->value >= nominal->value)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, tolerance->line,
                                 "nominal_tolerance_mm must be below nominal_mm of line %ld",
                                 nominal->line);
    const struct plyecho_setting *velocity = &procedure->material.velocity_m_s;
    const struct plyecho_setting *velocity_u = &procedure->material.velocity_u_m_s;
    if (velocity->set && velocity_u->set && velocity_u->value >= velocity->value)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, velocity_u->line,
                                 "velocity_u_m_s must be below velocity_m_s of line %ld",
                                 velocity->line);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_procedure_read(struct plyecho_procedure *procedure, const void *bytes,
                                         size_t size, struct plyecho_error *err)
{
    *procedure = (struct plyecho_procedure){.digest = ""};
    if (size > most_bytes)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "a procedure file has at most 1 MiB; is this one?");
    struct pe_ini ini;
    struct reader reader = {.procedure = procedure, .err = err};
    enum plyecho_code code = pe_ini_start(&ini, bytes, size, err);
    if (code == PLYECHO_OK)
        code = read_items(&reader, &ini);
    if (code == PLYECHO_OK)
        code = check_together(procedure, err);
    if (code == PLYECHO_OK)
        plyecho_digest(bytes, size, procedure->digest);
    else
        plyecho_procedure_clear(procedure);
    return code;
}

void plyecho_procedure_clear(struct plyecho_procedure *procedure)
{
    free(procedure->part.name.value);
    free(procedure->signal.pulse.value);
    *procedure = (struct plyecho_procedure){.digest = ""};
}
