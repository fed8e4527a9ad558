/* A procedure file to begin with: every key, explained. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include <plyecho/date.h>
#include <plyecho/procedure_edit.h>

#include "effective.h"
#include "file.h"
#include "memory.h"
#include "procedure_verb.h"

enum { COMMENT_WIDTH = 96 };

/* Text as comment lines. */
static void comment(FILE *to, const char *text)
{
    size_t column = 0;
    while (*text != '\0') {
        size_t word = strcspn(text, " ");
        bool wraps = column > 0 && column + 1 + word > COMMENT_WIDTH;
        column = column == 0 || wraps ? 1 : column;
        fprintf(to, "%s %.*s", wraps ? "\n;" : column == 1 ? ";" : "", (int)word, text);
        column += word + 1;
        text += word + (text[word] == ' ');
    }
    putc('\n', to);
}

/* A frequency's bound with the suffix that people write. */
static void bound(FILE *to, double value, bool frequency)
{
    static const struct {
        double unit;
        const char *suffix;
    } steps[] = {{1e9, "G"}, {1e6, "M"}, {1e3, "k"}, {0.0, ""}};
    size_t s = 0;
    while (steps[s].unit > 0.0 && !(frequency && value >= steps[s].unit))
        s++;
    fprintf(to, "%.10g%s", steps[s].unit > 0.0 ? value / steps[s].unit : value,
            steps[s].suffix);
}

static void range(FILE *to, const struct plyecho_procedure_key *key)
{
    bool frequency = key->kind == PLYECHO_KEY_FREQUENCY || key->kind == PLYECHO_KEY_BAND;
    bound(to, key->least, frequency);
    fputs(" to ", to);
    bound(to, key->most, frequency);
    fprintf(to, "%s%s", key->unit[0] != '\0' ? " " : "", key->unit);
}

/* What may stand behind the equals sign. */
static void form(FILE *to, const struct plyecho_procedure_key *key)
{
    switch (key->kind) {
    case PLYECHO_KEY_TEXT:
        fputs("text", to);
        return;
    case PLYECHO_KEY_FILE:
        fputs("a file's name, relative to the folder of this file", to);
        return;
    case PLYECHO_KEY_MEDIUM:
        fputs("a name that plyecho plan --media lists", to);
        return;
    case PLYECHO_KEY_DATE:
        fputs("as 2026-11-28, with a time as 2026-11-28T14:05, in UTC 2026-11-28T14:05Z", to);
        return;
    case PLYECHO_KEY_WORD:
        for (size_t i = 0; key->words[i] != NULL; i++)
            fprintf(to, "%s%s",
                    i == 0                      ? ""
                    : key->words[i + 1] == NULL ? " or "
                                                : ", ",
                    key->words[i]);
        return;
    case PLYECHO_KEY_COUNT:
        fputs("a whole number, ", to);
        break;
    case PLYECHO_KEY_BAND:
        fputs("LOW:HIGH, ", to);
        break;
    case PLYECHO_KEY_LAYER:
        fputs("see docs/procedure.md", to);
        return;
    case PLYECHO_KEY_NUMBER:
    case PLYECHO_KEY_FREQUENCY:
        break;
    }
    range(to, key);
}

static void explain(FILE *to, const struct plyecho_procedure_key *key)
{
    char *text = NULL;
    size_t size;
    FILE *words = open_memstream(&text, &size);
    if (words == NULL)
        return;
    fprintf(words, "%s (", key->help);
    form(words, key);
    fprintf(words, "). Without it: %s.", key->absent);
    fclose(words);
    comment(to, text);
    free(text);
}

static bool is_text(const struct plyecho_procedure_key *key)
{
    return key->kind == PLYECHO_KEY_TEXT || key->kind == PLYECHO_KEY_FILE;
}

/* A text that no value can hold stays out: then the key shows its example. */
static bool value_of(const struct plyecho_procedure *procedure,
                     const struct plyecho_procedure_key *key,
                     char value[PLYECHO_PROCEDURE_VALUE_ROOM])
{
    char plain[PLYECHO_PROCEDURE_VALUE_ROOM];
    long line;
    if (!plyecho_procedure_value(procedure, key, plain, &line))
        return false;
    if (is_text(key))
        return plyecho_procedure_quote(plain, value, PLYECHO_PROCEDURE_VALUE_ROOM);
    strcpy(value, plain);
    return true;
}

static void print_key(FILE *to, const struct plyecho_procedure *procedure,
                      const struct plyecho_procedure_key *key)
{
    char value[PLYECHO_PROCEDURE_VALUE_ROOM], layer[PROCEDURE_LAYER_ROOM];
    putc('\n', to);
    explain(to, key);
    if (key->kind == PLYECHO_KEY_LAYER && procedure->layers.count == 0)
        fprintf(to, ";%s\n", key->example);
    else if (key->kind == PLYECHO_KEY_LAYER)
        for (size_t i = 0; i < procedure->layers.count; i++)
            fprintf(to, "%s = %s\n", procedure->layers.items[i].name,
                    procedure_layer_text(&procedure->layers.items[i], layer));
    else if (value_of(procedure, key, value))
        fprintf(to, "%s = %s\n", key->name, value);
    else
        fprintf(to, ";%s = %s\n", key->name, key->preset != NULL ? key->preset : key->example);
}

void procedure_template(FILE *to, const struct plyecho_procedure *procedure)
{
    const struct plyecho_procedure_key *key, *before = NULL;
    comment(
        to,
        "A procedure for plyecho. What stands behind ; is a comment: a key counts once its ; is "
        "taken away. plyecho procedure check FILE looks it over, plyecho procedure show FILE "
        "tells what holds.");
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        if (before == NULL || strcmp(before->section, key->section) != 0)
            fprintf(to, "\n[%s] ; %s\n", key->section,
                    plyecho_procedure_section_help(key->section));
        print_key(to, procedure, key);
        before = key;
    }
}

static bool save(const char *path, const char *text, size_t size, struct messages *messages)
{
    struct file_identity identity;
    struct plyecho_error err;
    if (strcmp(path, "-") != 0 && !file_is_special(path) && file_identify(path, &identity)) {
        message_trouble(messages, path,
                        "is there already and stays; give another name, or take it away first");
        return false;
    }
    if (file_write(path, text, size, &err) == PLYECHO_OK)
        return true;
    message_error(messages, path, &err);
    return false;
}

enum status procedure_new(const struct procedure_values *values, struct messages *messages)
{
    struct plyecho_procedure procedure = {.digest = ""};
    char *text = NULL;
    size_t size = 0;
    bool good = effective_take_options(&procedure, &values->setup, messages);
    FILE *to = good ? open_memstream(&text, &size) : NULL;
    if (to != NULL) {
        procedure_template(to, &procedure);
        fclose(to);
        if (values->output.set)
            save(values->output.value, text, size, messages);
        else
            fwrite(text, 1, size, stdout);
    } else if (good) {
        message_trouble(messages, NULL, "out of memory");
    }
    free(text);
    plyecho_procedure_clear(&procedure);
    return verb_status(messages, false);
}
