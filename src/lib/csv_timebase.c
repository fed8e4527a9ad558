#include "csv_timebase.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const double USUAL_RATE_HZ = 100e6; /* where no unit is given, the one nearest to this */
static const double SAME_RATE = 1e-3; /* a label and a column that differ by more are told */

void pe_csv_note(struct plyecho_traces *traces, const char *format, ...)
{
    size_t used = strlen(traces->note);
    va_list args;
    if (used > 0 && used + 3 < sizeof traces->note) {
        memcpy(traces->note + used, "; ", 3);
        used += 2;
    }
    va_start(args, format);
    vsnprintf(traces->note + used, sizeof traces->note - used, format, args);
    va_end(args);
}

static double label_number(const struct plyecho_labels *labels, const char *key)
{
    double value = 0.0;
    if (plyecho_labels_number(labels, key, 0, &value, NULL) != PLYECHO_OK || !(value > 0.0))
        return 0.0; /* a label of no use is reported later, when labels are taken over */
    return value;
}

/* The rate that is stated, and so wins over any column; 0 where none is. */
static double stated_rate(const struct pe_csv_time_sources *sources)
{
    if (sources->options->sample_rate_hz > 0.0)
        return sources->options->sample_rate_hz;
    return label_number(sources->labels, "sample_rate_hz");
}

static double stated_velocity(const struct pe_csv_time_sources *sources)
{
    if (sources->options->velocity_m_s > 0.0)
        return sources->options->velocity_m_s;
    double labelled = label_number(sources->labels, "velocity_m_s");
    return labelled > 0.0 ? labelled : sources->settings->velocity_m_s;
}

/* value x 10^power without a second rounding: by way of the value's own shortest digits. */
static double shift_decimal(double value, int power)
{
    char text[PLYECHO_NUMBER_ROOM];
    struct pe_decimal decimal;
    plyecho_number_format(value, text);
    if (pe_decimal_scan(text, strlen(text), '.', &decimal) == 0)
        return value;
    return pe_decimal_value(&decimal, power);
}

/* Steps a second (or a metre) of steps in units of 10^power s (or m). */
static double rate_of(const struct pe_csv_steps *steps, int power)
{
    bool exact;
    if (steps->digits == 0)
        return 1.0 / shift_decimal(steps->step, power);
    if (steps->inverse)
        return pe_decimal_compose(steps->digits, steps->exponent - power, &exact);
    return pe_decimal_compose(1, -(steps->exponent + power), &exact) / (double)steps->digits;
}

static struct pe_csv_unit likely_unit(const struct pe_csv_steps *steps, double rate_hz)
{
    static const char *const words[] = {"s", "ms", "us", "ns"};
    struct pe_csv_unit best = {.word = NULL};
    double least = HUGE_VAL;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        struct pe_csv_unit unit = pe_csv_unit_of(words[i]);
        double off = fabs(log(rate_of(steps, unit.power) / rate_hz));
        if (off < least) {
            least = off;
            best = unit;
        }
    }
    return best;
}

static void tell_difference(struct plyecho_traces *traces, const struct pe_csv_steps *steps,
                            double stated)
{
    double column = traces->sample_rate_hz;
    if (stated > 0.0 && fabs(column / stated - 1.0) > SAME_RATE + steps->room)
        pe_csv_note(traces,
                    "stated sample rate %.9g Hz taken, though the time column says %.9g Hz",
                    stated, column);
}

static void use_time(const struct pe_csv_time_sources *sources,
                     const struct pe_csv_steps *steps, struct pe_csv_unit unit,
                     struct plyecho_traces *traces)
{
    double stated = stated_rate(sources);
    if (unit.word == NULL)
        unit = sources->settings->axis_unit;
    bool guessed = unit.word == NULL || unit.role != PE_CSV_TIME;
    if (guessed)
        unit = likely_unit(steps, stated > 0.0 ? stated : USUAL_RATE_HZ);
    traces->sample_rate_hz = rate_of(steps, unit.power);
    traces->start_s = shift_decimal(steps->start, unit.power);
    if (guessed && stated == 0.0)
        pe_csv_note(traces,
                    "time without a unit taken as %s (%.6g MHz); a heading like time_us "
                    "says it",
                    unit.word, traces->sample_rate_hz * 1e-6);
    tell_difference(traces, steps, stated);
}

static enum plyecho_code use_distance(const struct pe_csv_time_sources *sources,
                                      const struct pe_csv_steps *steps, struct pe_csv_unit unit,
                                      struct plyecho_traces *traces, struct plyecho_error *err)
{
    double stated = stated_rate(sources), velocity = stated_velocity(sources);
    if (unit.word == NULL)
        unit = sources->settings->axis_unit;
    if (unit.word == NULL || unit.role != PE_CSV_DISTANCE) {
        unit = pe_csv_unit_of("mm");
        pe_csv_note(traces, "distance without a unit taken as mm");
    }
    if (velocity == 0.0 && stated == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                            "the axis is a distance in %s; give the velocity it was made with: "
                            "--velocity M/S or a line '# velocity_m_s: 2950'",
                            unit.word);
    traces->sample_rate_hz = stated;
    if (velocity > 0.0) /* there and back */
        traces->sample_rate_hz = rate_of(steps, unit.power) * velocity / (2.0 * unit.factor);
    traces->start_s = steps->start / steps->step / traces->sample_rate_hz;
    if (velocity > 0.0)
        tell_difference(traces, steps, stated);
    return PLYECHO_OK;
}

/* Without a time axis the rate must be stated. */
static enum plyecho_code use_stated_rate(const struct pe_csv_time_sources *sources,
                                         const char *why, struct plyecho_traces *traces,
                                         struct plyecho_error *err)
{
    double rate = stated_rate(sources);
    if (rate == 0.0)
        rate = sources->settings->sample_rate_hz;
    if (rate == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                            "%s; give --sample-rate HZ or a line '# sample_rate_hz: 100000000'",
                            why);
    traces->sample_rate_hz = rate;
    return PLYECHO_OK;
}

/* 0, 1, 2 … or 1, 2, 3 … */
static bool counts_samples(const struct pe_csv_time_sources *sources,
                           const struct pe_csv_steps *steps)
{
    return steps->step == 1.0 && (steps->start == 0.0 || steps->start == 1.0) &&
           sources->axis.finest == 0 && sources->settings->axis_unit.word == NULL;
}

static enum plyecho_code bad_row(const struct pe_csv_time_sources *sources, size_t row,
                                 struct plyecho_error *err)
{
    const double *t = sources->axis.value;
    double mean = (t[sources->axis.count - 1] - t[0]) / (double)(sources->axis.count - 1);
    if (t[row] < t[row - 1])
        return plyecho_fail(
            err, PLYECHO_BAD_TIME_BASE,
            "the time runs backwards from %.9g to %.9g; sort or export the rows "
            "again, one record a file",
            t[row - 1], t[row]);
    if (!(mean > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                            "the time stays at %.9g; export it with more digits", t[0]);
    return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                        "the time jumps from %.9g to %.9g where steps are about %.4g; rows are "
                        "missing or mixed up, so export them again",
                        t[row - 1], t[row], mean);
}

enum plyecho_code pe_csv_timebase_find(const struct pe_csv_time_sources *sources,
                                       struct plyecho_traces *traces, size_t *bad,
                                       struct plyecho_error *err)
{
    *bad = 0;
    if (sources->axis.count == 0)
        return use_stated_rate(sources, "the file has no time column", traces, err);
    struct pe_csv_steps steps;
    enum plyecho_code code = pe_csv_axis_fit(&sources->axis, &steps);
    if (code == PLYECHO_NO_MEMORY)
        return plyecho_fail(err, code, "out of memory for the time column");
    if (code != PLYECHO_OK) {
        *bad = steps.bad_row;
        return bad_row(sources, steps.bad_row, err);
    }
    const struct pe_csv_heading *axis = &sources->columns->axis;
    enum pe_csv_role role = axis->role;
    if (role == PE_CSV_UNKNOWN && sources->settings->axis_unit.word != NULL)
        role = sources->settings->axis_unit.role;
    if (role == PE_CSV_DISTANCE)
        return use_distance(sources, &steps, axis->unit, traces, err);
    if (role == PE_CSV_INDEX || (role == PE_CSV_UNKNOWN && counts_samples(sources, &steps)))
        return use_stated_rate(sources, "the first column only counts the samples", traces,
                               err);
    use_time(sources, &steps, axis->unit, traces);
    return PLYECHO_OK;
}
