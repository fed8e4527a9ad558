/* walls.h - the wall of a whole part: mean, spread, and the thinnest place
 */
#ifndef PLYECHO_WALLS_H
#define PLYECHO_WALLS_H

#include <stddef.h>

#include <plyecho/place_reading.h>

/* Does a place count with its wall? Behind a delamination, and where nothing was decided, nobody vouches for it. */
PLYECHO_API bool plyecho_walls_has(const struct plyecho_place_reading *reading);

struct plyecho_walls {
    size_t count;                        /* places that do */
    double mean_m;                       /* 0 without one */
    struct plyecho_known spread_m;       /* standard deviation, from two on */
    size_t least;                        /* the thinnest of them; the first of equal ones */
    bool about_nominal;                  /* each has a nominal of its own; then: */
    double mean_off_m;                   /* mean of wall less nominal */
    struct plyecho_known spread_about_m; /* standard deviation of that, from two on */
};

PLYECHO_API struct plyecho_walls plyecho_walls_take(
    const struct plyecho_place_reading *readings, size_t count);

#endif
