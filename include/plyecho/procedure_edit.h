/* procedure_edit.h - values into a procedure file that people write by hand, too
 *
 * What is not changed stays byte for byte: comments, order, blank lines, line ends, the byte-order mark.
 */
#ifndef PLYECHO_PROCEDURE_EDIT_H
#define PLYECHO_PROCEDURE_EDIT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

struct plyecho_procedure_change {
    const char *section; /* "material" */
    const char *key;     /* "velocity_m_s"; under "layers" the layer's name */
    const char *value;   /* as it is to stand in the file; NULL takes the line out */
};

/* New text of a procedure file with these changes, made one after the other. A key that is there
 * changes its value in place, and a comment behind it stays; one that is not there goes behind the
 * last key of its section, a section that is not there to the end of the file. Taking out a key
 * that is not there is no error. bytes may be NULL with size 0: a new file.
 *
 * The result is read as plyecho_procedure_read does, with its errors: what would not read is refused. err has
 * a line where the fault stands in the file as it was, 0 where a change brings it in. A value that
 * would not stand for itself (a line end in it, a comment sign) is PLYECHO_BAD_ARGUMENT. On failure
 * *text is NULL; otherwise it is allocated, to be freed with free, has *text_size bytes and a NUL
 * behind them. */
PLYECHO_API enum plyecho_code plyecho_procedure_edit(
    const void *bytes, size_t size, const struct plyecho_procedure_change *changes,
    size_t count, char **text, size_t *text_size, struct plyecho_error *err);

/* A text (a name, a file) as a value that reads back as the same: in quotes where it has to be.
 * False where no value does (an empty one, a control character, a quote ahead of what needs
 * quotes) or room bytes are too few. */
PLYECHO_API bool plyecho_procedure_quote(const char *text, char *value, size_t room);

#endif
