/* plot_data.h - what of a trace is drawn, and numbers and words as gnuplot reads them
 */
#ifndef PLYECHO_CMD_PLOT_DATA_H
#define PLYECHO_CMD_PLOT_DATA_H

#include <stddef.h>
#include <stdio.h>

/* Indices into value[first..last) that keep the picture the same in `columns` columns: all of
 * them where there are few, else the least and the largest of each column in the order they
 * stand. A run of values that are not finite keeps one of them, as a gap. `index` has room for
 * plot_thin_room(first, last, columns). Returns how many were written. */
size_t plot_thin(const float *value, size_t first, size_t last, size_t columns, size_t *index);
size_t plot_thin_room(size_t first, size_t last, size_t columns);

/* text as a gnuplot string expression that stands for exactly these characters, at most `width`
 * of them (more end in "..."); control characters and those that turn the reading direction are
 * left out, bytes that are no UTF-8 become '?'. With `for_svg` an ampersand is written as an
 * entity, since gnuplot lets "&#x" through into its SVG. */
void plot_quote(FILE *out, const char *text, size_t width, int for_svg);

/* Characters (not bytes) that plot_quote would draw of text. */
size_t plot_text_width(const char *text);

/* A step of 1, 2 or 5 x 10^n that divides `span` (above 0) into at most `count` parts. */
double plot_nice_step(double span, unsigned count);

#endif
