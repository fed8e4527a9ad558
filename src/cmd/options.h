/* options.h - command-line options, read by a table into a struct of the verb's own
 *
 * A verb declares a struct with one member an option, of the type that the option's kind names,
 * and a table with one row an option that says where in the struct its value goes. `--help` is
 * printed from the same table, and a default stands there and nowhere else: options_preset puts
 * it into the struct. `set` tells a given value from a default one; no value means "not given".
 *
 *     struct bandpass_values {
 *         struct filter_values filter;
 *         struct option_band band_hz;
 *     };
 *     static const struct option options[] = {
 *         {.name = "band", .kind = OPTION_BAND, .argument = "HZ:HZ",
 *          .offset = offsetof(struct bandpass_values, band_hz), .help = "pass band"},
 *         {.name = "", .kind = OPTION_GROUP, .group = filter_options,
 *          .offset = offsetof(struct bandpass_values, filter)},
 *         {.name = NULL},
 *     };
 */
#ifndef PLYECHO_CMD_OPTIONS_H
#define PLYECHO_CMD_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

/* Kind of an option, and the type of the struct member that takes it. */
enum option_kind {
    OPTION_FLAG,   /* bool: true where given */
    OPTION_NUMBER, /* struct option_number */
    OPTION_COUNT,  /* struct option_count: a whole number */
    OPTION_BAND,   /* struct option_band: LOW:HIGH, LOW below HIGH, neither negative */
    OPTION_TEXT,   /* struct option_text */
    OPTION_TEXTS,  /* struct option_texts: may be repeated, order kept */
    OPTION_WORD,   /* struct option_word: one of the row's words */
    OPTION_GROUP   /* struct of the rows of another table, which stand here */
};

struct option_number {
    bool set;
    double value;
};

struct option_count {
    bool set;
    unsigned long long value;
};

struct option_band {
    bool set;
    double low;
    double high;
};

struct option_text {
    bool set;
    const char *value; /* points into the command line; NULL where not given */
};

struct option_texts {
    bool set;
    const char **items;
    size_t count;
};

struct option_word {
    bool set;
    size_t index; /* into the row's words */
};

/* What a number, a count or the two of a band may be. */
enum option_range {
    OPTION_ANY,
    OPTION_ABOVE,    /* greater than `least` */
    OPTION_AT_LEAST, /* `least` or more */
    OPTION_BETWEEN   /* from `least` to `most` */
};

struct option {
    const char *name; /* long name without the dashes; NULL ends a table; "" for a group */
    char letter;      /* short name, or 0 */
    enum option_kind kind;
    const char *argument;     /* how the value is called, with its unit: "M/S", "FILE" */
    const char *help;         /* what it does, a line or two; wrapped when printed */
    size_t offset;            /* of the member in the struct of values */
    const char *const *words; /* OPTION_WORD: what it may be, NULL behind the last */
    enum option_range range;  /* OPTION_NUMBER, OPTION_COUNT; OPTION_BAND with a default */
    double least;
    double most;
    bool has_preset; /* a default for OPTION_NUMBER, OPTION_COUNT, OPTION_WORD (index) */
    double preset;   /* OPTION_BAND has its default in preset and preset_high */
    double preset_high;
    const struct option *group; /* OPTION_GROUP */
    bool stops;                 /* OPTION_FLAG: what stands behind it is not read (--help) */
};

/* A table and the struct that its values go to. */
struct option_set {
    const struct option *table;
    void *values;
};

/* Fill in the defaults; the structs were zeroed before. */
void options_preset(const struct option_set *sets, size_t set_count);

/* Read the arguments. Options may stand between operands; `--` ends them. operands has room for
 * `count` pointers. PLYECHO_BAD_ARGUMENT names the option, the text and the rule. */
enum plyecho_code options_parse(const struct option_set *sets, size_t set_count,
                                char *const *arguments, size_t count, const char **operands,
                                size_t *operand_count, struct plyecho_error *err);

/* Free what options_parse took (lists of OPTION_TEXTS). */
void options_clear(const struct option_set *sets, size_t set_count);

/* Call visit for each row of a table, groups opened, with the member it belongs to (values may
 * be NULL: then so is the member). Stops early and returns the row where visit returns true. */
const struct option *options_walk(const struct option *table, void *values,
                                  bool (*visit)(void *context, const struct option *option,
                                                void *member),
                                  void *context);

/* What was given of a table, as "name=value name=value", in the table's order and the numbers' shortest form, for
 * the provenance of a result; of defaults and OPTION_TEXTS nothing. malloc'ed, never NULL. */
char *options_given(const struct option *table, void *values);

enum { OPTION_RULE_ROOM = 240 };

/* What a value of this option must look like, in words: "a number above 0, in M/S". */
const char *option_rule(const struct option *option, char out[OPTION_RULE_ROOM]);

#endif
