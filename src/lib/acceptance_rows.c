/* Rows of the verdict, and their words. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "acceptance_inside.h"

static const char *const keys[PE_LIMIT_COUNT] = {
    [PE_LIMIT_LEAST_WALL] = "least_mm",
    [PE_LIMIT_SPREAD] = "most_spread_mm",
    [PE_LIMIT_DELAMINATION_EXTENT] = "most_delamination_mm",
    [PE_LIMIT_DELAMINATION_AREA] = "most_delamination_mm2",
    [PE_LIMIT_INNER_ECHO_AREA] = "most_inner_echo_mm2",
    [PE_LIMIT_ATTENUATED_AREA] = "most_attenuated_mm2",
    [PE_LIMIT_DISTANCE] = "least_distance_mm",
    [PE_LIMIT_LEAST_COVERAGE] = "least_coverage_percent",
    [PE_LIMIT_MOST_UNSEEN] = "most_unseen_mm",
    [PE_BAR_DELAMINATION] = "delamination",
    [PE_BAR_THIN] = "thin",
    [PE_BAR_ATTENUATED] = "attenuated",
    [PE_BAR_INNER_ECHO] = "inner-echo",
    [PE_BAR_NO_WALL] = "no-wall",
    [PE_BAR_FLAGGED] = "flagged",
    [PE_BAR_UNDECIDED] = "undecided",
    [PE_BAR_UNREADABLE] = "unreadable",
    [PE_BAR_UNREAD] = "unread",
    [PE_BAR_NO_NOMINAL] = "no-nominal",
    [PE_BAR_NO_LEVEL] = "no-level",
    [PE_BAR_COVERAGE] = "coverage",
    [PE_BAR_SINGLE_LINE] = "single-line",
    [PE_BAR_WALL_DOUBT] = "wall-doubt",
    [PE_BAR_COPIED] = "copied",
    [PE_BAR_NO_LINES] = "no-lines",
    [PE_BAR_UNSCANNED] = "unscanned",
};

struct plyecho_limit *pe_accept_row(const struct pe_acceptor *j, enum pe_limit which,
                                    struct plyecho_known limit, struct plyecho_known reading,
                                    enum plyecho_limit_state state)
{
    struct plyecho_acceptance *a = j->acceptance;
    size_t k = 0;
    while (k < a->count && a->limit[k].key != keys[which])
        k++;
    if (k == a->count)
        a->count++; /* no key twice: never more than PE_LIMIT_COUNT */
    a->limit[k] = (struct plyecho_limit){keys[which], limit, reading, state, ""};
    return &a->limit[k];
}

void pe_accept_say(struct plyecho_limit *row, const char *format, ...)
{
    static const char cut[] = "...";
    size_t used = strlen(row->words), room = sizeof row->words - used;
    va_list arguments;
    va_start(arguments, format);
    int needed = vsnprintf(row->words + used, room, format, arguments);
    va_end(arguments);
    if (needed < 0 || (size_t)needed >= room)
        memcpy(row->words + sizeof row->words - sizeof cut, cut, sizeof cut);
}

void pe_accept_say_place(struct plyecho_limit *row, const struct plyecho_grid *grid,
                         const struct plyecho_place *place)
{
    char words[PLYECHO_PLACE_ROOM];
    pe_accept_say(row, " at %s", plyecho_place_words(grid->tube, place, words));
}

int pe_accept_weight(enum plyecho_limit_state state)
{
    return state == PLYECHO_LIMIT_BROKEN ? 2 : state == PLYECHO_LIMIT_OPEN ? 1 : 0;
}
