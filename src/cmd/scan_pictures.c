#include <config.h>

#include "scan_pictures.h"

#include <stdio.h>
#include <stdlib.h>

#include <plyecho/walls.h>

#include "bscan_script.h"
#include "gnuplot.h"
#include "histogram_script.h"
#include "map_script.h"
#include "memory.h"
#include "scan_a_scans.h"
#include "scan_axes.h"
#include "scan_section.h"

static const char *const formats[] = {"png", "svg", "both", "none", NULL};

const struct option scan_picture_format_options[] = {
    {.name = "pictures",
     .kind = OPTION_WORD,
     .argument = "FORMAT",
     .words = formats,
     .has_preset = true,
     .preset = 0,
     .offset = offsetof(struct scan_picture_values, format),
     .help = "png, svg, both, or none where there is no gnuplot"},
    {.name = NULL},
};

const struct option scan_picture_options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = scan_picture_format_options, .offset = 0},
    {.name = "ring",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .offset = offsetof(struct scan_picture_values, row),
     .help =
         "take the B-scan round the part at this axial_mm (y_mm of a plate); without it where "
         "the worst indication is, else the least wall"},
    {.name = "line",
     .kind = OPTION_NUMBER,
     .argument = "DEG",
     .offset = offsetof(struct scan_picture_values, column),
     .help = "take the B-scan along the part instead, at this angle_deg (x_mm of a plate)"},
    {.name = NULL},
};

/* ---- the pictures ---- */

/* What all of them are drawn from. */
struct drawing {
    const struct scan_results *results;
    const struct scan_section *section; /* of the B-scan */
    struct map_picture map;
    double velocity_m_s;
};

typedef enum plyecho_code draw(const struct drawing *drawing, const struct plot_view *view,
                               char **text, size_t *size, struct plyecho_error *err);

static enum plyecho_code draw_map(const struct drawing *d, enum map_quantity quantity,
                                  enum map_projection projection, const struct plot_view *view,
                                  char **text, size_t *size, struct plyecho_error *err)
{
    struct map_picture map = d->map;
    map.quantity = quantity;
    map.projection = projection;
    return map_script(&map, view, text, size, err);
}

/* Of a part with a sleeve in part of it the walls' own map would show little but the sleeve. */
static enum map_quantity wall_of(const struct drawing *d)
{
    return map_nominals_differ(d->results->reading, d->results->places.count) ? MAP_OFF_NOMINAL
                                                                              : MAP_WALL;
}

static enum plyecho_code draw_thickness(const struct drawing *d, const struct plot_view *view,
                                        char **text, size_t *size, struct plyecho_error *err)
{
    return draw_map(d, wall_of(d), MAP_UNROLLED, view, text, size, err);
}

static enum plyecho_code draw_rings(const struct drawing *d, const struct plot_view *view,
                                    char **text, size_t *size, struct plyecho_error *err)
{
    return draw_map(d, wall_of(d), MAP_RING, view, text, size, err);
}

static enum plyecho_code draw_level(const struct drawing *d, const struct plot_view *view,
                                    char **text, size_t *size, struct plyecho_error *err)
{
    return draw_map(d, MAP_LEVEL, MAP_UNROLLED, view, text, size, err);
}

static enum plyecho_code draw_section(const struct drawing *d, const struct plot_view *view,
                                      char **text, size_t *size, struct plyecho_error *err)
{
    const struct bscan_picture picture = {
        .scan = &d->map,
        .along = !d->section->along_row,
        .line = d->section->index,
        .envelope = d->section->level,
        .samples = d->section->depths,
        .from_m = 0.0,
        .step_m = d->section->step_m,
        .velocity_m_s = d->velocity_m_s,
    };
    return bscan_script(&picture, view, text, size, err);
}

/* The nominal and the tolerance of all places, where it is one. */
static void take_nominal(struct histogram_picture *picture,
                         const struct plyecho_place_reading *readings, size_t places)
{
    bool one_nominal = true, one_tolerance = true;
    for (size_t i = 0; i < places; i++) {
        const struct plyecho_place_reading *p = &readings[i];
        if (!p->read || !p->nominal_m.known)
            continue;
        if (picture->nominal_m.known) {
            one_nominal = one_nominal && p->nominal_m.value == picture->nominal_m.value;
            one_tolerance = one_tolerance && p->tolerance_m == picture->tolerance_m.value;
        }
        picture->nominal_m = p->nominal_m;
        picture->tolerance_m = (struct plyecho_known){true, p->tolerance_m};
    }
    if (picture->off_nominal)
        picture->nominal_m.value = 0.0;
    else
        picture->nominal_m.known = picture->nominal_m.known && one_nominal;
    picture->tolerance_m.known = picture->nominal_m.known && one_tolerance;
    struct plyecho_walls walls = plyecho_walls_take(readings, places);
    if (walls.count > 0)
        picture->thinnest_m = readings[walls.least].second_wall_m;
}

enum plyecho_code scan_pictures_histogram(const char *title, bool plain_readings,
                                          const struct plyecho_place_reading *readings,
                                          size_t places, struct plyecho_known least_m,
                                          const struct plot_view *view, char **text,
                                          size_t *size, struct plyecho_error *err)
{
    double *wall_m = memory_take(places, sizeof *wall_m);
    struct histogram_picture picture = {
        .title = title,
        .plain_readings = plain_readings,
        .off_nominal = map_nominals_differ(readings, places),
        .wall_m = wall_m,
        .places = places,
        .least_m = least_m,
    };
    for (size_t i = 0; i < places; i++)
        if (plyecho_walls_has(&readings[i]))
            wall_m[picture.count++] = readings[i].second_wall_m.value -
                                      (picture.off_nominal ? readings[i].nominal_m.value : 0.0);
    take_nominal(&picture, readings, places);
    enum plyecho_code code = histogram_script(&picture, view, text, size, err);
    free(wall_m);
    return code;
}

static enum plyecho_code draw_histogram(const struct drawing *d, const struct plot_view *view,
                                        char **text, size_t *size, struct plyecho_error *err)
{
    const struct scan_results *r = d->results;
    const struct plyecho_setting *least = &r->procedure->acceptance.least_m;
    return scan_pictures_histogram(d->map.title, false, r->reading, r->places.count,
                                   (struct plyecho_known){least->set, least->value}, view, text,
                                   size, err);
}

static const struct {
    const char *name;
    draw *draw;
    bool of_tubes;
    unsigned width, height;
} kinds[] = {
    {"thickness-map", draw_thickness, false, 1200, 800},
    {"ring-plot", draw_rings, true, 1100, 850},
    {"level-map", draw_level, false, 1200, 800},
    {"b-scan", draw_section, false, 1200, 700},
    {"histogram", draw_histogram, false, 1000, 700},
};

enum map_turn scan_pictures_turn(const struct plyecho_procedure *p)
{
    if (!p->part.angle_direction.set)
        return MAP_TURN_UNKNOWN;
    return (int)p->part.angle_direction.value == PLYECHO_ANGLE_CLOCKWISE ? MAP_CLOCKWISE
                                                                         : MAP_COUNTERCLOCKWISE;
}

static struct map_picture map_of(const struct scan_results *r)
{
    const struct plyecho_procedure *p = r->procedure;
    return (struct map_picture){
        .title = p->part.name.value != NULL ? p->part.name.value : "part without a name",
        .zero_mark = p->part.zero_mark.value,
        .turn = scan_pictures_turn(p),
        .grid = r->grid,
        .readings = r->reading,
        .indications = r->indication,
        .indication_count = r->indications,
        .member = r->member,
        .sound_level_db = r->sound.balance_db,
    };
}

/* ---- to files ---- */

const enum plot_term scan_picture_terms[SCAN_PICTURE_TERMS] = {PLOT_PNG, PLOT_SVG};

bool scan_pictures_want(const struct scan_picture_values *v, enum plot_term term)
{
    enum { PNG, SVG, BOTH };
    return v->format.index == BOTH || v->format.index == (term == PLOT_PNG ? PNG : SVG);
}

enum plyecho_code scan_pictures_put(struct scan_pictures *pictures, const char *name,
                                    enum plot_term term, const char *script, size_t script_size,
                                    const struct scan_folder *folder, struct plyecho_error *err)
{
    char *picture = NULL, *as = pictures->name[pictures->count];
    size_t size = 0;
    snprintf(as, SCAN_PICTURE_NAME_ROOM, "%s.%s", name, term == PLOT_PNG ? "png" : "svg");
    enum plyecho_code code =
        gnuplot_run(script, script_size, GNUPLOT_TIME_LIMIT_S, &picture, &size, err);
    if (code == PLYECHO_OK)
        code = scan_folder_write(folder, as, picture, size, err);
    if (code == PLYECHO_OK)
        plyecho_digest(picture, size, pictures->digest[pictures->count++]);
    free(picture);
    return code;
}

/* No wall at all leaves nothing to draw, which is no trouble. */
static enum plyecho_code write_one(const struct drawing *d, size_t kind, enum plot_term term,
                                   const struct scan_folder *folder,
                                   struct scan_pictures *pictures, struct plyecho_error *err)
{
    const struct plot_view view = {term, kinds[kind].width, kinds[kind].height, 0};
    char *script = NULL;
    size_t size = 0;
    enum plyecho_code code = kinds[kind].draw(d, &view, &script, &size, err);
    if (code == PLYECHO_UNSUITABLE)
        return PLYECHO_OK;
    if (code == PLYECHO_OK)
        code = scan_pictures_put(pictures, kinds[kind].name, term, script, size, folder, err);
    free(script);
    return code;
}

bool scan_pictures_write(const struct scan_results *r, const struct scan_run *run,
                         struct setup *setup, const struct scan_picture_values *v,
                         const struct scan_folder *folder, struct messages *messages,
                         struct scan_pictures *pictures)
{
    struct scan_section section;
    const struct scan_axes *axes = scan_axes_of(r->manifest->tube);
    const struct scan_section_wanted wanted = {
        {v->row.set, v->row.value * axes->along.unit},
        {v->column.set, v->column.value * axes->across.unit}};
    struct plyecho_error err = {.code = PLYECHO_OK};
    enum plyecho_code code = PLYECHO_OK;
    pictures->count = 0;
    if (!scan_pictures_want(v, PLOT_PNG) && !scan_pictures_want(v, PLOT_SVG))
        return true;
    scan_section_take(&section, &wanted, r, run, setup);
    const struct drawing d = {r, &section, map_of(r), run->velocity_m_s};
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
        for (size_t t = 0; t < SCAN_PICTURE_TERMS && code == PLYECHO_OK; t++)
            if (scan_pictures_want(v, scan_picture_terms[t]) &&
                (r->manifest->tube || !kinds[k].of_tubes))
                code = write_one(&d, k, scan_picture_terms[t], folder, pictures, &err);
    scan_section_clear(&section);
    if (code == PLYECHO_OK)
        code = scan_a_scans_write(r, run, setup, v, folder, pictures, &err);
    if (code != PLYECHO_OK)
        message_trouble(
            messages, folder->partial,
            "no pictures: %s; all else is kept there: --resume when that is mended, or "
            "--resume --pictures none",
            err.text);
    return code == PLYECHO_OK;
}
