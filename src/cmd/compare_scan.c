#include "compare.h"

#include <stdlib.h>

#include "memory.h"
#include "utf8.h"

const char compare_cautions[] =
    "A comparison is of readings: what neither scan can see has not been compared, and a "
    "difference within the uncertainty proves no sameness. Acceptance belongs to the part's "
    "maker, the governing code and qualified personnel.";

static enum plyecho_code make_grid(struct compare_scan *scan, struct plyecho_error *err)
{
    const struct results *r = &scan->results;
    /* lengths round the part come with the indications */
    const struct plyecho_part part = {.tube = r->tube};
    struct plyecho_place *places = memory_take(r->places, sizeof *places);
    for (size_t i = 0; i < r->places; i++)
        places[i] = r->reading[i].place;
    enum plyecho_code code = plyecho_grid_new(&scan->grid, places, r->places, &part, err);
    free(places);
    return code;
}

bool compare_open(struct compare_scan *scan, const char *folder, struct messages *messages)
{
    struct plyecho_error err;
    *scan = (struct compare_scan){.folder = folder};
    if (results_read(&scan->results, folder, &err) != PLYECHO_OK ||
        make_grid(scan, &err) != PLYECHO_OK) {
        message_error(messages, folder, &err);
        return false;
    }
    scan->part = results_text(&scan->results, "part");
    scan->scanned = (struct plyecho_scanned){
        .grid = scan->grid,
        .readings = scan->results.reading,
        .indications = scan->results.indication,
        .indication_count = scan->results.indications,
    };
    return true;
}

void compare_close(struct compare_scan *scan)
{
    results_clear(&scan->results);
    plyecho_grid_free(scan->grid);
    scan->grid = NULL;
}

const char *compare_extent(bool tube, const struct plyecho_indication *n,
                           char words[COMPARE_EXTENT_ROOM])
{
    const double per_mm = 1e3;
    if (tube && n->across >= 360.0)
        snprintf(words, COMPARE_EXTENT_ROOM, "all round, %.1f to %.1f mm",
                 n->from_along_m * per_mm, n->to_along_m * per_mm);
    else if (tube)
        snprintf(words, COMPARE_EXTENT_ROOM, "%.1f to %.1f deg, %.1f to %.1f mm",
                 n->from_across, n->to_across, n->from_along_m * per_mm,
                 n->to_along_m * per_mm);
    else
        snprintf(words, COMPARE_EXTENT_ROOM, "x %.1f to %.1f mm, y %.1f to %.1f mm",
                 n->from_across * per_mm, n->to_across * per_mm, n->from_along_m * per_mm,
                 n->to_along_m * per_mm);
    return words;
}

void compare_put_name(const struct compare_scan *scan, FILE *out)
{
    utf8_put(out, scan->part != NULL ? scan->part : scan->folder, UTF8_PLAIN);
}
