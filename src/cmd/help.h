/* help.h - the texts of --help, made from the tables that the program runs by
 */
#ifndef PLYECHO_CMD_HELP_H
#define PLYECHO_CMD_HELP_H

#include <stdio.h>

#include "verb.h"

/* `plyecho --help`: what the program is, and its verbs in the order of the work. */
void help_program(FILE *to);

/* `plyecho VERB --help`: description, options of both tables, exit status, example. */
void help_verb(FILE *to, const struct verb *verb, const struct option *common);

#endif
