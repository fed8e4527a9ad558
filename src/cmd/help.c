#include "help.h"

#include <string.h>

#include <plyecho/number.h>

enum { WIDTH = 80, OPTION_COLUMN = 26 };

static const char *const headings[VERB_GROUP_COUNT] = {
    [VERB_PREPARE] = "Look at traces and prepare them",
    [VERB_MEASURE] = "Measure and judge",
    [VERB_MODEL] = "Work out beforehand what a probe will see",
    [VERB_SHOW] = "Show",
};

/* Print text wrapped at WIDTH, continued at `indent`; the cursor stands at `column`. A '\n' in
 * the text begins a new line. Ends the last line. */
static void wrap(FILE *to, const char *text, size_t indent, size_t column)
{
    while (*text != '\0') {
        size_t word = strcspn(text, " \n");
        if (column > indent && column + 1 + word > WIDTH) {
            fprintf(to, "\n%*s", (int)indent, "");
            column = indent;
        } else if (column > indent) {
            putc(' ', to);
            column++;
        }
        fwrite(text, 1, word, to);
        column += word;
        text += word;
        if (*text == '\n') {
            fprintf(to, "\n%*s", text[1] == '\n' ? 0 : (int)indent, "");
            column = indent;
        }
        if (*text != '\0')
            text++;
    }
    putc('\n', to);
}

void help_program(FILE *to)
{
    fputs("Usage: plyecho VERB [OPTION...] [FILE...]\n\n", to);
    wrap(
        to,
        "plyecho reads ultrasonic pulse-echo A-scans of composite walls and says how thick the "
        "wall is, how sure that is, and what an echo inside the wall most likely is. Its verbs "
        "are filters: they read the files named, or standard input, and write to standard "
        "output, so that they can be joined by pipes.",
        0, 0);
    const struct verb *const *verbs = verb_list();
    for (size_t group = 0; group < VERB_GROUP_COUNT; group++) {
        bool headed = false;
        for (size_t i = 0; verbs[i] != NULL; i++) {
            if (verbs[i]->group != group)
                continue;
            if (!headed)
                fprintf(to, "\n%s:\n", headings[group]);
            headed = true;
            fprintf(to, "  %-13s ", verbs[i]->name);
            wrap(to, verbs[i]->help, 16, 16);
        }
    }
    fputs("\n", to);
    wrap(to,
         "`plyecho VERB --help` tells a verb's options, `plyecho --version` the version. "
         "Numbers may have an exponent or end in k, M or G (5M is 5000000).",
         0, 0);
    fputs("\n", to);
    wrap(to,
         "Exit status: 0 done and nothing flagged, 1 done and something flagged (verbs that "
         "judge), 2 trouble.",
         0, 0);
}

static const char *preset_text(const struct option *option, char out[2 * PLYECHO_NUMBER_ROOM])
{
    char high[PLYECHO_NUMBER_ROOM];
    if (option->kind == OPTION_WORD)
        return option->words[(size_t)option->preset];
    plyecho_number_format(option->preset, out);
    if (option->kind == OPTION_BAND) {
        strcat(out, ":");
        strcat(out, plyecho_number_format(option->preset_high, high));
    }
    return out;
}

/* "WAV|CSV" for a word, else the argument's own name. */
static void value_name(const struct option *option, char *out, size_t room)
{
    if (option->kind == OPTION_FLAG) {
        out[0] = '\0';
    } else if (option->kind != OPTION_WORD) {
        snprintf(out, room, " %s", option->argument);
    } else {
        size_t used = (size_t)snprintf(out, room, " %s", option->words[0]);
        for (size_t i = 1; option->words[i] != NULL && used < room; i++)
            used += (size_t)snprintf(out + used, room - used, "|%s", option->words[i]);
    }
}

static bool print_option(void *context, const struct option *option, void *member)
{
    (void)member;
    FILE *to = context;
    char letter[8] = "    ";
    char value[160], preset[2 * PLYECHO_NUMBER_ROOM], text[600];
    if (option->letter != 0)
        snprintf(letter, sizeof letter, "-%c, ", option->letter);
    value_name(option, value, sizeof value);
    int used = fprintf(to, "  %s--%s%s", letter, option->name, value);
    if (used < OPTION_COLUMN - 1)
        fprintf(to, "%*s", OPTION_COLUMN - used, "");
    else
        fprintf(to, "\n%*s", OPTION_COLUMN, "");
    snprintf(text, sizeof text, "%s%s%s%s%s", option->help,
             option->kind == OPTION_TEXTS ? "; may be repeated" : "",
             option->has_preset ? " (default: " : "",
             option->has_preset ? preset_text(option, preset) : "",
             option->has_preset ? ")" : "");
    wrap(to, text, OPTION_COLUMN, OPTION_COLUMN);
    return false;
}

void help_verb(FILE *to, const struct verb *verb, const struct option *common)
{
    fprintf(to, "Usage: plyecho %s [OPTION...]%s%s\n\n", verb->name,
            verb->operands != NULL ? " " : "", verb->operands != NULL ? verb->operands : "");
    wrap(to, verb->description, 0, 0);
    fputs("\nOptions:\n", to);
    options_walk(verb->options, NULL, print_option, to);
    options_walk(common, NULL, print_option, to);
    fprintf(to, "      --%*s", OPTION_COLUMN - 8, "");
    wrap(to, "what follows is a file, even if it begins with a dash", OPTION_COLUMN,
         OPTION_COLUMN);
    putc('\n', to);
    fprintf(to, "Example:\n  %s\n", verb->example);
}
