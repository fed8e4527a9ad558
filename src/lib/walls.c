#include <plyecho/walls.h>

#include <math.h>

bool plyecho_walls_has(const struct plyecho_place_reading *r)
{
    return r->read && r->second_wall_m.known && r->second != PLYECHO_DELAMINATION &&
           r->second != PLYECHO_UNDECIDED && r->second != PLYECHO_UNREADABLE;
}

/* Mean and squares by updates (Welford's recurrence), which stay exact where the spread is small. */
struct moments {
    size_t count;
    double mean, squares;
};

static void add(struct moments *m, double value)
{
    double off = value - m->mean;
    m->count++;
    m->mean += off / (double)m->count;
    m->squares += off * (value - m->mean);
}

static struct plyecho_known deviation(const struct moments *m)
{
    bool known = m->count > 1;
    return (struct plyecho_known){known,
                                  known ? sqrt(m->squares / (double)(m->count - 1)) : 0.0};
}

struct plyecho_walls plyecho_walls_take(const struct plyecho_place_reading *readings,
                                        size_t count)
{
    struct plyecho_walls w = {.about_nominal = true};
    struct moments wall = {0}, off = {0};
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place_reading *r = &readings[i];
        if (!plyecho_walls_has(r))
            continue;
        if (wall.count == 0 || r->second_wall_m.value < readings[w.least].second_wall_m.value)
            w.least = i;
        add(&wall, r->second_wall_m.value);
        w.about_nominal = w.about_nominal && r->nominal_m.known;
        if (w.about_nominal)
            add(&off, r->second_wall_m.value - r->nominal_m.value);
    }
    w.count = wall.count;
    w.mean_m = wall.mean;
    w.spread_m = deviation(&wall);
    w.about_nominal = w.about_nominal && wall.count > 0;
    if (w.about_nominal) {
        w.mean_off_m = off.mean;
        w.spread_about_m = deviation(&off);
    }
    return w;
}
