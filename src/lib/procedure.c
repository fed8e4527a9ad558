#include <plyecho/procedure.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/date.h>
#include <plyecho/media.h>
#include <plyecho/nearest.h>
#include <plyecho/number.h>
#include <plyecho/procedure_keys.h>

#include "alloc.h"
#include "ini.h"

static const size_t most_bytes = 1 << 20;

typedef struct plyecho_procedure_key key_row;

enum { SECTIONS_MOST = 16 };

/* Where a section began. */
struct section_seen {
    const key_row *first; /* the section's first key */
    long line;
};

/* What is known while reading. */
struct reader {
    struct plyecho_procedure *procedure;
    const key_row *section; /* first key of the section at hand, NULL ahead of all */
    bool skipping;          /* what stands in a section that is not known */
    struct section_seen seen[SECTIONS_MOST];
    size_t seen_count;
    struct plyecho_error fault; /* of the item at hand */
    struct plyecho_error *err;  /* = &fault */
    struct plyecho_error *faults;
    size_t most, count;
};

static void *field(struct plyecho_procedure *procedure, const key_row *key)
{
    return (char *)procedure + key->offset;
}

/* The table's first key of that section, NULL where there is none. */
static const key_row *find_section(struct pe_span name)
{
    const key_row *key = plyecho_procedure_key_at(0);
    for (size_t k = 0; key != NULL && !pe_span_is(name, key->section);)
        key = plyecho_procedure_key_at(++k);
    return key;
}

static const char *nearest_section(struct pe_span name)
{
    const char *nearest = "";
    size_t least = SIZE_MAX;
    const key_row *key;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        size_t distance = plyecho_edit_distance(name.text, name.size, key->section);
        if (distance < least) {
            least = distance;
            nearest = key->section;
        }
    }
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
static const key_row *nearest_key(struct pe_span name, const char *section)
{
    const key_row *nearest = NULL;
    const key_row *key;
    size_t least = SIZE_MAX;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        if (key->kind == PLYECHO_KEY_LAYER)
            continue;
        size_t distance = 2 * distance_to(name, key->name);
        if (strcmp(key->section, section) != 0)
            distance++;
        if (distance < least) {
            least = distance;
            nearest = key;
        }
    }
    return nearest;
}

static enum plyecho_code read_section(struct reader *reader, const struct pe_ini_item *item)
{
    const key_row *first = find_section(item->name);
    reader->skipping = first == NULL;
    if (first == NULL)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "unknown section [%.*s]; the nearest known is [%s]",
                                 pe_span_shown(item->name), item->name.text,
                                 nearest_section(item->name));
    reader->section = first;
    for (size_t i = 0; i < reader->seen_count; i++)
        if (reader->seen[i].first == first)
            return plyecho_fail_line(
                reader->err, PLYECHO_BAD_FILE, item->line,
                "section [%s] began in line %ld already; put its keys there", first->section,
                reader->seen[i].line);
    reader->seen[reader->seen_count++] = (struct section_seen){first, item->line};
    return PLYECHO_OK;
}

static enum plyecho_code find_key(struct reader *reader, const struct pe_ini_item *item,
                                  const key_row **key)
{
    if (reader->section == NULL)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%.*s' stands ahead of the first section; put [%s] before it",
                                 pe_span_shown(item->name), item->name.text,
                                 nearest_key(item->name, "")->section);
    if (reader->section->kind == PLYECHO_KEY_LAYER) {
        *key = reader->section;
        return PLYECHO_OK;
    }
    const char *section = reader->section->section;
    const key_row *nearest = nearest_key(item->name, section);
    bool known = pe_span_is(item->name, nearest->name);
    if (known && strcmp(nearest->section, section) == 0) {
        *key = nearest;
        return PLYECHO_OK;
    }
    if (known)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' belongs to section [%s], not [%s]; move the line there",
                                 nearest->name, nearest->section, section);
    return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                             "unknown key '%.*s'; the nearest known is '%s' in [%s]",
                             pe_span_shown(item->name), item->name.text, nearest->name,
                             nearest->section);
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

/* A table against axial_mm has points with `at` in them. */
static bool is_table(struct pe_span text)
{
    for (size_t i = 0; i + 1 < text.size; i++)
        if (text.text[i] == 'a' && text.text[i + 1] == 't')
            return true;
    return false;
}

static enum plyecho_code read_along(struct reader *reader, const struct pe_ini_item *item,
                                    const key_row *key)
{
    const struct plyecho_along_range range = {key->name, key->least, key->most, key->scale};
    struct plyecho_along *along = (void *)((char *)reader->procedure + key->along);
    return plyecho_along_read(along, item->value.text, item->value.size, &range, item->line,
                              reader->err);
}

/* The number and nothing behind it. */
static bool scan_number(struct pe_span text, const key_row *key, double *value)
{
    if (key->kind == PLYECHO_KEY_FREQUENCY)
        return read_frequency(text, value);
    size_t used = plyecho_number_scan(text.text, text.size, '.', value);
    return used != 0 && used == text.size;
}

static enum plyecho_code read_number(struct reader *reader, const struct pe_ini_item *item,
                                     const key_row *key)
{
    struct pe_span text = item->value;
    double value = 0;
    if (key->along != 0 && is_table(text))
        return read_along(reader, item, key);
    if (!scan_number(text, key, &value))
        return plyecho_fail_line(
            reader->err, PLYECHO_BAD_NUMBER, item->line,
            key->kind == PLYECHO_KEY_FREQUENCY
                ? "'%.*s' is not a frequency for '%s'; write it in Hz, as 10M"
                : "'%.*s' is not a number for '%s'; write the number alone, with a decimal "
                  "point; the key's name has its unit",
            pe_span_shown(text), text.text, key->name);
    if (!(value >= key->least && value <= key->most))
        return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                                 "%s = %.*s is out of range; it must be from %g to %g%s",
                                 key->name, pe_span_shown(text), text.text, key->least,
                                 key->most, key->hint);
    if (key->kind == PLYECHO_KEY_COUNT && value != floor(value))
        return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                                 "%s = %.*s is no whole number; it counts", key->name,
                                 pe_span_shown(text), text.text);
    struct plyecho_setting *setting = field(reader->procedure, key);
    *setting = (struct plyecho_setting){true, value * key->scale, item->line};
    return PLYECHO_OK;
}

static enum plyecho_code read_word(struct reader *reader, const struct pe_ini_item *item,
                                   const key_row *key)
{
    struct plyecho_setting *setting = field(reader->procedure, key);
    char list[80] = "";
    for (size_t i = 0; key->words[i] != NULL; i++) {
        const char *part = i == 0 ? "" : key->words[i + 1] == NULL ? " or " : ", ";
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s", part, key->words[i]);
        if (pe_span_is(item->value, key->words[i])) {
            *setting = (struct plyecho_setting){true, (double)i, item->line};
            return PLYECHO_OK;
        }
    }
    return plyecho_fail_line(reader->err, PLYECHO_BAD_ARGUMENT, item->line,
                             "'%.*s' is none of the words for '%s'; write %s",
                             pe_span_shown(item->value), item->value.text, key->name, list);
}

static enum plyecho_code read_band(struct reader *reader, const struct pe_ini_item *item,
                                   const key_row *key)
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

static const char *nearest_medium(struct pe_span name)
{
    const char *nearest = "";
    size_t least = SIZE_MAX;
    const struct plyecho_medium *medium;
    for (size_t i = 0; (medium = plyecho_medium_at(i)) != NULL; i++)
        if (distance_to(name, medium->name) < least) {
            least = distance_to(name, medium->name);
            nearest = medium->name;
        }
    return nearest;
}

/* Is a text what its key wants? */
static enum plyecho_code check_text(const char *text, const struct pe_ini_item *item,
                                    const key_row *key, struct plyecho_error *err)
{
    struct pe_span value = item->value;
    if (key->kind == PLYECHO_KEY_MEDIUM && plyecho_medium_find(text) == NULL)
        return plyecho_fail_line(
            err, PLYECHO_BAD_ARGUMENT, item->line,
            "'%.*s' is not in the table of materials; the nearest is '%s'; "
            "leave '%s' out where none fits",
            pe_span_shown(value), value.text, nearest_medium(value), key->name);
    if (key->kind == PLYECHO_KEY_DATE && !plyecho_date_is(value.text, value.size))
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, item->line,
                                 "'%.*s' is no date; " PLYECHO_DATE_RULE, pe_span_shown(value),
                                 value.text);
    return PLYECHO_OK;
}

static enum plyecho_code read_text(struct reader *reader, const struct pe_ini_item *item,
                                   const key_row *key)
{
    if (item->value.size == 0)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' is empty; write a text or take the line out", key->name);
    char *copy = pe_alloc(item->value.size + 1, 1);
    if (copy == NULL)
        return plyecho_fail_line(reader->err, PLYECHO_NO_MEMORY, item->line,
                                 "no memory for the value of '%s'", key->name);
    memcpy(copy, item->value.text, item->value.size);
    enum plyecho_code code = check_text(copy, item, key, reader->err);
    if (code != PLYECHO_OK) {
        free(copy);
        return code;
    }
    struct plyecho_text_setting *setting = field(reader->procedure, key);
    *setting = (struct plyecho_text_setting){copy, item->line};
    return PLYECHO_OK;
}

static long line_of(const struct plyecho_procedure *procedure, const key_row *key)
{
    char value[PLYECHO_PROCEDURE_VALUE_ROOM];
    long line = 0; /* the layers themselves tell a repeated one */
    plyecho_procedure_value(procedure, key, value, &line);
    return line;
}

static enum plyecho_code read_entry(struct reader *reader, const struct pe_ini_item *item)
{
    const key_row *key = NULL;
    if (reader->skipping)
        return PLYECHO_OK;
    enum plyecho_code code = find_key(reader, item, &key);
    if (code != PLYECHO_OK)
        return code;
    long before = line_of(reader->procedure, key);
    if (before != 0)
        return plyecho_fail_line(reader->err, PLYECHO_BAD_FILE, item->line,
                                 "'%s' stands in line %ld already; keep one of the two",
                                 key->name, before);
    switch (key->kind) {
    case PLYECHO_KEY_WORD:
        return read_word(reader, item, key);
    case PLYECHO_KEY_BAND:
        return read_band(reader, item, key);
    case PLYECHO_KEY_TEXT:
    case PLYECHO_KEY_FILE:
    case PLYECHO_KEY_MEDIUM:
    case PLYECHO_KEY_DATE:
        return read_text(reader, item, key);
    case PLYECHO_KEY_LAYER:
        return plyecho_layers_add(field(reader->procedure, key), item->name.text,
                                  item->name.size, item->value.text, item->value.size,
                                  item->line, reader->err);
    case PLYECHO_KEY_NUMBER:
    case PLYECHO_KEY_COUNT:
    case PLYECHO_KEY_FREQUENCY:
        break;
    }
    return read_number(reader, item, key);
}

/* Keep a fault; false where reading on is no use or not wanted. */
static bool go_on(struct reader *reader, enum plyecho_code code)
{
    if (code == PLYECHO_OK)
        return true;
    reader->faults[reader->count++] = reader->fault;
    return code != PLYECHO_NO_MEMORY && reader->count < reader->most;
}

static void read_items(struct reader *reader, struct pe_ini *ini)
{
    struct pe_ini_item item = {.kind = PE_INI_SECTION};
    enum plyecho_code code = PLYECHO_OK;
    while (go_on(reader, code)) {
        code = pe_ini_next(ini, &item, reader->err);
        if (code == PLYECHO_OK && item.kind == PE_INI_END)
            return;
        if (code == PLYECHO_OK)
            code = item.kind == PE_INI_SECTION ? read_section(reader, &item)
                                               : read_entry(reader, &item);
    }
}

size_t plyecho_procedure_faults(struct plyecho_procedure *procedure, const void *bytes,
                                size_t size, struct plyecho_error *faults, size_t most)
{
    *procedure = (struct plyecho_procedure){.digest = ""};
    struct pe_ini ini;
    struct reader reader = {.procedure = procedure, .faults = faults, .most = most};
    reader.err = &reader.fault;
    enum plyecho_code code = PLYECHO_OK;
    if (size > most_bytes)
        code = plyecho_fail(reader.err, PLYECHO_TOO_LARGE,
                            "a procedure file has at most 1 MiB; is this one?");
    if (code == PLYECHO_OK)
        code = pe_ini_start(&ini, bytes, size, reader.err);
    go_on(&reader, code);
    if (reader.count == 0)
        read_items(&reader, &ini);
    if (reader.count < most)
        reader.count += plyecho_procedure_contradictions(procedure, faults + reader.count,
                                                         most - reader.count);
    if (reader.count == 0)
        plyecho_digest(bytes, size, procedure->digest);
    else
        plyecho_procedure_clear(procedure);
    return reader.count;
}

enum plyecho_code plyecho_procedure_read(struct plyecho_procedure *procedure, const void *bytes,
                                         size_t size, struct plyecho_error *err)
{
    struct plyecho_error fault;
    if (plyecho_procedure_faults(procedure, bytes, size, &fault, 1) == 0)
        return PLYECHO_OK;
    if (err != NULL)
        *err = fault;
    return fault.code;
}

void plyecho_procedure_clear(struct plyecho_procedure *procedure)
{
    const key_row *key;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++)
        if (key->kind == PLYECHO_KEY_TEXT || key->kind == PLYECHO_KEY_FILE ||
            key->kind == PLYECHO_KEY_MEDIUM || key->kind == PLYECHO_KEY_DATE)
            free(((struct plyecho_text_setting *)field(procedure, key))->value);
    *procedure = (struct plyecho_procedure){.digest = ""};
}
