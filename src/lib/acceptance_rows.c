/* Rows of the verdict, and their words. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "acceptance_inside.h"

struct plyecho_limit *pe_accept_row(const struct pe_acceptor *j, const char *key,
                                    struct plyecho_known limit, struct plyecho_known reading,
                                    enum plyecho_limit_state state)
{
    struct plyecho_limit *row = &j->acceptance->limit[j->acceptance->count++];
    *row = (struct plyecho_limit){key, limit, reading, state, ""};
    return row;
}

void pe_accept_say(struct plyecho_limit *row, const char *format, ...)
{
    size_t used = strlen(row->words);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(row->words + used, sizeof row->words - used, format, arguments);
    va_end(arguments);
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
