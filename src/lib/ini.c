#include "ini.h"

#include <stdbool.h>
#include <string.h>

/* Bytes of the UTF-8 character at the start, 0 where there is none: no stray or missing
 * continuation, no overlong form, no surrogate, nothing above U+10FFFF (RFC 3629). */
static size_t character_size(const unsigned char *text, size_t size)
{
    unsigned char first = text[0];
    size_t need = first < 0x80 ? 1 : first < 0xc2 ? 0 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : 4;
    if (need == 0 || first > 0xf4 || need > size)
        return 0;
    for (size_t i = 1; i < need; i++)
        if ((text[i] & 0xc0) != 0x80)
            return 0;
    bool overlong = (first == 0xe0 && text[1] < 0xa0) || (first == 0xf0 && text[1] < 0x90);
    bool surrogate = first == 0xed && text[1] >= 0xa0;
    bool too_high = first == 0xf4 && text[1] >= 0x90;
    return overlong || surrogate || too_high ? 0 : need;
}

/* A carriage return is one only ahead of a line feed or the file's end. */
static bool is_control(struct pe_span at)
{
    unsigned char c = (unsigned char)at.text[0];
    if (c == '\r')
        return at.size > 1 && at.text[1] != '\n';
    return (c < 0x20 && c != '\t' && c != '\n') || c == 0x7f;
}

static enum plyecho_code check_text(struct pe_span all, struct plyecho_error *err)
{
    const unsigned char *text = (const unsigned char *)all.text;
    long line = 1;
    for (size_t i = 0; i < all.size;) {
        size_t used = character_size(text + i, all.size - i);
        if (used == 0)
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, line,
                                     "byte 0x%02x is not UTF-8 text; save the file as UTF-8",
                                     text[i]);
        if (is_control(pe_span_from(all, i)))
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, line,
                                     "control character 0x%02x; take it out", text[i]);
        if (text[i] == '\n')
            line++;
        i += used;
    }
    return PLYECHO_OK;
}

enum plyecho_code pe_ini_start(struct pe_ini *ini, const void *bytes, size_t size,
                               struct plyecho_error *err)
{
    struct pe_span all = pe_span_unmarked(bytes, size);
    if (size >= 2 && (memcmp(bytes, "\xff\xfe", 2) == 0 || memcmp(bytes, "\xfe\xff", 2) == 0))
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, 1,
                                 "the file is UTF-16 text; save it as UTF-8");
    *ini = (struct pe_ini){.rest = all, .line = 0};
    return check_text(all, err);
}

/* Take one line off the front; the whole has its end. */
static struct pe_span next_line(struct pe_ini *ini, struct pe_span *whole)
{
    struct pe_span line = ini->rest;
    const char *end = memchr(line.text, '\n', line.size);
    if (end != NULL)
        line.size = (size_t)(end - line.text);
    *whole = (struct pe_span){line.text, line.size + (end != NULL)};
    ini->rest = pe_span_from(ini->rest, whole->size);
    ini->line++;
    if (line.size > 0 && line.text[line.size - 1] == '\r')
        line.size--;
    return line;
}

/* Cut a comment: `;` or `#` at the start or after white space. */
static struct pe_span without_comment(struct pe_span span)
{
    for (size_t i = 0; i < span.size; i++)
        if ((span.text[i] == ';' || span.text[i] == '#') &&
            (i == 0 || pe_is_blank(span.text[i - 1])))
            span.size = i;
    return pe_span_trim(span);
}

static enum plyecho_code read_section(struct pe_span line, struct pe_ini_item *item,
                                      struct plyecho_error *err)
{
    const char *end = memchr(line.text, ']', line.size);
    if (end == NULL)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "the section '%.*s' has no closing ]", pe_span_shown(line),
                                 line.text);
    size_t inside = (size_t)(end - line.text);
    struct pe_span behind = pe_span_from(line, inside + 1);
    if (without_comment(behind).size > 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "text behind the section's ]; put it on a line of its own");
    item->kind = PE_INI_SECTION;
    item->name = pe_span_trim((struct pe_span){line.text + 1, inside - 1});
    if (item->name.size == 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "a section without a name; write it as [part]");
    return PLYECHO_OK;
}

static enum plyecho_code read_quoted(struct pe_span value, struct pe_ini_item *item,
                                     struct plyecho_error *err)
{
    const char *end = memchr(value.text + 1, '"', value.size - 1);
    if (end == NULL)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "the value of '%.*s' has no closing quote",
                                 pe_span_shown(item->name), item->name.text);
    size_t inside = (size_t)(end - value.text);
    if (without_comment(pe_span_from(value, inside + 1)).size > 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "text behind the closing quote; quote the whole value");
    item->value = (struct pe_span){value.text + 1, inside - 1};
    item->raw = (struct pe_span){value.text, inside + 1};
    return PLYECHO_OK;
}

static enum plyecho_code read_entry(struct pe_span line, struct pe_ini_item *item,
                                    struct plyecho_error *err)
{
    const char *equals = memchr(line.text, '=', line.size);
    size_t at = equals != NULL ? (size_t)(equals - line.text) : 0;
    item->kind = PE_INI_ENTRY;
    item->name = pe_span_trim((struct pe_span){line.text, at});
    if (equals == NULL || item->name.size == 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "'%.*s' is no 'key = value'; a comment begins with ;",
                                 pe_span_shown(line), line.text);
    struct pe_span value = pe_span_trim(pe_span_from(line, at + 1));
    if (value.size > 0 && value.text[0] == '"')
        return read_quoted(value, item, err);
    item->value = item->raw = without_comment(value);
    if (item->value.size == 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, item->line,
                                 "'%.*s' has no value; write one or take the line out",
                                 pe_span_shown(item->name), item->name.text);
    return PLYECHO_OK;
}

enum plyecho_code pe_ini_next(struct pe_ini *ini, struct pe_ini_item *item,
                              struct plyecho_error *err)
{
    *item = (struct pe_ini_item){.kind = PE_INI_END};
    while (ini->rest.size > 0) {
        struct pe_span line = pe_span_trim(next_line(ini, &item->whole));
        if (line.size == 0 || line.text[0] == ';' || line.text[0] == '#')
            continue;
        item->line = ini->line;
        return line.text[0] == '[' ? read_section(line, item, err)
                                   : read_entry(line, item, err);
    }
    return PLYECHO_OK;
}
