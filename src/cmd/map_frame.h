/* map_frame.h - what stands around a map: axes, the part's zero, lengths, the words of its key
 */
#ifndef PLYECHO_CMD_MAP_FRAME_H
#define PLYECHO_CMD_MAP_FRAME_H

#include "map_cells.h"
#include "sheet.h"

/* Title, the note `first` (NULL: none), what the zero is marked by and how angles rise. */
void map_frame_head(const struct map_picture *picture, const char *first, struct sheet *sheet);

/* Fit the plot to the part: a ring is square; unrolled both directions have one scale, unless that would make a
 * sliver of it. */
void map_frame_fit(const struct map_cells *cells, struct sheet *sheet);

/* Size of a middling cell in pixels. */
double map_frame_cell_width(const struct map_cells *cells, const struct sheet *sheet);
double map_frame_cell_height(const struct map_cells *cells, const struct sheet *sheet);

/* All of the key but the bar of length, which needs the fitted sheet. */
void map_frame_key(const struct map_cells *cells, struct key *key);
void map_frame_length(const struct map_cells *cells, const struct sheet *sheet,
                      struct key *key);

/* Range and ticks of an axis across, on angles that people use where it is in degrees. */
void map_frame_ticks(struct sheet *sheet, double from, double to, bool degrees);

/* Ranges, ticks, labels and the zero. */
void map_frame_write(const struct map_cells *cells, struct sheet *sheet);

#endif
