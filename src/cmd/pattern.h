/* pattern.h - strokes that tell what a cell holds without its colour
 */
#ifndef PLYECHO_CMD_PATTERN_H
#define PLYECHO_CMD_PATTERN_H

#include <stddef.h>

enum pattern {
    PATTERN_NONE,
    PATTERN_STROKE,     /* one rising diagonal */
    PATTERN_CROSS,      /* both diagonals */
    PATTERN_HATCH,      /* rising diagonals, close together */
    PATTERN_BACK_HATCH, /* falling ones */
    PATTERN_BARS,       /* level lines */
    PATTERN_POSTS       /* upright lines */
};

enum { PATTERN_LINES = 3 };

/* A line from (x0, y0) to (x1, y1), in shares of a square's sides, from its lower left. */
struct pattern_line {
    double x0, y0, x1, y1;
};

/* The lines of a pattern in the unit square; returns how many. */
size_t pattern_lines(enum pattern pattern, struct pattern_line line[PATTERN_LINES]);

/* The part of a line within [left, left + width] x [bottom, bottom + height]. Returns 0 where there is none. */
int pattern_clip(struct pattern_line *line, double left, double bottom, double width,
                 double height);

#endif
