/* utf8.h - text of unknown origin, printed as valid UTF-8
 */
#ifndef PLYECHO_CMD_UTF8_H
#define PLYECHO_CMD_UTF8_H

#include <stddef.h>
#include <stdio.h>

/* Bytes of the character that text begins with, 0 where it is none (RFC 3629, section 4); 1 at the
 * end of text. */
size_t utf8_character(const char *text);

enum utf8_style {
    UTF8_PLAIN, /* one line for a terminal: control characters become '?' */
    UTF8_CSV, /* control characters but tab and line ends become '?': a table may be looked at */
    UTF8_CSV_QUOTED, /* the same inside double quotes, which are doubled */
    UTF8_JSON,       /* inside a JSON string (RFC 8259, section 7) */
    UTF8_HTML /* text and attributes of a page: & < > " ' escaped; what turns the direction of writing
                 (Unicode's bidirectional controls) becomes '?', as controls do but for layout */
};

/* Print text; bytes that are no UTF-8 (RFC 3629) come out as U+FFFD. */
void utf8_put(FILE *to, const char *text, enum utf8_style style);

/* Characters that utf8_put prints for it, U+FFFD counted too, escapes not. */
size_t utf8_length(const char *text);

#endif
