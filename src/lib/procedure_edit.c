#include <plyecho/procedure_edit.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure.h>

#include "alloc.h"
#include "ini.h"

/* Text that grows; data is NULL while empty, else has a NUL behind size bytes. */
struct text {
    char *data;
    size_t size;
};

/* Where a change meets the text; offsets into it. */
struct key_place {
    bool has_section;
    bool has_key;
    struct pe_span raw;   /* the key's value as it stands */
    struct pe_span whole; /* the key's line */
    size_t section_end;   /* behind the line of the section's last entry */
    long line;            /* of the key */
};

static enum plyecho_code splice(struct text *text, size_t at, size_t taken, const char *piece,
                                size_t piece_size, struct plyecho_error *err)
{
    size_t size = text->size - taken + piece_size;
    char *data = pe_alloc(size + 1, 1);
    if (data == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the new text");
    memcpy(data, text->data, at);
    memcpy(data + at, piece, piece_size);
    memcpy(data + at + piece_size, text->data + at + taken, text->size - at - taken);
    free(text->data);
    *text = (struct text){data, size};
    return PLYECHO_OK;
}

static enum plyecho_code insert(struct text *text, size_t at, const char *piece,
                                struct plyecho_error *err)
{
    return splice(text, at, 0, piece, strlen(piece), err);
}

/* How the file ends its lines: as it ends the first. */
static const char *line_end(const struct text *text)
{
    const char *end = memchr(text->data, '\n', text->size);
    return end != NULL && end > text->data && end[-1] == '\r' ? "\r\n" : "\n";
}

/* Does the value, put behind the key, read as itself? */
static enum plyecho_code check_change(const struct plyecho_procedure_change *change,
                                      struct plyecho_error *err)
{
    const char *value = change->value != NULL ? change->value : "\"\"";
    size_t room = strlen(change->section) + strlen(change->key) + strlen(value) + 8;
    char *line = pe_alloc(room, 1);
    if (line == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a value");
    snprintf(line, room, "[%s]\n%s = %s\n", change->section, change->key, value);
    struct pe_ini ini;
    struct pe_ini_item section, entry, end = {.kind = PE_INI_SECTION};
    bool good = pe_ini_start(&ini, line, strlen(line), NULL) == PLYECHO_OK &&
                pe_ini_next(&ini, &section, NULL) == PLYECHO_OK &&
                pe_ini_next(&ini, &entry, NULL) == PLYECHO_OK &&
                pe_ini_next(&ini, &end, NULL) == PLYECHO_OK && end.kind == PE_INI_END &&
                section.kind == PE_INI_SECTION && pe_span_is(section.name, change->section) &&
                entry.kind == PE_INI_ENTRY && pe_span_is(entry.name, change->key) &&
                pe_span_is(entry.raw, value);
    free(line);
    if (good)
        return PLYECHO_OK;
    struct pe_span shown = {value, strlen(value)};
    return plyecho_fail(
        err, PLYECHO_BAD_ARGUMENT,
        "'%.*s' cannot stand behind '%s' in a procedure file; write one line of "
        "UTF-8 text, in double quotes where it has ; or #",
        pe_span_shown(shown), value, change->key);
}

static size_t end_of(const struct text *text, struct pe_span span)
{
    return (size_t)(span.text - text->data) + span.size;
}

static enum plyecho_code find(const struct text *text,
                              const struct plyecho_procedure_change *change,
                              struct key_place *place, struct plyecho_error *err)
{
    struct pe_ini ini;
    struct pe_ini_item item = {.kind = PE_INI_SECTION};
    bool inside = false;
    *place = (struct key_place){false};
    enum plyecho_code code = pe_ini_start(&ini, text->data, text->size, err);
    while (code == PLYECHO_OK && item.kind != PE_INI_END) {
        code = pe_ini_next(&ini, &item, err);
        if (code != PLYECHO_OK || item.kind == PE_INI_END)
            break;
        if (item.kind == PE_INI_SECTION)
            inside = pe_span_is(item.name, change->section);
        if (!inside)
            continue;
        place->has_section = true;
        place->section_end = end_of(text, item.whole);
        if (item.kind != PE_INI_ENTRY || !pe_span_is(item.name, change->key))
            continue;
        if (place->has_key)
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, item.line,
                                     "'%s' stands in line %ld already; keep one of the two",
                                     change->key, place->line);
        place->has_key = true;
        place->raw = item.raw;
        place->whole = item.whole;
        place->line = item.line;
    }
    return code;
}

/* Start a new line at an offset that may be behind a last line without an end. */
static enum plyecho_code end_line(struct text *text, size_t *at, struct plyecho_error *err)
{
    bool marked = *at == 3 && memcmp(text->data, "\xef\xbb\xbf", 3) == 0;
    if (*at == 0 || marked || text->data[*at - 1] == '\n')
        return PLYECHO_OK;
    const char *piece = text->data[*at - 1] == '\r' ? "\n" : line_end(text);
    enum plyecho_code code = insert(text, *at, piece, err);
    if (code == PLYECHO_OK)
        *at += strlen(piece);
    return code;
}

static bool is_blank_line_before(const struct text *text, size_t at)
{
    struct pe_span all = {text->data, at};
    if (at > 0 && all.text[at - 1] == '\n')
        all.size--;
    if (all.size > 0 && all.text[all.size - 1] == '\r')
        all.size--;
    all = pe_span_trim(all);
    return all.size == 0 || all.text[all.size - 1] == '\n' || pe_span_is(all, "\xef\xbb\xbf");
}

/* The new line, with its section's heading where there is none. */
static enum plyecho_code add(struct text *text, const struct key_place *place,
                             const struct plyecho_procedure_change *change,
                             struct plyecho_error *err)
{
    size_t at = place->has_section ? place->section_end : text->size;
    enum plyecho_code code = end_line(text, &at, err);
    if (code != PLYECHO_OK)
        return code;
    const char *end = line_end(text);
    size_t room = strlen(change->section) + strlen(change->key) + strlen(change->value) +
                  4 * sizeof "\r\n" + 8;
    char *lines = pe_alloc(room, 1);
    if (lines == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a new line");
    int used = 0;
    if (!place->has_section)
        used = snprintf(lines, room, "%s[%s]%s", is_blank_line_before(text, at) ? "" : end,
                        change->section, end);
    snprintf(lines + used, room - (size_t)used, "%s = %s%s", change->key, change->value, end);
    code = insert(text, at, lines, err);
    free(lines);
    return code;
}

static enum plyecho_code apply(struct text *text, const struct plyecho_procedure_change *change,
                               struct plyecho_error *err)
{
    struct key_place place;
    enum plyecho_code code = check_change(change, err);
    if (code == PLYECHO_OK)
        code = find(text, change, &place, err);
    if (code != PLYECHO_OK)
        return code;
    if (!place.has_key)
        return change->value != NULL ? add(text, &place, change, err) : PLYECHO_OK;
    struct pe_span old = change->value != NULL ? place.raw : place.whole;
    const char *piece = change->value != NULL ? change->value : "";
    return splice(text, (size_t)(old.text - text->data), old.size, piece, strlen(piece), err);
}

static enum plyecho_code try_reading(const void *bytes, size_t size, struct plyecho_error *err)
{
    struct plyecho_procedure procedure;
    enum plyecho_code code = plyecho_procedure_read(&procedure, bytes, size, err);
    plyecho_procedure_clear(&procedure);
    return code;
}

/* A line is told where the reader finds it: in the file as it was. */
static enum plyecho_code read_back(const struct text *text, const void *bytes, size_t size,
                                   struct plyecho_error *err)
{
    enum plyecho_code code = try_reading(text->data, text->size, err);
    if (code == PLYECHO_OK || code == PLYECHO_NO_MEMORY)
        return code;
    enum plyecho_code before = try_reading(bytes, size, err);
    if (before != PLYECHO_OK)
        return before;
    code = try_reading(text->data, text->size, err);
    if (err != NULL)
        err->line = 0;
    return code;
}

enum plyecho_code plyecho_procedure_edit(const void *bytes, size_t size,
                                         const struct plyecho_procedure_change *changes,
                                         size_t count, char **text, size_t *text_size,
                                         struct plyecho_error *err)
{
    *text = NULL;
    *text_size = 0;
    struct text work = {pe_alloc(size + 1, 1), size};
    if (work.data == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the procedure file");
    if (size > 0)
        memcpy(work.data, bytes, size);
    enum plyecho_code code = PLYECHO_OK;
    for (size_t i = 0; code == PLYECHO_OK && i < count; i++)
        code = apply(&work, &changes[i], err);
    if (code == PLYECHO_OK)
        code = read_back(&work, bytes, size, err);
    if (code == PLYECHO_OK) {
        *text = work.data;
        *text_size = work.size;
    } else {
        free(work.data);
    }
    return code;
}

/* Would a reader without quotes take something of it for a comment, or off its ends? */
static bool needs_quotes(struct pe_span text)
{
    bool needs = text.text[0] == '"' || pe_span_trim(text).size < text.size;
    for (size_t i = 0; i < text.size; i++) {
        bool sign = text.text[i] == ';' || text.text[i] == '#';
        needs |= sign && (i == 0 || pe_is_blank(text.text[i - 1]));
    }
    return needs;
}

bool plyecho_procedure_quote(const char *text, char *value, size_t room)
{
    struct pe_span all = {text, strlen(text)};
    for (size_t i = 0; i < all.size; i++)
        if (((unsigned char)text[i] < 0x20 && text[i] != '\t') || text[i] == 0x7f)
            return false;
    if (all.size == 0)
        return false;
    bool quotes = needs_quotes(all);
    if ((quotes && memchr(text, '"', all.size) != NULL) || all.size + 2 * quotes >= room)
        return false;
    snprintf(value, room, quotes ? "\"%s\"" : "%s", text);
    return true;
}
