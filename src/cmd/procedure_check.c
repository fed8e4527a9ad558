/* Procedure files looked over: what is wrong with them, and what they leave to doubt. */
#include <config.h>

#include <string.h>
#include <time.h>

#include <plyecho/date.h>

#include "effective.h"
#include "place.h"
#include "procedure_doubts.h"
#include "procedure_file.h"
#include "procedure_verb.h"

static const struct column columns[] = {
    {.name = "procedure", .kind = COLUMN_FILE, .width = 24},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "line", .kind = COLUMN_NUMBER, .width = 4},
    {.name = "key", .kind = COLUMN_TEXT, .width = 15},
    {.name = "words", .kind = COLUMN_TEXT},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

struct looked_over {
    struct table table;
    const char *file;
    const char *digest;
    size_t doubts; /* of this file */
    bool flagged;  /* any file */
};

static void print(const struct looked_over *l, bool flagged, const char *key, long line,
                  const char *words)
{
    const struct cell cells[COLUMNS] = {
        cell_text(l->file),
        cell_yes_no(flagged),
        line > 0 ? cell_count((size_t)line) : cell_unknown(),
        cell_text(key),
        cell_text(words),
        cell_text(l->digest),
        cell_text(PACKAGE_VERSION),
    };
    table_row(&l->table, cells);
}

static void print_doubt(void *context, const struct procedure_doubt *doubt)
{
    struct looked_over *l = context;
    print(l, true, doubt->key, doubt->line, doubt->words);
    l->doubts++;
    l->flagged = true;
}

/* Layers must make up the nominal wall, and each needs a velocity, the material's if need be. */
static bool layers_hold(struct plyecho_procedure *procedure, const char *file,
                        struct messages *messages)
{
    struct place place = {.all = {.count = 0}};
    struct plyecho_wall_options wall;
    effective_take_material(procedure);
    setup_take_wall(procedure, &wall);
    return place_open(&place, NULL, procedure, file, &wall, messages);
}

static void look_over(struct looked_over *l, const struct procedure_values *values, long today,
                      struct messages *messages)
{
    struct plyecho_procedure procedure;
    struct setup_values over = values->setup;
    const struct procedure_doubts_about about = {l->file, today, false};
    over.procedure = (struct option_text){true, l->file};
    l->doubts = 0;
    if (procedure_file_read_through(l->file, &procedure, messages) &&
        effective_take_options(&procedure, &over, messages)) {
        l->digest = procedure.digest;
        struct plyecho_procedure stated = procedure; /* its texts belong to procedure */
        if (layers_hold(&procedure, l->file, messages)) {
            procedure_doubts(&stated, &about, print_doubt, l);
            if (l->doubts == 0)
                print(l, false, NULL, 0, NULL);
        }
    }
    plyecho_procedure_clear(&procedure);
}

enum status procedure_check(const struct procedure_values *values, const char *const *files,
                            size_t count, struct messages *messages)
{
    struct looked_over l = {.flagged = false};
    long today = (long)(time(NULL) / 86400);
    const char *date = values->date.value;
    if (date != NULL && !plyecho_date_is(date, strlen(date))) {
        message_trouble(messages, NULL, "--date '%s' is no date; " PLYECHO_DATE_RULE, date);
        return STATUS_TROUBLE;
    }
    if (date != NULL)
        today = plyecho_date_days(date);
    table_begin(&l.table, &values->table, columns, COLUMNS, stdout);
    for (size_t i = 0; i < count; i++) {
        l.file = files[i];
        look_over(&l, values, today, messages);
    }
    return verb_status(messages, l.flagged);
}
