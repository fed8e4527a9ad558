#include <config.h>

#include "stack_model.h"

/* Loss a second of transit over the wall's: filler and paint, resin and glue lose more than the
 * laminate (common practice, no source). */
static const double coat_loss = 2.0, film_loss = 2.5;

enum { COAT, UPPER, FILM, LOWER };

/* One layer, and what it does at the lines at hand. */
struct level {
    double r, time, loss;
    struct pe_passage passage;
    struct pe_phasors e, below; /* E, and E times what lies below */
    struct pe_phasors by_below, by_r;
};

struct walker {
    const struct pe_stack *stack;
    struct level level[PE_STACK_LAYERS];
    int path[PE_STACK_LAYERS], count; /* layers from the top down */
    int upper;                        /* index of the one above the place */
    double excess, film_time, by_film, by_step;
};

/* Reflection from a film into what lies below the place, and its derivatives. */
static double out_of_film(double film, double step, double *by_film, double *by_step)
{
    double below = 1.0 + film * step;
    *by_film = (1.0 - step * step) / (below * below);
    *by_step = (1.0 - film * film) / (below * below);
    return (film + step) / below;
}

static void set_level(struct level *l, double r, double time, double loss_a_second)
{
    l->r = r;
    l->time = time;
    l->loss = loss_a_second * time;
}

static void start(struct walker *w, const struct pe_stack *s, const struct pe_line *first)
{
    const double *n = s->number;
    double slope = n[PE_SLOPE];
    w->stack = s;
    w->excess = exp(n[PE_JITTER]) - 1.0;
    w->film_time = s->film ? n[PE_FILM_TIME] : 0.0;
    w->by_film = 0.0;
    w->by_step = 1.0;
    double lower_r = n[PE_STEP_THERE];
    if (s->film)
        lower_r = out_of_film(n[PE_FILM_THERE], n[PE_STEP_THERE], &w->by_film, &w->by_step);
    set_level(&w->level[COAT], n[PE_FRONT], n[PE_COAT_TIME], coat_loss * slope);
    set_level(&w->level[UPPER], s->coat ? n[PE_COAT_STEP] : n[PE_FRONT],
              s->place ? n[PE_DEPTH] : n[PE_TRANSIT], slope);
    set_level(&w->level[FILM], -n[PE_FILM_THERE], w->film_time, film_loss * slope);
    set_level(&w->level[LOWER], lower_r, n[PE_TRANSIT] - n[PE_DEPTH] - w->film_time, slope);
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
        struct level *l = &w->level[w->path[i]];
        l->passage = pe_passage_from(l->loss, l->time, first);
    }
}

/* Reflection seen at the top of a layer, given that below it. */
PE_INLINE struct pe_phasors climb(struct level *level, struct pe_phasors reflection)
{
    struct pe_phasors x = pe_product(level->e, reflection), square = pe_product(x, x);
    struct pe_phasors above = {1.0 + level->r * x.re, level->r * x.im};
    pe_lanes size = 1.0 / (above.re * above.re + above.im * above.im);
    struct pe_phasors share = {above.re * size, -above.im * size};
    struct pe_phasors both = pe_product(share, share);
    level->below = x;
    level->by_below = (struct pe_phasors){(1.0 - level->r * level->r) * both.re,
                                          (1.0 - level->r * level->r) * both.im};
    level->by_r = pe_product((struct pe_phasors){1.0 - square.re, -square.im}, both);
    return pe_product((struct pe_phasors){level->r + x.re, x.im}, share);
}

PE_INLINE struct pe_phasors climb_all(struct walker *w, int from)
{
    struct pe_phasors reflection = pe_same(-1.0);
    for (int i = from; i >= 0; i--)
        reflection = climb(&w->level[w->path[i]], reflection);
    return reflection;
}

/* Derivatives of one way, times a weight: by a layer's reflection, and by the exponent of its E. */
struct slopes {
    struct pe_phasors by_r[PE_STACK_LAYERS], by_exponent[PE_STACK_LAYERS];
};

PE_INLINE void descend(const struct walker *w, int to, struct pe_phasors weight, bool add,
                       struct slopes *d)
{
    struct pe_phasors down = weight;
    for (int i = 0; i <= to; i++) {
        int k = w->path[i];
        const struct level *l = &w->level[k];
        struct pe_phasors by_x = pe_product(down, l->by_below);
        struct pe_phasors by_r = pe_product(down, l->by_r);
        struct pe_phasors by_exponent = pe_product(by_x, l->below);
        d->by_r[k] = add ? pe_sum_of(d->by_r[k], by_r) : by_r;
        d->by_exponent[k] = add ? pe_sum_of(d->by_exponent[k], by_exponent) : by_exponent;
        down = pe_product(by_x, l->e);
    }
}

/* From the layers' reflections and exponents to the stack's numbers. */
PE_INLINE void to_numbers(const struct walker *w, const struct pe_line *line,
                          struct pe_phasors carrier, const struct slopes *d,
                          struct pe_phasors by[PE_STACK_NUMBERS])
{
    const struct pe_stack *s = w->stack;
    const double *n = s->number;
    double slope = n[PE_SLOPE];
    const struct pe_phasors *by_exponent = d->by_exponent;
    /* of an exponent by the loss, and by a time that brings its loss along */
    struct pe_phasors by_loss = {-line->hz, line->bend};
    struct pe_phasors by_time = {slope * by_loss.re, slope * by_loss.im - line->omega};
    struct pe_phasors upper = pe_product(by_exponent[UPPER], by_time);
    struct pe_phasors loss = pe_scaled(by_exponent[UPPER], w->level[UPPER].time);
    by[PE_JITTER] = pe_scaled(carrier, (w->excess + 1.0) * n[PE_FRONT]);
    by[PE_FRONT] = pe_sum_of(d->by_r[s->coat ? COAT : UPPER], pe_scaled(carrier, w->excess));
    by[PE_TRANSIT] = upper;
    if (s->coat) {
        double more = coat_loss * slope;
        struct pe_phasors by_coat = {more * by_loss.re, more * by_loss.im - line->omega};
        loss = pe_sum_of(loss, pe_scaled(by_exponent[COAT], coat_loss * n[PE_COAT_TIME]));
        by[PE_COAT_TIME] = pe_product(by_exponent[COAT], by_coat);
        by[PE_COAT_STEP] = d->by_r[UPPER];
    }
    if (s->place) {
        struct pe_phasors lower = pe_product(by_exponent[LOWER], by_time);
        loss = pe_sum_of(loss, pe_scaled(by_exponent[LOWER], w->level[LOWER].time));
        by[PE_TRANSIT] = lower;
        by[PE_DEPTH] = pe_difference(upper, lower);
        by[PE_STEP_THERE] = pe_scaled(d->by_r[LOWER], w->by_step);
        if (s->film) {
            double more = film_loss * slope;
            struct pe_phasors by_film = {more * by_loss.re, more * by_loss.im - line->omega};
            loss = pe_sum_of(loss, pe_scaled(by_exponent[FILM], film_loss * w->film_time));
            by[PE_FILM_THERE] =
                pe_difference(pe_scaled(d->by_r[LOWER], w->by_film), d->by_r[FILM]);
            by[PE_FILM_TIME] = pe_difference(pe_product(by_exponent[FILM], by_film), lower);
        }
    }
    by[PE_SLOPE] = pe_product(loss, by_loss);
}

/* One block of lines. Returns the reflection; by receives the derivatives of carrier x reflection that
 * the stack has. */
PE_INLINE struct pe_phasors reflect(struct walker *w, const struct pe_line *line,
                                    struct pe_phasors carrier, bool slopes,
                                    struct pe_phasors by[PE_STACK_NUMBERS])
{
    const struct pe_stack *s = w->stack;
    double cover = s->gap ? s->number[PE_COVER] : 0.0, front = w->excess * s->number[PE_FRONT];
    struct slopes d;
    for (int i = 0; i < w->count; i++) {
        struct level *l = &w->level[w->path[i]];
        l->e = pe_passage_next(&l->passage, line);
    }
    struct pe_phasors all = climb_all(w, w->count - 1);
    if (slopes)
        descend(w, w->count - 1, pe_scaled(carrier, 1.0 - cover), false, &d);
    if (s->gap) {
        struct pe_phasors more = pe_difference(climb_all(w, w->upper), all);
        all = pe_sum_of(all, pe_scaled(more, cover));
        if (slopes) {
            descend(w, w->upper, pe_scaled(carrier, cover), true, &d);
            by[PE_COVER] = pe_product(more, carrier);
        }
    }
    if (slopes)
        to_numbers(w, line, carrier, &d, by);
    return (struct pe_phasors){all.re + front, all.im};
}

PE_CLONES
void pe_stack_model(const struct pe_stack *stack, const struct pe_stack_walk *walk)
{
    static const struct pe_phasors none;
    struct walker w;
    struct pe_phasors by[PE_STACK_NUMBERS];
    int wanted[PE_STACK_NUMBERS], count = 0;
    for (int n = 0; n < PE_STACK_NUMBERS; n++)
        if (walk->by[n] != NULL)
            wanted[count++] = n;
    for (int n = 0; n < PE_STACK_NUMBERS; n++)
        by[n] = none;
    start(&w, stack, &walk->line[0]);
    for (int b = 0; b < walk->blocks; b++) {
        struct pe_phasors carrier = walk->carrier[b];
        struct pe_phasors g = reflect(&w, &walk->line[b], carrier, count > 0, by);
        walk->model[b] = pe_product(carrier, g);
        for (int i = 0; i < count; i++)
            walk->by[wanted[i]][b] = by[wanted[i]];
    }
}
