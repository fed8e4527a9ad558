#include <config.h>

#include "sheet.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "palette.h"
#include "plot_data.h"

enum {
    SCALE_ROWS_UNDER = 5, /* of the colour box under the plot, with its numbers and label */
    SCALE_ROWS_LEAST = 8, /* of the one beside it */
    SCALE_ROWS_MOST = 16,
    SCALE_TICKS = 5,
    KEY_UNDER_COLUMNS = 2,
};

#define LEFT_COLUMNS 9.0 /* around the plot, for its numbers and labels */
#define BOTTOM_ROWS 3.4
#define SYMBOL_COLUMNS 2.6
#define ZERO_SIZE 2.2
#define USUAL_WIDTH 1.25 /* characters of usual words in the room of a wide one */

struct key_item *key_add(struct key *key, enum key_kind kind, const char *format, ...)
{
    if (key->count == KEY_MOST)
        return NULL;
    struct key_item *item = &key->item[key->count++];
    memset(item, 0, sizeof *item);
    item->kind = kind;
    va_list words;
    va_start(words, format);
    vsnprintf(item->words, sizeof item->words, format, words);
    va_end(words);
    return item;
}

static double width_of(const struct sheet *s)
{
    return s->view->width;
}

static double height_of(const struct sheet *s)
{
    return s->view->height;
}

static size_t rows_under(size_t items)
{
    return (items + KEY_UNDER_COLUMNS - 1) / KEY_UNDER_COLUMNS;
}

void sheet_open(struct sheet *s, FILE *out, const struct plot_view *view, size_t notes,
                size_t items)
{
    *s = (struct sheet){.out = out, .view = view, .grid = plot_grid(view), .items = items};
    s->beside = view->width >= view->height;
    s->title_rows = notes + 2;
    double column = s->grid.column, row = s->grid.row;
    double under = s->beside ? 0 : (double)(rows_under(items) + SCALE_ROWS_UNDER);
    s->left = LEFT_COLUMNS * column;
    s->right = width_of(s) - (s->beside ? KEY_COLUMNS + 2 : 3) * column;
    s->bottom = (under + BOTTOM_ROWS) * row;
    s->top = height_of(s) - (double)s->title_rows * row;
    /* A plot keeps something to look at, whatever the key wants. */
    s->bottom = fmin(s->bottom, 0.8 * s->top);
    s->right = fmax(s->right, 1.5 * s->left);
    fputs("reset\nset encoding utf8\n", out);
    plot_terminal(out, view, s->grid.font);
    /* Drawn with a border of its own colour a patch leaves no seam to the next; SVG patches have sharp edges,
     * and such a border turns them black (gnuplot 5.4). Left to itself the scans' direction follows the axes',
     * and with it the corner that gives the colour. */
    fprintf(out, "set view map\nset pm3d scansforward corners2color c1%s\nunset key\n",
            view->term == PLOT_SVG ? "" : " border retrace");
}

void sheet_fit(struct sheet *s, double ratio)
{
    double width = s->right - s->left, height = s->top - s->bottom;
    if (ratio * width > height) {
        double spare = width - height / ratio;
        s->left += spare / 2;
        s->right -= spare / 2;
    } else {
        s->bottom += height - ratio * width;
    }
}

void sheet_quote(struct sheet *s, const char *text, double columns)
{
    plot_quote(s->out, text, (size_t)fmax(columns, 8), s->view->term == PLOT_SVG);
}

/* gnuplot's words for a place of the picture. */
static void write_place(struct sheet *s, double x, double y)
{
    fprintf(s->out, "screen %.5f,%.5f", x / width_of(s), y / height_of(s));
}

static void write_words(struct sheet *s, const char *text, double columns, double x, double y,
                        const char *how)
{
    fputs("set label ", s->out);
    sheet_quote(s, text, columns);
    fputs(" at ", s->out);
    write_place(s, x, y);
    fprintf(s->out, " %s front\n", how);
}

static void write_line(struct sheet *s, double x0, double y0, double x1, double y1,
                       const char *how)
{
    fputs("set arrow from ", s->out);
    write_place(s, x0, y0);
    fputs(" to ", s->out);
    write_place(s, x1, y1);
    fprintf(s->out, " nohead front %s\n", how);
}

void sheet_write_frame(struct sheet *s, const char *title, const char *const *notes)
{
    double width = width_of(s), height = height_of(s), row = s->grid.row;
    double columns = USUAL_WIDTH * (width / s->grid.column - 2);
    fprintf(s->out,
            "set lmargin at screen %.5f\nset rmargin at screen %.5f\n"
            "set bmargin at screen %.5f\nset tmargin at screen %.5f\n",
            s->left / width, s->right / width, s->bottom / height, s->top / height);
    double y = height - 0.9 * row;
    write_words(s, title, columns, width / 2, y, "center");
    for (size_t i = 0; notes[i] != NULL; i++)
        write_words(s, notes[i], columns, width / 2, y -= row, "center");
}

/* gnuplot's own labels hang too far out in a map. */
void sheet_write_axes(struct sheet *s, const char *across, const char *along)
{
    double row = s->grid.row, column = s->grid.column;
    fputs("set border 15\nset tics out nomirror scale 0.6\nset xtics offset 0,0.4\n", s->out);
    write_words(s, across, (s->right - s->left) / column, (s->left + s->right) / 2,
                s->bottom - 2.6 * row, "center");
    write_words(s, along, (s->top - s->bottom) / column, s->left - 7 * column,
                (s->top + s->bottom) / 2, "center rotate by 90");
}

/* ---- the key ---- */

static double key_top(const struct sheet *s)
{
    return height_of(s) - (double)s->title_rows * s->grid.row;
}

/* A symbol's box: lower left, width and height. */
struct box {
    double x, y, width, height;
};

static void write_box(struct sheet *s, const struct box *b, const char *how)
{
    fprintf(s->out, "set object %zu rectangle from ", ++s->drawn);
    write_place(s, b->x, b->y);
    fputs(" to ", s->out);
    write_place(s, b->x + b->width, b->y + b->height);
    fprintf(s->out, " front %s\n", how);
}

static void write_fill(struct sheet *s, const struct box *b, const struct key_item *item)
{
    char how[80];
    struct pattern_line line[PATTERN_LINES];
    snprintf(how, sizeof how,
             "fillcolor rgb '#%06x' fillstyle solid 1 border linecolor rgb '" OKABE_BLACK "'",
             item->fill);
    write_box(s, b, how);
    size_t count = pattern_lines(item->pattern, line);
    for (size_t i = 0; i < count; i++)
        write_line(s, b->x + line[i].x0 * b->width, b->y + line[i].y0 * b->height,
                   b->x + line[i].x1 * b->width, b->y + line[i].y1 * b->height,
                   "linewidth 1 linecolor rgb '" OKABE_BLACK "'");
}

static void write_point(struct sheet *s, const char *at, int type, double size,
                        const char *colour, double width)
{
    fprintf(s->out,
            "set label '' at %s point pointtype %d pointsize %.3g linewidth %.3g linecolor rgb "
            "'%s' front\n",
            at, type, size * s->grid.point, width, colour);
}

void sheet_write_zero(struct sheet *s, const char *at)
{
    write_point(s, at, 7, ZERO_SIZE, "#FFFFFF", 1);
    write_point(s, at, 6, ZERO_SIZE, OKABE_BLACK, 1.5);
    write_point(s, at, 1, ZERO_SIZE, OKABE_BLACK, 1.5);
}

static void write_arrow(struct sheet *s, const struct box *b, double y)
{
    fputs("set arrow from ", s->out);
    write_place(s, b->x, y);
    fputs(" to ", s->out);
    write_place(s, b->x + b->width, y);
    fputs(" front filled size screen 0.012,25 linewidth 2\n", s->out);
}

static void write_symbol(struct sheet *s, const struct box *b, const struct key_item *item)
{
    double middle = b->y + b->height / 2;
    char text[96];
    switch (item->kind) {
    case KEY_WORDS:
        break;
    case KEY_FILL:
        write_fill(s, b, item);
        break;
    case KEY_OUTLINE:
        write_box(s, b, "fillstyle empty border linecolor rgb '" OKABE_BLACK "' linewidth 2");
        break;
    case KEY_LINE:
        snprintf(text, sizeof text, "linewidth 2.5 linecolor rgb '%s'", item->colour);
        write_line(s, b->x, middle, b->x + b->width, middle, text);
        break;
    case KEY_POINT:
    case KEY_ZERO:
        snprintf(text, sizeof text, "screen %.5f,%.5f", (b->x + b->width / 2) / width_of(s),
                 middle / height_of(s));
        if (item->kind == KEY_ZERO)
            sheet_write_zero(s, text);
        else
            write_point(s, text, 7, 1, item->colour, 1);
        break;
    case KEY_ARROW:
        write_arrow(s, b, middle);
        break;
    case KEY_LENGTH:
        write_line(s, b->x, middle, b->x + item->length, middle, "linewidth 3");
        for (int end = 0; end < 2; end++)
            write_line(s, b->x + end * item->length, b->y, b->x + end * item->length,
                       b->y + b->height, "linewidth 1.5");
        break;
    }
}

/* x, y: left and middle of the item's row. */
static void write_item(struct sheet *s, const struct key_item *item, double x, double y,
                       double columns)
{
    double column = s->grid.column, row = s->grid.row;
    struct box box = {x, y - 0.32 * row, SYMBOL_COLUMNS * column, 0.64 * row};
    write_symbol(s, &box, item);
    double indent = item->kind == KEY_LENGTH  ? item->length + column
                    : item->kind == KEY_WORDS ? 0
                                              : (SYMBOL_COLUMNS + 0.8) * column;
    write_words(s, item->words, (columns - indent / column) * USUAL_WIDTH, x + indent, y,
                "left");
}

/* Beside the plot the colour box stands over the key and takes the rows that it leaves. */
static double scale_rows(const struct sheet *s)
{
    double left = key_top(s) / s->grid.row - (double)s->items - 1;
    return fmin(fmax(left, SCALE_ROWS_LEAST), SCALE_ROWS_MOST);
}

void sheet_write_key(struct sheet *s, const struct key *key)
{
    double column = s->grid.column, row = s->grid.row;
    size_t rows = rows_under(key->count);
    for (size_t i = 0; i < key->count; i++) {
        double x, y, columns;
        if (s->beside) {
            columns = KEY_COLUMNS;
            x = width_of(s) - KEY_COLUMNS * column;
            y = key_top(s) - (scale_rows(s) + 0.5 + (double)i) * row;
        } else {
            columns = width_of(s) / column / KEY_UNDER_COLUMNS - 2;
            x = column + (double)(i / rows) * width_of(s) / KEY_UNDER_COLUMNS;
            y = ((double)(rows - i % rows) - 0.3) * row;
        }
        write_item(s, &key->item[i], x, y, columns);
    }
}

/* ---- the colours' scale ---- */

static struct box scale_box(const struct sheet *s)
{
    double column = s->grid.column, row = s->grid.row, rows = scale_rows(s);
    if (s->beside)
        return (struct box){width_of(s) - KEY_COLUMNS * column, key_top(s) - (rows - 1) * row,
                            2.2 * column, (rows - 2.5) * row};
    double bottom = (double)rows_under(s->items) + SCALE_ROWS_UNDER - 1.2;
    return (struct box){3 * column, bottom * row, width_of(s) - 6 * column, 0.9 * row};
}

/* A line across the box where the mark lies, with a white rim so that it shows on every colour. */
static void write_mark(struct sheet *s, const struct box *b, const struct colour_scale *scale)
{
    double share = (scale->mark - scale->low) / (scale->high - scale->low);
    if (!(share >= 0 && share <= 1))
        return;
    double x = b->x + share * b->width, y = b->y + share * b->height;
    for (int pass = 0; pass < 2; pass++) {
        const char *how = pass == 0 ? "linewidth 4 linecolor rgb '#FFFFFF'"
                                    : "linewidth 2 linecolor rgb '" OKABE_BLACK "'";
        if (s->beside)
            write_line(s, b->x, y, b->x + b->width, y, how);
        else
            write_line(s, x, b->y, x, b->y + b->height, how);
    }
}

void sheet_write_scale(struct sheet *s, const struct colour_scale *scale)
{
    struct box b = scale_box(s);
    palette_write(s->out);
    fprintf(s->out, "set cbrange [%.9g:%.9g]\nset format cb '%%g'\n", scale->low, scale->high);
    fprintf(s->out, "set cbtics out nomirror %.9g\nunset mcbtics\n",
            plot_nice_step(scale->high - scale->low, SCALE_TICKS));
    fprintf(s->out, "set colorbox %s user origin screen %.5f,%.5f size screen %.5f,%.5f\n",
            s->beside ? "vertical" : "horizontal", b.x / width_of(s), b.y / height_of(s),
            b.width / width_of(s), b.height / height_of(s));
    if (s->beside)
        write_words(s, scale->label, KEY_COLUMNS, b.x, b.y + b.height + 0.9 * s->grid.row,
                    "left");
    else
        write_words(s, scale->label, width_of(s) / s->grid.column - 6, width_of(s) / 2,
                    b.y - 2.6 * s->grid.row, "center");
    write_mark(s, &b, scale);
}
