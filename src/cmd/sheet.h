/* sheet.h - a picture's paper: where title, plot, key and colour box go
 *
 * For pictures drawn by `splot` seen from above. Beside a wide plot, under a tall one, stands the key: rows of a
 * symbol and words each. Positions are pixels from the lower left.
 */
#ifndef PLYECHO_CMD_SHEET_H
#define PLYECHO_CMD_SHEET_H

#include <stdbool.h>
#include <stdio.h>

#include <plyecho/error.h>

#include "pattern.h"
#include "plot_script.h"

enum key_kind {
    KEY_WORDS,   /* no symbol */
    KEY_FILL,    /* a cell of a colour with a pattern */
    KEY_OUTLINE, /* the border of an indication */
    KEY_LINE,    /* a line of a colour */
    KEY_POINT,   /* a point of a colour */
    KEY_ZERO,    /* the mark of the part's zero */
    KEY_ARROW,
    KEY_LENGTH /* a bar `length` pixels long, the words under it */
};

enum { KEY_MOST = 32, KEY_ROOM = 160, KEY_COLUMNS = 30 };

struct key_item {
    enum key_kind kind;
    unsigned fill; /* 0xRRGGBB */
    enum pattern pattern;
    const char *colour; /* of a line or point, "#RRGGBB" */
    double length;
    char words[KEY_ROOM];
};

struct key {
    struct key_item item[KEY_MOST];
    size_t count;
};

/* The colours' scale. */
struct colour_scale {
    double low, high;  /* low < high */
    const char *label; /* with the unit */
    double mark;       /* a line across the box; NAN: none */
};

struct sheet {
    FILE *out;
    const struct plot_view *view;
    struct plot_grid grid;
    bool beside;                     /* the key stands beside the plot, else under it */
    double left, right, bottom, top; /* of the plot */
    size_t items;                    /* of the key */
    size_t title_rows;
    size_t drawn; /* gnuplot's objects so far */
};

/* The next free item, with words as of printf, cut to what fits; NULL where the key is full. */
struct key_item *key_add(struct key *key, enum key_kind kind, const char *format, ...)
    PLYECHO_PRINTF(3, 4);

/* Begin a script: the terminal, and the room for a title, notes, a plot, a key of `items` items and a colour box. */
void sheet_open(struct sheet *sheet, FILE *out, const struct plot_view *view, size_t notes,
                size_t items);

/* Make the plot smaller so that it is `ratio` times as high as wide, in the middle of its room. */
void sheet_fit(struct sheet *sheet, double ratio);

/* The margins, title and notes (NULL behind the last). */
void sheet_write_frame(struct sheet *sheet, const char *title, const char *const *notes);

/* How ticks stand, and the labels of both axes; behind the ticks themselves. */
void sheet_write_axes(struct sheet *sheet, const char *across, const char *along);

void sheet_write_key(struct sheet *sheet, const struct key *key);
void sheet_write_scale(struct sheet *sheet, const struct colour_scale *scale);

/* A text as gnuplot's string, at most `columns` characters. */
void sheet_quote(struct sheet *sheet, const char *text, double columns);

/* The mark of the part's zero at a place in gnuplot's words, e.g. "first 0,0". */
void sheet_write_zero(struct sheet *sheet, const char *at);

#endif
