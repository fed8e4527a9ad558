/* grid.h - the places of a scan as a grid: who is next to whom, and how far
 *
 * Columns are the distinct angles (tube) or x (plate), rows the distinct axial coordinates or y, both
 * rising, at any spacing. A row may lack places: what is not in the manifest is no place. A tube's
 * grid closes on itself where its last and first angle are no further apart than others are.
 */
#ifndef PLYECHO_GRID_H
#define PLYECHO_GRID_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/along.h>
#include <plyecho/error.h>
#include <plyecho/known.h>
#include <plyecho/place_reading.h>

/* The part that was scanned. */
struct plyecho_part {
    bool tube;                            /* else a plate */
    struct plyecho_known diameter_m;      /* outer diameter of a tube */
    const struct plyecho_along *diameter; /* NULL, or where it changes along the tube: wins */
};

#define PLYECHO_NO_PLACE ((size_t)-1)

/* Read-only for callers; plyecho_grid_new makes it. */
struct plyecho_grid {
    bool tube;
    bool closed;  /* the last column is next to the first */
    bool full;    /* and the columns are next to each other all the way: the whole round */
    size_t count; /* places */
    size_t columns, rows;
    double *across; /* [columns] degrees or m, rising */
    double *along;  /* [rows] m, rising */
    double *
        cell_across; /* [columns] width of a column's cells, degrees or m: half way to both neighbours */
    double *cell_along; /* [rows] height of a row's cells, m */
    double *radius_m; /* [rows] outer radius of a tube; NAN where no diameter is known there */
    size_t *place;    /* [rows * columns] index of the place, or PLYECHO_NO_PLACE */
    size_t *column, *row;             /* [count] of each place */
    double reach_across, reach_along; /* places further apart along a line are no neighbours */
};

/* places: each once (the caller has combined shots). PLYECHO_BAD_ARGUMENT where two share a place,
 * PLYECHO_TOO_LARGE where so few of the grid's crossings hold a place that it is none. On failure *grid
 * is NULL. */
PLYECHO_API enum plyecho_code plyecho_grid_new(struct plyecho_grid **grid,
                                               const struct plyecho_place *places, size_t count,
                                               const struct plyecho_part *part,
                                               struct plyecho_error *err);

enum { PLYECHO_NEIGHBOURS = 8 };

/* Directions of neighbours: towards higher across, lower across, higher along, lower along, then the
 * four diagonals. */
enum plyecho_direction {
    PLYECHO_NEXT_ACROSS,
    PLYECHO_BEFORE_ACROSS,
    PLYECHO_NEXT_ALONG,
    PLYECHO_BEFORE_ALONG
};

/* The next place in a direction, crossings without a place skipped, within reach; or PLYECHO_NO_PLACE. */
PLYECHO_API size_t plyecho_grid_step(const struct plyecho_grid *grid, size_t place,
                                     enum plyecho_direction direction);

/* The neighbours of a place, edges first, then diagonals (two steps, either order); each once. Returns
 * how many. */
PLYECHO_API size_t plyecho_grid_neighbours(const struct plyecho_grid *grid, size_t place,
                                           size_t neighbours[PLYECHO_NEIGHBOURS]);

/* How far `across` reaches from column a to column b going up, in degrees (0 to below 360) or m. */
PLYECHO_API double plyecho_grid_across(const struct plyecho_grid *grid, size_t from_column,
                                       size_t to_column);

/* Arc length in m of an angle in degrees at a depth under a tube's outer surface in a row; of a plate
 * the length itself. NAN where the radius is not known. */
PLYECHO_API double plyecho_grid_arc_m(const struct plyecho_grid *grid, size_t row,
                                      double across, double depth_m);

/* Number the connected sets of places for which member[i] holds, from 1 in the order of their first place;
 * label[i] is 0 for the others. Returns how many there are. Neighbours as above, diagonals too. */
PLYECHO_API enum plyecho_code plyecho_grid_label(const struct plyecho_grid *grid,
                                                 const bool *member, size_t *label,
                                                 size_t *sets, struct plyecho_error *err);

PLYECHO_API void plyecho_grid_free(struct plyecho_grid *grid);

#endif
