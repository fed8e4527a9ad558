#include <config.h>

#include "pattern.h"

static const struct {
    size_t count;
    struct pattern_line line[PATTERN_LINES];
} patterns[] = {
    [PATTERN_NONE] = {0},
    [PATTERN_STROKE] = {1, {{0, 0, 1, 1}}},
    [PATTERN_CROSS] = {2, {{0, 0, 1, 1}, {0, 1, 1, 0}}},
    [PATTERN_HATCH] = {3, {{0, 0, 1, 1}, {0, 0.5, 0.5, 1}, {0.5, 0, 1, 0.5}}},
    [PATTERN_BACK_HATCH] = {3, {{0, 1, 1, 0}, {0, 0.5, 0.5, 0}, {0.5, 1, 1, 0.5}}},
    [PATTERN_BARS] = {2, {{0, 0.25, 1, 0.25}, {0, 0.75, 1, 0.75}}},
    [PATTERN_POSTS] = {2, {{0.25, 0, 0.25, 1}, {0.75, 0, 0.75, 1}}},
};

size_t pattern_lines(enum pattern pattern, struct pattern_line line[PATTERN_LINES])
{
    for (size_t i = 0; i < patterns[pattern].count; i++)
        line[i] = patterns[pattern].line[i];
    return patterns[pattern].count;
}

/* Narrow the stretch [*from, *to] of a line to where start + share * rise lies in [low, high]. */
static int narrow(double start, double rise, double low, double high, double *from, double *to)
{
    if (rise == 0)
        return start >= low && start <= high;
    double a = (low - start) / rise, b = (high - start) / rise;
    double first = a < b ? a : b, last = a < b ? b : a;
    *from = first > *from ? first : *from;
    *to = last < *to ? last : *to;
    return *from < *to;
}

int pattern_clip(struct pattern_line *line, double left, double bottom, double width,
                 double height)
{
    double from = 0, to = 1, dx = line->x1 - line->x0, dy = line->y1 - line->y0;
    struct pattern_line whole = *line;
    if (!narrow(line->x0, dx, left, left + width, &from, &to) ||
        !narrow(line->y0, dy, bottom, bottom + height, &from, &to))
        return 0;
    line->x0 = whole.x0 + from * dx;
    line->y0 = whole.y0 + from * dy;
    line->x1 = whole.x0 + to * dx;
    line->y1 = whole.y0 + to * dy;
    return 1;
}
