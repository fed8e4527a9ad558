/* thickness - the wall's thickness by measuring mode 1, 2 or 3 */
#include <config.h>

#include <stdio.h>

#include "measure.h"
#include "thickness_budget.h"
#include "verb.h"

struct thickness_values {
    struct measure_values measure; /* first: measure_each takes it */
    bool budget;
};

static const struct option options[] = {
    {.name = "budget",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct thickness_values, budget),
     .help = "the uncertainty budget of each thickness (JCGM 100) in its place: a row for each "
             "contribution, and one for all"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = measure_options,
     .offset = offsetof(struct thickness_values, measure)},
    {.name = NULL},
};

static const struct column columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "thickness_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    {.name = "thickness_u_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "mode", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 1},
    {.name = "tof_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "tof_u_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 3},
    {.name = "front_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "back_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "reason", .kind = COLUMN_TEXT, .width = 17},
    {.name = "procedure_doubts", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

static struct cell time_of(const struct plyecho_picks *picks, int echo)
{
    return echo < 0 ? cell_unknown() : cell_number(picks->echoes[echo].time_s * 1e6);
}

static bool print_row(const struct table *table, const struct setup *setup,
                      const struct input_trace *input, const struct plyecho_picks *picks,
                      const struct plyecho_thickness *t)
{
    bool measured = t->time_s > 0.0;
    const struct cell cells[COLUMNS] = {
        cell_text(input->name),
        cell_count(input->trace.channel),
        measured ? cell_thickness(t) : cell_unknown(),
        measured && t->thickness_u.known ? cell_number(t->thickness_u.value * 1e3)
                                         : cell_unknown(),
        measured ? cell_number(t->mode) : cell_unknown(),
        measured ? cell_measured(t->time_s * 1e6, t->time_u_s * 1e6) : cell_unknown(),
        measured ? cell_number(t->time_u_s * 1e6) : cell_unknown(),
        time_of(picks, picks->front),
        time_of(picks, picks->back),
        cell_text(plyecho_reason_word(t->reason)),
        cell_text(setup->doubts),
    };
    return table_row(table, cells);
}

static void read_wall(const struct setup *setup, const struct input_trace *input,
                      const struct plyecho_conditioned *conditioned,
                      struct plyecho_picks *picks, struct plyecho_thickness *thickness)
{
    const struct plyecho_wall_options *wall = &setup->assess.wall;
    *picks = (struct plyecho_picks){.front = -1, .back = -1, .second = -1};
    *thickness = (struct plyecho_thickness){.reason = PLYECHO_REASON_NO_ECHO};
    if (conditioned == NULL)
        return;
    plyecho_wall_pick(conditioned, wall, picks);
    plyecho_wall_measure(conditioned, &input->trace, wall, picks, thickness);
    /* that the highest echo is the back wall's is assumed then */
    if (!wall->nominal_m.known && thickness->reason == PLYECHO_REASON_NONE)
        thickness->reason = PLYECHO_REASON_NO_NOMINAL;
}

static struct measured measure(const struct setup *setup, const struct table *table,
                               const struct input_trace *input,
                               const struct plyecho_conditioned *conditioned)
{
    struct plyecho_picks picks;
    struct plyecho_thickness thickness;
    read_wall(setup, input, conditioned, &picks, &thickness);
    return (struct measured){.going = print_row(table, setup, input, &picks, &thickness),
                             .lacks = measure_lacks(setup, &thickness)};
}

static struct measured budget(const struct setup *setup, const struct table *table,
                              const struct input_trace *input,
                              const struct plyecho_conditioned *conditioned)
{
    struct plyecho_picks picks;
    struct plyecho_thickness thickness;
    read_wall(setup, input, conditioned, &picks, &thickness);
    return (struct measured){.going = thickness_budget(setup, table, input, &thickness)};
}

static enum status run(const struct invocation *invocation)
{
    const struct thickness_values *values = invocation->values;
    if (values->budget)
        return measure_each(invocation, thickness_budget_columns, BUDGET_COLUMNS, budget);
    return measure_each(invocation, columns, COLUMNS, measure);
}

const struct verb verb_thickness = {
    .name = "thickness",
    .group = VERB_MEASURE,
    .help = "time of flight to thickness, by measuring mode 1, 2 or 3",
    .operands = "[FILE...]",
    .description =
        "Measures after the principle of ISO 16809: mode 1 from the transmission pulse to the "
        "back-wall echo less a zero offset, mode 2 from the interface echo to the back-wall "
        "echo, mode 3 between back-wall echoes; auto takes the one with the least uncertainty "
        "that the trace allows. thickness_u_mm is the combined standard uncertainty; it stays "
        "empty where a part of it is not known, as with --velocity alone. This verb measures "
        "the echo that it takes for the back wall's and does not judge whether it is: a "
        "delamination gives a smooth, wrong reading. Use assess to tell them apart. Without a "
        "nominal wall each reading is marked no-nominal: a gap, or a repeat behind one, can "
        "stand for the wall.\n"
        "--budget tells what the uncertainty consists of, after JCGM 100. What nobody stated is "
        "shown as not given, and missing in the sum: a procedure file has keys for it.",
    .example = "plyecho thickness --velocity 2950 --velocity-u 10 ring3.wav",
    .options = options,
    .values_size = sizeof(struct thickness_values),
    .run = run,
};
