/* made_map.h - made-up scans for pictures: a grid, its readings, indications by hand
 */
#ifndef PLYECHO_TESTS_MADE_MAP_H
#define PLYECHO_TESTS_MADE_MAP_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/grid.h>
#include <plyecho/indications.h>
#include <plyecho/place_reading.h>

#include "map_picture.h"

enum { MADE_INDICATIONS = 3 };

/* A part of 3 mm, nominal 3 mm: walls from 2.9 to 3.1 mm, and in a large one
 * 1: a delamination at 1.2 mm without a wall, 2: an inner echo with a wall, 3: a part delamination through angle 0
 * with a wall; some places unreadable, undecided and attenuated, some not read, some crossings without a place. */
struct made_map {
    struct plyecho_grid *grid;
    struct plyecho_place_reading *readings;
    size_t *member;
    struct plyecho_indication indications[MADE_INDICATIONS];
    struct map_picture picture; /* of all that */
};

/* Columns every 360 / columns degrees from 0 (or 2 mm), rows every 5 mm from 10. */
struct made_map made_map(bool tube, size_t columns, size_t rows);
void made_map_free(struct made_map *scan);

#endif
