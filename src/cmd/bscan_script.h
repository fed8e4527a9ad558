/* bscan_script.h - a section through the wall along one line of a scan, as the text of a gnuplot script
 *
 * Places across, depth downwards, the colour is the envelope in dB. Pure, as plot_script.h.
 */
#ifndef PLYECHO_CMD_BSCAN_SCRIPT_H
#define PLYECHO_CMD_BSCAN_SCRIPT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

#include "map_picture.h"
#include "plot_script.h"

struct bscan_picture {
    const struct map_picture *scan; /* title, zero mark, turn, grid and readings of it */
    bool along;                     /* a column of the grid, else a row */
    size_t line;                    /* its index */
    const float *
        envelope; /* [places of the grid][samples], 0 or above; not finite: not recorded. Places of
                              other lines are not looked at */
    size_t samples;
    double from_m; /* depth of the first sample under the wall's front, */
    double step_m; /* and from one to the next, above 0 */
    double velocity_m_s;
    struct plyecho_known full; /* envelope of a full reflector; not known: the line's highest */
};

/* As map_script. PLYECHO_BAD_ARGUMENT for a line that the grid does not have, no samples, or a step that is none;
 * PLYECHO_UNSUITABLE for PLOT_TEXT. */
enum plyecho_code bscan_script(const struct bscan_picture *picture,
                               const struct plot_view *view, char **text, size_t *size,
                               struct plyecho_error *err);

#endif
