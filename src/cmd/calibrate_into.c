/* A calibration into a procedure file. */
#include <config.h>

#include <stdio.h>

#include <plyecho/number.h>

#include "calibrate.h"
#include "procedure_changes.h"

/* A number to about a hundredth of its uncertainty (0: all of it). */
static void add_number(struct procedure_changes *c, const char *section, const char *key,
                       double value, double u)
{
    char text[PLYECHO_NUMBER_ROOM];
    if (u > 0.0)
        snprintf(text, sizeof text, "%.*f", table_places(u), value);
    else
        plyecho_number_format(value, text);
    procedure_changes_add(c, section, key, "%s", text);
}

static void add_line(struct procedure_changes *to, const struct calibrated *c)
{
    const struct plyecho_calibration *l = &c->line;
    double zero_u_us = l->zero_u_s * 1e6;
    add_number(to, "material", "velocity_m_s", l->velocity_m_s, l->velocity_u_m_s);
    add_number(to, "material", "velocity_u_m_s", l->velocity_u_m_s, l->velocity_u_m_s);
    if (c->steps.mode != PLYECHO_MODE_1) {
        /* modes 2 and 3 tell no zero, and an earlier one would stand under this date and these steps */
        procedure_changes_drop(to, "calibration", "zero_us");
        procedure_changes_drop(to, "calibration", "zero_u_us");
        procedure_changes_drop(to, "calibration", "velocity_zero_correlation");
        return;
    }
    add_number(to, "calibration", "zero_us", l->zero_s * 1e6, zero_u_us);
    add_number(to, "calibration", "zero_u_us", zero_u_us, zero_u_us);
    add_number(to, "calibration", "velocity_zero_correlation", l->correlation, 0.01);
}

/* Where it comes from: what an earlier calibration left and this one does not tell goes. */
static void add_origin(struct procedure_changes *to, const struct calibrated *c,
                       const struct calibrate_values *v, const char *date)
{
    static const char section[] = "calibration";
    if (v->instrument.set)
        procedure_changes_add_text(to, "equipment", "instrument", v->instrument.value);
    if (v->probe.set)
        procedure_changes_add_text(to, "equipment", "probe", v->probe.value);
    procedure_changes_add(to, section, "date", "%s", date);
    procedure_changes_add_text(to, section, "operator", v->operator.value);
    if (!v->operator.set)
        procedure_changes_drop(to, section, "operator_certificate");
    if (v->temperature_c.set)
        add_number(to, section, "temperature_c", v->temperature_c.value, 0.0);
    else
        procedure_changes_drop(to, section, "temperature_c");
    procedure_changes_add_text(to, section, "anvil",
                               v->anvil.set ? calibrate_anvils[v->anvil.index] : NULL);
    procedure_changes_add(to, section, "steps", "%zu", c->steps.count);
    procedure_changes_add(to, section, "freedom", "%d", c->line.freedom);
    procedure_changes_add(to, section, "steps_least_mm", "%.6g", c->line.least_m * 1e3);
    procedure_changes_add(to, section, "steps_most_mm", "%.6g", c->line.most_m * 1e3);
    procedure_changes_add(to, section, "steps_digest", "%s", c->steps.digest);
}

bool calibrate_into(const struct calibrated *c, const struct calibrate_values *v,
                    struct messages *messages)
{
    struct procedure_changes changes = {.count = 0};
    char date[CALIBRATION_DATE_ROOM];
    if (c->spoilt) {
        message_trouble(messages, v->into.value,
                        "nothing written: the calibration is not to be trusted (%s)",
                        c->warnings[0]);
        return false;
    }
    if (!calibrate_date(v, date, messages))
        return false;
    add_line(&changes, c);
    add_origin(&changes, c, v, date);
    return procedure_changes_write(&changes, v->into.value, messages);
}
