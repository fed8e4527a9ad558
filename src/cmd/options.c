#include <config.h>

#include "options.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

#include "memory.h"
#include "suggest.h"

/* Whole numbers above this are not exact in a double. */
#define LARGEST_COUNT 9007199254740992.0

const struct option *options_walk(const struct option *table, void *values,
                                  bool (*visit)(void *context, const struct option *option,
                                                void *member),
                                  void *context)
{
    for (const struct option *row = table; row->name != NULL; row++) {
        void *member = values != NULL ? (char *)values + row->offset : NULL;
        if (row->kind == OPTION_GROUP) {
            const struct option *found = options_walk(row->group, member, visit, context);
            if (found != NULL)
                return found;
        } else if (visit(context, row, member)) {
            return row;
        }
    }
    return NULL;
}

static bool preset(void *context, const struct option *option, void *member)
{
    (void)context;
    if (!option->has_preset)
        return false;
    if (option->kind == OPTION_NUMBER)
        ((struct option_number *)member)->value = option->preset;
    else if (option->kind == OPTION_COUNT)
        ((struct option_count *)member)->value = (unsigned long long)option->preset;
    else if (option->kind == OPTION_WORD)
        ((struct option_word *)member)->index = (size_t)option->preset;
    else if (option->kind == OPTION_BAND) {
        ((struct option_band *)member)->low = option->preset;
        ((struct option_band *)member)->high = option->preset_high;
    }
    return false;
}

void options_preset(const struct option_set *sets, size_t set_count)
{
    for (size_t i = 0; i < set_count; i++)
        options_walk(sets[i].table, sets[i].values, preset, NULL);
}

/* One option that was given, as text to the stream `context`. */
static bool tell_given(void *context, const struct option *option, void *member)
{
    FILE *to = context;
    const struct option_band *band = member;
    const struct option_text *text = member;
    const struct option_number *number = member;
    const struct option_count *count = member;
    const struct option_word *word = member;
    char low[PLYECHO_NUMBER_ROOM], high[PLYECHO_NUMBER_ROOM];
    if (option->kind == OPTION_FLAG && *(const bool *)member)
        fprintf(to, " %s", option->name);
    else if (option->kind == OPTION_NUMBER && number->set)
        fprintf(to, " %s=%s", option->name, plyecho_number_format(number->value, low));
    else if (option->kind == OPTION_COUNT && count->set)
        fprintf(to, " %s=%llu", option->name, count->value);
    else if (option->kind == OPTION_BAND && band->set)
        fprintf(to, " %s=%s:%s", option->name, plyecho_number_format(band->low, low),
                plyecho_number_format(band->high, high));
    else if (option->kind == OPTION_TEXT && text->set)
        fprintf(to, " %s=%s", option->name, text->value);
    else if (option->kind == OPTION_WORD && word->set)
        fprintf(to, " %s=%s", option->name, option->words[word->index]);
    return false;
}

char *options_given(const struct option *table, void *values)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = memory_stream(&text, &size);
    options_walk(table, values, tell_given, to);
    memory_stream_end(to);
    if (text[0] == ' ')
        memmove(text, text + 1, size);
    return text;
}

static bool clear(void *context, const struct option *option, void *member)
{
    (void)context;
    if (option->kind == OPTION_TEXTS) {
        struct option_texts *texts = member;
        free(texts->items);
        *texts = (struct option_texts){0};
    }
    return false;
}

void options_clear(const struct option_set *sets, size_t set_count)
{
    for (size_t i = 0; i < set_count; i++)
        options_walk(sets[i].table, sets[i].values, clear, NULL);
}

static void range_words(const struct option *option, const char *what, char *out, size_t room)
{
    char least[PLYECHO_NUMBER_ROOM], most[PLYECHO_NUMBER_ROOM];
    plyecho_number_format(option->least, least);
    plyecho_number_format(option->most, most);
    switch (option->range) {
    case OPTION_ABOVE:
        snprintf(out, room, "%s above %s", what, least);
        break;
    case OPTION_AT_LEAST:
        snprintf(out, room, "%s of at least %s", what, least);
        break;
    case OPTION_BETWEEN:
        snprintf(out, room, "%s from %s to %s", what, least, most);
        break;
    case OPTION_ANY:
        snprintf(out, room, "%s", what);
        break;
    }
}

static void word_list(const char *const *words, char *out, size_t room)
{
    size_t used = 0;
    for (size_t i = 0; words[i] != NULL && used < room; i++) {
        const char *between = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
        used += (size_t)snprintf(out + used, room - used, "%s%s", between, words[i]);
    }
}

static void band_rule(const struct option *option, char out[OPTION_RULE_ROOM])
{
    char text[160];
    if (option->range == OPTION_ANY) {
        snprintf(out, OPTION_RULE_ROOM,
                 "%s, two numbers from 0 up, the lower first, such as 4M:12M",
                 option->argument);
        return;
    }
    range_words(option, "two numbers", text, sizeof text);
    snprintf(out, OPTION_RULE_ROOM, "%s, %s, the lower first, such as %g:%g", option->argument,
             text, option->preset, option->preset_high);
}

const char *option_rule(const struct option *option, char out[OPTION_RULE_ROOM])
{
    char text[160];
    out[0] = '\0';
    switch (option->kind) {
    case OPTION_NUMBER:
        range_words(option, "a number", text, sizeof text);
        /* nobody writes millimetres in thousands, but a sample rate in millions */
        snprintf(out, OPTION_RULE_ROOM, "%s, in %s%s", text, option->argument,
                 strcmp(option->argument, "HZ") == 0
                     ? "; 100000000, 100e6 and 100M are the same"
                     : "");
        break;
    case OPTION_COUNT:
        range_words(option, "a whole number", out, OPTION_RULE_ROOM);
        break;
    case OPTION_BAND:
        band_rule(option, out);
        break;
    case OPTION_WORD:
        word_list(option->words, out, OPTION_RULE_ROOM);
        break;
    case OPTION_TEXT:
    case OPTION_TEXTS:
        snprintf(out, OPTION_RULE_ROOM, "%s, which may not be empty", option->argument);
        break;
    case OPTION_FLAG:
    case OPTION_GROUP:
        break;
    }
    return out;
}

static bool in_range(const struct option *option, double value)
{
    switch (option->range) {
    case OPTION_ABOVE:
        return value > option->least;
    case OPTION_AT_LEAST:
        return value >= option->least;
    case OPTION_BETWEEN:
        return value >= option->least && value <= option->most;
    case OPTION_ANY:
        break;
    }
    return true;
}

static bool read_number(const struct option *option, const char *text, double *value)
{
    return plyecho_number_parse(text, value, NULL) == PLYECHO_OK && in_range(option, *value);
}

static bool read_count(const struct option *option, const char *text, unsigned long long *value)
{
    double number;
    if (!read_number(option, text, &number) || number < 0.0 || number > LARGEST_COUNT)
        return false;
    *value = (unsigned long long)number;
    return (double)*value == number;
}

static bool read_band(const struct option *option, const char *text, struct option_band *band)
{
    const char *colon = strchr(text, ':');
    char low[PLYECHO_NUMBER_ROOM];
    if (colon == NULL || (size_t)(colon - text) >= sizeof low)
        return false;
    memcpy(low, text, (size_t)(colon - text));
    low[colon - text] = '\0';
    return plyecho_number_parse(low, &band->low, NULL) == PLYECHO_OK &&
           plyecho_number_parse(colon + 1, &band->high, NULL) == PLYECHO_OK &&
           band->low >= 0.0 && band->low < band->high && in_range(option, band->low) &&
           in_range(option, band->high);
}

static bool read_word(const struct option *option, const char *text, size_t *index)
{
    for (size_t i = 0; option->words[i] != NULL; i++) {
        if (strcmp(option->words[i], text) == 0) {
            *index = i;
            return true;
        }
    }
    return false;
}

static bool add_text(struct option_texts *texts, const char *text)
{
    texts->items = memory_resize(texts->items, texts->count + 1, sizeof *texts->items);
    texts->items[texts->count++] = text;
    return true;
}

static bool read_value(const struct option *option, const char *text, void *member)
{
    switch (option->kind) {
    case OPTION_NUMBER:
        return read_number(option, text, &((struct option_number *)member)->value);
    case OPTION_COUNT:
        return read_count(option, text, &((struct option_count *)member)->value);
    case OPTION_BAND:
        return read_band(option, text, member);
    case OPTION_WORD:
        return read_word(option, text, &((struct option_word *)member)->index);
    case OPTION_TEXT:
        ((struct option_text *)member)->value = text;
        return text[0] != '\0';
    case OPTION_TEXTS:
        return text[0] != '\0' && add_text(member, text);
    case OPTION_FLAG:
    case OPTION_GROUP:
        break;
    }
    return true;
}

/* Every kind of value begins with its bool, so this holds for all of them. */
static bool *set_flag(void *member)
{
    return member;
}

/* The option as the user wrote it, for messages: "--band" or "-o". */
struct spelling {
    char text[80];
};

static struct spelling long_spelling(const char *name, size_t size)
{
    struct spelling out;
    snprintf(out.text, sizeof out.text, "--%.*s", size < 64 ? (int)size : 64, name);
    return out;
}

struct search {
    const char *name; /* long name of `size` bytes, or NULL */
    size_t size;
    char letter;
    void *member; /* found */
    struct suggestion nearest;
};

static bool matches(void *context, const struct option *option, void *member)
{
    struct search *search = context;
    bool match;
    if (search->name != NULL)
        match = strlen(option->name) == search->size &&
                memcmp(option->name, search->name, search->size) == 0;
    else
        match = option->letter != 0 && option->letter == search->letter;
    if (match)
        search->member = member;
    return match;
}

static const struct option *find(const struct option_set *sets, size_t set_count,
                                 struct search *search)
{
    const struct option *found = NULL;
    for (size_t i = 0; i < set_count && found == NULL; i++)
        found = options_walk(sets[i].table, sets[i].values, matches, search);
    return found;
}

static bool offer(void *context, const struct option *option, void *member)
{
    (void)member;
    struct search *search = context;
    char typed[64];
    snprintf(typed, sizeof typed, "%.*s", search->size < 63 ? (int)search->size : 63,
             search->name);
    suggest_offer(&search->nearest, typed, option->name);
    return false;
}

static enum plyecho_code unknown(const struct option_set *sets, size_t set_count,
                                 struct search *search, const struct spelling *spelling,
                                 struct plyecho_error *err)
{
    search->nearest = (struct suggestion){NULL, SIZE_MAX};
    if (search->name != NULL)
        for (size_t i = 0; i < set_count; i++)
            options_walk(sets[i].table, NULL, offer, search);
    if (search->nearest.word != NULL)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%s: unknown option; the nearest is --%s", spelling->text,
                            search->nearest.word);
    return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                        "%s: unknown option; --help lists those there are", spelling->text);
}

/* Where the parser stands. */
struct cursor {
    char *const *arguments;
    size_t count;
    size_t next;
    bool stopped;
};

static enum plyecho_code take(const struct option *option, void *member,
                              const struct spelling *spelling, const char *attached,
                              struct cursor *cursor, struct plyecho_error *err)
{
    char rule[OPTION_RULE_ROOM];
    if (*set_flag(member) && option->kind != OPTION_TEXTS)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%s is given twice; give it once",
                            spelling->text);
    if (option->kind == OPTION_FLAG) {
        if (attached != NULL)
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "%s takes no value; leave \"%.80s\" out", spelling->text,
                                attached);
        *set_flag(member) = true;
        cursor->stopped = option->stops;
        return PLYECHO_OK;
    }
    if (attached == NULL && cursor->next >= cursor->count)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%s has no value; give %s",
                            spelling->text, option_rule(option, rule));
    const char *text = attached != NULL ? attached : cursor->arguments[cursor->next++];
    if (!read_value(option, text, member))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%s \"%.60s\": give %s", spelling->text,
                            text, option_rule(option, rule));
    *set_flag(member) = true;
    return PLYECHO_OK;
}

/* One argument that begins with a dash and is more than that. */
static enum plyecho_code parse_option(const struct option_set *sets, size_t set_count,
                                      const char *argument, struct cursor *cursor,
                                      struct plyecho_error *err)
{
    struct search search = {0};
    struct spelling spelling;
    const char *attached = NULL;
    if (argument[1] == '-') {
        search.name = argument + 2;
        search.size = strcspn(search.name, "=");
        if (search.name[search.size] == '=')
            attached = search.name + search.size + 1;
        spelling = long_spelling(search.name, search.size);
    } else {
        search.letter = argument[1];
        attached = argument[2] != '\0' ? argument + 2 : NULL;
        snprintf(spelling.text, sizeof spelling.text, "-%c", argument[1]);
    }
    const struct option *option = find(sets, set_count, &search);
    if (option == NULL)
        return unknown(sets, set_count, &search, &spelling, err);
    return take(option, search.member, &spelling, attached, cursor, err);
}

enum plyecho_code options_parse(const struct option_set *sets, size_t set_count,
                                char *const *arguments, size_t count, const char **operands,
                                size_t *operand_count, struct plyecho_error *err)
{
    struct cursor cursor = {arguments, count, 0, false};
    bool only_operands = false;
    *operand_count = 0;
    while (cursor.next < count && !cursor.stopped) {
        const char *argument = arguments[cursor.next++];
        if (only_operands || argument[0] != '-' || argument[1] == '\0') {
            operands[(*operand_count)++] = argument;
        } else if (strcmp(argument, "--") == 0) {
            only_operands = true;
        } else {
            enum plyecho_code code = parse_option(sets, set_count, argument, &cursor, err);
            if (code != PLYECHO_OK)
                return code;
        }
    }
    return PLYECHO_OK;
}
