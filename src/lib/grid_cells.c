#include "grid_cells.h"

#include <math.h>

#include "pi.h"

/* From half the gap below to half the gap above; a gap beyond reach is none. */
static double cell_between(double below, double above, double reach)
{
    bool has_below = below <= reach, has_above = above <= reach;
    if (!has_below)
        below = above;
    if (!has_above)
        above = below;
    return has_below || has_above ? 0.5 * (below + above) : 0.0;
}

static double smallest_but_zero(const double *values, size_t count)
{
    double least = 0.0;
    for (size_t k = 0; k < count; k++)
        if (values[k] > 0.0 && (least == 0.0 || values[k] < least))
            least = values[k];
    return least;
}

static void cells_across(struct plyecho_grid *g)
{
    size_t n = g->columns;
    double wrap = g->closed ? 360.0 - g->across[n - 1] + g->across[0] : INFINITY;
    for (size_t c = 0; c < n; c++) {
        double below = c > 0 ? g->across[c] - g->across[c - 1] : wrap;
        double above = c + 1 < n ? g->across[c + 1] - g->across[c] : wrap;
        g->cell_across[c] = cell_between(below, above, g->reach_across);
    }
}

static void cells_along(struct plyecho_grid *g)
{
    for (size_t r = 0; r < g->rows; r++) {
        double below = r > 0 ? g->along[r] - g->along[r - 1] : INFINITY;
        double above = r + 1 < g->rows ? g->along[r + 1] - g->along[r] : INFINITY;
        g->cell_along[r] = cell_between(below, above, g->reach_along);
    }
}

/* An angle of a tube in m of arc on its surface, by its first row's radius; a plate's x is in m. */
static double across_in_m(const struct plyecho_grid *g)
{
    return g->tube ? g->radius_m[0] * PE_PI / 180.0 : 1.0;
}

void pe_grid_cells(struct plyecho_grid *g)
{
    cells_across(g);
    cells_along(g);
    double scale = across_in_m(g);
    if (!(scale > 0.0))
        return;
    if (g->columns == 1)
        g->cell_across[0] =
            fmin(smallest_but_zero(g->cell_along, g->rows) / scale, g->tube ? 360.0 : INFINITY);
    if (g->rows == 1)
        g->cell_along[0] = smallest_but_zero(g->cell_across, g->columns) * scale;
}
