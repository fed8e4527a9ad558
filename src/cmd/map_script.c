#include <config.h>

#include "map_script.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "map_cells.h"
#include "map_frame.h"
#include "memory.h"
#include "palette.h"
#include "plot_data.h"
#include "sheet.h"

#define MM 1e3 /* in a metre */

enum { NUMBERS_MOST = 200, NOTE_ROOM = 200 };

static const char *turn_words(const struct map_picture *p)
{
    if (!p->grid->tube)
        return NULL;
    switch (p->turn) {
    case MAP_CLOCKWISE:
        return "angles rise clockwise, looking along rising axial";
    case MAP_COUNTERCLOCKWISE:
        return "angles rise counterclockwise, looking along rising axial";
    default:
        return p->projection == MAP_RING ? "direction of angles not stated: drawn clockwise"
                                         : "direction of angles not stated";
    }
}

static void write_head(const struct map_picture *p, struct sheet *sheet)
{
    char *zero = memory_take(strlen(p->zero_mark != NULL ? p->zero_mark : "") + NOTE_ROOM, 1);
    if (p->zero_mark != NULL)
        sprintf(zero, "zero mark: %s", p->zero_mark);
    else
        sprintf(zero, "zero mark not stated");
    const char *turn = turn_words(p);
    const char *const notes[] = {zero, turn, NULL};
    sheet_write_frame(sheet, p->title, notes);
    free(zero);
}

/* Each indication's number, at its worst place. */
static void write_numbers(const struct map_cells *c, struct sheet *sheet)
{
    const struct map_picture *p = c->picture;
    fputs("set style textbox opaque noborder fillcolor rgb '#FFFFFF' margins 0.4,0.4\n",
          sheet->out);
    for (size_t i = 0; i < p->indication_count && i < NUMBERS_MOST && p->member != NULL; i++) {
        size_t worst = p->indications[i].worst;
        double scale = p->grid->tube ? 1 : MM;
        struct patch_point at =
            patch_project(&c->projection, p->grid->across[p->grid->column[worst]] * scale,
                          p->grid->along[p->grid->row[worst]] * MM);
        fprintf(sheet->out, "set label '%zu' at first %.6g,%.6g center front boxed\n", i + 1,
                at.x, at.y);
    }
}

static void write_plot(FILE *out)
{
    fputs("splot $cells using 1:2:(0):3 with pm3d fillcolor rgb variable notitle, "
          "NaN with pm3d notitle, "
          "$strokes using 1:2:(0) with lines linewidth 1 linecolor rgb '" OKABE_BLACK
          "' notitle, "
          "$outlines using 1:2:(0) with lines linewidth 5 linecolor rgb '#FFFFFF' notitle, "
          "$outlines using 1:2:(0) with lines linewidth 2.2 linecolor rgb '" OKABE_BLACK
          "' notitle\n",
          out);
}

static void write_script(const struct map_picture *p, const struct plot_view *view, FILE *out)
{
    struct map_cells cells;
    struct sheet sheet;
    struct key key = {.count = 0};
    map_cells_make(&cells, p);
    map_frame_key(&cells, &key);
    sheet_open(&sheet, out, view, key.count + 1);
    map_frame_fit(&cells, &sheet);
    map_frame_length(&cells, &sheet, &key);
    fputs("set view map\nset pm3d corners2color c1 border retrace\nunset key\n", out);
    write_head(p, &sheet);
    map_frame_write(&cells, &sheet);
    sheet_write_key(&sheet, &key);
    bool nominal =
        cells.range.nominal_known && cells.range.nominal_low == cells.range.nominal_high;
    struct colour_scale scale = {
        .low = cells.range.low,
        .high = cells.range.high,
        .label = p->quantity == MAP_WALL ? "Wall thickness (mm)" : "Back-wall level (dB)",
        .mark = nominal ? cells.range.nominal_low : NAN,
    };
    sheet_write_scale(&sheet, &scale);
    write_numbers(&cells, &sheet);
    map_cells_write(&cells, out, map_frame_cell_width(&cells, &sheet),
                    map_frame_cell_height(&cells, &sheet));
    write_plot(out);
    map_cells_free(&cells);
}

enum plyecho_code map_script(const struct map_picture *picture, const struct plot_view *view,
                             char **text, size_t *size, struct plyecho_error *err)
{
    *text = NULL;
    if (view->term == PLOT_TEXT)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "a map has no picture in text; take PNG, SVG or PDF");
    if (picture->projection == MAP_RING && !picture->grid->tube)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a plate has no ring; take its map in x and y");
    FILE *out = open_memstream(text, size);
    if (out == NULL)
        memory_give_up();
    write_script(picture, view, out);
    if (ferror(out) | fclose(out))
        memory_give_up();
    return PLYECHO_OK;
}
