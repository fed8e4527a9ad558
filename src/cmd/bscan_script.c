#include <config.h>

#include "bscan_script.h"

#include <math.h>
#include <stdlib.h>

#include "map_cells.h"
#include "map_frame.h"
#include "memory.h"
#include "palette.h"
#include "plot_data.h"
#include "sheet.h"

#define MM 1e3         /* in a metre */
#define FLOOR_DB -40.0 /* lowest of the colours */
#define DB_STEPS 5.0   /* in a dB: cells of one colour are one patch */

enum { CELLS_MOST = 200000, DEPTHS_LEAST = 64, KEY_ITEMS = 7, NOTE_ROOM = 80 };

/* What follows from the picture. */
struct section {
    const struct bscan_picture *picture;
    struct map_cells cells;
    struct sheet sheet;
    double from, to;         /* across, degrees or mm */
    double top_mm, floor_mm; /* depths */
    double full;
    size_t depths;    /* pieces in which a place is drawn */
    unsigned *colour; /* [depths] */
    size_t places;    /* cells of the line, */
    size_t missing;   /* without a trace among them */
};

static bool on_line(const struct section *s, const struct map_cell *cell)
{
    return (s->picture->along ? cell->column : cell->row) == s->picture->line;
}

/* Across the picture: across the grid for a row, along it for a column. */
static void ends_of(const struct section *s, const struct map_cell *cell, double *from,
                    double *to)
{
    const struct patch *p = &cell->patch;
    *from = s->picture->along ? p->from_along : p->from_across;
    *to = s->picture->along ? p->to_along : p->to_across;
}

static const float *envelope_of(const struct section *s, const struct map_cell *cell)
{
    return s->picture->envelope + cell->place * s->picture->samples;
}

static bool is_drawn(const struct map_cell *cell)
{
    return cell->state != MAP_NO_TRACE;
}

/* ---- ranges ---- */

static double highest(const struct section *s)
{
    double most = 0;
    for (size_t i = 0; i < s->cells.count; i++) {
        const struct map_cell *cell = &s->cells.cell[i];
        for (size_t k = 0; on_line(s, cell) && is_drawn(cell) && k < s->picture->samples; k++)
            if (isfinite(envelope_of(s, cell)[k]))
                most = fmax(most, (double)envelope_of(s, cell)[k]);
    }
    return most;
}

static void take_ranges(struct section *s)
{
    const struct bscan_picture *p = s->picture;
    s->from = INFINITY;
    s->to = -INFINITY;
    for (size_t i = 0; i < s->cells.count; i++) {
        double from, to;
        if (!on_line(s, &s->cells.cell[i]))
            continue;
        ends_of(s, &s->cells.cell[i], &from, &to);
        s->from = fmin(s->from, from);
        s->to = fmax(s->to, to);
        s->places++;
        s->missing += !is_drawn(&s->cells.cell[i]);
    }
    s->top_mm = (p->from_m - p->step_m / 2) * MM;
    s->floor_mm = s->top_mm + (double)p->samples * p->step_m * MM;
    s->full = p->full.known ? p->full.value : highest(s);
    double most = fmin(s->sheet.top - s->sheet.bottom, CELLS_MOST / (double)(s->places + 1));
    s->depths = (size_t)fmin((double)p->samples, fmax(most, DEPTHS_LEAST));
    s->colour = memory_take(s->depths, sizeof *s->colour);
}

/* ---- data ---- */

/* The highest of the samples that one piece stands for, so that no echo is lost; not finite: none. */
static double pooled(const struct section *s, const float *envelope, size_t piece)
{
    size_t samples = s->picture->samples;
    size_t first = piece * samples / s->depths, last = (piece + 1) * samples / s->depths;
    double most = -INFINITY;
    for (size_t k = first; k < last; k++)
        if (isfinite(envelope[k]))
            most = fmax(most, (double)envelope[k]);
    return most;
}

static unsigned colour_of(const struct section *s, double envelope)
{
    if (!isfinite(envelope))
        return map_look(MAP_NO_TRACE).fill;
    double db = 20 * log10(fmax(envelope, 1e-30) / (s->full > 0 ? s->full : 1));
    return palette_colour(1 - round(db * DB_STEPS) / DB_STEPS / FLOOR_DB);
}

/* A place as deep as the picture; pieces of one colour are one patch. */
static void write_place(struct section *s, const struct map_cell *cell, double *edge)
{
    double across[2];
    size_t pieces = is_drawn(cell) ? s->depths : 1, rows = 0;
    ends_of(s, cell, &across[0], &across[1]);
    edge[0] = s->top_mm;
    for (size_t k = 0; k < pieces; k++) {
        unsigned next = is_drawn(cell) ? colour_of(s, pooled(s, envelope_of(s, cell), k))
                                       : map_look(cell->state).fill;
        if (rows == 0 || next != s->colour[rows - 1])
            s->colour[rows++] = next;
        edge[rows] = s->top_mm + (s->floor_mm - s->top_mm) * (double)(k + 1) / (double)pieces;
    }
    const struct patch_mesh mesh = {1, rows, across, edge, s->colour};
    patch_write(s->sheet.out, &s->cells.projection, &mesh);
}

static void write_cells(struct section *s)
{
    double *edge = memory_take(s->depths + 1, sizeof *edge);
    fputs("$cells << END\n", s->sheet.out);
    for (size_t i = 0; i < s->cells.count; i++)
        if (on_line(s, &s->cells.cell[i]))
            write_place(s, &s->cells.cell[i], edge);
    fputs("END\n", s->sheet.out);
    free(edge);
}

/* A line across a place's cell at a depth. */
static void write_level(struct section *s, const struct map_cell *cell, double depth_mm)
{
    double from, to;
    if (!(depth_mm >= s->top_mm && depth_mm <= s->floor_mm))
        return;
    ends_of(s, cell, &from, &to);
    fprintf(s->sheet.out, "%.6g %.6g\n%.6g %.6g\n\n", from, depth_mm, to, depth_mm);
}

enum mark { MARK_NOMINAL, MARK_WALL, MARK_INDICATION, MARK_STROKE, MARK_COUNT };

static void write_mark(struct section *s, const struct map_cell *cell, enum mark mark)
{
    double from, to;
    ends_of(s, cell, &from, &to);
    if (!is_drawn(cell)) {
        if (mark == MARK_STROKE)
            fprintf(s->sheet.out, "%.6g %.6g\n%.6g %.6g\n\n", from, s->floor_mm, to, s->top_mm);
        return;
    }
    const struct plyecho_place_reading *r = &s->picture->scan->readings[cell->place];
    if (mark == MARK_NOMINAL && r->nominal_m.known)
        write_level(s, cell, r->nominal_m.value * MM);
    if (mark == MARK_WALL && r->second_wall_m.known)
        write_level(s, cell, r->second_wall_m.value * MM);
    if (mark == MARK_INDICATION && plyecho_verdict_has_echo(r->second) &&
        r->second_depth_m * MM <= s->floor_mm && r->second_depth_m * MM >= s->top_mm)
        fprintf(s->sheet.out, "%.6g %.6g\n", (from + to) / 2, r->second_depth_m * MM);
}

static void write_marks(struct section *s)
{
    static const char *const names[MARK_COUNT] = {"nominal", "wall", "indications", "strokes"};
    for (int mark = 0; mark < MARK_COUNT; mark++) {
        /* gnuplot takes a block without points for an error. */
        fprintf(s->sheet.out, "$%s << END\n1e9 1e9\n\n", names[mark]);
        for (size_t i = 0; i < s->cells.count; i++)
            if (on_line(s, &s->cells.cell[i]))
                write_mark(s, &s->cells.cell[i], (enum mark)mark);
        fputs("END\n", s->sheet.out);
    }
}

/* ---- around it ---- */

static void write_head(struct section *s)
{
    const struct bscan_picture *p = s->picture;
    const struct plyecho_grid *g = p->scan->grid;
    char note[NOTE_ROOM];
    if (g->tube && p->along)
        snprintf(note, sizeof note, "B-scan along the tube at %.6g°", g->across[p->line]);
    else if (g->tube)
        snprintf(note, sizeof note, "B-scan round the tube at axial %.6g mm",
                 g->along[p->line] * MM);
    else
        snprintf(note, sizeof note, "B-scan at %c = %.6g mm", p->along ? 'x' : 'y',
                 (p->along ? g->across : g->along)[p->line] * MM);
    map_frame_head(p->scan, note, &s->sheet);
}

static void add_line(struct key *key, enum key_kind kind, const char *words, const char *colour)
{
    struct key_item *item = key_add(key, kind, "%s", words);
    if (item != NULL)
        item->colour = colour;
}

static void write_key(struct section *s)
{
    const struct bscan_picture *p = s->picture;
    struct key key = {.count = 0};
    key_add(&key, KEY_WORDS, "0 dB: %s",
            p->full.known ? "a full reflector" : "the highest here");
    key_add(&key, KEY_WORDS, "depth at %.6g m/s", p->velocity_m_s);
    add_line(&key, KEY_LINE, "nominal", OKABE_PURPLE);
    add_line(&key, KEY_LINE, "wall as read", OKABE_BLACK);
    add_line(&key, KEY_POINT, "indication", OKABE_VERMILLION);
    struct key_item *item = s->missing > 0 ? key_add(&key, KEY_FILL, "%s (%zu)",
                                                     map_state_words(MAP_NO_TRACE), s->missing)
                                           : NULL;
    if (item != NULL) {
        item->fill = map_look(MAP_NO_TRACE).fill;
        item->pattern = map_look(MAP_NO_TRACE).pattern;
    }
    if (s->from <= 0 && s->to >= 0)
        key_add(&key, KEY_ZERO, "zero of the part");
    sheet_write_key(&s->sheet, &key);
}

static void write_frame(struct section *s)
{
    bool tube = s->picture->scan->grid->tube, along = s->picture->along;
    struct sheet *sheet = &s->sheet;
    map_frame_ticks(sheet, s->from, s->to, tube && !along);
    fprintf(sheet->out, "set yrange [%.9g:%.9g]\nset ytics %.9g\n", s->floor_mm, s->top_mm,
            plot_nice_step(s->floor_mm - s->top_mm, 10));
    sheet_write_axes(sheet,
                     !tube   ? (along ? "y (mm)" : "x (mm)")
                     : along ? "Axial (mm)"
                             : "Angle (°)",
                     "Depth (mm)");
    if (s->from <= 0 && s->to >= 0)
        sheet_write_zero(sheet, "first 0, graph 1");
}

static void write_plot(FILE *out)
{
    static const char *const lines[][2] = {{"nominal", OKABE_PURPLE}, {"wall", OKABE_BLACK}};
    fputs("splot $cells using 1:2:(0):3 with pm3d fillcolor rgb variable notitle, "
          "NaN with pm3d notitle, $strokes using 1:2:(0) with lines linewidth 1 linecolor rgb "
          "'" OKABE_BLACK "' notitle",
          out);
    for (size_t i = 0; i < 2; i++)
        fprintf(out,
                ", $%s using 1:2:(0) with lines linewidth 4 linecolor rgb '#FFFFFF' notitle, "
                "$%s using 1:2:(0) with lines linewidth 2 linecolor rgb '%s' notitle",
                lines[i][0], lines[i][0], lines[i][1]);
}

static void write_points(struct section *s)
{
    static const struct {
        double size;
        const char *colour;
    } passes[] = {{1.6, "#FFFFFF"}, {1, OKABE_VERMILLION}};
    for (size_t i = 0; i < 2; i++)
        fprintf(s->sheet.out,
                ", $indications using 1:2:(0) with points pointtype 7 pointsize %.3g linecolor "
                "rgb '%s' notitle",
                passes[i].size * s->sheet.grid.point, passes[i].colour);
    fputc('\n', s->sheet.out);
}

static void write_script(struct section *s, const struct plot_view *view, FILE *out)
{
    map_cells_make(&s->cells, s->picture->scan);
    sheet_open(&s->sheet, out, view, s->picture->scan->grid->tube ? 3 : 2, KEY_ITEMS);
    take_ranges(s);
    write_head(s);
    write_frame(s);
    write_key(s);
    const struct colour_scale scale = {FLOOR_DB, 0, "Envelope (dB)", NAN};
    sheet_write_scale(&s->sheet, &scale);
    write_cells(s);
    write_marks(s);
    write_plot(out);
    write_points(s);
    free(s->colour);
    map_cells_free(&s->cells);
}

enum plyecho_code bscan_script(const struct bscan_picture *p, const struct plot_view *view,
                               char **text, size_t *size, struct plyecho_error *err)
{
    const struct plyecho_grid *g = p->scan->grid;
    *text = NULL;
    if (view->term == PLOT_TEXT)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "a B-scan has no picture in text; take PNG, SVG or PDF");
    if (p->line >= (p->along ? g->columns : g->rows))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "line %zu of a scan with %zu; take one of them", p->line + 1,
                            p->along ? g->columns : g->rows);
    if (p->samples == 0 || !(p->step_m > 0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a B-scan needs samples at rising depths");
    struct section section = {.picture = p};
    FILE *out = memory_stream(text, size);
    write_script(&section, view, out);
    memory_stream_end(out);
    return PLYECHO_OK;
}
