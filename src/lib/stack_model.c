#include "stack_model.h"

#include <math.h>
#include <string.h>

#include "pi.h"

/* Loss a second of transit over the wall's: filler and paint, resin and glue lose more than the
 * laminate (common practice, no source). */
static const double coat_loss = 2.0, film_loss = 2.5;

enum { COAT, UPPER, FILM, LOWER };

/* exp(j x), for the small angles that dispersion brings. */
static double complex small_turn(double x)
{
    if (fabs(x) > 1.0)
        return cos(x) + I * sin(x);
    double q = x * x;
    double c = 1.0 - q * (1.0 / 2.0 - q * (1.0 / 24.0 - q * (1.0 / 720.0 - q / 40320.0)));
    double s =
        x * (1.0 - q * (1.0 / 6.0 - q * (1.0 / 120.0 - q * (1.0 / 5040.0 - q / 362880.0))));
    return c + I * s;
}

static double complex decay(double loss, double time, double hz)
{
    double size = exp(-loss * hz), phase = -2.0 * PE_PI * hz * time;
    return size * cos(phase) + I * (size * sin(phase));
}

/* Reflection from a film into what lies below the place, and its derivatives. */
static double out_of_film(double film, double step, double *by_film, double *by_step)
{
    double below = 1.0 + film * step;
    *by_film = (1.0 - step * step) / (below * below);
    *by_step = (1.0 - film * film) / (below * below);
    return (film + step) / below;
}

void pe_stack_walk_start(struct pe_stack_walk *w, const struct pe_stack *s, double first_hz,
                         double step_hz)
{
    const double *n = s->number;
    double slope = n[PE_SLOPE], upper_time = s->place ? n[PE_DEPTH] : n[PE_TRANSIT];
    struct pe_level *level = w->level;
    w->stack = s;
    w->excess = exp(n[PE_JITTER]) - 1.0;
    w->film_time = s->film ? n[PE_FILM_TIME] : 0.0;
    w->by_film = 0.0;
    w->by_step = 1.0;
    double lower_r = n[PE_STEP_THERE], lower_time = n[PE_TRANSIT] - n[PE_DEPTH] - w->film_time;
    if (s->film)
        lower_r = out_of_film(n[PE_FILM_THERE], n[PE_STEP_THERE], &w->by_film, &w->by_step);
    level[COAT] = (struct pe_level){
        n[PE_FRONT], n[PE_COAT_TIME], coat_loss * slope * n[PE_COAT_TIME], 0, 0, 0, 0, 0, 0};
    level[UPPER] = (struct pe_level){s->coat ? n[PE_COAT_STEP] : n[PE_FRONT],
                                     upper_time,
                                     slope * upper_time,
                                     0,
                                     0,
                                     0,
                                     0,
                                     0,
                                     0};
    level[FILM] = (struct pe_level){
        -n[PE_FILM_THERE], w->film_time, film_loss * slope * w->film_time, 0, 0, 0, 0, 0, 0};
    level[LOWER] = (struct pe_level){lower_r, lower_time, slope * lower_time, 0, 0, 0, 0, 0, 0};
    w->count = 0;
    if (s->coat)
        w->path[w->count++] = COAT;
    w->upper = w->count;
    w->path[w->count++] = UPPER;
    if (s->place && s->film)
        w->path[w->count++] = FILM;
    if (s->place)
        w->path[w->count++] = LOWER;
    for (int i = 0; i < w->count; i++) {
        struct pe_level *l = &level[w->path[i]];
        l->turn = decay(l->loss, l->time, first_hz);
        l->step = decay(l->loss, l->time, step_hz);
    }
}

/* Reflection seen at the top of a layer, given that below it. */
static double complex climb(struct pe_level *level, double complex reflection)
{
    double complex x = level->e * reflection, below = 1.0 + level->r * x;
    double complex share =
        conj(below) / (creal(below) * creal(below) + cimag(below) * cimag(below));
    double complex square = share * share;
    level->below = x;
    level->by_below = (1.0 - level->r * level->r) * square;
    level->by_r = (1.0 - x * x) * square;
    return (level->r + x) * share;
}

/* Derivatives of one way, times a weight: by a layer's reflection, and by the exponent of its E. */
struct slopes {
    double complex by_r[PE_STACK_LAYERS], by_exponent[PE_STACK_LAYERS];
};

static void descend(const struct pe_stack_walk *w, int count, double weight, struct slopes *d)
{
    double complex down = weight;
    for (int i = 0; i < count; i++) {
        int k = w->path[i];
        const struct pe_level *l = &w->level[k];
        double complex by_x = down * l->by_below;
        d->by_r[k] += down * l->by_r;
        d->by_exponent[k] += by_x * l->below;
        down = by_x * l->e;
    }
}

/* From the layers' reflections and exponents to the stack's numbers. */
static void to_numbers(const struct pe_stack_walk *w, const struct pe_line *line,
                       const struct slopes *d, double complex by[PE_STACK_NUMBERS])
{
    const struct pe_stack *s = w->stack;
    const double *n = s->number;
    double slope = n[PE_SLOPE];
    /* of an exponent by the loss, and by a time that brings its loss along */
    double complex by_loss = -line->hz + I * line->bend;
    double complex by_time = -I * line->omega + slope * by_loss;
    double complex upper = d->by_exponent[UPPER] * by_time;
    double complex loss = d->by_exponent[UPPER] * w->level[UPPER].time;
    by[PE_JITTER] = (w->excess + 1.0) * n[PE_FRONT];
    by[PE_FRONT] = d->by_r[s->coat ? COAT : UPPER] + w->excess;
    by[PE_TRANSIT] = upper;
    if (s->coat) {
        loss += d->by_exponent[COAT] * (coat_loss * n[PE_COAT_TIME]);
        by[PE_COAT_TIME] =
            d->by_exponent[COAT] * (-I * line->omega + coat_loss * slope * by_loss);
        by[PE_COAT_STEP] = d->by_r[UPPER];
    }
    if (s->place) {
        double complex lower = d->by_exponent[LOWER] * by_time;
        loss += d->by_exponent[LOWER] * w->level[LOWER].time;
        by[PE_TRANSIT] = lower;
        by[PE_DEPTH] = upper - lower;
        by[PE_STEP_THERE] = d->by_r[LOWER] * w->by_step;
        if (s->film) {
            loss += d->by_exponent[FILM] * (film_loss * w->film_time);
            by[PE_FILM_THERE] = d->by_r[LOWER] * w->by_film - d->by_r[FILM];
            by[PE_FILM_TIME] =
                d->by_exponent[FILM] * (-I * line->omega + film_loss * slope * by_loss) - lower;
        }
    }
    by[PE_SLOPE] = loss * by_loss;
}

double complex pe_stack_walk_on(struct pe_stack_walk *w, const struct pe_line *line,
                                double complex by[PE_STACK_NUMBERS])
{
    double cover = w->stack->gap ? w->stack->number[PE_COVER] : 0.0;
    struct slopes d = {{0}, {0}};
    for (int i = 0; i < w->count; i++) {
        struct pe_level *l = &w->level[w->path[i]];
        l->e = l->turn * small_turn(l->loss * line->bend);
        l->turn *= l->step;
    }
    double complex through = -1.0, stopped = -1.0;
    for (int i = w->count - 1; i >= 0; i--)
        through = climb(&w->level[w->path[i]], through);
    descend(w, w->count, 1.0 - cover, &d);
    memset(by, 0, PE_STACK_NUMBERS * sizeof *by);
    if (w->stack->gap) {
        for (int i = w->upper; i >= 0; i--)
            stopped = climb(&w->level[w->path[i]], stopped);
        descend(w, w->upper + 1, cover, &d);
        by[PE_COVER] = stopped - through;
    }
    to_numbers(w, line, &d, by);
    return through + cover * (stopped - through) + w->excess * w->stack->number[PE_FRONT];
}
