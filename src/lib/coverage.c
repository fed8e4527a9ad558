#include <plyecho/coverage.h>

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "coverage_parts.h"
#include "indication_groups.h"
#include "sort.h"

/* Median of the steps in one direction, on the surface; gaps is scratch. */
static struct plyecho_known pitch(const struct plyecho_grid *g, enum plyecho_direction next,
                                  double *gaps)
{
    size_t count = 0;
    for (size_t i = 0; i < g->count; i++) {
        size_t to = plyecho_grid_step(g, i, next);
        if (to == PLYECHO_NO_PLACE)
            continue;
        double gap =
            next == PLYECHO_NEXT_ACROSS
                ? plyecho_grid_arc_m(g, g->row[i],
                                     plyecho_grid_across(g, g->column[i], g->column[to]), 0.0)
                : g->along[g->row[to]] - g->along[g->row[i]];
        if (gap > 0.0)
            gaps[count++] = gap;
    }
    if (count == 0)
        return (struct plyecho_known){false, 0.0};
    pe_sort_doubles(gaps, count);
    return (struct plyecho_known){true, 0.5 * (gaps[(count - 1) / 2] + gaps[count / 2])};
}

static void count_read(const struct plyecho_grid *grid,
                       const struct plyecho_place_reading *readings, bool *read,
                       struct plyecho_coverage *coverage)
{
    coverage->places = grid->count;
    for (size_t i = 0; i < grid->count; i++) {
        read[i] = !plyecho_place_unread(&readings[i]);
        coverage->read += read[i];
    }
    coverage->unread = coverage->places - coverage->read;
}

static enum plyecho_code take_unseen(const struct plyecho_grid *grid, const bool *read,
                                     double beam_m, struct plyecho_coverage *coverage,
                                     struct plyecho_error *err)
{
    double distance = 0.0;
    enum plyecho_code code =
        pe_coverage_furthest(grid, read, &distance, &coverage->unseen_at, err);
    if (code == PLYECHO_OK)
        coverage->unseen_m = (struct plyecho_known){
            true, pe_coverage_circle(beam_m, distance, PLYECHO_LEAST_COVER)};
    return code;
}

static enum plyecho_code take(const struct plyecho_grid *grid, const bool *read,
                              struct plyecho_known beam_m, struct plyecho_coverage *coverage,
                              struct plyecho_error *err)
{
    double seen = 0.0;
    enum plyecho_code code = pe_coverage_area(grid, read, beam_m.known ? beam_m.value : 0.0,
                                              &coverage->area_m2, &seen, err);
    if (code != PLYECHO_OK || !beam_m.known || isnan(coverage->area_m2))
        return code;
    if (!(coverage->area_m2 > 0.0)) /* places that form no area */
        return code;
    coverage->share = (struct plyecho_known){true, seen / coverage->area_m2};
    return coverage->read > 0 ? take_unseen(grid, read, beam_m.value, coverage, err) : code;
}

enum plyecho_code plyecho_coverage_take(const struct plyecho_grid *grid,
                                        const struct plyecho_place_reading *readings,
                                        struct plyecho_known beam_m,
                                        struct plyecho_coverage *coverage,
                                        struct plyecho_error *err)
{
    *coverage = (struct plyecho_coverage){.area_m2 = NAN};
    if (beam_m.known && !(beam_m.value > 0.0 && isfinite(beam_m.value)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a beam of %g mm sees nothing; its width must be above 0",
                            beam_m.value * 1e3);
    bool *read = pe_alloc(grid->count, sizeof *read);
    double *gaps = pe_alloc(grid->count, sizeof *gaps);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    if (read == NULL || gaps == NULL) {
        plyecho_fail(err, code, "out of memory for the coverage");
    } else {
        count_read(grid, readings, read, coverage);
        coverage->pitch_across_m = pitch(grid, PLYECHO_NEXT_ACROSS, gaps);
        coverage->pitch_along_m = pitch(grid, PLYECHO_NEXT_ALONG, gaps);
        code = take(grid, read, beam_m, coverage, err);
    }
    free(read);
    free(gaps);
    return code;
}
