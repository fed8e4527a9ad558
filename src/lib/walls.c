#include <plyecho/walls.h>

#include <math.h>

bool plyecho_walls_has(const struct plyecho_place_reading *r)
{
    return r->read && r->second_wall_m.known && r->second != PLYECHO_DELAMINATION &&
           r->second != PLYECHO_UNDECIDED && r->second != PLYECHO_UNREADABLE;
}

/* Mean and squares by updates, which stay exact where the spread is small. */
struct plyecho_walls plyecho_walls_take(const struct plyecho_place_reading *readings,
                                        size_t count)
{
    struct plyecho_walls w = {0};
    double squares = 0.0;
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place_reading *r = &readings[i];
        if (!plyecho_walls_has(r))
            continue;
        double wall = r->second_wall_m.value, off = wall - w.mean_m;
        if (w.count == 0 || wall < readings[w.least].second_wall_m.value)
            w.least = i;
        w.count++;
        w.mean_m += off / (double)w.count;
        squares += off * (wall - w.mean_m);
    }
    if (w.count > 1)
        w.spread_m = (struct plyecho_known){true, sqrt(squares / (double)(w.count - 1))};
    return w;
}
