/* What to say of a calibration: trouble, or warnings. */
#include <config.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "calibrate.h"

/* A residual of so many standard deviations is pointed at. */
static const double far_off = 3.0;

/* A residual that is a whole number of periods to within this share of one looks like a skipped cycle. */
static const double cycle_slack = 0.2;

enum { FLAT_ANVIL = 2 }; /* index into the words of --anvil */

static void PLYECHO_PRINTF(2, 3) warn(struct calibrated *c, const char *format, ...)
{
    va_list arguments;
    if (c->warning_count == CALIBRATION_WARNINGS)
        return;
    va_start(arguments, format);
    vsnprintf(c->warnings[c->warning_count++], WARNING_ROOM, format, arguments);
    va_end(arguments);
}

/* ---- what cannot be ---- */

static const char *unit_of(double factor)
{
    return factor > 500.0 ? "metres" : factor > 2.0 ? "inches" : "micrometres";
}

static bool refuse_unit(const struct calibrated *c, const char *table,
                        struct messages *messages)
{
    const struct plyecho_step_finding *f = &c->finding;
    if (f->one)
        message_trouble(
            messages, table,
            "line %ld: thickness_mm %g looks like %s (%g mm would lie on the line of "
            "the others); write it in mm",
            c->steps.rows.row[f->step].line, c->steps.step[f->step].thickness_m * 1e3,
            unit_of(f->factor), c->steps.step[f->step].thickness_m * 1e3 * f->factor);
    else
        message_trouble(
            messages, table,
            "the thicknesses look like %s (in mm the velocity would be %.0f m/s); write "
            "them in mm",
            unit_of(f->factor), f->velocity_m_s);
    return false;
}

static bool refuse_order(const struct calibrated *c, const char *table,
                         struct messages *messages)
{
    const struct plyecho_step_finding *f = &c->finding;
    const char *which = f->factor > 2.5 ? "second" : "first";
    if (f->one)
        message_trouble(
            messages, table,
            "line %ld: %s: its time is that of the %s multiple (%.0f passages "
            "through the step), by the line of the others; record it with the first "
            "back-wall echo in the time base, or correct its thickness",
            c->steps.rows.row[f->step].line, c->steps.rows.row[f->step].file, which, f->factor);
    else
        message_trouble(
            messages, table,
            "the velocity comes out at 1/%.0f of %.0f m/s: all times are those of the "
            "%s multiple; record the steps with the first back-wall echo in the time "
            "base (or say with --velocity-range what the material can have)",
            f->factor, f->velocity_m_s, which);
    return false;
}

/* Thicknesses that are whole multiples of the real ones lie on a line of the right velocity: only the
 * traces tell. */
static bool refuse_multiples(const struct calibrated *c, const char *table,
                             struct messages *messages)
{
    size_t first = 0, others = 0;
    int passages = 1;
    char more[64] = "";
    for (size_t i = 0; i < c->steps.count; i++) {
        int n = steps_passages(&c->steps.timed[i], c->steps.step[i].time_s, c->line.zero_s);
        others += n > 1 && passages > 1;
        if (n > 1 && passages == 1) {
            first = i;
            passages = n;
        }
    }
    if (passages == 1)
        return true;
    if (others > 0)
        snprintf(more, sizeof more, " (%zu other step%s likewise)", others,
                 others > 1 ? "s" : "");
    message_trouble(
        messages, table,
        "line %ld: %s: its time is that of a multiple: an echo as high or higher stands "
        "at 1/%d of it%s; correct thickness_mm %g (to about %.4g?), or record a step "
        "that has no echo inside",
        c->steps.rows.row[first].line, c->steps.rows.row[first].file, passages, more,
        c->steps.step[first].thickness_m * 1e3,
        c->steps.step[first].thickness_m * 1e3 / passages);
    return false;
}

/* ---- what is doubtful ---- */

static void warn_of_outlier(struct calibrated *c)
{
    const struct plyecho_step_finding *f = &c->finding;
    double periods = 2.0 * f->residual_m / f->velocity_m_s * c->centre_hz;
    bool cycle = fabs(periods) > 0.5 && fabs(periods - round(periods)) < cycle_slack;
    warn(c,
         "the step of %g mm (line %ld) is off by %.0f um from the line of the others, whose "
         "velocity is %.1f m/s: %s; look at its trace and measure it again",
         c->steps.step[f->step].thickness_m * 1e3, c->steps.rows.row[f->step].line,
         f->residual_m * 1e6, f->velocity_m_s,
         cycle ? "whole periods, as where a cycle was skipped" : "a wrong echo or thickness");
    c->spoilt = true;
}

static void warn_of_fit(struct calibrated *c, const struct calibrate_values *v)
{
    const struct plyecho_calibration *l = &c->line;
    if (c->finding.fault == PLYECHO_STEPS_OUTLIER)
        warn_of_outlier(c);
    if (c->finding.fault == PLYECHO_STEPS_SCATTER) {
        warn(
            c,
            "the steps scatter %.1f times as much about the line as their uncertainties say: one "
            "of them is wrong, the uncertainties are too small, or the steps differ in material",
            l->scatter);
        c->spoilt = true;
    }
    if (c->finding.fault == PLYECHO_STEPS_VELOCITY || l->velocity_m_s < v->velocity_range.low ||
        l->velocity_m_s > v->velocity_range.high) {
        warn(c,
             "a velocity of %.0f m/s is outside %.0f to %.0f m/s, what %s can have "
             "(%s): wrong echoes, wrong thicknesses or another material",
             l->velocity_m_s, v->velocity_range.low, v->velocity_range.high,
             c->material != NULL ? c->material : "the material",
             c->material != NULL ? "table of materials" : "--velocity-range");
        c->spoilt = true;
    }
}

static void warn_of_steps(struct calibrated *c)
{
    for (size_t i = 0; i < c->steps.count; i++) {
        if (c->finding.fault == PLYECHO_STEPS_GOOD &&
            fabs(c->residuals[i].standardised) > far_off)
            warn(c, "the residual of the step of %g mm is %.1f standard deviations",
                 c->steps.step[i].thickness_m * 1e3, c->residuals[i].standardised);
        if (c->steps.timed[i].reason != PLYECHO_REASON_NONE)
            warn(c, "the time of the step of %g mm is doubtful (%s)",
                 c->steps.step[i].thickness_m * 1e3,
                 plyecho_reason_word(c->steps.timed[i].reason));
    }
}

static void warn_of_span(struct calibrated *c)
{
    const struct plyecho_calibration *l = &c->line;
    if (c->line.freedom == 0)
        warn(c, "%zu step%s: nothing tells whether the line fits; take a further one",
             c->steps.count, c->steps.count == 1 ? "" : "s");
    if (c->nominal_known && (c->nominal_m < l->least_m || c->nominal_m > l->most_m))
        warn(
            c,
            "the steps, %g to %g mm, do not span the wall of %g mm; add a step on its other side",
            l->least_m * 1e3, l->most_m * 1e3, c->nominal_m * 1e3);
}

static void warn_of_set_up(struct calibrated *c, const struct calibrate_values *v)
{
    const struct plyecho_calibration *l = &c->line;
    if (c->steps.mode != PLYECHO_MODE_1 && l->zero_u_s > 0.0 &&
        fabs(l->zero_s) > far_off * l->zero_u_s)
        warn(
            c,
            "a zero of %.4f us in mode %d, where the time between two echoes has none: couplant "
            "or a coat between them, or steps of different material",
            l->zero_s * 1e6, (int)c->steps.mode);
    if (v->anvil.set && v->anvil.index == FLAT_ANVIL)
        warn(c,
             "a flat anvil reads a tube's wall some tenths of a millimetre too thick; measure "
             "curved steps with a ball or pin anvil");
}

bool calibrate_judge(struct calibrated *c, const struct calibrate_values *v,
                     struct messages *messages)
{
    if (c->finding.fault == PLYECHO_STEPS_UNIT)
        return refuse_unit(c, v->steps.value, messages);
    if (c->finding.fault == PLYECHO_STEPS_ORDER)
        return refuse_order(c, v->steps.value, messages);
    if (!refuse_multiples(c, v->steps.value, messages))
        return false;
    warn_of_fit(c, v);
    warn_of_steps(c);
    warn_of_span(c);
    warn_of_set_up(c, v);
    return true;
}
