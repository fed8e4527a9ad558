/* assess - a verdict a trace */
#include <config.h>

#include <stdio.h>
#include <string.h>

#include <plyecho/number.h>

#include "layer_cells.h"
#include "measure.h"
#include "verb.h"

enum { WORDS_ROOM = 4096 };

/* The first fifteen are fixed (docs/columns.md); more may follow. */
static const struct column columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "verdict", .kind = COLUMN_TEXT, .width = 13},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "thickness_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    {.name = "thickness_u_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "mode", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 1},
    {.name = "indication_depth_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 4},
    {.name = "indication_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 3},
    {.name = "evidence_ratio", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 3},
    {.name = "from_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "to_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "tof_us", .kind = COLUMN_NUMBER, .digits = 7, .where = COLUMN_NOT_IN_TEXT},
    {.name = "tof_u_us", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "reason", .kind = COLUMN_TEXT, .width = 17},
    {.name = "next_best", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "indication_depth_u_mm",
     .kind = COLUMN_NUMBER,
     .digits = 3,
     .where = COLUMN_NOT_IN_TEXT},
    {.name = "cover", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "balance_db", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "highest_inner", .kind = COLUMN_NUMBER, .digits = 2, .where = COLUMN_NOT_IN_TEXT},
    {.name = "reportable_level",
     .kind = COLUMN_NUMBER,
     .digits = 2,
     .where = COLUMN_NOT_IN_TEXT},
    {.name = "tof_bound_us", .kind = COLUMN_NUMBER, .where = COLUMN_ONLY_IN_JSON},
    {.name = "words", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "procedure_doubts", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "inner_echoes", .kind = COLUMN_JSON, .where = COLUMN_ONLY_IN_JSON},
    {.name = "layers", .kind = COLUMN_JSON, .where = COLUMN_ONLY_IN_JSON},
    {.name = "layer_names", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
    {.name = "layer_mm", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
    {.name = "layer_u_mm", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

static struct cell when(bool known, double number)
{
    return known ? cell_number(number) : cell_unknown();
}

enum { INNER_ROOM = PLYECHO_INNER_ECHOES * (2 * PLYECHO_NUMBER_ROOM + 64) + 3 };

/* The reportable echoes inside as a JSON array. */
static const char *inner_echoes(const struct plyecho_assessment *a, char room[INNER_ROOM])
{
    size_t used = (size_t)snprintf(room, INNER_ROOM, "[");
    for (int k = 0; k < a->inner_count; k++) {
        const struct plyecho_inner_echo *in = &a->inner[k];
        char depth[PLYECHO_NUMBER_ROOM], level[PLYECHO_NUMBER_ROOM];
        plyecho_number_format(in->depth_m * 1e3, depth);
        plyecho_number_format(decibels(in->strength), level);
        used +=
            (size_t)snprintf(room + used, INNER_ROOM - used,
                             "%s{\"depth_mm\": %s, \"strength_db\": %s, \"as_repeat\": %s}",
                             k > 0 ? ", " : "", depth, level, in->as_repeat ? "true" : "false");
    }
    snprintf(room + used, INNER_ROOM - used, "]");
    return room;
}

static bool print_row(const struct table *table, const struct setup *setup,
                      const struct input_trace *input, const struct plyecho_assessment *a,
                      const char *words)
{
    const struct plyecho_thickness *t = &a->thickness;
    const char *digest = setup->procedure.digest;
    bool wall = a->wall_seen;
    struct layer_cells layers;
    char inner[INNER_ROOM];
    layer_cells_fill(&layers, &a->layers);
    const struct cell cells[COLUMNS] = {
        cell_text(input->name),
        cell_count(input->trace.channel),
        cell_text(plyecho_verdict_word(a->verdict)),
        cell_yes_no(a->flagged),
        wall ? cell_thickness(t) : cell_unknown(),
        when(wall && t->thickness_u.known, t->thickness_u.value * 1e3),
        when(wall, t->mode),
        when(a->has_indication, a->depth_m * 1e3),
        when(a->has_indication, decibels(a->strength)),
        when(a->next_best != a->verdict, a->evidence_ratio),
        when(a->range_known, a->from_m * 1e3),
        when(a->range_known, a->to_m * 1e3),
        wall ? cell_measured(t->time_s * 1e6, t->time_u_s * 1e6) : cell_unknown(),
        when(wall, t->time_u_s * 1e6),
        cell_text(plyecho_reason_word(a->reason)),
        a->next_best != a->verdict ? cell_text(plyecho_verdict_word(a->next_best))
                                   : cell_unknown(),
        when(a->has_indication && a->depth_u.known, a->depth_u.value * 1e3),
        when(a->verdict == PLYECHO_DELAMINATION, a->cover),
        when(a->expectation, a->balance_db),
        when(a->range_known && a->highest_known, a->highest_inner),
        when(a->range_known, a->level),
        when(wall && t->bound_s > 0.0, t->bound_s * 1e6),
        cell_text(words),
        digest[0] != '\0' ? cell_text(digest) : cell_unknown(),
        cell_text(setup->doubts),
        cell_text(PACKAGE_VERSION),
        cell_text(inner_echoes(a, inner)),
        layer_cell(&layers, layers.json),
        layer_cell(&layers, layers.names),
        layer_cell(&layers, layers.mm),
        layer_cell(&layers, layers.u_mm),
    };
    return table_row(table, cells);
}

/* In text the words follow their row, indented. */
static void print_words(const char *words)
{
    for (const char *line = words; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        printf("    %.*s\n", (int)length, line);
        line += length + (line[length] == '\n');
    }
    putchar('\n');
}

static struct measured judge(const struct setup *setup, const struct table *table,
                             const struct input_trace *input,
                             const struct plyecho_conditioned *conditioned)
{
    struct plyecho_assessment assessment;
    char words[WORDS_ROOM];
    if (conditioned != NULL)
        plyecho_assess(conditioned, &input->trace, &setup->assess, &assessment);
    else
        assessment = plyecho_assessment_of_silence();
    plyecho_assessment_words(&assessment, words, sizeof words);
    struct measured done = {
        .going = print_row(table, setup, input, &assessment, words),
        .flagged = assessment.flagged,
        .lacks = assessment.wall_seen ? measure_lacks(setup, &assessment.thickness) : 0,
    };
    if (table->format == TABLE_TEXT)
        print_words(words);
    return done;
}

static enum status run(const struct invocation *invocation)
{
    return measure_each(invocation, columns, COLUMNS, judge);
}

const struct verb verb_assess = {
    .name = "assess",
    .group = VERB_MEASURE,
    .help = "judge each trace: sound, inner echo, delamination, thin, attenuated",
    .operands = "[FILE...]",
    .description =
        "Gives a verdict a trace (no-indication, inner-echo, delamination, thin, attenuated, "
        "undecided or unreadable; all but the first are flagged, and but an inner-echo that was "
        "declared), with the thickness, the depth and strength of an echo "
        "inside, "
        "the odds of the best explanation against the next best, and the depth range in which "
        "the least reportable echo would have been seen. Exit status 0: nothing flagged, 1: "
        "something flagged, 2: trouble.\n"
        "A verdict is a reading, not a clearance. It does not prove a bond, and cracks through "
        "the thickness, broken fibres and what lies under metal are not seen. Acceptance "
        "belongs "
        "to the part's maker, the governing code and qualified personnel.",
    .example = "plyecho assess --procedure tricycle.ini ring3.wav",
    .options = measure_options,
    .values_size = sizeof(struct measure_values),
    .run = run,
};
