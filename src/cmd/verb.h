/* verb.h - what a verb is: one row, kept in the verb's own file and listed in verbs.c
 */
#ifndef PLYECHO_CMD_VERB_H
#define PLYECHO_CMD_VERB_H

#include <stddef.h>

#include "message.h"
#include "options.h"

/* Exit status, as `diff` has it. */
enum status {
    STATUS_DONE = 0,    /* done, nothing flagged */
    STATUS_FLAGGED = 1, /* done, something flagged (verbs that judge) */
    STATUS_TROUBLE = 2  /* trouble, said on standard error */
};

/* One call of a verb. */
struct invocation {
    const void *values; /* the verb's option values: its own struct of values_size bytes */
    const char *const *files; /* the arguments that are no options, as given */
    size_t file_count;
    struct messages *messages;
};

/* Headings of `plyecho --help`, in the order of the work. */
enum verb_group { VERB_PREPARE, VERB_MEASURE, VERB_MODEL, VERB_SHOW, VERB_GROUP_COUNT };

struct verb {
    const char *name;
    enum verb_group group;
    const char *help;        /* one line */
    const char *operands;    /* "[FILE...]", or NULL where the verb takes none */
    const char *description; /* a paragraph or more, parted by '\n'; wrapped when printed */
    const char *example;     /* lines that a reader can type */
    const struct option *options; /* ends with a row whose name is NULL */
    size_t values_size;
    enum status (*run)(const struct invocation *invocation);
};

/* The exit status of a verb that went through its work. */
enum status verb_status(const struct messages *messages, bool flagged);

/* All verbs in the order of the work, NULL behind the last. */
const struct verb *const *verb_list(void);

/* NULL where there is none of this name. */
const struct verb *verb_find(const char *name);

extern const struct verb verb_assess;
extern const struct verb verb_average;
extern const struct verb verb_bandpass;
extern const struct verb verb_calibrate;
extern const struct verb verb_compare;
extern const struct verb verb_convert;
extern const struct verb verb_echoes;
extern const struct verb verb_envelope;
extern const struct verb verb_gain;
extern const struct verb verb_inspect;
extern const struct verb verb_plan;
extern const struct verb verb_plot;
extern const struct verb verb_probe;
extern const struct verb verb_procedure;
extern const struct verb verb_readings;
extern const struct verb verb_report;
extern const struct verb verb_scan;
extern const struct verb verb_simulate;
extern const struct verb verb_thickness;

#endif
