#include <plyecho/budget.h>

#include <math.h>

#include <gsl/gsl_cdf.h>

static const char *const words[PLYECHO_QUANTITY_COUNT] = {
    [PLYECHO_QUANTITY_TIME] = "time of flight",
    [PLYECHO_QUANTITY_PLIES] = "echoes of plies",
    [PLYECHO_QUANTITY_DISPERSION] = "dispersion",
    [PLYECHO_QUANTITY_VELOCITY] = "velocity",
    [PLYECHO_QUANTITY_ZERO] = "zero",
    [PLYECHO_QUANTITY_TEMPERATURE] = "temperature",
    [PLYECHO_QUANTITY_COEFFICIENT] = "temperature coefficient",
    [PLYECHO_QUANTITY_COUPLANT] = "couplant",
    [PLYECHO_QUANTITY_CURVATURE] = "surface curvature",
    [PLYECHO_QUANTITY_CLOCK] = "sampling clock",
    [PLYECHO_QUANTITY_RESOLUTION] = "resolution",
};

const char *plyecho_quantity_word(enum plyecho_quantity quantity)
{
    return (unsigned)quantity < PLYECHO_QUANTITY_COUNT ? words[quantity] : "unknown";
}

/* ---- combination ---- */

static double square(double x)
{
    return x * x;
}

static bool counts(const struct plyecho_contribution *c)
{
    return c->state == PLYECHO_SHARE_COUNTED;
}

/* Twice the covariance's part of the variance (5.2.2). */
static double covariance(const struct plyecho_budget *b)
{
    const struct plyecho_contribution *one = &b->item[b->one], *other = &b->item[b->other];
    if (b->correlation == 0.0 || !counts(one) || !counts(other))
        return 0.0;
    return 2.0 * b->correlation * one->sensitivity * one->u * other->sensitivity * other->u;
}

/* Variance over degrees of freedom of the Welch-Satterthwaite formula. */
static double per_freedom(double variance, double freedom)
{
    return isinf(freedom) ? 0.0 : square(variance) / freedom;
}

/* The formula wants independent inputs: a pair from one fit goes in as one. */
static double effective_freedom(const struct plyecho_budget *b, double variance, double both)
{
    double sum = 0.0, pair = both;
    for (size_t k = 0; k < b->count; k++) {
        const struct plyecho_contribution *c = &b->item[k];
        bool of_pair = both != 0.0 && (k == b->one || k == b->other);
        if (counts(c) && of_pair)
            pair += square(c->contribution);
        else if (counts(c))
            sum += per_freedom(square(c->contribution), c->freedom);
    }
    if (both != 0.0)
        sum += per_freedom(fmax(0.0, pair),
                           fmin(b->item[b->one].freedom, b->item[b->other].freedom));
    return sum > 0.0 ? square(variance) / sum : INFINITY;
}

static double coverage(double probability, double freedom)
{
    double upper = 0.5 * (1.0 + probability);
    /* beyond, it is that of the normal distribution to seven digits */
    static const double many = 1e7;
    if (freedom > many)
        return gsl_cdf_ugaussian_Pinv(upper);
    return gsl_cdf_tdist_Pinv(upper, fmax(1.0, floor(freedom)));
}

void plyecho_budget_combine(struct plyecho_budget *b, double probability)
{
    double variance = 0.0, both = covariance(b);
    b->not_given = 0;
    b->combined_u.known = true;
    for (size_t k = 0; k < b->count; k++) {
        struct plyecho_contribution *c = &b->item[k];
        c->contribution = counts(c) ? fabs(c->sensitivity) * c->u : 0.0;
        variance += square(c->contribution);
        b->not_given += c->state == PLYECHO_SHARE_NOT_GIVEN;
        b->combined_u.known &= c->state != PLYECHO_SHARE_NOT_GIVEN || !c->essential;
    }
    variance = fmax(0.0, variance + both);
    b->combined_u.value = sqrt(variance);
    for (size_t k = 0; k < b->count; k++)
        b->item[k].share = variance > 0.0 ? square(b->item[k].contribution) / variance : 0.0;
    b->covariance_share = variance > 0.0 ? both / variance : 0.0;
    b->freedom = effective_freedom(b, variance, both);
    b->probability = probability;
    b->coverage_t = coverage(probability, b->freedom);
}

/* ---- the inputs of a thickness ---- */

static void add(struct plyecho_budget *b, struct plyecho_contribution c)
{
    b->item[b->count++] = c;
}

static enum plyecho_share_state given(bool known)
{
    return known ? PLYECHO_SHARE_COUNTED : PLYECHO_SHARE_NOT_GIVEN;
}

/* The time's uncertainty less what is told apart from it. */
static void add_times(struct plyecho_budget *b, const struct plyecho_thickness *t,
                      double per_time)
{
    double apart = square(t->plies_u_s) + square(t->dispersion_u_s) + square(t->zero_u_s);
    bool peaks = t->dispersion_u_s > 0.0, plies = t->mode != PLYECHO_MODE_1;
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_TIME,
               .value = t->time_s,
               .u = sqrt(fmax(0.0, square(t->time_u_s) - apart)),
               .statistical = true,
               .sensitivity = per_time,
               .freedom = INFINITY, /* hundreds of samples */
           });
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_PLIES,
               .state = plies ? PLYECHO_SHARE_COUNTED : PLYECHO_SHARE_NOT_GIVEN,
               .u = t->plies_u_s,
               .sensitivity = per_time,
               .freedom = INFINITY,
           });
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_DISPERSION,
               .state = peaks ? PLYECHO_SHARE_COUNTED : PLYECHO_SHARE_ELSEWHERE,
               .u = t->dispersion_u_s,
               .sensitivity = per_time,
               .freedom = INFINITY,
           });
}

/* Velocity and zero come from one line, and so do their degrees of freedom. */
static void add_calibration(struct plyecho_budget *b, const struct plyecho_thickness *t,
                            const struct plyecho_wall_options *o, double per_time)
{
    const struct plyecho_known *freedom = &o->influences.freedom;
    /* with none left the uncertainties are those stated of the steps, and not of type A */
    const bool found = freedom->known && freedom->value > 0.0;
    const double many = found ? freedom->value : INFINITY;
    const bool first = t->mode == PLYECHO_MODE_1;
    b->one = b->count;
    b->other = b->count + 1;
    b->correlation = first ? o->velocity_zero_correlation : 0.0;
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_VELOCITY,
               .state = given(o->velocity_u.known),
               .essential = true,
               .value = o->velocity_m_s,
               .u = o->velocity_u.value,
               .statistical = found,
               .sensitivity = 0.5 * t->time_s,
               .freedom = many,
           });
    add(b,
        (struct plyecho_contribution){
            .quantity = PLYECHO_QUANTITY_ZERO,
            .state = first ? given(o->zero_s.known && o->zero_u_s.known) : PLYECHO_SHARE_NONE,
            .essential = true,
            .value = o->zero_s.value,
            .u = t->zero_u_s,
            .statistical = found,
            .sensitivity = -per_time,
            .freedom = many,
        });
}

static void add_temperature(struct plyecho_budget *b, const struct plyecho_thickness *t,
                            const struct plyecho_influences *i)
{
    bool difference = i->warmer_k.known && i->warmer_limit_k.known;
    /* at one temperature the coefficient does not matter */
    bool coefficient = i->velocity_per_k_u.known || i->warmer_k.value == 0.0;
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_TEMPERATURE,
               .state = given(difference && i->velocity_per_k.known),
               .value = i->warmer_k.value,
               .u = plyecho_rectangular_u(&i->warmer_limit_k),
               .distribution = PLYECHO_RECTANGULAR,
               .sensitivity = 0.5 * t->time_s * i->velocity_per_k.value,
               .freedom = INFINITY,
           });
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_COEFFICIENT,
               .state = given(i->warmer_k.known && i->velocity_per_k.known && coefficient),
               .value = i->velocity_per_k.value,
               .u = i->velocity_per_k_u.value,
               .sensitivity = 0.5 * t->time_s * i->warmer_k.value,
               .freedom = INFINITY,
           });
}

static void add_surface(struct plyecho_budget *b, const struct plyecho_thickness *t,
                        const struct plyecho_influences *i, double per_time)
{
    bool couples = t->mode != PLYECHO_MODE_3;
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_COUPLANT,
               .state = couples ? given(i->couplant_limit.known) : PLYECHO_SHARE_NONE,
               .u = plyecho_rectangular_u(&i->couplant_limit),
               .distribution = PLYECHO_RECTANGULAR,
               .sensitivity = -per_time,
               .freedom = INFINITY,
           });
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_CURVATURE,
               .state = given(i->curvature_u_m.known),
               .u = i->curvature_u_m.value,
               .sensitivity = 1.0,
               .freedom = INFINITY,
           });
}

static void add_recorder(struct plyecho_budget *b, const struct plyecho_thickness *t,
                         const struct plyecho_influences *i)
{
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_CLOCK,
               .state = given(i->clock_limit.known),
               .u = plyecho_rectangular_u(&i->clock_limit),
               .distribution = PLYECHO_RECTANGULAR,
               .sensitivity = t->thickness_m,
               .freedom = INFINITY,
           });
    /* a step is in the noise that the time's uncertainty stands on, and times lie between samples */
    add(b, (struct plyecho_contribution){
               .quantity = PLYECHO_QUANTITY_RESOLUTION,
               .state = PLYECHO_SHARE_ELSEWHERE,
               .freedom = INFINITY,
           });
}

void plyecho_budget_of_wall(const struct plyecho_thickness *t,
                            const struct plyecho_wall_options *o, struct plyecho_budget *budget)
{
    const double per_time = 0.5 * o->velocity_m_s;
    *budget = (struct plyecho_budget){0};
    add_times(budget, t, per_time);
    add_calibration(budget, t, o, per_time);
    add_temperature(budget, t, &o->influences);
    add_surface(budget, t, &o->influences, per_time);
    add_recorder(budget, t, &o->influences);
    plyecho_budget_combine(budget, PLYECHO_COVERAGE_OF_2);
}
