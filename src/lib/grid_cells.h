/* grid_cells.h - how wide and high the cells of a grid's columns and rows are
 */
#ifndef PLYECHO_LIB_GRID_CELLS_H
#define PLYECHO_LIB_GRID_CELLS_H

#include <plyecho/grid.h>

/* Fill cell_across and cell_along; all else of the grid stands. */
void pe_grid_cells(struct plyecho_grid *grid);

#endif
