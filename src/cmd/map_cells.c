#include <config.h>

#include "map_cells.h"

#include <math.h>
#include <stdlib.h>

#include "memory.h"
#include "palette.h"

#define MM 1e3               /* in a metre */
#define PATTERN_LEAST_PX 9.0 /* a pattern in less is a blot */
#define PATTERN_MOST_PX 36.0 /* in more it is lost */
#define LONE_DEGREES 10.0    /* size of a place that has no neighbour */
#define LONE_MM 5.0
#define ROUNDING 1e-6 /* of a cell's size */

enum {
    COLOUR_STEPS = 255,
    MOST_CROSSINGS = 4, /* a place, in what still is a raster with places left out */
};

/* ---- which cells there are ---- */

/* Degrees across, or mm; the grid has degrees or m. */
static double scale_across(const struct plyecho_grid *g)
{
    return g->tube ? 1 : MM;
}

/* A place without any neighbour has no size to go by. */
static void give_size(double *from, double *to, double size)
{
    if (*to - *from > 0)
        return;
    *from -= size / 2;
    *to += size / 2;
}

static struct patch patch_of(const struct plyecho_grid *g, size_t place)
{
    struct plyecho_cell cell = plyecho_grid_cell(g, place);
    double scale = scale_across(g);
    struct patch patch = {cell.from_across * scale, cell.to_across * scale,
                          cell.from_along * MM, cell.to_along * MM};
    give_size(&patch.from_across, &patch.to_across, g->tube ? LONE_DEGREES : LONE_MM);
    give_size(&patch.from_along, &patch.to_along, LONE_MM);
    return patch;
}

/* The edges belong to it: on a staggered grid they meet on a crossing. */
static bool contains(const struct plyecho_cell *c, double across, double along)
{
    double x = ROUNDING * (c->to_across - c->from_across);
    double y = ROUNDING * (c->to_along - c->from_along);
    return across >= c->from_across - x && across <= c->to_across + x &&
           along >= c->from_along - y && along <= c->to_along + y;
}

/* The next place from a crossing on its row (step: 1 or -1 columns) or column, without a wrap; or PLYECHO_NO_PLACE. */
static size_t look(const struct plyecho_grid *g, size_t column, size_t row, int across,
                   int along)
{
    size_t c = column + (size_t)across, r = row + (size_t)along;
    for (; c < g->columns && r < g->rows; c += (size_t)across, r += (size_t)along)
        if (g->place[r * g->columns + c] != PLYECHO_NO_PLACE)
            return g->place[r * g->columns + c];
    return PLYECHO_NO_PLACE;
}

/* On a staggered grid the neighbours' cells meet over the crossings between them: nothing is missing there. */
static bool is_covered(const struct plyecho_grid *g, size_t column, size_t row)
{
    static const int ways[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    for (size_t i = 0; i < 4; i++) {
        size_t place = look(g, column, row, ways[i][0], ways[i][1]);
        if (place == PLYECHO_NO_PLACE)
            continue;
        struct plyecho_cell cell = plyecho_grid_cell(g, place);
        if (contains(&cell, g->across[column], g->along[row]))
            return true;
    }
    return false;
}

static struct map_cell *add_cell(struct map_cells *c, const struct patch *patch, size_t place,
                                 size_t column, size_t row)
{
    struct map_cell *cell = &c->cell[c->count++];
    struct patch *b = &c->bounds;
    *cell = (struct map_cell){.patch = *patch, .place = place, .column = column, .row = row};
    cell->state = map_state_of(c->picture, place, &cell->value);
    c->counts[cell->state]++;
    c->mean_width += patch->to_across - patch->from_across;
    c->mean_height += patch->to_along - patch->from_along;
    b->from_across = fmin(b->from_across, patch->from_across);
    b->to_across = fmax(b->to_across, patch->to_across);
    b->from_along = fmin(b->from_along, patch->from_along);
    b->to_along = fmax(b->to_along, patch->to_along);
    return cell;
}

/* Of scattered places nobody can say which crossing was left out. */
static void add_missing(struct map_cells *c)
{
    const struct plyecho_grid *g = c->picture->grid;
    double scale = scale_across(g);
    if (g->rows * g->columns > MOST_CROSSINGS * g->count)
        return;
    for (size_t row = 0; row < g->rows; row++)
        for (size_t column = 0; column < g->columns; column++) {
            if (g->place[row * g->columns + column] != PLYECHO_NO_PLACE ||
                is_covered(g, column, row))
                continue;
            double x = g->across[column] * scale, y = g->along[row] * MM;
            double width = g->cell_across[column] * scale, height = g->cell_along[row] * MM;
            struct patch patch = {x - width / 2, x + width / 2, y - height / 2, y + height / 2};
            add_cell(c, &patch, PLYECHO_NO_PLACE, column, row);
        }
}

/* Crossings without a place first, then row by row. */
static int by_line(const void *a, const void *b)
{
    const struct map_cell *x = a, *y = b;
    bool no_x = x->place == PLYECHO_NO_PLACE, no_y = y->place == PLYECHO_NO_PLACE;
    if (no_x != no_y)
        return no_x ? -1 : 1;
    if (x->row != y->row)
        return x->row < y->row ? -1 : 1;
    return (x->column > y->column) - (x->column < y->column);
}

void map_cells_make(struct map_cells *c, const struct map_picture *p)
{
    const struct plyecho_grid *g = p->grid;
    *c = (struct map_cells){.picture = p,
                            .range = map_range(p),
                            .bounds = {INFINITY, -INFINITY, INFINITY, -INFINITY}};
    size_t most = g->rows * g->columns;
    if (most > MOST_CROSSINGS * g->count)
        most = g->count;
    c->cell = memory_take(most, sizeof *c->cell);
    add_missing(c);
    for (size_t i = 0; i < g->count; i++) {
        struct patch patch = patch_of(g, i);
        add_cell(c, &patch, i, g->column[i], g->row[i]);
    }
    qsort(c->cell, c->count, sizeof *c->cell, by_line);
    c->mean_width /= (double)c->count;
    c->mean_height /= (double)c->count;
    c->projection = (struct patch_projection){
        .ring = p->projection == MAP_RING,
        .turn = p->turn == MAP_COUNTERCLOCKWISE ? -1 : 1,
        .inner_edge = c->bounds.from_along,
        .outer_edge = c->bounds.to_along,
    };
}

void map_cells_free(struct map_cells *c)
{
    free(c->cell);
}

/* ---- colours ---- */

/* In as many steps as the palette has: cells side by side of one colour are one patch. */
static unsigned colour_of(const struct map_cells *c, const struct map_cell *cell)
{
    if (cell->state != MAP_VALUE)
        return map_look(cell->state).fill;
    double share = (cell->value - c->range.low) / (c->range.high - c->range.low);
    return palette_colour(round(share * COLOUR_STEPS) / COLOUR_STEPS);
}

/* Does b go on where a ends, on the same stretch along? */
static bool touch(const struct map_cell *a, const struct map_cell *b)
{
    const struct patch *p = &a->patch, *q = &b->patch;
    double width = ROUNDING * (p->to_across - p->from_across);
    double height = ROUNDING * (p->to_along - p->from_along);
    return fabs(q->from_across - p->to_across) <= width &&
           fabs(q->from_along - p->from_along) <= height &&
           fabs(q->to_along - p->to_along) <= height;
}

/* The cells from `first` on that touch, as one mesh; returns the one behind them. edge and colour have room for all. */
static size_t write_strip(const struct map_cells *c, FILE *out, size_t first, double *edge,
                          unsigned *colour)
{
    const struct patch *p = &c->cell[first].patch;
    const double along[2] = {p->from_along, p->to_along};
    size_t i = first, columns = 0;
    edge[0] = p->from_across;
    do {
        unsigned next = colour_of(c, &c->cell[i]);
        if (columns == 0 || next != colour[columns - 1])
            colour[columns++] = next;
        edge[columns] = c->cell[i].patch.to_across;
        i++;
    } while (i < c->count && touch(&c->cell[i - 1], &c->cell[i]));
    const struct patch_mesh mesh = {columns, 1, edge, along, colour};
    patch_write(out, &c->projection, &mesh);
    return i;
}

static void write_cells(const struct map_cells *c, FILE *out)
{
    double *edge = memory_take(c->count + 1, sizeof *edge);
    unsigned *colour = memory_take(c->count, sizeof *colour);
    fputs("$cells << END\n", out);
    for (size_t i = 0; i < c->count;)
        i = write_strip(c, out, i, edge, colour);
    fputs("END\n", out);
    free(edge);
    free(colour);
}

/* ---- patterns ---- */

/* A pattern's tiles against cells, in one direction. */
struct tiling {
    size_t cells_a_tile; /* small cells share a tile, */
    size_t tiles_a_cell; /* big ones have several */
};

static struct tiling tiling_of(double cell_px)
{
    struct tiling t = {1, 1};
    if (cell_px < PATTERN_LEAST_PX)
        t.cells_a_tile = (size_t)ceil(PATTERN_LEAST_PX / fmax(cell_px, 0.01));
    else
        t.tiles_a_cell = (size_t)ceil(cell_px / PATTERN_MOST_PX);
    return t;
}

static void write_tile_line(const struct map_cells *c, FILE *out, const struct patch *p,
                            const struct pattern_line *line)
{
    double width = p->to_across - p->from_across, height = p->to_along - p->from_along;
    patch_write_line(out, &c->projection, p->from_across + line->x0 * width,
                     p->from_along + line->y0 * height, p->from_across + line->x1 * width,
                     p->from_along + line->y1 * height);
}

/* Of tile (i, j) of a cell: the tile's lines, or what of them lies in the cell, in shares of the cell. */
static void write_tile(const struct map_cells *c, FILE *out, const struct map_cell *cell,
                       const struct tiling tiling[2], size_t i, size_t j)
{
    struct pattern_line line[PATTERN_LINES];
    size_t count = pattern_lines(map_look(cell->state).pattern, line);
    double width = (double)tiling[0].cells_a_tile, height = (double)tiling[1].cells_a_tile;
    double left = (double)(cell->column % tiling[0].cells_a_tile) / width;
    double bottom = (double)(cell->row % tiling[1].cells_a_tile) / height;
    for (size_t k = 0; k < count; k++) {
        struct pattern_line *l = &line[k];
        if (!pattern_clip(l, left, bottom, 1 / width, 1 / height))
            continue;
        l->x0 = ((double)i + (l->x0 - left) * width) / (double)tiling[0].tiles_a_cell;
        l->x1 = ((double)i + (l->x1 - left) * width) / (double)tiling[0].tiles_a_cell;
        l->y0 = ((double)j + (l->y0 - bottom) * height) / (double)tiling[1].tiles_a_cell;
        l->y1 = ((double)j + (l->y1 - bottom) * height) / (double)tiling[1].tiles_a_cell;
        write_tile_line(c, out, &cell->patch, l);
    }
}

/* Stroke and cross are one a cell, however big; the others are repeated. */
static bool repeats(enum pattern pattern)
{
    return pattern != PATTERN_STROKE && pattern != PATTERN_CROSS;
}

static void write_pattern(const struct map_cells *c, FILE *out, const struct map_cell *cell,
                          const struct tiling tiling[2])
{
    enum pattern pattern = map_look(cell->state).pattern;
    size_t columns = repeats(pattern) ? tiling[0].tiles_a_cell : 1;
    size_t rows = repeats(pattern) ? tiling[1].tiles_a_cell : 1;
    struct tiling used[2] = {{tiling[0].cells_a_tile, columns}, {tiling[1].cells_a_tile, rows}};
    for (size_t j = 0; j < rows; j++)
        for (size_t i = 0; i < columns; i++)
            write_tile(c, out, cell, used, i, j);
}

/* ---- the whole ---- */

void map_cells_write(const struct map_cells *c, FILE *out, double width_px, double height_px)
{
    const struct tiling tiling[2] = {tiling_of(width_px), tiling_of(height_px)};
    write_cells(c, out);
    patch_begin_lines(out, "strokes");
    for (size_t i = 0; i < c->count; i++)
        write_pattern(c, out, &c->cell[i], tiling);
    fputs("END\n", out);
}
