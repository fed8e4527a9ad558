/* grid.h - the places of a scan as a grid: who is next to whom, and how far
 *
 * Columns are the distinct angles (tube) or x (plate), rows the distinct axial coordinates or y, both
 * rising, at any spacing. A row may lack places: what is not in the manifest is no place, and a finer patch
 * in a coarse scan is a grid as well. Places are neighbours within 1.5 times the spacing that nine in ten
 * successive places along a line keep: an omitted place is no bridge where many are listed, but may be one in a small scan
 * (acceptance.h tells it all the same). A tube's grid closes on itself
 * where its last and first angle are no further apart than that.
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
    size_t count; /* places */
    size_t columns, rows;
    double *across; /* [columns] degrees or m, rising */
    double *along;  /* [rows] m, rising */
    /* Width of a column's cells in degrees or m, height of a row's in m: half way to both neighbours, at an
     * open end as much outside as inside. A lone column is as wide as its lowest row is high, a lone row as high
     * as its narrowest column is wide; 0 where that cannot be told: a single place, a tube without a diameter. */
    double *cell_across, *cell_along; /* [columns], [rows] */
    double *radius_m; /* [rows] outer radius of a tube; NAN where no diameter is known there */
    size_t *place;    /* [rows * columns] index of the place, or PLYECHO_NO_PLACE */
    size_t *column, *row;             /* [count] of each place */
    double reach_across, reach_along; /* places further apart along a line are no neighbours */
};

/* places: each once (the caller has combined shots); angles from 0 to below 360, coordinates that differ by
 * less than 1e-6 degrees or 1e-9 m are the same. PLYECHO_BAD_ARGUMENT for none, for one that is no place, and
 * where two share a place; PLYECHO_TOO_LARGE where so few of the grid's crossings hold a place that it is none;
 * PLYECHO_NO_MEMORY. On failure *grid is NULL. */
PLYECHO_API enum plyecho_code plyecho_grid_new(struct plyecho_grid **grid,
                                               const struct plyecho_place *places, size_t count,
                                               const struct plyecho_part *part,
                                               struct plyecho_error *err);

/* Directions of neighbours along a line of the grid. */
enum plyecho_direction {
    PLYECHO_NEXT_ACROSS,
    PLYECHO_BEFORE_ACROSS,
    PLYECHO_NEXT_ALONG,
    PLYECHO_BEFORE_ALONG
};

/* The next place in a direction, crossings without a place skipped, within reach; or PLYECHO_NO_PLACE. */
PLYECHO_API size_t plyecho_grid_step(const struct plyecho_grid *grid, size_t place,
                                     enum plyecho_direction direction);

enum { PLYECHO_NEIGHBOURS = 8 };

/* The neighbours of a place: one step in each direction, then the first place in each quarter between
 * (the nearest row that has one, its nearest column), within reach; each once. Returns how many. */
PLYECHO_API size_t plyecho_grid_neighbours(const struct plyecho_grid *grid, size_t place,
                                           size_t neighbours[PLYECHO_NEIGHBOURS]);

/* What a place stands for: half way to the next place in each direction, where there is none as far as on the
 * other side, where there is neither by its column's or row's cell. On a closed tube from_across may be below 0
 * and to_across above 360. */
struct plyecho_cell {
    double from_across, to_across; /* degrees or m */
    double from_along, to_along;   /* m */
};

PLYECHO_API struct plyecho_cell plyecho_grid_cell(const struct plyecho_grid *grid,
                                                  size_t place);

/* How far it is from column a to column b going up, in degrees (0 to below 360) or m; on a plate, where
 * b lies below a, less than 0. */
PLYECHO_API double plyecho_grid_across(const struct plyecho_grid *grid, size_t from_column,
                                       size_t to_column);

/* Arc length in m of an angle in degrees at a depth under a tube's outer surface in a row; of a plate
 * the length itself. NAN where the radius is not known. */
PLYECHO_API double plyecho_grid_arc_m(const struct plyecho_grid *grid, size_t row,
                                      double across, double depth_m);

/* Number the connected sets of places for which member[i] holds, from 1 in the order of their first place;
 * label[i] is 0 for the others. *sets is how many there are. Neighbours as above. PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_grid_label(const struct plyecho_grid *grid,
                                                 const bool *member, size_t *label,
                                                 size_t *sets, struct plyecho_error *err);

/* NULL is taken. */
PLYECHO_API void plyecho_grid_free(struct plyecho_grid *grid);

#endif
