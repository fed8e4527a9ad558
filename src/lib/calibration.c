/* The straight line through steps of known thickness. */
#include <plyecho/calibration.h>

#include <math.h>

#include <gsl/gsl_cdf.h>

/* Half the velocity is the line's slope m; the line is d = level + m (t - middle), with middle
 * chosen so that level and m do not depend on each other. */
struct line {
    double slope, slope_u;
    double middle, level, level_u;
    double chi2;
};

/* The steps, and a zero of known uncertainty as one more point of thickness 0. */
struct points {
    struct plyecho_step at[PLYECHO_MOST_STEPS + 1];
    size_t count;
    bool held; /* the line goes through this time at thickness 0 */
    double zero_s;
};

static double weight(const struct plyecho_step *p, double slope)
{
    return 1.0 /
           (p->thickness_u_m * p->thickness_u_m + slope * slope * p->time_u_s * p->time_u_s);
}

/* Where the line turns: the weighted mean of the points, or the held zero. */
static void pivot(const struct points *p, double slope, double *time, double *thickness,
                  double *sum)
{
    double w_sum = 0.0, t_sum = 0.0, d_sum = 0.0;
    for (size_t i = 0; i < p->count; i++) {
        double w = weight(&p->at[i], slope);
        w_sum += w;
        t_sum += w * p->at[i].time_s;
        d_sum += w * p->at[i].thickness_m;
    }
    *sum = w_sum;
    *time = p->held ? p->zero_s : t_sum / w_sum;
    *thickness = p->held ? 0.0 : d_sum / w_sum;
}

/* Distance along time from the pivot to where the line is nearest to the point, in the metric of its
 * uncertainties (York's beta). */
static double nearest(const struct plyecho_step *p, double slope, double time, double thickness)
{
    double u2 = p->thickness_u_m * p->thickness_u_m, t2 = p->time_u_s * p->time_u_s;
    return weight(p, slope) *
           ((p->time_s - time) * u2 + slope * (p->thickness_m - thickness) * t2);
}

static double next_slope(const struct points *p, double slope)
{
    double time, thickness, sum, up = 0.0, along = 0.0;
    pivot(p, slope, &time, &thickness, &sum);
    for (size_t i = 0; i < p->count; i++) {
        double b = weight(&p->at[i], slope) * nearest(&p->at[i], slope, time, thickness);
        up += b * (p->at[i].thickness_m - thickness);
        along += b * (p->at[i].time_s - time);
    }
    return up / along;
}

/* The line without weights, to start from. */
static double first_slope(const struct points *p)
{
    double t = 0.0, d = 0.0, n = (double)p->count, up = 0.0, along = 0.0;
    for (size_t i = 0; i < p->count; i++) {
        t += p->at[i].time_s / n;
        d += p->at[i].thickness_m / n;
    }
    if (p->held) {
        t = p->zero_s;
        d = 0.0;
    }
    for (size_t i = 0; i < p->count; i++) {
        double x = p->at[i].time_s - t;
        up += x * (p->at[i].thickness_m - d);
        along += x * x;
    }
    return up / along;
}

static double distance(const struct line *line, const struct plyecho_step *p)
{
    return p->thickness_m - line->level - line->slope * (p->time_s - line->middle);
}

static void describe(const struct points *p, double slope, struct line *line)
{
    double time, thickness, sum, middle = 0.0, spread = 0.0;
    pivot(p, slope, &time, &thickness, &sum);
    for (size_t i = 0; i < p->count; i++)
        middle += weight(&p->at[i], slope) * nearest(&p->at[i], slope, time, thickness) / sum;
    if (p->held)
        middle = 0.0;
    *line = (struct line){.slope = slope, .middle = time + middle};
    line->level = thickness + slope * middle;
    line->level_u = p->held ? 0.0 : sqrt(1.0 / sum);
    for (size_t i = 0; i < p->count; i++) {
        double w = weight(&p->at[i], slope), off = distance(line, &p->at[i]);
        double from = nearest(&p->at[i], slope, time, thickness) - middle;
        spread += w * from * from;
        line->chi2 += w * off * off;
    }
    line->slope_u = sqrt(1.0 / spread);
}

static bool fit_line(const struct points *p, struct line *line)
{
    enum { MOST_ROUNDS = 200 };
    double slope = first_slope(p);
    for (int round = 0; round < MOST_ROUNDS && isfinite(slope) && slope > 0.0; round++) {
        double last = slope;
        slope = next_slope(p, slope);
        if (fabs(slope - last) <= 1e-15 * fabs(slope))
            break;
    }
    if (!isfinite(slope) || !(slope > 0.0))
        return false;
    describe(p, slope, line);
    return isfinite(line->slope_u) && isfinite(line->chi2);
}

static enum plyecho_code check_step(const struct plyecho_step *s, size_t number,
                                    struct plyecho_error *err)
{
    bool good = isfinite(s->thickness_m) && s->thickness_m > 0.0 &&
                isfinite(s->thickness_u_m) && s->thickness_u_m >= 0.0 && isfinite(s->time_s) &&
                isfinite(s->time_u_s) && s->time_u_s >= 0.0;
    if (!good)
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "step %zu: thickness %g m (u %g m), time %g s (u %g s): each must be a "
            "number, the thickness above 0, no uncertainty below 0",
            number, s->thickness_m, s->thickness_u_m, s->time_s, s->time_u_s);
    if (s->thickness_u_m == 0.0 && s->time_u_s == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "step %zu has no uncertainty in thickness or time; state the "
                            "micrometer's",
                            number);
    return PLYECHO_OK;
}

static enum plyecho_code gather(const struct plyecho_step *steps, size_t count,
                                const struct plyecho_zero *zero, struct points *p,
                                struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    if (count > PLYECHO_MOST_STEPS)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%zu steps; at most %d are taken", count,
                            PLYECHO_MOST_STEPS);
    if (count == 0 || (count == 1 && !zero->time_s.known))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "%zu step%s cannot tell velocity and zero; add a step of another "
                            "thickness, or state the zero",
                            count, count == 1 ? "" : "s");
    p->count = count;
    p->held = zero->time_s.known && !(zero->u_s > 0.0);
    p->zero_s = zero->time_s.value;
    for (size_t i = 0; i < count && code == PLYECHO_OK; i++) {
        code = check_step(&steps[i], i + 1, err);
        p->at[i] = steps[i];
    }
    if (zero->time_s.known && !p->held)
        p->at[p->count++] = (struct plyecho_step){.time_s = p->zero_s, .time_u_s = zero->u_s};
    return code;
}

/* From the line to velocity and zero, by the derivatives of zero = middle - level / slope. */
static void take_line(const struct points *p, const struct line *line,
                      struct plyecho_calibration *c)
{
    c->velocity_m_s = 2.0 * line->slope;
    c->chi2 = line->chi2;
    c->freedom = (int)p->count - (p->held ? 1 : 2);
    c->p = c->freedom > 0 ? gsl_cdf_chisq_Q(c->chi2, c->freedom) : 1.0;
    double birge = c->freedom > 0 ? sqrt(c->chi2 / c->freedom) : 0.0;
    c->scatter = fmax(1.0, birge);
    c->coverage = birge > 1.0 ? gsl_cdf_tdist_Pinv(0.975, c->freedom) : 1.96;
    double slope_u = c->scatter * line->slope_u, level_u = c->scatter * line->level_u;
    double by_slope = line->level / (line->slope * line->slope) * slope_u;
    c->velocity_u_m_s = 2.0 * slope_u;
    c->zero_s = line->middle - line->level / line->slope;
    c->zero_u_s = p->held ? 0.0 : hypot(level_u / line->slope, by_slope);
    c->correlation = p->held ? 0.0 : by_slope / c->zero_u_s;
}

static void take_residuals(const struct points *p, size_t count, const struct line *line,
                           struct plyecho_calibration *c, struct plyecho_residual *residuals)
{
    double squares = 0.0;
    c->least_m = c->most_m = p->at[0].thickness_m;
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_step *s = &p->at[i];
        double off = distance(line, s), w = weight(s, line->slope);
        double by_slope = (s->time_s - line->middle) * line->slope_u;
        double left = 1.0 - w * (line->level_u * line->level_u + by_slope * by_slope);
        squares += off * off;
        c->least_m = fmin(c->least_m, s->thickness_m);
        c->most_m = fmax(c->most_m, s->thickness_m);
        if (residuals != NULL)
            residuals[i] = (struct plyecho_residual){
                .thickness_m = off,
                .u_m = sqrt(1.0 / w),
                .standardised = left > 1e-6 ? off * sqrt(w / left) : 0.0,
            };
    }
    c->rms_m = sqrt(squares / (double)count);
}

enum plyecho_code plyecho_calibrate(const struct plyecho_step *steps, size_t count,
                                    const struct plyecho_zero *zero,
                                    struct plyecho_calibration *calibration,
                                    struct plyecho_residual *residuals,
                                    struct plyecho_error *err)
{
    struct points p;
    struct line line;
    *calibration = (struct plyecho_calibration){0};
    enum plyecho_code code = gather(steps, count, zero, &p, err);
    if (code != PLYECHO_OK)
        return code;
    if (!fit_line(&p, &line))
        return plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "the times do not grow with the thickness; check that each trace is "
            "of the step in its row, and that thicknesses have one unit, mm");
    take_line(&p, &line, calibration);
    take_residuals(&p, count, &line, calibration, residuals);
    return PLYECHO_OK;
}

/* ---- what may be wrong ---- */

/* Chance below which a line does not fit, and above which a mended one does. */
static const double least_p = 1e-3, mended_p = 0.01;

/* Real steps scatter more than a micrometer's uncertainty says: a mended line whose chi-squared is this
 * many times smaller counts too. */
static const double much_better = 100.0;

/* A set of steps with something done to it, and how good its line is. */
struct trial {
    struct plyecho_step steps[PLYECHO_MOST_STEPS];
    size_t count;
    struct plyecho_calibration line;
    bool fits;
};

struct range {
    double least, most;
};

static bool fit_trial(struct trial *t, const struct plyecho_zero *zero,
                      const struct range *range)
{
    t->fits = plyecho_calibrate(t->steps, t->count, zero, &t->line, NULL, NULL) == PLYECHO_OK &&
              t->line.velocity_m_s >= range->least && t->line.velocity_m_s <= range->most;
    return t->fits;
}

static struct trial scaled(const struct plyecho_step *steps, size_t count, size_t from,
                           size_t to, double factor)
{
    struct trial t = {.count = count};
    for (size_t i = 0; i < count; i++) {
        t.steps[i] = steps[i];
        if (i >= from && i < to) {
            t.steps[i].thickness_m *= factor;
            t.steps[i].thickness_u_m *= factor;
        }
    }
    return t;
}

static struct trial without(const struct plyecho_step *steps, size_t count, size_t which)
{
    struct trial t = {0};
    for (size_t i = 0; i < count; i++)
        if (i != which)
            t.steps[t.count++] = steps[i];
    return t;
}

/* What a thickness is multiplied by where it was stated in another unit, or where the sound passed the
 * step more often than once. */
static const struct {
    double factor;
    enum plyecho_step_fault fault;
} mends[] = {
    {2.0, PLYECHO_STEPS_ORDER}, {25.4, PLYECHO_STEPS_UNIT}, {1000.0, PLYECHO_STEPS_UNIT},
    {1e-3, PLYECHO_STEPS_UNIT}, {3.0, PLYECHO_STEPS_ORDER},
};

enum { MENDS = sizeof mends / sizeof mends[0] };

/* Try every mend on steps from..to; the best that fits goes into finding. `fit` is the chi-squared to
 * beat and falls with it. */
static void try_mends(const struct plyecho_step *steps, size_t count,
                      const struct plyecho_zero *zero, const struct range *range, size_t from,
                      size_t to, double enough, double *best,
                      struct plyecho_step_finding *finding)
{
    for (size_t k = 0; k < MENDS; k++) {
        struct trial t = scaled(steps, count, from, to, mends[k].factor);
        if (!fit_trial(&t, zero, range))
            continue;
        bool good = t.line.p > mended_p || t.line.chi2 < enough;
        if (!good || t.line.chi2 >= 0.999 * *best)
            continue;
        *best = t.line.chi2;
        *finding = (struct plyecho_step_finding){
            .fault = mends[k].fault,
            .one = to - from < count,
            .step = from,
            .factor = mends[k].factor,
            .velocity_m_s = t.line.velocity_m_s,
        };
    }
}

/* The step whose absence mends the line most. */
static bool find_outlier(const struct plyecho_step *steps, size_t count,
                         const struct plyecho_zero *zero, const struct range *range,
                         double enough, struct plyecho_step_finding *finding)
{
    double best = INFINITY;
    for (size_t i = 0; i < count; i++) {
        struct trial t = without(steps, count, i);
        if (!fit_trial(&t, zero, range) || t.line.freedom < 1 || t.line.chi2 >= best)
            continue;
        if (t.line.p < mended_p && t.line.chi2 > enough)
            continue;
        best = t.line.chi2;
        double there = 0.5 * t.line.velocity_m_s * (steps[i].time_s - t.line.zero_s);
        *finding = (struct plyecho_step_finding){
            .fault = PLYECHO_STEPS_OUTLIER,
            .one = true,
            .step = i,
            .velocity_m_s = t.line.velocity_m_s,
            .residual_m = steps[i].thickness_m - there,
        };
    }
    return best < INFINITY;
}

struct plyecho_step_finding plyecho_calibration_check(const struct plyecho_step *steps,
                                                      size_t count,
                                                      const struct plyecho_zero *zero,
                                                      double least_velocity_m_s,
                                                      double most_velocity_m_s)
{
    const struct range range = {least_velocity_m_s, most_velocity_m_s};
    struct plyecho_step_finding finding = {.fault = PLYECHO_STEPS_GOOD};
    struct trial all = scaled(steps, count, 0, 0, 1.0);
    bool fits = fit_trial(&all, zero, &range);
    if (fits && all.line.p > least_p)
        return finding;
    double had = all.line.velocity_m_s > 0.0 ? all.line.chi2 : INFINITY, best = INFINITY;
    /* with a velocity that is possible not all can be mistaken */
    if (!fits)
        try_mends(steps, count, zero, &range, 0, count, had * 1.01, &best, &finding);
    if (all.line.freedom > 0 || all.line.velocity_m_s <= 0.0)
        for (size_t i = 0; i < count; i++)
            try_mends(steps, count, zero, &range, i, i + 1, had / much_better, &best, &finding);
    if (finding.fault != PLYECHO_STEPS_GOOD)
        return finding;
    if (find_outlier(steps, count, zero, &range, had / much_better, &finding))
        return finding;
    finding.fault = fits ? PLYECHO_STEPS_SCATTER : PLYECHO_STEPS_VELOCITY;
    return finding;
}
