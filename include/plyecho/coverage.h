/* coverage.h - how much of the part the beam has seen, and what could lie unseen between places
 */
#ifndef PLYECHO_COVERAGE_H
#define PLYECHO_COVERAGE_H

#include <plyecho/grid.h>
#include <plyecho/known.h>
#include <plyecho/place_reading.h>

/* Least share of the beam that a full reflector has to cover to be told (docs/method.md). */
#define PLYECHO_LEAST_COVER 0.2

struct plyecho_coverage {
    size_t places, read, unread; /* unread: no trace, or `unreadable` */
    double area_m2; /* of the grid's cells, on the outer surface; NAN: no diameter */
    struct plyecho_known
        share; /* of that area within half a beam's width of a place that was read */
    struct plyecho_known pitch_across_m, pitch_along_m; /* median spacing of neighbours */
    /* Diameter of the largest round flaw, centred within the grid's cells as far as can be from every place that
     * was read, that takes less than PLYECHO_LEAST_COVER of any beam's area. */
    struct plyecho_known unseen_m;
    struct plyecho_place unseen_at; /* its centre */
};

/* readings: grid->count of them. share and unseen_m need beam_m, the -6 dB width of a round beam, on a tube the
 * diameter, and more than one place; unseen_m a place that was read. share is summed up on 64 lines a cell (right to 0.002), the distance
 * behind unseen_m is found to a thousandth. PLYECHO_BAD_ARGUMENT for a beam not above 0, PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_coverage_take(
    const struct plyecho_grid *grid, const struct plyecho_place_reading *readings,
    struct plyecho_known beam_m, struct plyecho_coverage *coverage, struct plyecho_error *err);

#endif
