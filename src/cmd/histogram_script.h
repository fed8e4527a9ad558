/* histogram_script.h - how often which wall was read, as the text of a gnuplot script
 *
 * Pure, as plot_script.h.
 */
#ifndef PLYECHO_CMD_HISTOGRAM_SCRIPT_H
#define PLYECHO_CMD_HISTOGRAM_SCRIPT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

#include "plot_script.h"

struct histogram_picture {
    const char *title;    /* UTF-8 from anywhere: drawn, never run */
    bool plain_readings;  /* walls are what a gauge showed: called so */
    bool off_nominal;     /* walls are less the nominal of their place; limits as well */
    const double *wall_m; /* [count], finite, in any order */
    size_t count;
    size_t places;                    /* of the scan, count of which have a wall */
    struct plyecho_known nominal_m;   /* the one of all places */
    struct plyecho_known tolerance_m; /* about it, either way */
    /* Limit of acceptance, and the thinnest wall; of walls themselves: off_nominal they are told in words. */
    struct plyecho_known least_m, thinnest_m;
};

/* Bins from a multiple of `width` on. */
struct histogram_bins {
    double width, first; /* mm; first: lower edge of bin 0 */
    size_t count;
};

/* sorted: mm, rising, at least one. The width is 2 IQR / cbrt(n) (D. Freedman, P. Diaconis, Z. Wahrscheinlichkeitstheorie verw.
 * Gebiete 57 (1981) 453), with the shortest half of the values for the IQR, on the next round number, but at least 0.01 mm and so that there are at most 100 bins. */
struct histogram_bins histogram_bins(const double *sorted, size_t count);

/* As plot_script. PLYECHO_UNSUITABLE where there is no wall at all. */
enum plyecho_code histogram_script(const struct histogram_picture *picture,
                                   const struct plot_view *view, char **text, size_t *size,
                                   struct plyecho_error *err);

#endif
