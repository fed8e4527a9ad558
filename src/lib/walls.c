#include <plyecho/walls.h>

#include "moments.h"

bool plyecho_walls_has(const struct plyecho_place_reading *r)
{
    return r->read && r->second_wall_m.known && r->second != PLYECHO_DELAMINATION &&
           r->second != PLYECHO_UNDECIDED && r->second != PLYECHO_UNREADABLE;
}

struct plyecho_walls plyecho_walls_take(const struct plyecho_place_reading *readings,
                                        size_t count)
{
    struct plyecho_walls w = {.about_nominal = true};
    struct pe_moments wall = {0}, off = {0};
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place_reading *r = &readings[i];
        if (!plyecho_walls_has(r))
            continue;
        if (wall.count == 0 || r->second_wall_m.value < readings[w.least].second_wall_m.value)
            w.least = i;
        pe_moments_add(&wall, r->second_wall_m.value);
        w.about_nominal = w.about_nominal && r->nominal_m.known;
        if (w.about_nominal)
            pe_moments_add(&off, r->second_wall_m.value - r->nominal_m.value);
    }
    w.count = wall.count;
    w.mean_m = wall.mean;
    w.spread_m = pe_moments_sd(&wall);
    w.about_nominal = w.about_nominal && wall.count > 0;
    if (w.about_nominal) {
        w.mean_off_m = off.mean;
        w.spread_about_m = pe_moments_sd(&off);
    }
    return w;
}
