#include "explain.h"

#include <math.h>

#include "fourier.h"

/* Bonded interfaces reflect up to a quarter (impedances of 3 to 6 MRayl beside 4.65: handbook
 * ranges, from memory), glue lines of up to a quarter wave up to a half. */
static const double usual_step = 0.15, usual_film = 0.35;

/* Spread of a phase about what an explanation says, and the share of echoes that it does not hold
 * for (measured on the simulated walls of tests/reference). */
static const double phase_u = 0.35, phase_astray = 0.05;

/* The phase of the back wall suffers from what a strong echo before it leaves there. */
static const double phase_u_of_strength = 0.12;

/* A thin softer layer gives the pulse's derivative: a quarter turn, and a little more for the time
 * within it. */
static const double film_phase = 1.7;

static double normal(double x, double mean, double u)
{
    double z = (x - mean) / u;
    return -0.5 * z * z - log(u * PE_SQRT_TWO_PI);
}

static double half_normal(double x, double u)
{
    return log(2.0) + normal(x, 0.0, u);
}

double pe_log_sum(double a, double b)
{
    double top = fmax(a, b);
    return isinf(top) ? top : top + log(exp(a - top) + exp(b - top));
}

/* Density of the phase about a centre, on the circle, with a floor for what the model misses. */
static double phase_near(const struct pe_evidence *e, double centre)
{
    double u = hypot(phase_u, phase_u_of_strength * e->inner.strength);
    double off = remainder(e->inner.phase_rad - centre, 2.0 * PE_PI);
    double peak = exp(-0.5 * off * off / (u * u)) / (u * PE_SQRT_TWO_PI);
    return log((1.0 - phase_astray) * peak + phase_astray / (2.0 * PE_PI));
}

/* ---- strength: over a full reflector's, scaled by the back wall that is left ---- */

static double own_echoes_u(const struct pe_evidence *e)
{
    return hypot(e->inner_level / 2.5, e->inner.noise);
}

static double sound_strength(const struct pe_evidence *e)
{
    return half_normal(e->inner.strength, own_echoes_u(e));
}

static double step_strength(const struct pe_evidence *e)
{
    return half_normal(e->inner.strength, usual_step);
}

static double film_strength(const struct pe_evidence *e)
{
    return half_normal(e->inner.strength, usual_film);
}

/* Any cover, as a density of strength = cover / (1 - cover). */
static double gap_strength(const struct pe_evidence *e)
{
    return -2.0 * log(1.0 + e->inner.strength) + (e->inner.repeats && e->inner.strength > 0.3);
}

/* If the wall loses more than stated, an echo nearer to the front has lost less of it, and is
 * weaker than the back wall's scale makes it seem. */
static double lossy_strength(const struct pe_evidence *e)
{
    double extra_db = fmin(0.0, e->balance_db) * (1.0 - e->inner.delay_s / e->back_delay_s);
    return half_normal(e->inner.strength * pow(10.0, extra_db / 20.0), own_echoes_u(e));
}

/* ---- phase: 0 as a gap, +-pi as a step to harder material ---- */

static double any_phase(const struct pe_evidence *e)
{
    (void)e;
    return -log(2.0 * PE_PI);
}

static double step_phase(const struct pe_evidence *e)
{
    return pe_log_sum(phase_near(e, 0.0), phase_near(e, PE_PI)) - log(2.0);
}

static double film_phase_near(const struct pe_evidence *e)
{
    return phase_near(e, film_phase);
}

static double gap_phase(const struct pe_evidence *e)
{
    return phase_near(e, 0.0);
}

/* ---- the back wall's level ---- */

static double unchanged_db(double strength)
{
    (void)strength;
    return 0.0;
}

/* A reflection R lets 1 - R^2 through, there and back, and strength is R / (1 - R^2). */
static double passed_db(double strength)
{
    if (strength < 1e-6)
        return 0.0;
    double r = (sqrt(1.0 + 4.0 * strength * strength) - 1.0) / (2.0 * strength);
    return 20.0 * log10(1.0 - r * r);
}

static double uncovered_db(double strength)
{
    return -20.0 * log10(1.0 + strength);
}

/* Any level from the limit down, over some 20 dB. */
static double lossy_level(double balance_db, double u_db)
{
    double edge = balance_db < -PE_ATTENUATED_DB
                      ? 0.0
                      : normal(balance_db, -PE_ATTENUATED_DB, u_db) -
                            normal(-PE_ATTENUATED_DB, -PE_ATTENUATED_DB, u_db);
    return edge - log(20.0);
}

/* How often each is met before a trace is looked at is our choice, no source. */
static const struct {
    enum plyecho_verdict verdict;
    double share;
    double (*strength)(const struct pe_evidence *);
    double (*phase)(const struct pe_evidence *);
    double (*level_db)(double strength); /* of the back wall; NULL: lossy_level */
} explanations[PE_EXPLANATIONS] = {
    [PE_SOUND] = {PLYECHO_NO_INDICATION, 0.5, sound_strength, any_phase, unchanged_db},
    [PE_STEP] = {PLYECHO_INNER_ECHO, 0.2, step_strength, step_phase, passed_db},
    [PE_FILM] = {PLYECHO_INNER_ECHO, 0.1, film_strength, film_phase_near, passed_db},
    [PE_GAP] = {PLYECHO_DELAMINATION, 0.15, gap_strength, gap_phase, uncovered_db},
    [PE_LOSSY] = {PLYECHO_ATTENUATED, 0.05, lossy_strength, any_phase, NULL},
};

enum plyecho_verdict pe_verdict_of(enum pe_explanation explanation)
{
    return explanations[explanation].verdict;
}

void pe_weigh(const struct pe_evidence *e, bool has_sign, struct pe_weighing *w)
{
    for (int k = 0; k < PE_EXPLANATIONS; k++) {
        double weight = log(explanations[k].share);
        if (e->has_inner)
            weight += explanations[k].strength(e) + (has_sign ? explanations[k].phase(e) : 0.0);
        if (e->expectation && explanations[k].level_db != NULL)
            weight += normal(e->balance_db,
                             explanations[k].level_db(e->has_inner ? e->inner.strength : 0.0),
                             e->balance_u_db);
        else if (e->expectation)
            weight += lossy_level(e->balance_db, e->balance_u_db);
        w->log_weight[k] = weight;
    }
    if (!e->has_inner || e->inner.strength < e->inner_level)
        w->log_weight[PE_STEP] = w->log_weight[PE_FILM] = w->log_weight[PE_GAP] = -INFINITY;
    if (!e->expectation || e->balance_db > -PE_ATTENUATED_DB)
        w->log_weight[PE_LOSSY] = -INFINITY;
}
