#include <config.h>

#include "procedure_doubts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include <plyecho/date.h>
#include <plyecho/media.h>
#include <plyecho/procedure_beam.h>

#include "file.h"
#include "procedure_file.h"

/* A part that is so much warmer or colder than the steps were: common practice, no source. */
static const double other_temperature_c = 5.0;

/* No wall of this trade is so thin, but one in inches looks so: common practice, no source. */
static const double thin_wall_m = 0.5e-3;
static const double inch_m = 25.4e-3;

/* Fewer than this leave one residual or none to judge velocity and zero by. */
static const double least_steps = 3.0;

enum { WORDS_ROOM = 320 };

struct teller {
    const struct plyecho_procedure *p;
    const struct procedure_doubts_about *about;
    doubt_function *tell;
    void *context;
};

static void put_in_words(const struct teller *t, struct procedure_doubt doubt,
                         const char *format, va_list arguments)
{
    char words[WORDS_ROOM];
    vsnprintf(words, sizeof words, format, arguments);
    doubt.words = words;
    t->tell(t->context, &doubt);
}

static void PLYECHO_PRINTF(4, 5)
    doubt(const struct teller *t, const char *key, long line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    put_in_words(t, (struct procedure_doubt){key, line, false, NULL}, format, arguments);
    va_end(arguments);
}

/* By which every wall may be wrong. */
static void PLYECHO_PRINTF(4, 5)
    doubt_walls(const struct teller *t, const char *key, long line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    put_in_words(t, (struct procedure_doubt){key, line, true, NULL}, format, arguments);
    va_end(arguments);
}

static void velocity_of_material(const struct teller *t, const struct plyecho_medium *medium)
{
    const struct plyecho_setting *velocity = &t->p->material.velocity_m_s;
    const struct plyecho_setting *velocity_u = &t->p->material.velocity_u_m_s;
    double low, high;
    plyecho_medium_velocity_range(medium, &low, &high);
    if (!velocity->set && !t->about->measuring)
        doubt(t, "material", t->p->material.material.line,
              "the velocity is the table's for %s, %.0f m/s (u %.0f m/s), a starting value: "
              "calibrate on the same lay-up before a thickness counts",
              medium->name, medium->velocity_m_s, medium->velocity_u_m_s);
    else if (velocity->set && (velocity->value < low || velocity->value > high))
        doubt_walls(
            t, "velocity_m_s", velocity->line,
            "%g m/s is outside %.0f to %.0f m/s, what %s can have by the table of materials: "
            "calibrate anew, or name the material that it is",
            velocity->value, low, high, medium->name);
    if (velocity->set && velocity_u->set && velocity_u->value > medium->velocity_u_m_s)
        doubt(
            t, "velocity_u_m_s", velocity_u->line,
            "%g m/s is more than the table of materials leaves open for any %s, %.0f m/s: the "
            "calibration tells nothing; calibrate anew",
            velocity_u->value, medium->name, medium->velocity_u_m_s);
}

static void velocity(const struct teller *t)
{
    const struct plyecho_setting *velocity = &t->p->material.velocity_m_s;
    const struct plyecho_setting *velocity_u = &t->p->material.velocity_u_m_s;
    const char *name = t->p->material.material.value;
    if (name != NULL)
        velocity_of_material(t, plyecho_medium_find(name));
    bool shows = t->about->measuring && velocity->line == 0; /* by the option's own rule */
    if (velocity->set && !velocity_u->set && !shows)
        doubt(
            t, "velocity_m_s", velocity->line,
            "has no velocity_u_m_s: no thickness will have an uncertainty; calibrate, or state 0 "
            "where it is exact");
    if (velocity_u->set && !velocity->set)
        doubt(t, "velocity_u_m_s", velocity_u->line, "has no velocity_m_s to belong to");
}

static void zero(const struct teller *t)
{
    const struct plyecho_setting *zero = &t->p->calibration.zero_s;
    const struct plyecho_setting *zero_u = &t->p->calibration.zero_u_s;
    if (zero->set && !zero_u->set)
        doubt(t, "zero_us", zero->line,
              "has no zero_u_us: no thickness by mode 1 will have an uncertainty");
    if (zero_u->set && !zero->set)
        doubt(t, "zero_u_us", zero_u->line, "has no zero_us to belong to");
}

/* Of the calibration on the day of the readings. */
static void age_then(const struct teller *t, const char *read_on)
{
    const struct plyecho_text_setting *date = &t->p->calibration.date;
    const struct plyecho_setting *valid = &t->p->calibration.valid_days;
    long days = plyecho_date_days(read_on) - plyecho_date_days(date->value);
    if (plyecho_date_order(date->value, read_on) > 0)
        doubt_walls(
            t, "date", date->line,
            "the calibration of %s came after the readings of %s ([inspection] date), and "
            "nothing tells that it held for them; mend the dates, or read again",
            date->value, read_on);
    else if (valid->set && (double)days > valid->value)
        doubt_walls(
            t, "date", date->line,
            "is %ld days before the readings of %s ([inspection] date), and a calibration "
            "holds for %g days (valid_days); calibrate anew, and read again",
            days, read_on, valid->value);
}

static void age_today(const struct teller *t)
{
    const struct plyecho_text_setting *date = &t->p->calibration.date;
    const struct plyecho_setting *valid = &t->p->calibration.valid_days;
    long days = t->about->today - plyecho_date_days(date->value);
    if (days < -1) /* it is tomorrow somewhere */
        doubt_walls(t, "date", date->line,
                    "lies %ld days ahead; mend it, or this computer's clock", -days);
    else if (valid->set && (double)days > valid->value)
        doubt_walls(
            t, "date", date->line,
            "is %ld days ago, and a calibration holds for %g days (valid_days); calibrate anew",
            days, valid->value);
}

static void age(const struct teller *t)
{
    const struct plyecho_text_setting *date = &t->p->calibration.date;
    const struct plyecho_setting *valid = &t->p->calibration.valid_days;
    const char *read_on = t->about->measuring ? t->p->inspection.date.value : NULL;
    if (valid->set && date->value == NULL)
        doubt_walls(t, "valid_days", valid->line,
                    "has no date to count from; put in the calibration's");
    if (date->value == NULL)
        return;
    if (read_on != NULL)
        age_then(t, read_on);
    else
        age_today(t);
}

static void named_file(const struct teller *t, const char *key,
                       const struct plyecho_text_setting *name)
{
    struct file_identity identity;
    if (name->value == NULL)
        return;
    char *path = name->line > 0 ? procedure_file_beside(t->about->file, name->value)
                                : procedure_file_beside("", name->value);
    if (!file_identify(path, &identity))
        doubt(t, key, name->line, "%s: no such file; names count from the procedure's folder",
              path);
    free(path);
}

/* From the thinnest to the thickest place of a part; not known without a nominal wall. */
static bool wall_range(const struct plyecho_procedure *p, double *least, double *most)
{
    const struct plyecho_along *along = &p->part.nominal_along_m;
    *least = *most = along->count > 0 ? along->value[0] : p->part.nominal_m.value;
    for (size_t i = 1; i < along->count; i++) {
        *least = fmin(*least, along->value[i]);
        *most = fmax(*most, along->value[i]);
    }
    return along->count > 0 || p->part.nominal_m.set;
}

static void steps(const struct teller *t)
{
    const struct plyecho_setting *least = &t->p->calibration.steps_least_m;
    const struct plyecho_setting *most = &t->p->calibration.steps_most_m;
    const struct plyecho_setting *anvil = &t->p->calibration.anvil;
    bool tube = t->p->part.diameter_m.set || t->p->part.diameter_along_m.count > 0;
    double thin, thick;
    char wall[60];
    bool known = wall_range(t->p, &thin, &thick);
    snprintf(wall, sizeof wall, thick > thin ? "%g to %g mm" : "%g mm", thin * 1e3,
             thick * 1e3);
    if (known && least->set && most->set && (thin < least->value || thick > most->value))
        doubt(
            t, "steps_least_mm", least->line,
            "the steps, %g to %g mm, do not span the wall of %s; calibrate with steps on both "
            "sides of it",
            least->value * 1e3, most->value * 1e3, wall);
    if (anvil->set && anvil->value == PLYECHO_ANVIL_FLAT && tube)
        doubt_walls(
            t, "anvil", anvil->line,
            "a flat anvil reads a tube's wall some tenths of a millimetre too thick; measure "
            "curved steps with a ball or pin anvil");
}

static void few_steps(const struct teller *t)
{
    const struct plyecho_setting *steps = &t->p->calibration.steps;
    if (steps->set && steps->value < least_steps)
        doubt(t, "steps", steps->line,
              "%g step%s too few to tell whether the line fits; calibrate on 3 or more",
              steps->value, steps->value > 1.0 ? "s are" : " is");
}

static void nominal(const struct teller *t)
{
    const struct plyecho_along *along = &t->p->part.nominal_along_m;
    long line = along->count > 0 ? along->line : t->p->part.nominal_m.line;
    double thin, thick;
    if (wall_range(t->p, &thin, &thick) && thin < thin_wall_m)
        doubt(t, "nominal_mm", line,
              "a wall of %g mm is thinner than any of this trade: it looks like inches; %g in "
              "are written %g",
              thin * 1e3, thin * 1e3, thin * 1e3 * inch_m * 1e3);
}

/* A file that says none of this is no procedure yet. */
static void missing(const struct teller *t)
{
    const struct plyecho_procedure *p = t->p;
    bool velocity = p->material.velocity_m_s.set, layered = p->layers.count > 0;
    double thin, thick;
    if (!velocity && p->material.material.value == NULL && !layered)
        doubt(t, "velocity_m_s", 0, "is missing: times only, no thickness; calibrate");
    if (!layered && !wall_range(p, &thin, &thick))
        doubt(t, "nominal_mm", 0,
              "is missing: no verdict can tell a full shadow from a thin wall; put in the wall "
              "that the part should have");
    if (p->calibration.date.value == NULL && !p->calibration.valid_days.set)
        doubt(t, "date", 0, "is missing: nothing tells how old the calibration is; calibrate");
    if (velocity && !p->calibration.steps.set)
        doubt(t, "steps", 0,
              "is missing: nothing tells on how many steps the velocity was found; calibrate");
    else if (velocity && !p->calibration.freedom.set)
        doubt(
            t, "freedom", 0,
            "is missing: the uncertainty budget takes the velocity's uncertainty for one that "
            "is well known; calibrate anew, or put in the degrees of freedom");
}

static void temperature(const struct teller *t)
{
    const struct plyecho_setting *part = &t->p->material.temperature_c;
    const struct plyecho_setting *then = &t->p->calibration.temperature_c;
    if (part->set && then->set && !t->p->material.velocity_per_k.set &&
        fabs(part->value - then->value) > other_temperature_c)
        doubt_walls(
            t, "temperature_c", part->line,
            "the part is at %g C, the steps were at %g C, and no velocity_per_c_m_s corrects the "
            "velocity; calibrate at the part's temperature",
            part->value, then->value);
}

static void band(const struct teller *t)
{
    const struct plyecho_band_setting *band = &t->p->signal.band_hz;
    const struct plyecho_setting *probe = &t->p->equipment.probe_frequency_hz;
    if (band->set && probe->set &&
        (probe->value < band->value.low_hz || probe->value > band->value.high_hz))
        doubt(t, "band_hz", band->line,
              "leaves out the probe's centre frequency of %g MHz; mend one of them",
              probe->value * 1e-6);
}

/* Both count what the beam has seen. */
static void beam(const struct teller *t)
{
    const struct plyecho_setting *coverage = &t->p->acceptance.least_coverage;
    const struct plyecho_setting *unseen = &t->p->acceptance.most_unseen_m;
    if ((coverage->set || unseen->set) && !plyecho_procedure_beam_m(t->p).known)
        doubt(t, coverage->set ? "least_coverage_percent" : "most_unseen_mm",
              coverage->set ? coverage->line : unseen->line,
              "needs the beam's width: put in beam_mm, or what it is worked out from "
              "(probe_frequency_hz, probe_diameter_mm, delay line, velocity, nominal_mm)");
}

void procedure_doubts(const struct plyecho_procedure *procedure,
                      const struct procedure_doubts_about *about, doubt_function *tell,
                      void *context)
{
    const struct teller t = {procedure, about, tell, context};
    velocity(&t);
    temperature(&t);
    band(&t);
    beam(&t);
    nominal(&t);
    if (!about->measuring) {
        missing(&t);
        named_file(&t, "pulse", &procedure->signal.pulse);
    }
    zero(&t);
    age(&t);
    few_steps(&t);
    steps(&t);
    named_file(&t, "reference", &procedure->calibration.reference);
}
