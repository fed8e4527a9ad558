/* map_outlines.h - where the indications of a map are: a frame at the edges that the table states, and their places
 *
 * An edge by the 6 dB drop lies anywhere between two places, so the frame cuts through cells; a thin line goes round the
 * cells of the places that belong to the indication.
 */
#ifndef PLYECHO_CMD_MAP_OUTLINES_H
#define PLYECHO_CMD_MAP_OUTLINES_H

#include <stdio.h>

#include "map_cells.h"

/* Has the table an edge for it in every direction? Else its places themselves are framed. */
bool map_outlines_has_frame(const struct plyecho_indication *indication);

/* Data blocks $outlines and $frames (polylines x y; none: one point far outside). */
void map_outlines_write(const struct map_cells *cells, FILE *out);

#endif
