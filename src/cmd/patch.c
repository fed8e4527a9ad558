#include <config.h>

#include "patch.h"

#include <math.h>

#define DEGREES_A_PIECE 3.0 /* a chord this long lies 0.03 % inside its arc */

struct patch_point patch_project(const struct patch_projection *p, double across, double along)
{
    if (!p->ring)
        return (struct patch_point){across, along};
    double share = (along - p->inner_edge) / (p->outer_edge - p->inner_edge);
    double radius = PATCH_BORE + (1 - PATCH_BORE) * share;
    double angle = across * M_PI / 180;
    return (struct patch_point){p->turn * radius * sin(angle), radius * cos(angle)};
}

/* Straight pieces in which a stretch across is drawn. */
static unsigned pieces(const struct patch_projection *p, double width)
{
    double count = p->ring ? ceil(fabs(width) / DEGREES_A_PIECE) : 1;
    return count > 1 ? (unsigned)count : 1;
}

/* Corners along one edge; colour: of the patches behind it, [columns], NULL behind the last. */
static void write_corners(FILE *out, const struct patch_projection *p,
                          const struct patch_mesh *mesh, double along, const unsigned *colour)
{
    for (size_t i = 0; i <= mesh->columns; i++) {
        double from = mesh->across[i];
        double width = i < mesh->columns ? mesh->across[i + 1] - from : 0;
        unsigned count = pieces(p, width);
        for (unsigned k = 0; k < count; k++) {
            struct patch_point at = patch_project(p, from + width * k / count, along);
            fprintf(out, "%.5g %.5g %u\n", at.x, at.y,
                    colour != NULL && i < mesh->columns ? colour[i] : 0);
        }
    }
    fputc('\n', out);
}

void patch_write(FILE *out, const struct patch_projection *p, const struct patch_mesh *mesh)
{
    for (size_t i = 0; i <= mesh->rows; i++)
        write_corners(out, p, mesh, mesh->along[i],
                      i < mesh->rows ? mesh->colour + i * mesh->columns : NULL);
    fputc('\n', out);
}

void patch_begin_lines(FILE *out, const char *name)
{
    fprintf(out, "$%s << END\n1e9 1e9\n\n", name);
}

void patch_write_line(FILE *out, const struct patch_projection *p, double from_across,
                      double from_along, double to_across, double to_along)
{
    unsigned count = pieces(p, to_across - from_across);
    for (unsigned k = 0; k <= count; k++) {
        double share = (double)k / count;
        struct patch_point at =
            patch_project(p, from_across + share * (to_across - from_across),
                          from_along + share * (to_along - from_along));
        fprintf(out, "%.5g %.5g\n", at.x, at.y);
    }
    fputc('\n', out);
}
