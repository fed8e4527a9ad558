/* assess - a verdict a trace */
#include <config.h>

#include <stdio.h>
#include <string.h>

#include "assess_cells.h"
#include "measure.h"
#include "verb.h"

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
    struct assess_texts texts;
    struct cell cells[ASSESS_COLUMNS];
    if (conditioned != NULL)
        plyecho_assess(conditioned, &input->trace, &setup->assess, &assessment);
    else
        assessment = plyecho_assessment_of_silence();
    const struct assess_row row = {input->name, input->trace.channel, &assessment,
                                   setup->procedure.digest, setup->doubts};
    assess_cells(&row, &texts, cells);
    struct measured done = {
        .going = table_row(table, cells),
        .flagged = assessment.flagged,
        .lacks = assessment.wall_seen ? measure_lacks(setup, &assessment.thickness) : 0,
    };
    if (table->format == TABLE_TEXT)
        print_words(texts.words);
    return done;
}

static enum status run(const struct invocation *invocation)
{
    return measure_each(invocation, assess_columns, ASSESS_COLUMNS, judge);
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
