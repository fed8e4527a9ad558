/* procedure_file.h - procedure files by name: read, changed, and what is named in them
 */
#ifndef PLYECHO_CMD_PROCEDURE_FILE_H
#define PLYECHO_CMD_PROCEDURE_FILE_H

#include <stdbool.h>

#include <plyecho/procedure.h>
#include <plyecho/procedure_edit.h>

#include "message.h"

/* Read a procedure file; procedure is overwritten. False where there was trouble, which has been
 * said: it is zeroed then. */
bool procedure_file_read(const char *path, struct plyecho_procedure *procedure,
                         struct messages *messages);

/* The same, but all that is wrong with the file is said, not only the first. */
bool procedure_file_read_through(const char *path, struct plyecho_procedure *procedure,
                                 struct messages *messages);

/* Put values into the procedure file of that name, made where there is none, as plyecho_procedure_edit
 * does. The file is replaced whole or not at all. False where it stays as it was; why was said. */
bool procedure_file_change(const char *path, const struct plyecho_procedure_change *changes,
                           size_t count, struct messages *messages);

/* A file that is named in a procedure file: relative to that file's folder. Allocated, to be
 * freed with free; never NULL. */
char *procedure_file_beside(const char *procedure_path, const char *name);

#endif
