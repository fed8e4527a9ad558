/* ini.h - the syntax of a procedure file, one item after another, with where each stands
 *
 * Sections in brackets, `key = value`, comments from `;` or `#` at a line's start or after
 * white space. A value in double quotes keeps both signs. Names are not interpreted here. Spans
 * point into the caller's bytes, so that a writer can replace a value and leave all else as it
 * was.
 */
#ifndef PLYECHO_LIB_INI_H
#define PLYECHO_LIB_INI_H

#include <stddef.h>

#include <plyecho/error.h>

#include "span.h"

struct pe_ini {
    struct pe_span rest; /* not read yet */
    long line;           /* of the item read last, from 1 */
};

enum pe_ini_kind { PE_INI_END, PE_INI_SECTION, PE_INI_ENTRY };

struct pe_ini_item {
    enum pe_ini_kind kind;
    long line;
    struct pe_span name;  /* of the section or the key, never empty */
    struct pe_span value; /* without quotes, never empty unless quoted */
    struct pe_span raw;   /* of an entry: the value as it stands, with its quotes */
    struct pe_span whole; /* all of the line with its end, if it has one */
};

/* Start at the first line, behind a byte-order mark. Bytes that are no UTF-8 text are
 * PLYECHO_BAD_FILE, with the line of the first bad byte. */
enum plyecho_code pe_ini_start(struct pe_ini *ini, const void *bytes, size_t size,
                               struct plyecho_error *err);

/* The next section or entry; PE_INI_END behind the last. A line that is neither these nor a
 * comment is PLYECHO_BAD_FILE. */
enum plyecho_code pe_ini_next(struct pe_ini *ini, struct pe_ini_item *item,
                              struct plyecho_error *err);

#endif
