#include "utf8.h"

#include <stdbool.h>
#include <string.h>

static bool follows(unsigned char byte)
{
    return (byte & 0xc0) == 0x80;
}

/* Overlong forms, surrogates and numbers above U+10FFFF are no characters. */
static size_t character(const unsigned char *text)
{
    unsigned char a = text[0];
    if (a < 0x80)
        return 1;
    if (a < 0xc2 || a > 0xf4 || !follows(text[1]))
        return 0;
    if (a < 0xe0)
        return 2;
    bool low = (a == 0xe0 && text[1] < 0xa0) || (a == 0xf0 && text[1] < 0x90);
    bool high = (a == 0xed && text[1] > 0x9f) || (a == 0xf4 && text[1] > 0x8f);
    if (low || high || !follows(text[2]))
        return 0;
    if (a < 0xf0)
        return 3;
    return follows(text[3]) ? 4 : 0;
}

size_t utf8_character(const char *text)
{
    return character((const unsigned char *)text);
}

static void put_json(FILE *to, unsigned char byte)
{
    static const char *const short_forms[0x20] = {
        ['\b'] = "\\b", ['\f'] = "\\f", ['\n'] = "\\n", ['\r'] = "\\r", ['\t'] = "\\t",
    };
    if (byte == '"' || byte == '\\')
        fprintf(to, "\\%c", byte);
    else if (byte >= 0x20)
        putc(byte, to);
    else if (short_forms[byte] != NULL)
        fputs(short_forms[byte], to);
    else
        fprintf(to, "\\u%04x", byte);
}

static bool is_control(unsigned char byte)
{
    return byte < 0x20 || byte == 0x7f;
}

static bool is_layout(unsigned char byte)
{
    return byte == '\t' || byte == '\n' || byte == '\r';
}

/* False for what needs no escape. */
static bool put_reference(FILE *to, unsigned char byte)
{
    static const char special[] = "&<>\"'";
    const char *found = byte != '\0' ? strchr(special, byte) : NULL;
    if (found == NULL)
        return false;
    fprintf(to, "&#%d;", byte);
    return true;
}

/* U+061C, U+200E, U+200F, U+202A to U+202E, U+2066 to U+2069. */
static bool turns_direction(const unsigned char *c, size_t size)
{
    if (size == 2)
        return c[0] == 0xd8 && c[1] == 0x9c;
    if (size != 3 || c[0] != 0xe2)
        return false;
    return (c[1] == 0x80 && (c[2] == 0x8e || c[2] == 0x8f || (c[2] >= 0xaa && c[2] <= 0xae))) ||
           (c[1] == 0x81 && c[2] >= 0xa6 && c[2] <= 0xa9);
}

static void put_ascii(FILE *to, unsigned char byte, enum utf8_style style)
{
    if (style == UTF8_JSON)
        put_json(to, byte);
    else if (style == UTF8_HTML && put_reference(to, byte))
        return;
    else if (is_control(byte) && (style == UTF8_PLAIN || !is_layout(byte)))
        putc('?', to);
    else if (style == UTF8_CSV_QUOTED && byte == '"')
        fputs("\"\"", to);
    else
        putc(byte, to);
}

void utf8_put(FILE *to, const char *text, enum utf8_style style)
{
    const unsigned char *next = (const unsigned char *)text;
    while (*next != '\0') {
        size_t size = character(next);
        if (size == 1)
            put_ascii(to, *next, style);
        else if (size == 2 && next[0] == 0xc2 && next[1] < 0xa0 && style != UTF8_JSON)
            putc('?', to); /* controls of ISO 6429 beyond ASCII */
        else if (style == UTF8_HTML && turns_direction(next, size))
            putc('?', to);
        else if (size == 0)
            fputs("\xef\xbf\xbd", to);
        else
            fwrite(next, 1, size, to);
        next += size > 0 ? size : 1;
    }
}

size_t utf8_length(const char *text)
{
    const unsigned char *next = (const unsigned char *)text;
    size_t length = 0;
    while (*next != '\0') {
        size_t size = character(next);
        next += size > 0 ? size : 1;
        length++;
    }
    return length;
}
