/* html_out.h - pieces of a page: markup is ours, text is anybody's and always escaped
 *
 * Tags, classes and what stands in a format string are ours; everything else goes through html_text.
 */
#ifndef PLYECHO_CMD_HTML_OUT_H
#define PLYECHO_CMD_HTML_OUT_H

#include <stdio.h>

#include <plyecho/error.h>

/* Text of unknown origin; NULL writes nothing. */
void html_text(FILE *out, const char *text);

/* The same, formatted first. */
void html_format(FILE *out, const char *format, ...) PLYECHO_PRINTF(2, 3);

/* <tag>text</tag> and a line end. */
void html_element(FILE *out, const char *tag, const char *text);

/* A term of a description list, and the begin of what is said of it: the caller ends that with </dd>. */
void html_term(FILE *out, const char *term);

/* A heading that links can lead to. */
void html_heading(FILE *out, int level, const char *id, const char *text);

/* Lines of text as the items of a list, `class` NULL for none; nothing where there is no line. */
void html_lines(FILE *out, const char *class, const char *lines);

/* A row of a table of names and values. NULL for value: "not recorded", marked as missing. */
void html_row(FILE *out, const char *name, const char *value);

/* A table of names and values, a line of the caller's own for the caption. */
void html_table_begin(FILE *out, const char *caption);
void html_table_end(FILE *out);

#endif
