/* procedure - the procedure file: begun, looked over, told */
#include <config.h>

#include <stdint.h>
#include <string.h>

#include "procedure_verb.h"
#include "suggest.h"

#define OFFSET(member) offsetof(struct procedure_values, member)

static const struct option options[] = {
    {.name = "output",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = OFFSET(output),
     .help = "new: write to FILE instead of standard output; a file that is there stays"},
    {.name = "date",
     .kind = OPTION_TEXT,
     .argument = "DATE",
     .offset = OFFSET(date),
     .help = "check: the day for which calibrations must hold, as 2026-11-28 (default: today)"},
    {.name = "", .kind = OPTION_GROUP, .group = setup_over_options, .offset = OFFSET(setup)},
    {.name = "", .kind = OPTION_GROUP, .group = table_options, .offset = OFFSET(table)},
    {.name = NULL},
};

enum action { NEW, CHECK, SHOW, ACTIONS };

static const char *const actions[ACTIONS] = {
    [NEW] = "new",
    [CHECK] = "check",
    [SHOW] = "show",
};

static bool find_action(const char *word, enum action *action, struct messages *messages)
{
    struct suggestion nearest = {NULL, SIZE_MAX};
    for (size_t i = 0; i < ACTIONS; i++) {
        if (word != NULL && strcmp(word, actions[i]) == 0) {
            *action = (enum action)i;
            return true;
        }
        if (word != NULL)
            suggest_offer(&nearest, word, actions[i]);
    }
    if (nearest.word != NULL)
        message_trouble(messages, "procedure", "\"%.80s\": the nearest there is is %s", word,
                        nearest.word);
    else
        message_trouble(messages, "procedure", "give new, check or show ahead of the files");
    return false;
}

/* What an action does not heed is not taken in silence. */
static bool fits(enum action action, const struct procedure_values *values, size_t files,
                 struct messages *messages)
{
    const char *wrong = NULL;
    if (action == NEW && files > 0)
        wrong = "new takes no file; name the one to write with -o";
    else if (action == CHECK && files == 0)
        wrong = "check needs the procedure files to look over";
    else if (action == SHOW && files != 1)
        wrong = "show needs one procedure file";
    else if (action != NEW && values->output.set)
        wrong = "-o goes with new";
    else if (action != CHECK && values->date.set)
        wrong = "--date goes with check";
    if (wrong != NULL)
        message_trouble(messages, "procedure", "%s", wrong);
    return wrong == NULL;
}

static enum status run(const struct invocation *invocation)
{
    const struct procedure_values *values = invocation->values;
    const char *word = invocation->file_count > 0 ? invocation->files[0] : NULL;
    struct messages *messages = invocation->messages;
    enum action action;
    if (!find_action(word, &action, messages) ||
        !fits(action, values, invocation->file_count - 1, messages))
        return STATUS_TROUBLE;
    if (action == NEW)
        return procedure_new(values, messages);
    if (action == CHECK)
        return procedure_check(values, invocation->files + 1, invocation->file_count - 1,
                               messages);
    return procedure_show(values, invocation->files[1], messages);
}

const struct verb verb_procedure = {
    .name = "procedure",
    .group = VERB_PREPARE,
    .help = "the procedure file: begin one, look it over, tell what holds",
    .operands = "new|check|show [FILE...]",
    .description =
        "new writes a procedure file with every key explained, with its unit, range and what holds "
        "without it. All is commented out but what options say, so that it reads as it stands.\n"
        "check reads procedure files and tells all that is wrong, with line and cure, and what is "
        "doubtful: a velocity that the material cannot have or without an uncertainty, a calibration "
        "older than valid_days, steps that do not span the wall, a pulse that is not there and the "
        "like. Exit status 0: sound, 1: doubtful, 2: wrong.\n"
        "show tells each value that holds and where it is from: line of the file, option, table of "
        "materials with its source, or default.\n"
        "Options win over the file, as in assess. A sound procedure is not a good one: that is for "
        "qualified personnel to say, by the local code.",
    .example = "plyecho procedure new --nominal 3.2 -o tricycle.ini\n  "
               "plyecho procedure check tricycle.ini\n  "
               "plyecho procedure show --nominal 3.0 tricycle.ini",
    .options = options,
    .values_size = sizeof(struct procedure_values),
    .run = run,
};
