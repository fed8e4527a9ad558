#include <config.h>

#include "scan_a_scans.h"

#include <stdio.h>
#include <stdlib.h>

#include "memory.h"
#include "plot_trace.h"

static const unsigned width = 1200, height = 700;
static const double least_mark_db = -20.0; /* as plot has it */

/* What all of them need. */
struct a_scans {
    const struct scan_picture_values *values;
    const struct scan_folder *folder;
    struct scan_pictures *pictures;
    struct plot_trace *plot;
};

static enum plyecho_code write_one(const struct a_scans *a, const struct plot_picture *picture,
                                   size_t number, enum plot_term term,
                                   struct plyecho_error *err)
{
    const struct plot_view view = {term, width, height, 0};
    char name[SCAN_PICTURE_NAME_ROOM], *script = NULL;
    size_t size = 0;
    snprintf(name, sizeof name, "a-scan-%zu", number);
    enum plyecho_code code = plot_script(picture, &view, &script, &size, err);
    if (code == PLYECHO_OK)
        code = scan_pictures_put(a->pictures, name, term, script, size, a->folder, err);
    free(script);
    return code;
}

/* In each format that is wanted. What cannot be drawn is left out: its verdict says why. */
static enum plyecho_code draw(const struct a_scans *a, const struct plyecho_shot *shot,
                              size_t channels, const struct plyecho_trace *trace, size_t number,
                              struct plyecho_error *err)
{
    struct plot_picture picture;
    enum plyecho_code code =
        plot_trace_run(a->plot, shot->file, channels, trace, &picture, err);
    if (code != PLYECHO_OK)
        return code == PLYECHO_NO_MEMORY ? code : PLYECHO_OK;
    for (size_t t = 0; t < SCAN_PICTURE_TERMS && code == PLYECHO_OK; t++)
        if (scan_pictures_want(a->values, scan_picture_terms[t]))
            code = write_one(a, &picture, number, scan_picture_terms[t], err);
    return code;
}

enum plyecho_code scan_a_scans_write(const struct scan_results *r, const struct scan_run *run,
                                     struct setup *setup,
                                     const struct scan_picture_values *values,
                                     const struct scan_folder *folder,
                                     struct scan_pictures *pictures, struct plyecho_error *err)
{
    struct plot_trace_options shown = {
        .setup = setup, .envelope = true, .least_level_db = least_mark_db};
    const struct a_scans a = {values, folder, pictures, plot_trace_new(&shown)};
    struct scan_file file = {.name = NULL};
    size_t *order = memory_take(r->indications + 1, sizeof *order);
    enum plyecho_code code = PLYECHO_OK;
    plyecho_indications_order(r->indication, r->indications, order);
    for (size_t k = 0; k < r->indications && k < SCAN_A_SCANS_MOST && code == PLYECHO_OK; k++) {
        size_t worst = r->indication[order[k]].worst;
        const struct plyecho_shot *shot = &r->manifest->shot[r->best[worst]];
        struct plyecho_trace trace;
        shown.place = &r->reading[worst];
        scan_file_read(run, shot->file, &file);
        setup_begin_file(setup);
        if (scan_file_trace(run, &file, shot, &trace, err) == PLYECHO_OK)
            code = draw(&a, shot, file.traces.channels, &trace, order[k] + 1, err);
    }
    free(order);
    scan_file_clear(&file);
    plot_trace_free(a.plot);
    return code;
}
