/* plot_script.h - an A-scan as the text of a gnuplot script with its data inside
 *
 * Pure functions: from what shall be drawn to text. Nothing here reads files or starts
 * programs, so the script can be tested, and printed, without gnuplot.
 */
#ifndef PLYECHO_CMD_PLOT_SCRIPT_H
#define PLYECHO_CMD_PLOT_SCRIPT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <plyecho/error.h>

struct plot_curve {
    const float *value; /* samples long; not finite: a gap; NULL: no such curve */
    size_t samples;
    double start_s; /* time of sample 0 */
    double sample_rate_hz;
};

/* An echo, drawn at (time_s, level) and listed with its number, time, depth and level_db. */
struct plot_mark {
    unsigned number;
    double time_s;
    double level;    /* on the amplitude axis */
    double level_db; /* to the largest echo of the wall; NAN: not listed */
};

/* A stretch of the time base with words over it, e.g. a gate. */
struct plot_gate {
    double from_s;
    double to_s;
    const char *text; /* NULL: none */
};

/* One picture. Texts are UTF-8 from anywhere, hostile files included: they are drawn, never
 * run. */
struct plot_picture {
    const char *title;
    const char *const *notes;   /* lines under the title, NULL behind the last */
    const char *trace_text;     /* the trace in the key, e.g. "Trace" */
    const char *amplitude_text; /* the axis without its unit, e.g. "Amplitude" */
    const char *unit;           /* NULL: none */
    struct plot_curve trace;
    struct plot_curve envelope;
    const struct plot_mark *marks; /* in order of time */
    size_t mark_count;
    const struct plot_gate *gates;
    size_t gate_count;
    double noise;           /* level of the noise line; NAN: none */
    const char *noise_text; /* what that level is; may be NULL where noise is NAN */
    double velocity_m_s;    /* for the depth axis; 0: none */
    double depth_zero_s;    /* time at which the depth is 0 */
    double depth_end_s;     /* time behind which there is no depth; INFINITY: none */
    double from_s, to_s;    /* what is shown, from_s < to_s */
    bool two_sided;         /* the signal swings both ways: zero in the middle */
};

enum plot_term { PLOT_WINDOW, PLOT_PNG, PLOT_SVG, PLOT_PDF, PLOT_TEXT };

struct plot_view {
    enum plot_term term;
    unsigned width; /* characters for PLOT_TEXT, else pixels of 1/96 inch */
    unsigned height;
    unsigned window; /* number of the window, from 0 */
};

/* The script for one picture, which stands alone (it resets what an earlier one set). A long
 * trace is thinned to the least and the largest sample of each column of the picture, so that
 * no peak is lost. *text is malloc'ed, '\0' behind it. */
enum plyecho_code plot_script(const struct plot_picture *picture, const struct plot_view *view,
                              char **text, size_t *size, struct plyecho_error *err);

/* What every script of ours begins with, behind `reset` and the encoding: the terminal, its size and its
 * font, of `font` points as pngcairo sizes them. */
void plot_terminal(FILE *out, const struct plot_view *view, double font);

/* How big a picture's characters and points are. */
struct plot_grid {
    double font;        /* points, as pngcairo sizes them */
    double column, row; /* pixels that a character of it takes: rather too many than too few */
    double point;       /* what makes points alike in all terminals */
};

/* Of a picture in pixels (not PLOT_TEXT), with the font of plot_font. */
struct plot_grid plot_grid(const struct plot_view *view);

/* A font for a picture of this size: large enough for a phone, small enough for lists. */
double plot_font(const struct plot_view *view);

#endif
