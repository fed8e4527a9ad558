#include "cases.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/trace.h>

#include "memory.h"

#define OFFSET(member) offsetof(struct case_values, member)

const struct option case_options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = layup_options, .offset = OFFSET(layup)},
    {.name = "", .kind = OPTION_GROUP, .group = rig_options, .offset = OFFSET(rig)},
    {.name = "seed",
     .kind = OPTION_COUNT,
     .argument = "N",
     .offset = OFFSET(seed),
     .range = OPTION_BETWEEN,
     .least = 0.0,
     .most = 4294967295.0,
     .has_preset = true,
     .preset = 1.0,
     .help = "of everything random; the next channel has the next one. The same seed gives the "
             "same bytes"},
    {.name = "label",
     .kind = OPTION_TEXTS,
     .argument = "KEY=VALUE",
     .offset = OFFSET(labels),
     .help = "a label to put on the traces, such as part=tube-3"},
    {.name = NULL},
};

/* A case and the one that says what it leaves open. */
struct pair {
    struct case_values *own;
    const struct case_values *base;
};

static const void *twin(const struct pair *pair, const void *member)
{
    return (const char *)pair->base + ((const char *)member - (const char *)pair->own);
}

static size_t size_of(enum option_kind kind)
{
    switch (kind) {
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

/* Take from the base what the line did not give; lists stay the base's own. */
static bool take_over(void *context, const struct option *option, void *member)
{
    const bool *set = member; /* every kind of value begins with its bool */
    if (!*set)
        memcpy(member, twin(context, member), size_of(option->kind));
    return false;
}

/* Let go of lists that belong to the base. */
static bool let_go(void *context, const struct option *option, void *member)
{
    if (option->kind == OPTION_TEXTS) {
        struct option_texts *texts = member;
        const struct option_texts *base = twin(context, member);
        if (texts->items == base->items)
            *texts = (struct option_texts){0};
    }
    return false;
}

void cases_repeat(struct cases *cases, const struct case_values *base, size_t channels)
{
    *cases = (struct cases){.count = channels, .base = base};
    cases->items = memory_take(channels, sizeof *cases->items);
    for (size_t i = 0; i < channels; i++) {
        cases->items[i] = *base;
        cases->items[i].labels = (struct option_texts){0};
        cases->items[i].seed.value += i;
    }
}

/* The words of a line, parted in place; words has room for one every other byte. A word ends at a
 * space; "..." keeps spaces together. False where a quote is not closed. */
static bool split(char *line, char **words, size_t *count)
{
    *count = 0;
    char *to = line;
    for (char *from = line; *from != '\0';) {
        while (*from == ' ' || *from == '\t' || *from == '\r')
            from++;
        if (*from == '\0')
            break;
        words[(*count)++] = to;
        bool quoted = false;
        for (; *from != '\0' && (quoted || (*from != ' ' && *from != '\t' && *from != '\r'));
             from++) {
            if (*from == '"')
                quoted = !quoted;
            else
                *to++ = *from;
        }
        if (quoted)
            return false;
        from += *from != '\0';
        *to++ = '\0';
    }
    return true;
}

static enum plyecho_code read_words(struct case_values *own, char *const *words, size_t count,
                                    struct plyecho_error *err)
{
    struct option_set set = {case_options, own};
    const char **operands = memory_take(count, sizeof *operands);
    size_t operand_count;
    enum plyecho_code code =
        options_parse(&set, 1, words, count, operands, &operand_count, err);
    if (code == PLYECHO_OK && operand_count > 0)
        code = plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%.60s\" is no option; put a value with spaces into \"...\"",
                            operands[0]);
    free(operands);
    return code;
}

static enum plyecho_code read_line(struct cases *cases, char *line, long number,
                                   struct plyecho_error *err)
{
    if (cases->count == PLYECHO_MAX_CHANNELS)
        return plyecho_fail(err, PLYECHO_TOO_LARGE, "more than %d channels; use several files",
                            PLYECHO_MAX_CHANNELS);
    cases->items = memory_resize(cases->items, cases->count + 1, sizeof *cases->items);
    struct case_values *own = &cases->items[cases->count];
    memset(own, 0, sizeof *own);
    own->line = number;
    char **words = memory_take(strlen(line) / 2 + 1, sizeof *words);
    size_t count;
    enum plyecho_code code = PLYECHO_OK;
    if (!split(line, words, &count))
        code = plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a \" is not closed");
    else
        code = read_words(own, words, count, err);
    free(words);
    bool seeded = own->seed.set;
    struct option_texts labels = own->labels;
    struct pair pair = {own, cases->base};
    options_walk(case_options, own, take_over, &pair);
    own->labels = labels;
    if (!seeded)
        own->seed.value = cases->base->seed.value + cases->count;
    cases->count++;
    return code;
}

enum plyecho_code cases_read(struct cases *cases, const char *path,
                             const struct case_values *base, struct plyecho_error *err)
{
    *cases = (struct cases){.base = base};
    enum plyecho_code code = file_read(path, &cases->text, err);
    if (code != PLYECHO_OK)
        return code;
    struct file_bytes *text = &cases->text;
    text->data = memory_resize(text->data, text->size + 1, 1);
    text->data[text->size] = '\0';
    if (strlen((char *)text->data) != text->size)
        return plyecho_fail(err, PLYECHO_BAD_FILE, "a zero byte: this is no text");
    long number = 1;
    for (char *line = (char *)text->data, *next; line != NULL; line = next, number++) {
        next = strchr(line, '\n');
        if (next != NULL)
            *next++ = '\0';
        char *start = line + strspn(line, " \t\r");
        if (*start == '\0' || *start == '#')
            continue;
        struct plyecho_error inner;
        code = read_line(cases, start, number, &inner);
        if (code != PLYECHO_OK)
            return plyecho_fail_line(err, code, number, "%s", inner.text);
    }
    if (cases->count == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE, "no line with a channel's options");
    return PLYECHO_OK;
}

void cases_clear(struct cases *cases)
{
    for (size_t i = 0; i < cases->count; i++) {
        struct case_values *own = &cases->items[i];
        struct pair pair = {own, cases->base};
        options_walk(case_options, own, let_go, &pair);
        struct option_set set = {case_options, own};
        options_clear(&set, 1);
    }
    free(cases->items);
    free(cases->text.data);
    *cases = (struct cases){0};
}
