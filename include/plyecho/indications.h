/* indications.h - places that belong together as one indication, and its size
 *
 * Places of one verdict that are next to each other, by the second verdict (context.h). Extents are taken where
 * the echo has fallen to half of the indication's highest (6 dB drop), on straight lines between places:
 * for a flaw wider than the beam that is its edge, for a narrower one it is the beam.
 */
#ifndef PLYECHO_INDICATIONS_H
#define PLYECHO_INDICATIONS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/grid.h>
#include <plyecho/place_reading.h>

struct plyecho_indication {
    enum plyecho_verdict kind; /* delamination, inner-echo, thin, attenuated or undecided */
    bool declared;             /* inner-echo: at all its places where [layers] declares one */
    size_t places;             /* how many belong to it */
    size_t worst;              /* place with the highest strength; of `thin` the thinnest */

    double from_across, to_across; /* 6 dB extent; to may be below from: through 0 */
    double across;                 /* its width: degrees, or m on a plate; 360 all round */
    double arc_m;                  /* the same as an arc at its own depth; NAN: no diameter */
    double from_along_m, to_along_m;
    double along_m;
    double arc_u_m, along_u_m; /* standard uncertainty from the spacing of the places */
    bool open_ended;           /* reaches the end of what was read: it may go on */
    bool within_beam;          /* no wider than the beam: may be smaller than told */
    bool seam_like;            /* narrow, and along nearly all of the rows */

    double least_depth_m, most_depth_m; /* NAN where the kind has none */
    double area_m2;                     /* within the 6 dB extent, at its own depth */
    double strength;                    /* of the worst place; thin: its wall in m is wall_m */
    struct plyecho_known least_wall_m;  /* thin: of the worst place */
    struct plyecho_known next_m;        /* distance to the next indication of any kind */
};

/* beam_m: -6 dB width of the beam, where it is known. *list is malloc'ed, in the order of their first places, the
 * kinds mixed; NULL where there is none. member, if not NULL, gets for each place the index of its indication
 * from 1, or 0. */
PLYECHO_API enum plyecho_code plyecho_indications_find(
    const struct plyecho_grid *grid, const struct plyecho_place_reading *readings,
    struct plyecho_known beam_m, struct plyecho_indication **list, size_t *count,
    size_t *member, struct plyecho_error *err);

#endif
