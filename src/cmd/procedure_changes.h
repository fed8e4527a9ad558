/* procedure_changes.h - a list of values on their way into a procedure file
 */
#ifndef PLYECHO_CMD_PROCEDURE_CHANGES_H
#define PLYECHO_CMD_PROCEDURE_CHANGES_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/procedure_edit.h>

#include "message.h"

/* One of them; key and value are allocated, value NULL takes the line out. */
struct procedure_changes_item {
    const char *section;
    char *key, *value;
};

/* Zero-initialise. */
struct procedure_changes {
    struct procedure_changes_item *items;
    size_t count, room;
    const char
        *refused; /* a text that no value of the file can hold; points into the caller's */
};

/* Add a value as it is to stand in the file. */
void procedure_changes_add(struct procedure_changes *changes, const char *section,
                           const char *key, const char *format, ...) PLYECHO_PRINTF(4, 5);

/* Take a line out, if it is there. */
void procedure_changes_drop(struct procedure_changes *changes, const char *section,
                            const char *key);

/* Add a text, in quotes where it has to be; NULL takes the line out. */
void procedure_changes_add_text(struct procedure_changes *changes, const char *section,
                                const char *key, const char *text);

/* Put all of them into the procedure file of that name, as procedure_file_change does, and empty the
 * list. False where the file stays as it was; why was said. */
bool procedure_changes_write(struct procedure_changes *changes, const char *path,
                             struct messages *messages);

#endif
