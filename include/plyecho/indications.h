/* indications.h - places that belong together as one indication, and its size
 *
 * Places of one second verdict (context.h) that are next to each other; one unread place between two of them
 * on a line parts nothing. An `inner-echo` whose depth jumps is two: a sleeve's interface and another one. So is
 * one that is flagged at some of its places: what is not as declared is an indication of its own.
 *
 * Extents end where the echo has fallen to half (6 dB drop) of the highest within 1.5 beam widths, on straight
 * lines between places: for a flaw wider than the beam that is its edge, for a narrower one it is the beam.
 * Without a beam the highest is that of the whole indication. A kind without an echo ends half way to the next
 * place; so does an echo beside an unread place or one where as strong an echo is no indication, and an inner echo
 * beside another indication's. Where all places lie on one line, or none is next to another, the extent against it is
 * not known, nor the area.
 */
#ifndef PLYECHO_INDICATIONS_H
#define PLYECHO_INDICATIONS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/grid.h>
#include <plyecho/place_reading.h>

struct plyecho_indication {
    enum plyecho_verdict kind; /* delamination, inner-echo, thin, attenuated or undecided */
    bool declared;             /* inner-echo: at each of its places as [layers] declares one */
    size_t places;             /* how many belong to it */
    /* The place with the strongest echo, the thinnest wall, the weakest back wall; else the first. */
    size_t worst;

    double from_across, to_across; /* 6 dB extent; to may be below from: through 0 */
    /* its width: degrees, or m on a plate; 360 all round, then from 0 to 360; NAN: not known, then from and to are
     * the worst place's */
    double across;
    double arc_m; /* the same as an arc at its worst place's depth; NAN, too: no diameter */
    double from_along_m, to_along_m;
    double along_m; /* NAN as across */
    double arc_u_m; /* standard uncertainty from the spacing of the places; 0 all round */
    double along_u_m;
    bool open_ended; /* at one of its places what was scanned ends: it may go on */
    /* One way or the other no wider than what a flaw as wide as the beam is sized at, by two standard
     * uncertainties: it may be smaller than told. */
    bool within_beam;
    bool seam_like; /* narrow, and along nearly all of the rows */

    double least_depth_m, most_depth_m; /* NAN where the kind has none */
    double area_m2;  /* within the 6 dB extent, at its own depth; NAN: not known */
    double strength; /* of the worst place, signed; NAN where the kind has none */
    struct plyecho_known least_wall_m; /* thin: of the worst place */
    struct plyecho_known next_m; /* on the surface, to the next one that is not declared */
};

/* readings: grid->count of them, judged with their neighbours. beam_m: -6 dB width of the beam, where it is
 * known. *list is malloc'ed, in the order of their first places, the kinds mixed; NULL where there is none.
 * member, if not NULL, gets for each place the index of its indication from 1, or 0. PLYECHO_NO_MEMORY;
 * *list is then NULL. */
PLYECHO_API enum plyecho_code plyecho_indications_find(
    const struct plyecho_grid *grid, const struct plyecho_place_reading *readings,
    struct plyecho_known beam_m, struct plyecho_indication **list, size_t *count,
    size_t *member, struct plyecho_error *err);

/* order[count] gets the indexes of the list, the most important one first: what is declared comes last; then by
 * kind: delamination, thin, attenuated and undecided as one, inner-echo; then by area, or by places where
 * not all have an area; then as listed. This order is our choice. */
PLYECHO_API void plyecho_indications_order(const struct plyecho_indication *list, size_t count,
                                           size_t *order);

#endif
