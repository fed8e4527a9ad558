/* procedure_verb.h - what the parts of the verb procedure share
 */
#ifndef PLYECHO_CMD_PROCEDURE_VERB_H
#define PLYECHO_CMD_PROCEDURE_VERB_H

#include <stdio.h>

#include <plyecho/procedure_keys.h>

#include "setup.h"
#include "table.h"
#include "verb.h"

struct procedure_values {
    struct setup_values setup; /* its procedure is the file at hand */
    struct option_text output;
    struct option_text date;
    struct table_values table;
};

enum { PROCEDURE_LAYER_ROOM = 320 };

/* A declared layer as it is written behind NAME = in a procedure file. */
const char *procedure_layer_text(const struct plyecho_declared_layer *layer,
                                 char out[PROCEDURE_LAYER_ROOM]);

/* Write a procedure file with every key explained, set where procedure has it and commented out
 * where not. */
void procedure_template(FILE *to, const struct plyecho_procedure *procedure);

enum status procedure_new(const struct procedure_values *values, struct messages *messages);

enum status procedure_check(const struct procedure_values *values, const char *const *files,
                            size_t count, struct messages *messages);

enum status procedure_show(const struct procedure_values *values, const char *file,
                           struct messages *messages);

#endif
