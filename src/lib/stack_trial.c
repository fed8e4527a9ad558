#include "stack_trial.h"

#include <math.h>
#include <string.h>

#include "pi.h"
#include "units.h"

/* Reflection into a film: glue and resin of 3.0 MRayl, water of 1.48, beside a laminate of 4.65
 * (handbook values, from memory). Strength and time of a thin film are one number to the trace, so this
 * one is not fitted. */
static const double glue_film = 0.21, water_film = 0.517;

/* What is usual, as mean and standard deviation: transit of glue lines and water films, steps between
 * laminates of two fibres, coats and their steps (common practice, no source). */
static const struct pe_prior glue_time = {65e-9, 40e-9}, water_time = {35e-9, 25e-9};
static const struct pe_prior step_alone = {0.0, 0.12}, step_at_glue = {0.0, 0.06};
static const struct pe_prior coat_time = {180e-9, 130e-9}, coat_step = {0.18, 0.06};
static const struct pe_prior coat_front = {0.06, 0.08};
static const struct pe_prior any_cover = {0.5, 0.35};

/* Front against back echo: 1 dB or so (common practice, no source), a little more for curvature. */
static const struct pe_prior level_jitter = {0.0, 0.13};

/* A picked front is off by no more than this, and a known scale, as a logarithm. */
static const struct pe_prior start_about = {0.0, PE_START_U_S}, scale_about = {0.0, 0.1},
                             any_scale = {0.0, 3.0};

/* A pulse that is not known: its carrier's phase, and how far its spectrum bends over the band. */
static const struct pe_prior any_phase = {0.0, 10.0}, shape_bend = {0.0, 1.0};

/* What a lossy wall lacks at its back, in dB, and what makes one. */
static const struct pe_prior lossy_db = {11.0, 3.3};
static const double least_lossy_db = 6.0;

/* A gap under less of the beam does not stand out of the laminate's own echoes. */
static const double least_cover = 0.12;

/* How often each is met before a trace is looked at is our choice, no source. */
static const double share[PE_KINDS] = {
    [PE_KIND_PLAIN] = 0.5,   [PE_KIND_STEP] = 0.2,   [PE_KIND_GLUE] = 0.1,
    [PE_KIND_WET] = 0.05,    [PE_KIND_GAP] = 0.15,   [PE_KIND_DISBOND] = 0.05,
    [PE_KIND_SHADOW] = 0.05, [PE_KIND_LOSSY] = 0.05, [PE_KIND_DRY] = 0.05,
};
static const double coated = 0.15;

/* ---- what is free, what is known of it, where to begin ---- */

static void set_free(struct pe_trial *x, int number, struct pe_prior prior, double begin)
{
    x->free[number] = true;
    x->prior[number] = prior;
    x->start.stack.number[number] = begin;
}

static void set_scale(const struct pe_prospect *p, double start_s, struct pe_trial *x)
{
    struct pe_prior scale = p->scale_known ? scale_about : any_scale;
    scale.mean += p->log_scale;
    set_free(x, PE_AMPLITUDE, scale, scale.mean);
    set_free(x, PE_START, start_about, start_s);
}

static void set_wall(const struct pe_prospect *p, struct pe_trial *x)
{
    struct pe_prior slope = p->slope, transit = p->transit;
    if (x->kind == PE_KIND_SHADOW)
        transit = (struct pe_prior){0.5 * p->transit.mean, 0.3 * p->transit.mean};
    if (x->kind == PE_KIND_LOSSY) {
        double per_db = 1.0 / (PE_DB_PER_NP * p->transit.mean * p->centre_hz);
        slope.mean += lossy_db.mean * per_db;
        slope.u = lossy_db.u * per_db;
    }
    set_free(x, PE_JITTER, level_jitter, 0.0);
    set_free(x, PE_FRONT, p->front, p->front.mean);
    set_free(x, PE_SLOPE, slope, slope.mean);
    set_free(x, PE_TRANSIT, transit, p->whole_s);
    if (x->coat) {
        set_free(x, PE_FRONT, coat_front, coat_front.mean);
        set_free(x, PE_COAT_TIME, coat_time, coat_time.mean);
        set_free(x, PE_COAT_STEP, coat_step, coat_step.mean);
    }
}

static void set_place(const struct pe_prospect *p, struct pe_trial *x)
{
    double whole = p->transit.mean;
    set_free(x, PE_DEPTH, (struct pe_prior){0.5 * whole, 0.3 * whole}, 0.5 * whole);
    double *number = x->start.stack.number;
    switch (x->kind) {
    case PE_KIND_STEP:
        set_free(x, PE_STEP_THERE, step_alone, 0.0);
        break;
    case PE_KIND_GLUE:
        number[PE_FILM_THERE] = glue_film;
        set_free(x, PE_STEP_THERE, step_at_glue, 0.0);
        set_free(x, PE_FILM_TIME, glue_time, glue_time.mean);
        break;
    case PE_KIND_WET:
        number[PE_FILM_THERE] = water_film;
        set_free(x, PE_FILM_TIME, water_time, water_time.mean);
        break;
    default:
        if (x->kind == PE_KIND_DISBOND)
            set_free(x, PE_STEP_THERE, step_alone, 0.0);
        set_free(x, PE_COVER, any_cover, 0.4);
        break;
    }
}

void pe_trial_set(const struct pe_prospect *p, double start_s, enum pe_kind kind, bool coat,
                  struct pe_trial *x)
{
    memset(x, 0, sizeof *x);
    x->kind = kind;
    x->coat = coat;
    struct pe_stack *stack = &x->start.stack;
    stack->coat = coat;
    stack->film = kind == PE_KIND_GLUE || kind == PE_KIND_WET;
    stack->gap = kind == PE_KIND_GAP || kind == PE_KIND_DISBOND;
    stack->place = stack->film || stack->gap || kind == PE_KIND_STEP;
    set_scale(p, start_s, x);
    if (kind == PE_KIND_DRY) {
        stack->number[PE_FRONT] = -1.0;
        stack->number[PE_TRANSIT] = p->whole_s;
        return;
    }
    set_wall(p, x);
    if (stack->place)
        set_place(p, x);
    for (int k = 0; k < PE_SHAPE_TERMS && !p->pulse_known; k++) {
        x->free[PE_STACK_NUMBERS + k] = true;
        x->prior[PE_STACK_NUMBERS + k] = k == 0 ? any_phase : shape_bend;
    }
}

/* ---- what a fit must not be ---- */

double pe_stack_strength(const struct pe_explanation_fit *f, double hz)
{
    const double *n = f->stack.number;
    if (f->stack.gap)
        return n[PE_COVER];
    if (!f->stack.place)
        return 0.0;
    if (!f->stack.film)
        return fabs(n[PE_STEP_THERE]);
    /* |R| of a layer between equal half-spaces (Brekhovskikh, from memory) */
    double x = 2.0 * n[PE_FILM_THERE] * sin(PE_PI * hz * n[PE_FILM_TIME]) /
               (1.0 - n[PE_FILM_THERE] * n[PE_FILM_THERE]);
    return hypot(fabs(x) / sqrt(1.0 + x * x), n[PE_STEP_THERE]);
}

bool pe_trial_allows(const struct pe_trial *x, const struct pe_prospect *p,
                     const struct pe_explanation_fit *f)
{
    const double *n = f->stack.number;
    double hz = p->centre_hz, transit = n[PE_TRANSIT];
    if (f->stack.place && (n[PE_DEPTH] < PE_NEAREST_S || n[PE_DEPTH] > transit - PE_NEAREST_S))
        return false;
    if (x->kind == PE_KIND_SHADOW && transit < 2.0 * PE_NEAREST_S)
        return false;
    if (f->stack.place && pe_stack_strength(f, hz) < p->least)
        return false;
    if (f->stack.film && n[PE_FILM_TIME] < 1e-9)
        return false;
    double least_gap = fmax(least_cover, 2.0 * p->least);
    if (f->stack.gap && (n[PE_COVER] > 1.02 || n[PE_COVER] < least_gap))
        return false;
    if (x->coat && (n[PE_COAT_TIME] < 10e-9 || fabs(n[PE_COAT_STEP]) > 0.5))
        return false;
    double extra_db = PE_DB_PER_NP * hz * transit * (n[PE_SLOPE] - p->slope.mean);
    return x->kind != PE_KIND_LOSSY || extra_db > least_lossy_db;
}

double pe_trial_log_share(const struct pe_trial *x)
{
    return log(share[x->kind] * (x->coat ? coated : 1.0 - coated));
}
