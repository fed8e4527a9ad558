#include <config.h>

#include "plot_script.h"

#include <errno.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "plot_data.h"

/* Colours that people with any colour vision tell apart: M. Okabe, K. Ito, "Color Universal
 * Design" (2008). Each kind of line also has a width and a dash of its own, so none rests on
 * its colour. */
#define COLOUR_TRACE "#000000"
#define COLOUR_ENVELOPE "#0072B2"
#define COLOUR_MARK "#D55E00"
#define COLOUR_NOISE "#CC79A7"
#define COLOUR_GATE "#009E73"
#define COLOUR_GRID "#D0D0D0"

enum {
    LIST_COLUMNS = 27,   /* width of the list of echoes, in characters */
    LIST_HEAD_ROWS = 2,  /* its headings and their units */
    WIDE_TEXT = 110,     /* characters from which the list fits beside a plot in text */
    TEXT_PLOT_ROWS = 22, /* what the list must leave for the plot in text */
    DEPTH_TICKS = 8,
};

#define GATE_ROOM 0.14  /* share of the plot under the curves, for gates and their words */
#define NUMBER_ROWS 1.8 /* rows above the highest echo, for its number */
#define PIXELS_PER_INCH 96.0
#define US 1e6         /* microseconds in a second */
#define DEPTH_MM 0.5e3 /* depth in mm for 1 m/s and 1 s there and back */

/* How gnuplot's terminals size things, measured on 5.4, relative to pngcairo: what makes a
 * font, a point and a line come out alike, and the room a character takes, in points of our
 * font. */
struct terminal {
    double font, point, line;
    double character_width, row_height;
};

static const struct terminal terminals[] = {
    [PLOT_WINDOW] = {1, 1, 1, 0.87, 1.6},
    [PLOT_PNG] = {1, 1, 1, 0.87, 1.6},
    [PLOT_SVG] = {4.0 / 3, 0.5, 1, 0.94, 2.0},
    [PLOT_PDF] = {1.5, 1, 1.6, 0.87, 1.6},
    [PLOT_TEXT] = {1, 1, 1, 1, 1},
};

/* What follows from picture and view, worked out once. */
struct layout {
    FILE *out;
    const struct plot_picture *picture;
    const struct plot_view *view;
    const struct terminal *terminal;
    bool text;
    bool list_beside; /* list of echoes right of the plot, else under it */
    size_t list_rows; /* echoes listed, 0: no list at all */
    double font;      /* points, as pngcairo sizes them */
    double columns;   /* width and height of the whole picture in characters */
    double rows;
    double plot_width; /* share of the picture that the plot takes */
    double plot_height;
    double low, high; /* amplitude axis */
};

static double min(double a, double b)
{
    return a < b ? a : b;
}

static double max(double a, double b)
{
    return a > b ? a : b;
}

/* ---- what is shown ---- */

/* Samples [*first, *last) within the shown times, and one more at either end. */
static void shown_samples(const struct plot_picture *picture, const struct plot_curve *curve,
                          size_t *first, size_t *last)
{
    double from = floor((picture->from_s - curve->start_s) * curve->sample_rate_hz);
    double to = ceil((picture->to_s - curve->start_s) * curve->sample_rate_hz) + 1;
    *first = (size_t)min(max(from, 0), (double)curve->samples);
    *last = (size_t)min(max(to, 0), (double)curve->samples);
}

static bool is_shown(const struct plot_picture *picture, const struct plot_mark *mark)
{
    return mark->time_s >= picture->from_s && mark->time_s <= picture->to_s;
}

static void stretch(double value, double *low, double *high)
{
    if (!isfinite(value))
        return;
    *low = min(*low, value);
    *high = max(*high, value);
}

static void stretch_by_curve(const struct plot_picture *picture, const struct plot_curve *curve,
                             double *low, double *high)
{
    size_t first, last;
    if (curve->value == NULL)
        return;
    shown_samples(picture, curve, &first, &last);
    for (size_t i = first; i < last; i++)
        stretch(curve->value[i], low, high);
}

/* Rows of characters that the inside of the plot is high, about. */
static double plot_rows(const struct layout *l)
{
    double around = l->picture->velocity_m_s > 0 ? 10 : 8;
    for (size_t i = 0; l->picture->notes[i] != NULL; i++)
        around++;
    return max(l->rows * l->plot_height - around, 5);
}

/* In text there are too few rows for them. */
static bool has_gates(const struct layout *l)
{
    return l->picture->gate_count > 0 && !l->text;
}

/* The amplitude axis, with room above for the numbers of the echoes. */
static void choose_range(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    double low = INFINITY, high = -INFINITY;
    stretch_by_curve(p, &p->trace, &low, &high);
    stretch_by_curve(p, &p->envelope, &low, &high);
    for (size_t i = 0; i < p->mark_count; i++)
        if (is_shown(p, &p->marks[i]))
            stretch(p->marks[i].level, &low, &high);
    stretch(p->noise, &low, &high);
    if (low > high)
        low = 0, high = 1;
    if (p->two_sided) {
        high = max(high, -low);
        low = -high;
    } else if (low > 0 && low < 0.5 * high) {
        low = 0;
    }
    double span = high > low ? high - low : max(fabs(high), 1);
    if (has_gates(l))
        low -= GATE_ROOM * span;
    l->low = low - (low == 0 ? 0 : 0.05 * span);
    l->high = high + NUMBER_ROWS * span / plot_rows(l);
}

double plot_font(const struct plot_view *v)
{
    double columns = v->width >= v->height ? 80.0 : 56.0;
    return min(max(min(v->width / columns, v->height / 46.0), 7), 40);
}

struct plot_grid plot_grid(const struct plot_view *view)
{
    const struct terminal *terminal = &terminals[view->term];
    double font = plot_font(view);
    return (struct plot_grid){font, terminal->character_width * font,
                              terminal->row_height * font, terminal->point};
}

/* Font and grid of characters: large enough for a phone, small enough for the list. */
static void choose_font(struct layout *l)
{
    const struct plot_view *v = l->view;
    l->list_beside = l->text ? v->width >= WIDE_TEXT : v->width >= v->height;
    if (l->text) {
        l->columns = v->width;
        l->rows = v->height;
        return;
    }
    struct plot_grid grid = plot_grid(v);
    l->font = grid.font;
    l->columns = v->width / grid.column;
    l->rows = v->height / grid.row;
}

/* The list of echoes takes its room from the plot, which keeps the better part. */
static void choose_list(struct layout *l)
{
    l->plot_width = l->plot_height = 1;
    for (size_t i = 0; i < l->picture->mark_count; i++)
        l->list_rows += is_shown(l->picture, &l->picture->marks[i]);
    double room = l->list_beside ? l->rows - 4
                  : l->text      ? l->rows - TEXT_PLOT_ROWS
                                 : l->rows / 3;
    if (l->list_rows == 0 || room < LIST_HEAD_ROWS + 1) {
        l->list_rows = 0;
        return;
    }
    l->list_rows = (size_t)min((double)l->list_rows, room - LIST_HEAD_ROWS);
    if (l->list_beside)
        l->plot_width = 1 - LIST_COLUMNS / l->columns;
    else
        l->plot_height = 1 - (double)(l->list_rows + LIST_HEAD_ROWS + 1) / l->rows;
}

/* ---- the parts of the script, in their order ---- */

static void quote(struct layout *l, const char *text, double width)
{
    plot_quote(l->out, text, (size_t)max(width, 8), l->view->term == PLOT_SVG);
}

/* A terminal that is not there is said in one line, since gnuplot's own words would not help.
 */
static void write_window_terminal(FILE *out, const struct plot_view *v, double font)
{
    static const char *const names[] = {"qt", "wxt", "x11"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        fprintf(out,
                "%sif (strstrt(GPVAL_TERMINALS, ' %s ')) { set terminal %s %u size %u,%u "
                "noenhanced font 'sans,%.3g' persist }",
                i > 0 ? " else { " : "", names[i], names[i], v->window, v->width, v->height,
                font);
    fputs(" else { exit error 'no window terminal in this gnuplot: apt-get install gnuplot-qt, "
          "or use -o picture.png' } } }\n",
          out);
}

void plot_terminal(FILE *out, const struct plot_view *v, double cairo_font)
{
    const struct terminal *terminal = &terminals[v->term];
    double font = cairo_font * terminal->font;
    switch (v->term) {
    case PLOT_WINDOW:
        write_window_terminal(out, v, font);
        break;
    case PLOT_PNG:
        fprintf(
            out,
            "if (strstrt(GPVAL_TERMINALS, ' pngcairo ')) { set terminal pngcairo size %u,%u "
            "noenhanced font 'sans,%.3g' background '#FFFFFF' } else { set terminal png "
            "truecolor size %u,%u noenhanced background '#FFFFFF' }\n",
            v->width, v->height, font, v->width, v->height);
        break;
    case PLOT_SVG:
        fprintf(out,
                "set terminal svg size %u,%u noenhanced font 'sans-serif,%.3g' background "
                "'#FFFFFF'\n",
                v->width, v->height, font);
        break;
    case PLOT_PDF:
        fprintf(
            out,
            "set terminal pdfcairo size %.4gin,%.4gin noenhanced font 'sans,%.3g' linewidth "
            "%.3g background '#FFFFFF'\n",
            v->width / PIXELS_PER_INCH, v->height / PIXELS_PER_INCH, font, terminal->line);
        break;
    case PLOT_TEXT:
        fprintf(out, "set terminal dumb size %u,%u noenhanced mono\n", v->width, v->height);
        break;
    }
}

static void write_time_axis(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    fprintf(l->out, "set xrange [%.9g:%.9g]\nset xlabel 'Time (µs)'\nset mxtics\n",
            p->from_s * US, p->to_s * US);
    fputs("set xtics nomirror out\n", l->out);
}

static double depth_mm(const struct plot_picture *p, double time_s)
{
    return (time_s - p->depth_zero_s) * p->velocity_m_s * DEPTH_MM;
}

/* Ticks go from depth 0 to the back wall: above and behind there is none. */
static void write_depth_axis(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    if (!(p->velocity_m_s > 0))
        return;
    double from = depth_mm(p, p->from_s), to = depth_mm(p, p->to_s);
    double step = plot_nice_step(to - from, DEPTH_TICKS);
    double first = max(ceil(from / step) * step, 0) + 0.0;
    double last = min(to, depth_mm(p, p->depth_end_s));
    fprintf(l->out, "set x2range [%.9g:%.9g]\n", from, to);
    if (first <= last)
        fprintf(l->out, "set x2tics %.9g,%.9g,%.9g out\n", first, step, last);
    fprintf(l->out, "set x2label 'Depth at %.6g m/s (mm)'\n", p->velocity_m_s);
}

static void write_amplitude_axis(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    fprintf(l->out, "set yrange [%.6g:%.6g]\nset ytics out nomirror\nset ylabel ", l->low,
            l->high);
    char text[200];
    if (p->unit != NULL && p->unit[0] != '\0')
        snprintf(text, sizeof text, "%s (%s)", p->amplitude_text, p->unit);
    else
        snprintf(text, sizeof text, "%s", p->amplitude_text);
    quote(l, text, l->rows - 6);
    fputc('\n', l->out);
}

static void write_title(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    double width = 0.9 * l->columns * l->plot_width;
    fputs("set title ", l->out);
    quote(l, p->title, width);
    for (size_t i = 0; p->notes[i] != NULL; i++) {
        fputs(".\"\\n\".", l->out);
        quote(l, p->notes[i], width);
    }
    fputc('\n', l->out);
}

static void write_gates(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    for (size_t i = 0; i < p->gate_count && has_gates(l); i++) {
        const struct plot_gate *gate = &p->gates[i];
        double from = max(gate->from_s, p->from_s), to = min(gate->to_s, p->to_s);
        if (!(from < to))
            continue;
        double height = GATE_ROOM / 3;
        fprintf(
            l->out,
            "set arrow from first %.9g, graph %.3g to first %.9g, graph %.3g heads size graph "
            "0.01,90 linewidth 2.5 linecolor rgb '" COLOUR_GATE "'\n",
            from * US, height, to * US, height);
        if (gate->text == NULL)
            continue;
        fputs("set label ", l->out);
        quote(l, gate->text, l->columns / 2);
        fprintf(l->out, " at first %.9g, graph %.3g center offset 0,%g front\n",
                (from + to) / 2 * US, height, 0.7);
    }
}

/* ---- the list of echoes ---- */

/* One cell, right-aligned at `column` characters from the list's left, `row` from its top. */
static void write_cell(struct layout *l, const char *text, double column, size_t row)
{
    if (l->list_beside)
        fprintf(l->out, "set label '%s' at screen %.4f, screen 1 right offset %.4g,%.4g\n",
                text, l->plot_width, column, -(double)row - 2.5);
    else
        fprintf(l->out, "set label '%s' at character %.4g, character %.4g right\n", text,
                column + 2, (double)(l->list_rows + LIST_HEAD_ROWS - row) - 0.5);
}

/* Without depths the levels stand in their place. */
static void write_list_row(struct layout *l, const char *const cell[4], size_t row)
{
    const double columns[4] = {4, 11, 17.5, l->picture->velocity_m_s > 0 ? 25.5 : 19};
    for (size_t i = 0; i < 4; i++)
        if (cell[i] != NULL && cell[i][0] != '\0')
            write_cell(l, cell[i], columns[i], row);
}

static void write_list(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    if (l->list_rows == 0)
        return;
    bool depth = p->velocity_m_s > 0;
    write_list_row(l, (const char *const[4]){"Echo", "Time", depth ? "Depth" : "", "dB to"}, 0);
    write_list_row(l, (const char *const[4]){"", "µs", depth ? "mm" : "", "largest"}, 1);
    size_t row = LIST_HEAD_ROWS;
    for (size_t i = 0; i < p->mark_count && row < l->list_rows + LIST_HEAD_ROWS; i++) {
        const struct plot_mark *mark = &p->marks[i];
        char number[24], time[32], depth_text[32] = "", level[32] = "";
        if (!is_shown(p, mark))
            continue;
        snprintf(number, sizeof number, "%u", mark->number);
        snprintf(time, sizeof time, "%.3f", mark->time_s * US);
        if (depth && mark->time_s >= p->depth_zero_s && mark->time_s <= p->depth_end_s)
            snprintf(depth_text, sizeof depth_text, "%.2f", depth_mm(p, mark->time_s));
        if (isfinite(mark->level_db))
            snprintf(level, sizeof level, "%.1f", mark->level_db);
        write_list_row(l, (const char *const[4]){number, time, depth_text, level}, row++);
    }
}

/* ---- data ---- */

/* In text an envelope and a noise line would hide the trace: characters have no dashes. */
static bool has_envelope(const struct layout *l)
{
    return l->picture->envelope.value != NULL && !l->text;
}

static enum plyecho_code write_curve(struct layout *l, const char *name,
                                     const struct plot_curve *curve)
{
    size_t first, last;
    shown_samples(l->picture, curve, &first, &last);
    size_t columns = (size_t)max(l->view->width, 16);
    size_t *index = calloc(plot_thin_room(first, last, columns) + 1, sizeof *index);
    if (index == NULL)
        return PLYECHO_NO_MEMORY;
    size_t count = plot_thin(curve->value, first, last, columns, index);
    fprintf(l->out, "$%s << END\n", name);
    for (size_t i = 0; i < count; i++) {
        double time = curve->start_s + (double)index[i] / curve->sample_rate_hz;
        if (isfinite(curve->value[index[i]]))
            fprintf(l->out, "%.9g %.6g\n", time * US, (double)curve->value[index[i]]);
        else
            fputc('\n', l->out);
    }
    fputs("END\n", l->out);
    free(index);
    return PLYECHO_OK;
}

/* Numbers stand over their marks; where neighbours would touch, the later one goes higher. */
static void write_marks(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    double plot_columns = max(l->columns * l->plot_width - 10, 8);
    double column = (p->to_s - p->from_s) / plot_columns;
    double height = (l->high - l->low) / plot_rows(l);
    double last_time = -INFINITY, last_level = 0;
    fputs("$marks << END\n", l->out);
    for (size_t i = 0; i < p->mark_count; i++) {
        const struct plot_mark *mark = &p->marks[i];
        if (!is_shown(p, mark))
            continue;
        double level = mark->level;
        double width = (mark->number < 10 ? 1.6 : 2.6) * column;
        if (mark->time_s - last_time < width && fabs(level - last_level) < height)
            level = last_level + height;
        fprintf(l->out, "%.9g %.6g %.6g %u\n", mark->time_s * US, mark->level,
                min(level, l->high - 0.8 * NUMBER_ROWS * height), mark->number);
        last_time = mark->time_s;
        last_level = level;
    }
    fputs("END\n", l->out);
}

static void write_plot_command(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    bool marks = false;
    for (size_t i = 0; i < p->mark_count; i++)
        marks = marks || is_shown(p, &p->marks[i]);
    fputs("plot $trace using 1:2 with lines linewidth 1.2 linecolor rgb '" COLOUR_TRACE
          "' title ",
          l->out);
    quote(l, p->trace_text, l->columns / 3);
    if (has_envelope(l))
        fputs(", $envelope using 1:2 with lines linewidth 2.2 dashtype (9,4) linecolor rgb "
              "'" COLOUR_ENVELOPE "' title 'Envelope'",
              l->out);
    if (isfinite(p->noise) && !l->text) {
        fprintf(l->out,
                ", %.6g with lines linewidth 2 dashtype (3,3) linecolor rgb '" COLOUR_NOISE
                "' title ",
                p->noise);
        quote(l, p->noise_text != NULL ? p->noise_text : "Noise", l->columns / 3);
    }
    if (marks && !l->text)
        fprintf(l->out,
                ", $marks using 1:2 with points pointtype 9 pointsize %.3g linecolor rgb "
                "'" COLOUR_MARK "' title 'Echo'",
                1.4 * l->terminal->point);
    if (marks)
        fputs(", $marks using 1:3:4 with labels offset 0,0.9 notitle", l->out);
    fputc('\n', l->out);
}

static enum plyecho_code write_data(struct layout *l)
{
    const struct plot_picture *p = l->picture;
    enum plyecho_code code = write_curve(l, "trace", &p->trace);
    if (code == PLYECHO_OK && has_envelope(l))
        code = write_curve(l, "envelope", &p->envelope);
    write_marks(l);
    return code;
}

static enum plyecho_code write_script(struct layout *l)
{
    fputs("reset\nset encoding utf8\n", l->out);
    plot_terminal(l->out, l->view, l->font);
    fprintf(l->out, "set origin 0,%.4f\nset size %.4f,%.4f\n", 1 - l->plot_height,
            l->plot_width, l->plot_height);
    fprintf(l->out,
            "set border %d\nset key outside bottom center horizontal height 0.5 samplen 3\n",
            l->picture->velocity_m_s > 0 ? 7 : 3);
    if (!l->text)
        fputs("set grid xtics ytics linewidth 0.7 linetype 1 linecolor rgb '" COLOUR_GRID "'\n",
              l->out);
    write_title(l);
    write_time_axis(l);
    write_depth_axis(l);
    write_amplitude_axis(l);
    write_gates(l);
    write_list(l);
    enum plyecho_code code = write_data(l);
    write_plot_command(l);
    return code;
}

enum plyecho_code plot_script(const struct plot_picture *picture, const struct plot_view *view,
                              char **text, size_t *size, struct plyecho_error *err)
{
    struct layout l = {.picture = picture,
                       .view = view,
                       .terminal = &terminals[view->term],
                       .text = view->term == PLOT_TEXT};
    *text = NULL;
    l.out = open_memstream(text, size);
    if (l.out == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the picture");
    choose_font(&l);
    choose_list(&l);
    choose_range(&l);
    enum plyecho_code code = write_script(&l);
    if (ferror(l.out))
        code = PLYECHO_NO_MEMORY;
    if (fclose(l.out) != 0)
        code = PLYECHO_NO_MEMORY;
    if (code == PLYECHO_OK)
        return PLYECHO_OK;
    free(*text);
    *text = NULL;
    return plyecho_fail(err, code, "no memory for the picture");
}
