#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "histogram_script.h"
#include "map_script.h"
#include "memory.h"
#include "readings.h"

enum { TITLE_ROOM = 200 };

/* The places as a scan has them, so that its pictures draw them: what was read, and nothing of an echo. */
struct drawn {
    char title[TITLE_ROOM];
    struct plyecho_place_reading *reading; /* [log->count] */
    struct plyecho_indication *spot;       /* [spots] outlined and numbered */
    struct map_picture map;
    struct plyecho_known least_m;
};

static struct plyecho_place_reading as_scanned(const struct plyecho_gauge_log *log,
                                               const struct plyecho_gauge_place *p)
{
    bool read = p->readings > 0;
    enum plyecho_verdict verdict = read ? PLYECHO_NO_INDICATION : PLYECHO_UNREADABLE;
    return (struct plyecho_place_reading){
        .place = p->place,
        .read = true,
        .verdict = verdict,
        .second = verdict,
        .second_wall_m = {read, p->wall_m},
        .nominal_m = p->nominal_m,
        .tolerance_m = log->tolerance_m,
    };
}

static void take(struct drawn *d, const struct readings *r)
{
    const struct plyecho_gauge_log *log = r->log;
    const struct plyecho_procedure *p = &r->procedure;
    const char *name = p->part.name.value;
    snprintf(d->title, sizeof d->title, "%.150s: plain readings, no traces",
             name != NULL ? name : "part without a name");
    d->reading = memory_take(log->count, sizeof *d->reading);
    d->spot = memory_take(r->spots + 1, sizeof *d->spot);
    for (size_t i = 0; i < log->count; i++)
        d->reading[i] = as_scanned(log, &log->place[i]);
    for (size_t k = 0; k < r->spots; k++)
        d->spot[k] = (struct plyecho_indication){
            .worst = r->spot[k].worst, .across = NAN, .along_m = NAN};
    d->least_m = (struct plyecho_known){p->acceptance.least_m.set, p->acceptance.least_m.value};
    d->map = (struct map_picture){
        .title = d->title,
        .plain_readings = true,
        .zero_mark = p->part.zero_mark.value,
        .turn = scan_pictures_turn(p),
        .grid = log->grid,
        .readings = d->reading,
        .indications = d->spot,
        .indication_count = r->spots,
        .member = r->member,
    };
}

static const struct kind {
    const char *name;
    bool is_map, of_tubes;
    enum map_projection projection;
    unsigned width, height;
} kinds[] = {
    {"thickness-map", true, false, MAP_UNROLLED, 1200, 800},
    {"ring-plot", true, true, MAP_RING, 1100, 850},
    {"histogram", false, false, MAP_UNROLLED, 1000, 700},
};

static enum plyecho_code draw(const struct drawn *d, const struct kind *kind,
                              const struct plot_view *view, size_t places, char **text,
                              size_t *size, struct plyecho_error *err)
{
    struct map_picture map = d->map;
    map.quantity = map_nominals_differ(d->reading, places) ? MAP_OFF_NOMINAL : MAP_WALL;
    map.projection = kind->projection;
    return kind->is_map ? map_script(&map, view, text, size, err)
                        : scan_pictures_histogram(d->title, true, d->reading, places,
                                                  d->least_m, view, text, size, err);
}

static enum plyecho_code draw_one(struct readings *r, const struct drawn *d,
                                  const struct kind *kind, enum plot_term term,
                                  const struct scan_folder *folder, struct plyecho_error *err)
{
    const struct plot_view view = {term, kind->width, kind->height, 0};
    char *script = NULL;
    size_t size = 0;
    enum plyecho_code code = draw(d, kind, &view, r->log->count, &script, &size, err);
    if (code == PLYECHO_OK)
        code = scan_pictures_put(&r->pictures, kind->name, term, script, size, folder, err);
    free(script);
    return code;
}

bool readings_draw(struct readings *r, const struct scan_picture_values *values,
                   const struct scan_folder *folder, struct messages *messages)
{
    struct drawn d;
    struct plyecho_error err;
    enum plyecho_code code = PLYECHO_OK;
    take(&d, r);
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
        for (size_t t = 0; t < SCAN_PICTURE_TERMS && code == PLYECHO_OK; t++)
            if (scan_pictures_want(values, scan_picture_terms[t]) &&
                (r->tube || !kinds[k].of_tubes) && (r->log->grid != NULL || !kinds[k].is_map))
                code = draw_one(r, &d, &kinds[k], scan_picture_terms[t], folder, &err);
    free(d.reading);
    free(d.spot);
    if (code != PLYECHO_OK)
        message_trouble(messages, folder->name, "no pictures: %s; or --pictures none",
                        err.text);
    return code == PLYECHO_OK;
}
