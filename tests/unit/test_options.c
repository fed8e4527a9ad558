#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "options.h"
#include "suggest.h"
#include "verb.h"

static const char *const colours[] = {"red", "green", "blue", NULL};

struct inner {
    bool loud;
    struct option_text place;
};

struct values {
    struct option_number speed;
    struct option_number share;
    struct option_number offset;
    struct option_count shots;
    struct option_band band;
    struct option_word colour;
    struct option_texts layers;
    struct inner inner;
};

static const struct option inner_table[] = {
    {.name = "loud",
     .letter = 'l',
     .kind = OPTION_FLAG,
     .offset = offsetof(struct inner, loud),
     .help = "loud"},
    {.name = "place",
     .letter = 'p',
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct inner, place),
     .help = "place"},
    {.name = NULL},
};

static const struct option table[] = {
    {.name = "speed",
     .kind = OPTION_NUMBER,
     .argument = "M/S",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct values, speed),
     .help = "speed"},
    {.name = "share",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .range = OPTION_BETWEEN,
     .least = 0,
     .most = 1,
     .has_preset = true,
     .preset = 0.25,
     .offset = offsetof(struct values, share),
     .help = "share"},
    {.name = "offset",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct values, offset),
     .help = "offset"},
    {.name = "shots",
     .kind = OPTION_COUNT,
     .argument = "N",
     .range = OPTION_AT_LEAST,
     .least = 1,
     .has_preset = true,
     .preset = 16,
     .offset = offsetof(struct values, shots),
     .help = "shots"},
    {.name = "band",
     .kind = OPTION_BAND,
     .argument = "LO:HI",
     .has_preset = true,
     .preset = 1e6,
     .preset_high = 2e6,
     .offset = offsetof(struct values, band),
     .help = "band"},
    {.name = "colour",
     .kind = OPTION_WORD,
     .words = colours,
     .argument = "COLOUR",
     .has_preset = true,
     .preset = 1,
     .offset = offsetof(struct values, colour),
     .help = "colour"},
    {.name = "layer",
     .kind = OPTION_TEXTS,
     .argument = "LAYER",
     .offset = offsetof(struct values, layers),
     .help = "layer"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inner_table,
     .offset = offsetof(struct values, inner)},
    {.name = NULL},
};

enum { MOST = 16 };

struct parsed {
    struct values values;
    const char *operands[MOST];
    size_t operand_count;
    struct plyecho_error err;
    enum plyecho_code code;
};

/* line: arguments parted by single spaces; "''" is an empty one */
static struct parsed parse(const char *line)
{
    static char room[256];
    char *arguments[MOST];
    size_t count = 0;
    struct parsed parsed;
    memset(&parsed, 0, sizeof parsed);
    strcpy(room, line);
    for (char *word = strtok(room, " "); word != NULL; word = strtok(NULL, " "))
        arguments[count++] = strcmp(word, "''") == 0 ? word + 2 : word;
    const struct option_set set = {table, &parsed.values};
    options_preset(&set, 1);
    parsed.code = options_parse(&set, 1, arguments, count, parsed.operands,
                                &parsed.operand_count, &parsed.err);
    return parsed;
}

static void drop(struct parsed *parsed)
{
    const struct option_set set = {table, &parsed->values};
    options_clear(&set, 1);
}

static void test_values_and_operands(void **state)
{
    (void)state;
    struct parsed p = parse("a --speed 2.95k -l --band=4M:12M b --colour blue --shots=64 "
                            "--offset -0.5 -pHERE - -- --speed");
    assert_int_equal(p.code, PLYECHO_OK);
    assert_true(p.values.speed.set && p.values.speed.value == 2950.0);
    assert_true(p.values.band.set && p.values.band.low == 4e6 && p.values.band.high == 12e6);
    assert_true(p.values.colour.set);
    assert_int_equal(p.values.colour.index, 2);
    assert_int_equal(p.values.shots.value, 64);
    assert_true(p.values.offset.value == -0.5);
    assert_true(p.values.inner.loud);
    assert_string_equal(p.values.inner.place.value, "HERE");
    assert_int_equal(p.operand_count, 4);
    assert_string_equal(p.operands[0], "a");
    assert_string_equal(p.operands[1], "b");
    assert_string_equal(p.operands[2], "-");
    assert_string_equal(p.operands[3], "--speed");
}

static void test_defaults_are_not_set(void **state)
{
    (void)state;
    struct parsed p = parse("");
    assert_int_equal(p.code, PLYECHO_OK);
    assert_true(!p.values.share.set && p.values.share.value == 0.25);
    assert_true(!p.values.shots.set && p.values.shots.value == 16);
    assert_true(!p.values.band.set && p.values.band.low == 1e6 && p.values.band.high == 2e6);
    assert_true(!p.values.colour.set && p.values.colour.index == 1);
    assert_true(!p.values.speed.set && !p.values.inner.loud && !p.values.inner.place.set);
}

static void test_repeatable(void **state)
{
    (void)state;
    struct parsed p = parse("--layer one --layer=two --layer three");
    assert_int_equal(p.code, PLYECHO_OK);
    assert_int_equal(p.values.layers.count, 3);
    assert_string_equal(p.values.layers.items[0], "one");
    assert_string_equal(p.values.layers.items[2], "three");
    drop(&p);
    assert_int_equal(p.values.layers.count, 0);
}

static void test_refusals(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        const char *text;
    } cases[] = {
        {"--speed 0", "--speed \"0\": give a number above 0, in M/S"},
        {"--speed 12mm", "--speed \"12mm\": give a number above 0, in M/S"},
        {"--speed=nan", "--speed \"nan\": give a number above 0, in M/S"},
        {"--speed", "--speed has no value; give a number above 0, in M/S"},
        {"--share 1.01", "--share \"1.01\": give a number from 0 to 1, in SHARE"},
        {"--shots 1.5", "--shots \"1.5\": give a whole number of at least 1"},
        {"--shots 0", "--shots \"0\": give a whole number of at least 1"},
        {"--shots 1e300", "--shots \"1e300\": give a whole number of at least 1"},
        {"--band 4M",
         "--band \"4M\": give LO:HI, two numbers from 0 up, the lower first, such as "
         "4M:12M"},
        {"--band 4M:",
         "--band \"4M:\": give LO:HI, two numbers from 0 up, the lower first, such "
         "as 4M:12M"},
        {"--band 12M:4M",
         "--band \"12M:4M\": give LO:HI, two numbers from 0 up, the lower first, "
         "such as 4M:12M"},
        {"--band -1:4", "--band \"-1:4\": give LO:HI, two numbers from 0 up, the lower first, "
                        "such as 4M:12M"},
        {"--colour redd", "--colour \"redd\": give red, green or blue"},
        {"--place ''", "--place \"\": give NAME, which may not be empty"},
        {"--loud=yes", "--loud takes no value; leave \"yes\" out"},
        {"-lp", "-l takes no value; leave \"p\" out"},
        {"-l --loud", "--loud is given twice; give it once"},
        {"--speed 1 --speed 1", "--speed is given twice; give it once"},
        {"-p a -p b", "-p is given twice; give it once"},
        {"--sped 3", "--sped: unknown option; the nearest is --speed"},
        {"--laud=3", "--laud: unknown option; the nearest is --loud"},
        {"--zzzzzzz", "--zzzzzzz: unknown option; --help lists those there are"},
        {"-z", "-z: unknown option; --help lists those there are"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct parsed p = parse(cases[i].line);
        assert_int_equal(p.code, PLYECHO_BAD_ARGUMENT);
        assert_string_equal(p.err.text, cases[i].text);
        drop(&p);
    }
}

static void test_long_texts_stay_in_bounds(void **state)
{
    (void)state;
    char argument[4096];
    char *arguments[] = {argument};
    const char *operands[1];
    size_t operand_count;
    struct plyecho_error err;
    struct values values = {0};
    const struct option_set set = {table, &values};
    static const char *const begins[] = {"--", "--speed=", "--band=1:", "--colour=", "-"};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        memset(argument, 'x', sizeof argument - 1);
        argument[sizeof argument - 1] = '\0';
        memcpy(argument, begins[i], strlen(begins[i]));
        assert_int_equal(options_parse(&set, 1, arguments, 1, operands, &operand_count, &err),
                         PLYECHO_BAD_ARGUMENT);
        assert_true(strlen(err.text) < sizeof err.text);
    }
}

static const char *suggest(const char *typed)
{
    struct suggestion best = {NULL, SIZE_MAX};
    static const char *const words[] = {"bandpass", "envelope", "gain", "simulate", "plot"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        suggest_offer(&best, typed, words[i]);
    return best.word;
}

static void test_suggestions(void **state)
{
    (void)state;
    assert_string_equal(suggest("badnpass"), "bandpass");
    assert_string_equal(suggest("band"), "bandpass");
    assert_string_equal(suggest("sim"), "simulate");
    assert_string_equal(suggest("envelop"), "envelope");
    assert_null(suggest("x"));
    assert_null(suggest("something"));
}

/* ---- the tables of the program itself ---- */

struct audit {
    const struct verb *verb;
    const char *names[100];
    size_t count;
    char letters[100];
    size_t values_size;
    char *values;
};

static size_t member_size(const struct option *option)
{
    switch (option->kind) {
    case OPTION_FLAG:
        return sizeof(bool);
    case OPTION_NUMBER:
        return sizeof(struct option_number);
    case OPTION_COUNT:
        return sizeof(struct option_count);
    case OPTION_BAND:
        return sizeof(struct option_band);
    case OPTION_TEXT:
        return sizeof(struct option_text);
    case OPTION_TEXTS:
        return sizeof(struct option_texts);
    case OPTION_WORD:
        return sizeof(struct option_word);
    case OPTION_GROUP:
        break;
    }
    return 0;
}

/* Mark the member's bytes; a byte marked before belongs to two options. */
static void audit_member(struct audit *audit, const struct option *option, const char *member)
{
    size_t at = (size_t)(member - audit->values);
    assert_true(at + member_size(option) <= audit->values_size);
    for (size_t i = 0; i < member_size(option); i++) {
        assert_int_equal(audit->values[at + i], 0);
        audit->values[at + i] = 1;
    }
}

static bool audit_option(void *context, const struct option *option, void *member)
{
    struct audit *audit = context;
    print_message("%s --%s\n", audit->verb->name, option->name);
    assert_non_null(option->help);
    assert_true(option->kind == OPTION_FLAG || option->argument != NULL);
    assert_true(option->kind != OPTION_WORD || option->words != NULL);
    for (size_t i = 0; i < audit->count; i++) {
        assert_string_not_equal(audit->names[i], option->name);
        assert_true(option->letter == 0 || audit->letters[i] != option->letter);
    }
    audit->letters[audit->count] = option->letter;
    audit->names[audit->count++] = option->name;
    assert_true(audit->count < 100);
    audit_member(audit, option, member);
    return false;
}

static void test_tables_of_all_verbs(void **state)
{
    (void)state;
    static char values[4096];
    for (const struct verb *const *verb = verb_list(); *verb != NULL; verb++) {
        struct audit audit = {.verb = *verb, .values_size = (*verb)->values_size};
        audit.values = values;
        assert_true(audit.values_size <= sizeof values);
        memset(values, 0, sizeof values);
        /* --quiet, --help and -q, -h belong to main.c */
        audit.names[audit.count] = "quiet", audit.letters[audit.count++] = 'q';
        audit.names[audit.count] = "help", audit.letters[audit.count++] = 'h';
        options_walk((*verb)->options, values, audit_option, &audit);
        assert_ptr_equal(verb_find((*verb)->name), *verb);
        assert_true((*verb)->group < VERB_GROUP_COUNT);
        assert_non_null((*verb)->help);
        assert_non_null((*verb)->description);
        assert_non_null((*verb)->example);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_and_operands),
        cmocka_unit_test(test_defaults_are_not_set),
        cmocka_unit_test(test_repeatable),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_long_texts_stay_in_bounds),
        cmocka_unit_test(test_suggestions),
        cmocka_unit_test(test_tables_of_all_verbs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
