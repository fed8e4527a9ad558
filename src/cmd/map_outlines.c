#include <config.h>

#include "map_outlines.h"

#include <math.h>

#define MM 1e3        /* in a metre */
#define ROUNDING 1e-6 /* of the map's size */

bool map_outlines_has_frame(const struct plyecho_indication *i)
{
    return isfinite(i->across) && isfinite(i->along_m);
}

/* ---- round the places ---- */

/* The sides of a place behind which its indication does not go on. */
static void write_sides(const struct map_cells *c, FILE *out, const struct map_cell *cell)
{
    const size_t *member = c->picture->member;
    const struct patch *p = &cell->patch;
    const struct patch sides[] = {
        [PLYECHO_NEXT_ACROSS] = {p->to_across, p->to_across, p->from_along, p->to_along},
        [PLYECHO_BEFORE_ACROSS] = {p->from_across, p->from_across, p->from_along, p->to_along},
        [PLYECHO_NEXT_ALONG] = {p->from_across, p->to_across, p->to_along, p->to_along},
        [PLYECHO_BEFORE_ALONG] = {p->from_across, p->to_across, p->from_along, p->from_along},
    };
    for (int way = PLYECHO_NEXT_ACROSS; way <= PLYECHO_BEFORE_ALONG; way++) {
        size_t next =
            plyecho_grid_step(c->picture->grid, cell->place, (enum plyecho_direction)way);
        const struct patch *side = &sides[way];
        if (next == PLYECHO_NO_PLACE || member[next] != member[cell->place])
            patch_write_line(out, &c->projection, side->from_across, side->from_along,
                             side->to_across, side->to_along);
    }
}

/* Of the indications that have a frame, or of the others. */
static void write_places(const struct map_cells *c, FILE *out, bool framed)
{
    const struct map_picture *p = c->picture;
    for (size_t k = 0; k < c->count && p->member != NULL; k++) {
        size_t place = c->cell[k].place;
        size_t number = place != PLYECHO_NO_PLACE ? p->member[place] : 0;
        if (number > 0 && map_outlines_has_frame(&p->indications[number - 1]) == framed)
            write_sides(c, out, &c->cell[k]);
    }
}

/* ---- frames ---- */

/* A part of a frame as far as it lies in the map: what goes beyond one end of the angles comes in at the other. */
static void write_piece(const struct map_cells *c, FILE *out, const struct patch *frame,
                        bool has_ends)
{
    const struct patch *b = &c->bounds;
    double slack = ROUNDING * (b->to_across - b->from_across);
    bool ring = c->projection.ring;
    double from = ring ? frame->from_across : fmax(frame->from_across, b->from_across);
    double to = ring ? frame->to_across : fmin(frame->to_across, b->to_across);
    double low = fmax(frame->from_along, b->from_along);
    double high = fmin(frame->to_along, b->to_along);
    if (to - from <= slack)
        return;
    patch_write_line(out, &c->projection, from, low, to, low);
    patch_write_line(out, &c->projection, from, high, to, high);
    if (has_ends && from - frame->from_across <= slack)
        patch_write_line(out, &c->projection, from, low, from, high);
    if (has_ends && frame->to_across - to <= slack)
        patch_write_line(out, &c->projection, to, low, to, high);
}

static void write_frame(const struct map_cells *c, FILE *out,
                        const struct plyecho_indication *i)
{
    bool tube = c->picture->grid->tube;
    double scale = tube ? 1 : MM;
    double from = i->from_across * scale, width = i->across * scale;
    double first = tube && !c->projection.ring ? -360 : 0, last = -first;
    for (double turn = first; turn <= last; turn += 360) {
        const struct patch frame = {from + turn, from + width + turn, i->from_along_m * MM,
                                    i->to_along_m * MM};
        write_piece(c, out, &frame, !(tube && width >= 360));
    }
}

void map_outlines_write(const struct map_cells *c, FILE *out)
{
    const struct map_picture *p = c->picture;
    patch_begin_lines(out, "outlines");
    write_places(c, out, true);
    fputs("END\n", out);
    patch_begin_lines(out, "frames");
    write_places(c, out, false);
    for (size_t k = 0; k < p->indication_count && p->member != NULL; k++)
        if (map_outlines_has_frame(&p->indications[k]))
            write_frame(c, out, &p->indications[k]);
    fputs("END\n", out);
}
