/* map_picture.h - a scan's places as a map: what is asked, and what each place shows
 */
#ifndef PLYECHO_CMD_MAP_PICTURE_H
#define PLYECHO_CMD_MAP_PICTURE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/grid.h>
#include <plyecho/indications.h>
#include <plyecho/known.h>
#include <plyecho/place_reading.h>

#include "pattern.h"

enum map_quantity {
    MAP_WALL,        /* its thickness in mm */
    MAP_OFF_NOMINAL, /* the same less the nominal of its place, for parts that have several */
    MAP_LEVEL /* of the back-wall echo in dB, against the sound places where they are known */
};

enum map_projection {
    MAP_UNROLLED, /* angle or x across, axial or y along */
    MAP_RING /* a tube seen along its axis: the inner ring has the least axial coordinate */
};

/* The way angles rise, for who looks along the rising axial coordinate. */
enum map_turn { MAP_TURN_UNKNOWN, MAP_CLOCKWISE, MAP_COUNTERCLOCKWISE };

/* A map. Texts are UTF-8 from anywhere, hostile files included: they are drawn, never run. */
struct map_picture {
    enum map_quantity quantity;
    enum map_projection projection;
    const char *title;
    bool plain_readings;   /* walls are what a gauge showed: called so */
    const char *zero_mark; /* what the part's zero is marked by; NULL: not stated */
    enum map_turn turn;
    const struct plyecho_grid *grid;
    const struct plyecho_place_reading *readings; /* [grid->count] */
    const struct plyecho_indication *indications; /* [indication_count] */
    size_t indication_count;
    const size_t *member; /* [grid->count] indication from 1, or 0; NULL: none are drawn */
    struct plyecho_known sound_level_db; /* median balance of the sound places: the map's 0 */
};

/* What a cell shows: the quantity, or why there is none. */
enum map_state {
    MAP_VALUE,
    MAP_DELAMINATION, /* no wall seen behind it */
    MAP_ATTENUATED,
    MAP_UNDECIDED,
    MAP_NOT_SEEN, /* another verdict without a wall */
    MAP_UNREADABLE,
    MAP_NO_TRACE, /* no trace was listed for the crossing, or it could not be read */
    MAP_STATE_COUNT
};

struct map_look {
    unsigned fill; /* 0xRRGGBB */
    enum pattern pattern;
};

/* How a state looks: told apart by colour, and by pattern alone. Not of MAP_VALUE. */
struct map_look map_look(enum map_state state);

/* Words of the key, never NULL. */
const char *map_state_words(enum map_state state);

/* Do the nominal walls of a part's places differ so much that a picture of its walls would show little else: by a tenth,
 * and is one known wherever a wall was read? */
bool map_nominals_differ(const struct plyecho_place_reading *readings, size_t count);

/* What a crossing shows, by the second verdict; place may be PLYECHO_NO_PLACE. *value in mm or dB, set for MAP_VALUE only. */
enum map_state map_state_of(const struct map_picture *picture, size_t place, double *value);

/* The colours' range: from the 2nd to the 98th percentile of the values, the nominal wall or the 0 of the levels
 * inside, at least 5 % of the median, or 3 dB, to both sides, on round numbers. Of walls it goes down to the least one,
 * however far off: that is the one that matters. */
struct map_range {
    double low, high;    /* mm or dB */
    size_t below, above; /* values beyond, drawn in the colours of the ends */
    size_t values;
    double least;   /* of the values */
    bool stretched; /* for the least one alone */
    bool nominal_known;
    double nominal_low, nominal_high; /* nominal walls of the places, mm; of the others 0 */
};

/* values 0: there is nothing to draw, low and high are 0 and 1. */
struct map_range map_range(const struct map_picture *picture);

#endif
