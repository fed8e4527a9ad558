/* Dijkstra's algorithm with the largest step of a way in place of its length: what is nearest is final, and is left once. */
#include "ways.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"

struct reached {
    double largest;
    size_t place;
};

struct ways {
    const struct plyecho_grid *grid;
    const bool *member;
    size_t *start, *onward;  /* of each place: the members that it is a neighbour of */
    struct reached *waiting; /* a heap: none is before its parent */
    size_t count;
};

/* ---- the heap ---- */

static void swap(struct reached *a, struct reached *b)
{
    struct reached kept = *a;
    *a = *b;
    *b = kept;
}

static void push(struct ways *w, double largest, size_t place)
{
    size_t at = w->count++;
    w->waiting[at] = (struct reached){largest, place};
    for (; at > 0 && w->waiting[at].largest < w->waiting[(at - 1) / 2].largest;
         at = (at - 1) / 2)
        swap(&w->waiting[at], &w->waiting[(at - 1) / 2]);
}

static struct reached pop(struct ways *w)
{
    struct reached least = w->waiting[0];
    w->waiting[0] = w->waiting[--w->count];
    for (size_t at = 0, next; (next = 2 * at + 1) < w->count; at = next) {
        if (next + 1 < w->count && w->waiting[next + 1].largest < w->waiting[next].largest)
            next++;
        if (!(w->waiting[next].largest < w->waiting[at].largest))
            break;
        swap(&w->waiting[at], &w->waiting[next]);
    }
    return least;
}

/* ---- who is next ---- */

/* The neighbours of a member that are members. */
static size_t members_near(const struct ways *w, size_t place, size_t near[PLYECHO_NEIGHBOURS])
{
    size_t all[PLYECHO_NEIGHBOURS], count = 0;
    size_t found = w->member[place] ? plyecho_grid_neighbours(w->grid, place, all) : 0;
    for (size_t k = 0; k < found; k++)
        if (w->member[all[k]])
            near[count++] = all[k];
    return count;
}

/* A neighbour need not have the place as one: the steps are listed by where they start. */
static bool list_onward(struct ways *w)
{
    size_t count = w->grid->count, near[PLYECHO_NEIGHBOURS];
    w->start = pe_alloc(count + 2, sizeof *w->start);
    if (w->start == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        for (size_t k = members_near(w, i, near); k > 0; k--)
            w->start[near[k - 1] + 2]++;
    for (size_t i = 2; i < count + 2; i++)
        w->start[i] += w->start[i - 1];
    w->onward = pe_alloc(w->start[count + 1] + 1, sizeof *w->onward);
    w->waiting = pe_alloc(w->start[count + 1] + count, sizeof *w->waiting);
    if (w->onward == NULL || w->waiting == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        for (size_t k = members_near(w, i, near); k > 0; k--)
            w->onward[w->start[near[k - 1] + 1]++] = i;
    return true;
}

enum plyecho_code pe_ways_find(const struct plyecho_grid *grid, const bool *member,
                               pe_step *step, const void *context, double *largest,
                               struct plyecho_error *err)
{
    struct ways w = {.grid = grid, .member = member};
    bool listed = list_onward(&w);
    for (size_t i = 0; listed && i < grid->count; i++)
        if (member[i] && isfinite(largest[i]))
            push(&w, largest[i], i);
    while (w.count > 0) {
        struct reached from = pop(&w);
        if (from.largest > largest[from.place]) /* reached on a better way since */
            continue;
        for (size_t k = w.start[from.place]; k < w.start[from.place + 1]; k++) {
            size_t to = w.onward[k];
            double way = fmax(from.largest, step(context, from.place, to));
            if (way < largest[to]) {
                largest[to] = way;
                push(&w, way, to);
            }
        }
    }
    free(w.start);
    free(w.onward);
    free(w.waiting);
    return listed ? PLYECHO_OK
                  : plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for ways to %zu places",
                                 grid->count);
}
