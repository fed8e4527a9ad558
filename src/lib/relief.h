/* relief.h - how the wall of a scan goes up and down in each row, and its height at any place
 */
#ifndef PLYECHO_LIB_RELIEF_H
#define PLYECHO_LIB_RELIEF_H

#include <plyecho/change.h>

struct pe_relief {
    const struct plyecho_grid *grid;
    double
        *height; /* [rows * columns] in m about its row; NAN: no wall, or too few in the row */
};

/* Heights far off are drawn in to three deviations of all. relief->height is malloc'ed. PLYECHO_NO_MEMORY. */
enum plyecho_code pe_relief_take(struct pe_relief *relief, const struct plyecho_scanned *scan,
                                 struct plyecho_error *err);

/* A place between columns: share 0 lies on the lower one, 1 on the upper one. */
struct pe_between {
    size_t lower, upper; /* PLYECHO_NO_PLACE: none within reach */
    double share;
};

/* On a closed tube any angle, on others within reach of a column. */
struct pe_between pe_relief_column(const struct plyecho_grid *grid, double across);

/* The row nearest to a coordinate, nearer than half a spacing; or PLYECHO_NO_PLACE. */
size_t pe_relief_row(const struct plyecho_grid *grid, double along);

/* On the straight line between the columns; NAN where either is missing. */
double pe_relief_height(const struct pe_relief *relief, size_t row,
                        const struct pe_between *between);

#endif
