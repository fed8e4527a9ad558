/* Places that the scan left out. */
#include <math.h>
#include <stdlib.h>

#include "acceptance_inside.h"
#include "alloc.h"

static const struct plyecho_known unknown = {false, 0.0};

/* Values on a line, with the spacing behind each; a line that closes has one behind its last value, too. */
struct line {
    size_t count, spacings;
    double *spacing;
    size_t *place; /* of each value */
};

/* Half as wide again as those before and behind it: something was left out. Beyond reach it is in any case, and a
 * round of one place is not gone round. */
static bool is_wide(const struct line *l, size_t k, double reach)
{
    bool closed = l->spacings == l->count;
    double before = 0.0, behind = 0.0;
    if (closed && l->count == 1)
        return true;
    if (closed || k > 0)
        before = l->spacing[(k + l->spacings - 1) % l->spacings];
    if (closed || k + 1 < l->spacings)
        behind = l->spacing[(k + 1) % l->spacings];
    double usual = 1.5 * fmax(before, behind);
    return (usual > 0.0 && l->spacing[k] > usual) || (reach > 0.0 && l->spacing[k] > reach);
}

/* How many are wide; *behind is the place before the first of them. */
static size_t count_wide(const struct line *l, double reach, size_t *behind)
{
    size_t wide = 0;
    for (size_t k = l->spacings; k-- > 0;)
        if (is_wide(l, k, reach)) {
            *behind = l->place[k];
            wide++;
        }
    return wide;
}

static void take_row(const struct plyecho_grid *g, size_t row, struct line *l)
{
    size_t first = 0, last = 0;
    l->count = 0;
    for (size_t c = 0; c < g->columns; c++) {
        size_t place = g->place[row * g->columns + c];
        if (place == PLYECHO_NO_PLACE)
            continue;
        if (l->count > 0)
            l->spacing[l->count - 1] = g->across[c] - g->across[last];
        first = l->count == 0 ? c : first;
        last = c;
        l->place[l->count++] = place;
    }
    l->spacings = g->tube ? l->count : l->count - 1;
    if (g->tube)
        l->spacing[l->count - 1] = 360.0 - g->across[last] + g->across[first];
}

/* Of the rows themselves; each with its first place. */
static void take_rows(const struct plyecho_grid *g, struct line *l)
{
    l->count = g->rows;
    l->spacings = g->rows - 1;
    for (size_t r = 0; r < g->rows; r++) {
        l->place[r] = PLYECHO_NO_PLACE;
        for (size_t c = g->columns; c-- > 0;)
            if (g->place[r * g->columns + c] != PLYECHO_NO_PLACE)
                l->place[r] = g->place[r * g->columns + c];
        if (r > 0)
            l->spacing[r - 1] = g->along[r] - g->along[r - 1];
    }
}

static void judge_gaps(const struct pe_acceptor *j, struct line *l)
{
    const struct plyecho_grid *g = j->part->grid;
    size_t gaps = 0, behind = 0;
    take_rows(g, l);
    gaps += count_wide(l, g->reach_along, &behind);
    for (size_t row = g->rows; row-- > 0;) {
        take_row(g, row, l);
        gaps += count_wide(l, g->reach_across, &behind);
    }
    if (gaps == 0)
        return;
    const struct plyecho_known reading = {true, (double)gaps};
    struct plyecho_limit *row =
        pe_accept_row(j, PE_BAR_UNSCANNED, unknown, reading, PLYECHO_LIMIT_OPEN);
    pe_accept_say(row, "%zu gap%s between the places listed, the first behind that", gaps,
                  gaps > 1 ? "s" : "");
    pe_accept_say_place(row, g, &j->part->readings[behind].place);
    pe_accept_say(row, ": what lies there was not scanned");
}

/* Positions that scatter make each place a line of its own, next to nothing. */
static void judge_lines(const struct pe_acceptor *j)
{
    const struct plyecho_grid *g = j->part->grid;
    bool along = g->rows > 1 && !(g->reach_along > 0.0);
    bool across = g->columns > 1 && !(g->reach_across > 0.0);
    if (!along && !across)
        return;
    struct plyecho_limit *row =
        pe_accept_row(j, PE_BAR_NO_LINES, unknown, unknown, PLYECHO_LIMIT_OPEN);
    pe_accept_say(row,
                  "the places form no lines %s the part, so that none has a neighbour there: "
                  "round their positions to the spacing that was meant",
                  along ? "along" : "across");
}

enum plyecho_code pe_accept_gaps(const struct pe_acceptor *j, struct plyecho_error *err)
{
    size_t most = j->part->grid->columns > j->part->grid->rows ? j->part->grid->columns
                                                               : j->part->grid->rows;
    struct line line = {.spacing = pe_alloc(most, sizeof *line.spacing),
                        .place = pe_alloc(most, sizeof *line.place)};
    bool got = line.spacing != NULL && line.place != NULL;
    if (got) {
        judge_lines(j);
        judge_gaps(j, &line);
    }
    free(line.spacing);
    free(line.place);
    return got ? PLYECHO_OK
               : plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the part's verdict");
}
