#include <config.h>

#include "map_script.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "map_cells.h"
#include "map_frame.h"
#include "map_outlines.h"
#include "memory.h"
#include "palette.h"
#include "sheet.h"

#define MM 1e3 /* in a metre */

enum { NUMBERS_MOST = 200 }; /* more would cover the map */

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
          "$outlines using 1:2:(0) with lines linewidth 2.5 linecolor rgb '#FFFFFF' notitle, "
          "$outlines using 1:2:(0) with lines linewidth 0.8 linecolor rgb '" OKABE_BLACK
          "' notitle, "
          "$frames using 1:2:(0) with lines linewidth 5 linecolor rgb '#FFFFFF' notitle, "
          "$frames using 1:2:(0) with lines linewidth 2.2 linecolor rgb '" OKABE_BLACK
          "' notitle\n",
          out);
}

static const char *const labels[] = {
    [MAP_WALL] = "Wall thickness (mm)",
    [MAP_OFF_NOMINAL] = "Wall less nominal (mm)",
    [MAP_LEVEL] = "Back-wall level (dB)",
};

static void write_scale(const struct map_cells *c, struct sheet *sheet)
{
    const struct map_range *r = &c->range;
    if (r->values == 0) {
        fputs("unset colorbox\n", sheet->out);
        return;
    }
    bool nominal = r->nominal_known && r->nominal_low == r->nominal_high;
    const struct colour_scale scale = {
        .low = r->low,
        .high = r->high,
        .label = c->picture->plain_readings && c->picture->quantity == MAP_WALL
                     ? "Reading (mm)"
                     : labels[c->picture->quantity],
        .mark = nominal ? r->nominal_low : NAN,
    };
    sheet_write_scale(sheet, &scale);
}

static void write_script(const struct map_picture *p, const struct plot_view *view, FILE *out)
{
    struct map_cells cells;
    struct sheet sheet;
    struct key key = {.count = 0};
    map_cells_make(&cells, p);
    map_frame_key(&cells, &key);
    sheet_open(&sheet, out, view, p->grid->tube ? 2 : 1, key.count + 1);
    map_frame_fit(&cells, &sheet);
    map_frame_length(&cells, &sheet, &key);
    map_frame_head(p, NULL, &sheet);
    map_frame_write(&cells, &sheet);
    sheet_write_key(&sheet, &key);
    write_scale(&cells, &sheet);
    write_numbers(&cells, &sheet);
    map_cells_write(&cells, out, map_frame_cell_width(&cells, &sheet),
                    map_frame_cell_height(&cells, &sheet));
    map_outlines_write(&cells, out);
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
    FILE *out = memory_stream(text, size);
    write_script(picture, view, out);
    memory_stream_end(out);
    return PLYECHO_OK;
}
