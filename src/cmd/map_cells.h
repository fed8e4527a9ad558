/* map_cells.h - the inside of a map as gnuplot's data: cells and their patterns
 */
#ifndef PLYECHO_CMD_MAP_CELLS_H
#define PLYECHO_CMD_MAP_CELLS_H

#include <stddef.h>
#include <stdio.h>

#include "map_picture.h"
#include "patch.h"

/* What is drawn of one place, or of a crossing without one. */
struct map_cell {
    struct patch patch; /* across in degrees, or mm on a plate; along in mm */
    enum map_state state;
    double value; /* of MAP_VALUE */
    size_t place; /* or PLYECHO_NO_PLACE */
    size_t column, row;
};

struct map_cells {
    const struct map_picture *picture;
    struct map_range range;
    struct map_cell *cell; /* crossings without a place first: places may reach over them */
    size_t count;
    size_t counts[MAP_STATE_COUNT]; /* cells in each state */
    struct patch bounds;            /* of all cells */
    double mean_width, mean_height; /* of the cells */
    struct patch_projection projection;
};

/* map_cells_free frees the cells. */
void map_cells_make(struct map_cells *cells, const struct map_picture *picture);
void map_cells_free(struct map_cells *cells);

/* Data blocks $cells (x y colour) and $strokes (polylines x y; none: one point far outside). The size of a mean
 * cell in the picture, in pixels, tells how patterns spread over cells that are too small or too big for one. */
void map_cells_write(const struct map_cells *cells, FILE *out, double width_px,
                     double height_px);

#endif
