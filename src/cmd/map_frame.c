#include <config.h>

#include "map_frame.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "map_outlines.h"
#include "memory.h"
#include "palette.h"
#include "plot_data.h"
#include "quantile.h"

#define MM 1e3            /* in a metre */
#define LEAST_FILL 0.4    /* share of the room that a plot in true proportions must fill */
#define RING_SIDE 1.2     /* range of a ring plot to the left, right and top of its middle */
#define RING_BELOW 1.5    /* and below, with the axis of its rings */
#define RING_AXIS -1.22   /* where that stands */
#define ANGLE_LABELS 1.11 /* radius of the angles' labels */
#define RING_ZERO 1.03    /* and of the mark of the part's zero */
#define ARROW 0.07        /* length of an arrow to a zero outside, of the plot */

enum {
    TICK_COLUMNS = 6,  /* characters that a tick across needs */
    LENGTH_PARTS = 12, /* of the plot's width, the bar is one at least */
    LIST_COLUMNS = 25, /* of the list of one kind's numbers */
    RING_TICKS = 5,
    TICKS_MOST = 10,
    NOTE_ROOM = 32,
};

/* ---- title ---- */

static const char *turn_words(const struct map_picture *p)
{
    if (!p->grid->tube)
        return NULL;
    switch (p->turn) {
    case MAP_CLOCKWISE:
        return "angles rise clockwise, looking along rising axial";
    case MAP_COUNTERCLOCKWISE:
        return "angles rise counterclockwise, looking along rising axial";
    default:
        return p->projection == MAP_RING ? "direction of angles not stated: drawn clockwise"
                                         : "direction of angles not stated";
    }
}

void map_frame_head(const struct map_picture *p, const char *first, struct sheet *sheet)
{
    char *zero = memory_take(strlen(p->zero_mark != NULL ? p->zero_mark : "") + NOTE_ROOM, 1);
    if (p->zero_mark != NULL)
        sprintf(zero, "zero mark: %s", p->zero_mark);
    else
        sprintf(zero, "zero mark not stated");
    const char *turn = turn_words(p);
    const char *const notes[] = {first != NULL ? first : zero, first != NULL ? zero : turn,
                                 first != NULL ? turn : NULL, NULL};
    sheet_write_frame(sheet, p->title, notes);
    free(zero);
}

/* ---- measures ---- */

/* Median outer radius of the rows in mm; NAN: not known of any. */
static double radius_mm(const struct map_cells *c)
{
    const struct plyecho_grid *g = c->picture->grid;
    double *radius = memory_take(g->rows, sizeof *radius), middle = NAN;
    size_t count = 0;
    for (size_t i = 0; i < g->rows && g->tube; i++)
        if (isfinite(g->radius_m[i]))
            radius[count++] = g->radius_m[i] * MM;
    quantile_sort(radius, count);
    if (count > 0)
        middle = quantile_of(radius, count, 0.5);
    free(radius);
    return middle;
}

/* Length in mm of one unit across: a degree on the outer surface, or a mm. */
static double mm_across(const struct map_cells *c)
{
    return c->picture->grid->tube ? radius_mm(c) * M_PI / 180 : 1;
}

static double span_across(const struct map_cells *c)
{
    return c->bounds.to_across - c->bounds.from_across;
}

static double span_along(const struct map_cells *c)
{
    return c->bounds.to_along - c->bounds.from_along;
}

static bool is_ring(const struct map_cells *c)
{
    return c->projection.ring;
}

void map_frame_fit(const struct map_cells *c, struct sheet *s)
{
    if (is_ring(c)) {
        /* Its labels stand within it. */
        s->left = s->grid.column;
        s->bottom -= 2 * s->grid.row;
        sheet_fit(s, (RING_SIDE + RING_BELOW) / (2 * RING_SIDE));
        return;
    }
    double ratio = span_along(c) / (span_across(c) * mm_across(c));
    double fill = ratio * (s->right - s->left) / (s->top - s->bottom);
    if (fill >= LEAST_FILL && fill <= 1 / LEAST_FILL)
        sheet_fit(s, ratio);
}

double map_frame_cell_width(const struct map_cells *c, const struct sheet *s)
{
    double radius = (s->right - s->left) / (2 * RING_SIDE) * (1 + PATCH_BORE) / 2;
    return c->mean_width *
           (is_ring(c) ? radius * M_PI / 180 : (s->right - s->left) / span_across(c));
}

double map_frame_cell_height(const struct map_cells *c, const struct sheet *s)
{
    double depth = (s->right - s->left) / (2 * RING_SIDE) * (1 - PATCH_BORE);
    return c->mean_height / span_along(c) * (is_ring(c) ? depth : s->top - s->bottom);
}

/* ---- the zero ---- */

static double clamp(double value, double low, double high)
{
    return value < low ? low : value > high ? high : value;
}

/* Where in the map the part's zero is, or next to it; false where it lies outside, *dx, *dy the way there. */
static bool find_zero(const struct map_cells *c, int *dx, int *dy, struct patch_point *at)
{
    const struct patch *b = &c->bounds;
    double zero = c->picture->grid->tube && b->from_across > 0 && b->to_across >= 360 ? 360 : 0;
    struct patch_point near = {clamp(zero, b->from_across, b->to_across),
                               clamp(0, b->from_along, b->to_along)};
    if (is_ring(c))
        near = (struct patch_point){0, b->to_along}, zero = 0;
    *dx = (zero > near.x) - (zero < near.x);
    *dy = is_ring(c) ? 0 : (0 > near.y) - (0 < near.y);
    if (at != NULL)
        *at = near;
    return *dx == 0 && *dy == 0;
}

/* ---- key ---- */

static const char *unit_of(const struct map_cells *c)
{
    return c->picture->quantity == MAP_LEVEL ? "dB" : "mm";
}

static void add_range(const struct map_cells *c, struct key *key)
{
    const struct map_range *r = &c->range;
    if (r->values == 0) {
        key_add(key, KEY_WORDS, "nowhere was a %s seen",
                c->picture->quantity == MAP_LEVEL ? "back wall" : "wall");
        return;
    }
    key_add(key, KEY_WORDS, "colours: %.4g to %.4g %s", r->low, r->high, unit_of(c));
    if (r->stretched)
        key_add(key, KEY_WORDS, "down to the least: %.4g %s", r->least, unit_of(c));
    if (r->below > 0 && r->above > 0)
        key_add(key, KEY_WORDS, "beyond: %zu below, %zu above", r->below, r->above);
    else if (r->below + r->above > 0)
        key_add(key, KEY_WORDS, "beyond: %zu %s", r->below + r->above,
                r->below > 0 ? "below" : "above");
    struct key_item *item = NULL;
    if (c->picture->quantity == MAP_LEVEL)
        item = key_add(key, KEY_LINE, "%s",
                       c->picture->sound_level_db.known ? "0: median of sound places"
                                                        : "0: as expected");
    else if (c->picture->quantity == MAP_OFF_NOMINAL)
        item = key_add(key, KEY_LINE, "0: nominal of each place");
    else if (r->nominal_known && r->nominal_low == r->nominal_high)
        item = key_add(key, KEY_LINE, "nominal %.4g mm", r->nominal_low);
    else if (r->nominal_known)
        key_add(key, KEY_WORDS, "nominal: %.4g to %.4g mm", r->nominal_low, r->nominal_high);
    if (item != NULL)
        item->colour = OKABE_BLACK;
}

static void add_states(const struct map_cells *c, struct key *key)
{
    for (enum map_state state = MAP_VALUE + 1; state < MAP_STATE_COUNT; state++) {
        if (c->counts[state] == 0)
            continue;
        struct key_item *item =
            key_add(key, KEY_FILL, "%s (%zu)", map_state_words(state), c->counts[state]);
        if (item == NULL)
            return;
        item->fill = map_look(state).fill;
        item->pattern = map_look(state).pattern;
    }
}

/* "delamination 1, 2, 5": the numbers of one kind, as many as fit. */
static void add_kind(const struct map_cells *c, enum plyecho_verdict kind, struct key *key)
{
    const struct map_picture *p = c->picture;
    char words[LIST_COLUMNS + 32];
    size_t used = (size_t)snprintf(words, sizeof words, "%s", plyecho_verdict_word(kind));
    size_t listed = 0, left = 0;
    for (size_t i = 0; i < p->indication_count; i++) {
        if (p->indications[i].kind != kind)
            continue;
        if (used + 5 > LIST_COLUMNS) {
            left++;
            continue;
        }
        used += (size_t)snprintf(words + used, sizeof words - used, "%s %zu",
                                 listed > 0 ? "," : "", i + 1);
        listed++;
    }
    if (left > 0)
        snprintf(words + used, sizeof words - used, " +%zu", left);
    if (listed + left > 0)
        key_add(key, KEY_OUTLINE, "%s", words);
}

static void add_frame(const struct map_cells *c, struct key *key)
{
    const struct map_picture *p = c->picture;
    bool framed = false;
    for (size_t i = 0; i < p->indication_count && p->member != NULL; i++)
        framed = framed || map_outlines_has_frame(&p->indications[i]);
    if (framed)
        key_add(key, KEY_WORDS, "heavy frame: stated edges");
}

/* The gravest first. */
static const enum plyecho_verdict kinds[] = {PLYECHO_DELAMINATION, PLYECHO_THIN,
                                             PLYECHO_ATTENUATED, PLYECHO_UNDECIDED,
                                             PLYECHO_INNER_ECHO};

void map_frame_key(const struct map_cells *c, struct key *key)
{
    add_range(c, key);
    add_states(c, key);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0] && c->picture->member != NULL; i++)
        add_kind(c, kinds[i], key);
    add_frame(c, key);
    int dx, dy;
    if (find_zero(c, &dx, &dy, NULL))
        key_add(key, KEY_ZERO, "zero mark");
    else
        key_add(key, KEY_ARROW, "to the zero mark, outside");
}

void map_frame_length(const struct map_cells *c, const struct sheet *s, struct key *key)
{
    double radius = radius_mm(c), unit = mm_across(c);
    if (!isfinite(unit)) {
        key_add(key, KEY_WORDS, "no diameter: no arc lengths");
        return;
    }
    if (is_ring(c)) {
        key_add(key, KEY_WORDS, "10° = %.3g mm of arc, ø %.4g mm", 10 * unit, 2 * radius);
        return;
    }
    double pixel = (s->right - s->left) / (span_across(c) * unit);
    double length = plot_nice_step(span_across(c) * unit, LENGTH_PARTS);
    bool one_scale = fabs(pixel * span_along(c) / (s->top - s->bottom) - 1) < 0.02;
    struct key_item *item =
        key_add(key, KEY_LENGTH, "%g mm%s", length, one_scale ? "" : " across");
    if (item == NULL)
        return;
    item->length = length * pixel;
    if (c->picture->grid->tube)
        snprintf(item->words, sizeof item->words, "%g mm%s, ø %.4g mm", length,
                 one_scale ? "" : " across", 2 * radius);
}

/* ---- axes ---- */

static double angle_step(double span, double ticks)
{
    static const double steps[] = {1, 2, 5, 10, 15, 30, 45, 90};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        if (span / steps[i] <= ticks)
            return steps[i];
    return 180;
}

void map_frame_ticks(struct sheet *s, double from, double to, bool degrees)
{
    double ticks = fmax((s->right - s->left) / s->grid.column / TICK_COLUMNS, 2);
    double step = degrees ? angle_step(to - from, ticks)
                          : plot_nice_step(to - from, (unsigned)fmin(ticks, TICKS_MOST));
    fprintf(s->out, "set xrange [%.9g:%.9g]\nset xtics %.9g\n", from, to, step);
}

static void write_axes(const struct map_cells *c, struct sheet *s)
{
    const struct patch *b = &c->bounds;
    bool tube = c->picture->grid->tube;
    double rows = fmax((s->top - s->bottom) / s->grid.row / 2, 2);
    map_frame_ticks(s, b->from_across, b->to_across, tube);
    fprintf(s->out, "set yrange [%.9g:%.9g]\nset ytics %.9g\n", b->from_along, b->to_along,
            plot_nice_step(span_along(c), (unsigned)fmin(rows, TICKS_MOST)));
    sheet_write_axes(s, tube ? "Angle (°)" : "x (mm)", tube ? "Axial (mm)" : "y (mm)");
}

static void write_ring_angles(const struct map_cells *c, struct sheet *s)
{
    double turn = c->projection.turn;
    double step = s->right - s->left > 36 * s->grid.column ? 30 : 45;
    for (double angle = 0; angle < 360; angle += step) {
        double x = turn * ANGLE_LABELS * sin(angle * M_PI / 180);
        double y = ANGLE_LABELS * cos(angle * M_PI / 180);
        fprintf(s->out, "set label '%g°' at first %.4f,%.4f center front\n", angle, x, y);
    }
}

/* The axis of the rings, under them. */
static void write_ring_axis(const struct map_cells *c, struct sheet *s)
{
    const struct patch *b = &c->bounds;
    double from = b->from_along, to = b->to_along;
    double step = plot_nice_step(to - from, RING_TICKS);
    fprintf(s->out, "set arrow from first %.3f,%.3f to first 1,%.3f nohead front\n", PATCH_BORE,
            RING_AXIS, RING_AXIS);
    for (double at = ceil(from / step - 1e-9) * step; at <= to + 1e-9 * step; at += step) {
        double x = PATCH_BORE + (1 - PATCH_BORE) * (at - from) / (to - from);
        fprintf(s->out,
                "set arrow from first %.4f,%.4f to first %.4f,%.4f nohead front\n"
                "set label '%.6g' at first %.4f,%.4f center offset 0,-0.7 front\n",
                x, RING_AXIS, x, RING_AXIS - 0.02, at + 0.0, x, RING_AXIS - 0.02);
    }
    fprintf(s->out, "set label 'Axial (mm)' at first %.3f,%.3f right front\n",
            PATCH_BORE - 0.06, RING_AXIS);
}

/* An arrow to the edge behind which the zero lies; dx, dy: the way there. */
static void write_zero_arrow(const struct map_cells *c, struct sheet *s, double x, double y,
                             int dx, int dy)
{
    double width = ARROW * span_across(c), height = ARROW * span_along(c);
    for (int pass = 0; pass < 2; pass++)
        fprintf(s->out,
                "set arrow from first %.6g,%.6g to first %.6g,%.6g front filled size screen "
                "0.012,25 linewidth %d linecolor rgb '%s'\n",
                x - dx * width, y - dy * height, x, y, pass == 0 ? 6 : 2,
                pass == 0 ? "#FFFFFF" : OKABE_BLACK);
}

static void write_zero(const struct map_cells *c, struct sheet *s)
{
    struct patch_point zero;
    int dx, dy;
    char at[64];
    if (!find_zero(c, &dx, &dy, &zero)) {
        write_zero_arrow(c, s, zero.x, zero.y, dx, dy);
        return;
    }
    if (is_ring(c))
        snprintf(at, sizeof at, "first 0,%.3f", RING_ZERO);
    else
        snprintf(at, sizeof at, "first %.6g,%.6g", zero.x, zero.y);
    sheet_write_zero(s, at);
}

void map_frame_write(const struct map_cells *c, struct sheet *s)
{
    if (is_ring(c)) {
        fprintf(s->out,
                "unset border\nunset tics\nset cbtics\nset xrange [%g:%g]\nset yrange "
                "[%g:%g]\n",
                -RING_SIDE, RING_SIDE, -RING_BELOW, RING_SIDE);
        write_ring_angles(c, s);
        write_ring_axis(c, s);
    } else {
        write_axes(c, s);
    }
    write_zero(c, s);
}
