/* grid_near.h - the places of a grid near a point, whatever lies between
 */
#ifndef PLYECHO_LIB_GRID_NEAR_H
#define PLYECHO_LIB_GRID_NEAR_H

#include <plyecho/grid.h>

/* What is left to walk of a box of crossings. */
struct pe_near {
    const struct plyecho_grid *grid;
    size_t first_column, columns; /* round the tube: columns from the first, through 0 */
    size_t row, end_row;
    size_t step; /* in the row */
};

/* Places within `across` (degrees or m) and `along` of a point, both sides. A tube's surface is whole, even
 * where its grid is not closed. */
struct pe_near pe_grid_near(const struct plyecho_grid *grid, struct plyecho_place at,
                            double across, double along);

/* The next of them, row by row, or PLYECHO_NO_PLACE. */
size_t pe_near_next(struct pe_near *near);

/* How far two angles are apart, the shorter way round; on a plate two x. */
double pe_grid_apart(const struct plyecho_grid *grid, double across, double other);

#endif
