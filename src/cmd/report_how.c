/* What was tested and how: everything that the procedure says, and what nobody recorded. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "html_out.h"
#include "memory.h"
#include "report.h"

/* A key of the procedure as a row; one that a reader misses is shown as missing. */
struct shown {
    const char *section, *key, *name, *unit;
    bool missed;
};

static const struct shown part[] = {
    {"part", "name", "Part", "", true},
    {"inspection", "reason", "Why it was read", "", false},
    {"part", "diameter_mm", "Outer diameter", "mm", false},
    {"part", "nominal_mm", "Wall it should have", "mm", false},
    {"part", "nominal_tolerance_mm", "Tolerance of that, either way", "mm", false},
    {"part", "zero_mark", "Zero mark", "", true},
    {"part", "angle_direction", "Angles rise", "", false},
    {"inspection", "surface", "Surface, paint left or taken off", "", true},
    {"material", "material", "Material, by the table", "", false},
    {"material", "temperature_c", "Temperature of the part", "\302\260C", true},
};

static const struct shown people[] = {
    {"inspection", "date", "Date", "", true},
    {"inspection", "place", "Place", "", false},
    {"inspection", "operator", "Operator", "", true},
    {"inspection", "operator_certificate", "Operator's certificate", "", true},
    {"inspection", "operator_level", "Level", "", true},
};

static const struct shown equipment[] = {
    {"equipment", "instrument", "Instrument", "", true},
    {"equipment", "recorder", "Recorder", "", false},
    {"equipment", "probe", "Probe", "", true},
    {"equipment", "probe_frequency_hz", "Its centre frequency", "Hz", false},
    {"equipment", "probe_diameter_mm", "Its element's diameter", "mm", false},
    {"equipment", "delay_line_material", "Delay line", "", false},
    {"equipment", "delay_line_mm", "Its length", "mm", false},
    {"equipment", "shoe", "Shoe", "", true},
    {"equipment", "couplant", "Couplant", "", true},
    {"signal", "mode", "Measuring mode (ISO 16809)", "", false},
    {"signal", "band_hz", "Band", "Hz", false},
};

static const struct shown calibration[] = {
    {"calibration", "date", "Calibrated", "", true},
    {"calibration", "valid_days", "It holds for", "days", false},
    {"calibration", "operator", "By", "", false},
    {"calibration", "operator_certificate", "Certificate", "", false},
    {"calibration", "steps", "Steps measured", "", true},
    {"calibration", "steps_least_mm", "Thinnest step", "mm", false},
    {"calibration", "steps_most_mm", "Thickest step", "mm", false},
    {"calibration", "anvil", "Anvil of the micrometer", "", false},
    {"calibration", "temperature_c", "Temperature of the steps", "\302\260C", true},
    {"material", "velocity_m_s", "Velocity", "m/s", true},
    {"material", "velocity_u_m_s", "Its standard uncertainty", "m/s", true},
    {"material", "attenuation_db_mm_mhz", "Attenuation", "dB/mm/MHz", true},
    {"calibration", "zero_us", "Zero of the time base", "\302\265s", false},
    {"calibration", "zero_u_us", "Its standard uncertainty", "\302\265s", false},
};

/* A wall's nominal may stand in its layers, and only a tube has a diameter. */
static bool is_missed(const struct report *report, const struct shown *row)
{
    if (strcmp(row->key, "nominal_mm") == 0)
        return !report_has_layers(report);
    if (strcmp(row->key, "diameter_mm") == 0)
        return report->results.tube;
    return row->missed;
}

static void write_table(const struct report *report, const char *caption,
                        const struct shown *rows, size_t count, FILE *out)
{
    html_table_begin(out, caption);
    for (size_t k = 0; k < count; k++) {
        const char *value = report_value(report, rows[k].section, rows[k].key);
        if (value == NULL && !is_missed(report, &rows[k]))
            continue;
        if (value == NULL || rows[k].unit[0] == '\0') {
            html_row(out, rows[k].name, value);
            continue;
        }
        char *text = memory_take(strlen(value) + strlen(rows[k].unit) + 2, 1);
        sprintf(text, "%s %s", value, rows[k].unit);
        html_row(out, rows[k].name, text);
        free(text);
    }
    html_table_end(out);
}

/* Layers that the wall should have, as the procedure declares them. */
static void write_layers(const struct report *report, FILE *out)
{
    const json_t *settings = json_object_get(report->results.summary, "settings"), *one;
    bool any = false;
    size_t k;
    json_array_foreach(settings, k, one)
    {
        const char *section = json_string_value(json_object_get(one, "section"));
        if (section == NULL || strcmp(section, "layers") != 0)
            continue;
        if (!any)
            html_table_begin(out, "Layers that the wall should have, from outside in");
        any = true;
        html_row(out, json_string_value(json_object_get(one, "key")),
                 json_string_value(json_object_get(one, "value")));
    }
    if (any)
        html_table_end(out);
}

/* ---- where it was read ---- */

/* The distinct values of a coordinate; a long list by its ends. */
static void write_coordinates(const struct results *r, bool along, FILE *out)
{
    enum { MOST = 60 };
    double *value = memory_take(r->places, sizeof *value);
    size_t count = report_coordinates(r, along, value);
    const char *unit = !along && r->tube ? "deg" : "mm";
    if (count > MOST)
        html_format(out, "%zu, from %.10g to %.10g %s", count, value[0], value[count - 1],
                    unit);
    for (size_t i = 0; i < count && count <= MOST; i++)
        html_format(out, "%s%.10g%s%s", i > 0 ? ", " : "", value[i], i + 1 == count ? " " : "",
                    i + 1 == count ? unit : "");
    free(value);
}

static void number_row(const struct results *r, const char *path, const char *name,
                       int decimals, const char *unit, FILE *out)
{
    struct plyecho_known number = results_number(r, path);
    char text[REPORT_WORDS_ROOM];
    snprintf(text, sizeof text, "%.*f %s", decimals, number.value, unit);
    html_row(out, name, number.known ? text : NULL);
}

static void write_coverage(const struct results *r, FILE *out)
{
    number_row(r, r->tube ? "coverage.pitch_arc_mm" : "coverage.pitch_x_mm",
               r->tube ? "Spacing round" : "Spacing in x", 2, "mm", out);
    number_row(r, r->tube ? "coverage.pitch_axial_mm" : "coverage.pitch_y_mm",
               r->tube ? "Spacing along" : "Spacing in y", 2, "mm", out);
    number_row(r, "coverage.beam_mm", "Beam in the wall, -6 dB", 1, "mm", out);
    number_row(r, "coverage.seen_percent", "Surface under the beam", 1, "%", out);
    number_row(r, "coverage.largest_unseen_mm", "Largest flaw that could lie unseen", 1, "mm",
               out);
}

static void write_places(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    const char *const names[] = {r->tube ? "Angles" : "x", r->tube ? "Along the axis" : "y"};
    html_table_begin(out, "Where it was read");
    for (size_t k = 0; k < 2; k++) {
        fputs("<tr><th scope=\"row\">", out);
        html_text(out, names[k]);
        fputs("</th><td class=\"value\">", out);
        write_coordinates(r, k == 1, out);
        fputs("</td></tr>\n", out);
    }
    write_coverage(r, out);
    html_table_end(out);
}

/* What the report was told in place of the procedure: nobody read it off the scan. */
static void write_given(const struct report *report, FILE *out)
{
    const struct report_values *v = report->values;
    const struct {
        const char *name, *value;
    } given[] = {{"Part", v->part.value}, {"Date", v->date.value},
                 {
                     "Operator",
                     v->operator.value },
                     {"Operator's certificate", v->operator_certificate.value},
                     {"Level", v->operator_level.value},
                     {"Place", v->place.value},
                     {"Surface", v->surface.value},
                     {"Why it was read", v->reason.value},
    };
    bool any = false;
    for (size_t k = 0; k < sizeof given / sizeof given[0]; k++) {
        if (given[k].value == NULL)
            continue;
        if (!any)
            html_table_begin(out, "Given with this report, in place of the procedure's");
        any = true;
        html_row(out, given[k].name, given[k].value);
    }
    if (any)
        html_table_end(out);
}

void report_how(const struct report *report, FILE *out)
{
    fputs("<section aria-labelledby=\"how\">\n", out);
    html_heading(out, 2, "how", "What was tested, and how");
    html_element(
        out, "p",
        "Ultrasonic pulse echo from one side: a short pulse goes into the wall, and what "
        "comes back tells how thick it is and what lies in it. Every place was judged by "
        "its own trace, then again with its neighbours heard.");
    write_table(report, "The part", part, sizeof part / sizeof part[0], out);
    write_layers(report, out);
    write_table(report, "When, where and by whom", people, sizeof people / sizeof people[0],
                out);
    write_places(report, out);
    write_table(report, "Equipment", equipment, sizeof equipment / sizeof equipment[0], out);
    write_table(report, "Calibration", calibration, sizeof calibration / sizeof calibration[0],
                out);
    report_checks(report, out);
    write_given(report, out);
    fputs("</section>\n", out);
}
