/* Low and high places next to each other, as spots to go back to. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "memory.h"
#include "readings.h"

struct numbering {
    struct readings *readings;
    bool *member;
    size_t *label;
};

static double off_wall(const struct plyecho_gauge_log *log, size_t place)
{
    return fabs(log->place[place].off_m - log->wall_off_m);
}

/* Without a grid each place is a spot. */
static bool label(struct numbering *n, size_t *sets, struct messages *messages)
{
    const struct plyecho_gauge_log *log = n->readings->log;
    struct plyecho_error err;
    *sets = 0;
    if (log->grid == NULL) {
        for (size_t i = 0; i < log->count; i++)
            n->label[i] = n->member[i] ? ++*sets : 0;
        return true;
    }
    if (plyecho_grid_label(log->grid, n->member, n->label, sets, &err) == PLYECHO_OK)
        return true;
    message_error(messages, n->readings->name, &err);
    return false;
}

static bool add(struct numbering *n, enum plyecho_gauge_group group, struct messages *messages)
{
    struct readings *r = n->readings;
    const struct plyecho_gauge_log *log = r->log;
    size_t sets, before = r->spots;
    for (size_t i = 0; i < log->count; i++)
        n->member[i] = log->place[i].group == group;
    if (!label(n, &sets, messages))
        return false;
    for (size_t i = 0; i < log->count; i++) {
        if (n->label[i] == 0)
            continue;
        struct readings_spot *s = &r->spot[before + n->label[i] - 1];
        r->member[i] = before + n->label[i];
        if (s->places == 0 || off_wall(log, i) > off_wall(log, s->worst))
            s->worst = i;
        s->group = group;
        s->places++;
    }
    r->spots = before + sets;
    return true;
}

bool readings_find_spots(struct readings *r, struct messages *messages)
{
    size_t count = r->log->count;
    struct numbering n = {r, memory_take(count, sizeof *n.member),
                          memory_take(count, sizeof *n.label)};
    r->spot = memory_take(count, sizeof *r->spot);
    r->member = memory_take(count, sizeof *r->member);
    bool good = add(&n, PLYECHO_GAUGE_LOW, messages) && add(&n, PLYECHO_GAUGE_HIGH, messages);
    free(n.member);
    free(n.label);
    return good;
}
