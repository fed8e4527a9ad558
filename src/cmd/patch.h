/* patch.h - patches of a part as quadrilaterals of a picture
 *
 * A patch is a stretch across by a stretch along. A projection says where a point of the part is drawn: flat and
 * ring are one mechanism, only the projection differs.
 */
#ifndef PLYECHO_CMD_PATCH_H
#define PLYECHO_CMD_PATCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct patch {
    double from_across, to_across;
    double from_along, to_along;
};

struct patch_projection {
    bool ring;   /* else across is x and along is y */
    double turn; /* ring: degrees across rise 1 clockwise, -1 counterclockwise, 0 at the top */
    double inner_edge; /* ring: along at the radius PATCH_BORE, */
    double outer_edge; /* and at 1 */
};

#define PATCH_BORE 0.3

struct patch_point {
    double x, y;
};

struct patch_point patch_project(const struct patch_projection *projection, double across,
                                 double along);

/* Patches that share their edges. */
struct patch_mesh {
    size_t columns, rows;
    const double *across, *along; /* [columns + 1], [rows + 1] edges, rising */
    const unsigned *colour;       /* [rows * columns] 0xRRGGBB */
};

/* As lines "x y colour" of a data block for gnuplot's `splot ... with pm3d`, corners2color c1. gnuplot reads its
 * standard input byte by byte: shared edges and few digits (a part in 10 000 of the picture) are time. */
void patch_write(FILE *out, const struct patch_projection *projection,
                 const struct patch_mesh *mesh);

/* Begin a block of such lines with a point far outside: gnuplot takes one without points for an error. */
void patch_begin_lines(FILE *out, const char *name);

/* A straight line of the part as a polyline of lines "x y", bent with the projection. */
void patch_write_line(FILE *out, const struct patch_projection *projection, double from_across,
                      double from_along, double to_across, double to_along);

#endif
