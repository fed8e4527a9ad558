#include "measure.h"

#include <stdio.h>
#include <string.h>

#include <plyecho/budget.h>

const struct option measure_options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = setup_options,
     .offset = offsetof(struct measure_values, setup)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct measure_values, table)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct measure_values, inputs)},
    {.name = NULL},
};

struct cell cell_thickness(const struct plyecho_thickness *t)
{
    double of_time = t->time_s > 0.0 ? t->thickness_m / t->time_s * t->time_u_s : 0.0;
    double u = t->thickness_u.known ? t->thickness_u.value : of_time;
    return cell_measured(t->thickness_m * 1e3, u * 1e3);
}

unsigned measure_lacks(const struct setup *setup, const struct plyecho_thickness *t)
{
    struct plyecho_budget b;
    unsigned lacks = 0;
    if (!(t->time_s > 0.0) || !t->thickness_u.known)
        return 0;
    plyecho_budget_of_wall(t, &setup->assess.wall, &b);
    for (size_t k = 0; k < b.count; k++)
        if (b.item[k].state == PLYECHO_SHARE_NOT_GIVEN)
            lacks |= 1u << b.item[k].quantity;
    return lacks;
}

/* Once a run, behind the rows. */
static void print_lacks(unsigned lacks)
{
    const char *between = "";
    if (lacks == 0)
        return;
    fputs("thickness_u_mm lacks what nobody stated: ", stdout);
    for (int q = 0; q < PLYECHO_QUANTITY_COUNT; q++)
        if ((lacks >> q & 1u) != 0) {
            printf("%s%s", between, plyecho_quantity_word((enum plyecho_quantity)q));
            between = ", ";
        }
    puts("; plyecho thickness --budget tells more.");
}

/* What is to be said of a trace's place, once for channels of a file that have it in common. */
static void tell_place(const struct messages *messages, const struct input_trace *input,
                       const struct place *place, char last[PLACE_NOTE_ROOM])
{
    bool again = input->trace.channel > 1 && strcmp(place->note, last) == 0;
    if (place->note[0] != '\0' && !again)
        message_note(messages, input->name, "%s", place->note);
    memcpy(last, place->note, PLACE_NOTE_ROOM);
}

enum status measure_each(const struct invocation *invocation, const struct column *columns,
                         size_t count, measure_function *measure)
{
    const struct measure_values *values = invocation->values;
    struct messages *messages = invocation->messages;
    struct setup setup;
    if (!setup_open(&setup, &values->setup, true, values->inputs.sample_rate_hz.value,
                    messages)) {
        setup_close(&setup);
        return STATUS_TROUBLE;
    }
    struct table table;
    table_begin(&table, &values->table, columns, count, stdout);
    struct inputs *inputs =
        inputs_open(invocation, &values->inputs, setup.assess.wall.velocity_m_s);
    struct input_trace input;
    struct plyecho_error err, last = {0};
    struct measured done = {.going = true};
    char note[PLACE_NOTE_ROOM] = "";
    bool flagged = false;
    unsigned lacks = 0;
    while (done.going && inputs_next_trace(inputs, &input)) {
        struct plyecho_conditioned conditioned;
        enum plyecho_code code = setup_condition(&setup, &input.trace, &conditioned, &err);
        tell_place(messages, &input, &setup.place, note);
        if (code == PLYECHO_OK || code == PLYECHO_UNSUITABLE) {
            done = measure(&setup, &table, &input, code == PLYECHO_OK ? &conditioned : NULL);
            flagged |= done.flagged;
            lacks |= done.lacks;
        } else {
            message_channel_error(messages, input.name, input.trace.channel, &err, &last);
        }
    }
    if (table.format == TABLE_TEXT && done.going)
        print_lacks(lacks);
    inputs_close(inputs);
    setup_close(&setup);
    return verb_status(messages, flagged);
}
