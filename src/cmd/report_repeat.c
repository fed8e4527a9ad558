/* To do it again: what was computed from what, the procedure itself, and who signs for it. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure_edit.h>

#include "file.h"
#include "html_out.h"
#include "memory.h"
#include "report.h"

static const struct {
    const char *path, *name;
    bool is_file; /* whose folder on somebody's machine is nobody's business */
} sources[] = {
    {"program", "Program", false},
    {"manifest", "Manifest", true},
    {"manifest_digest", "SHA-256 of the manifest", false},
    {"procedure", "Procedure", true},
    {"procedure_digest", "SHA-256 of the procedure", false},
    {"options", "Options that won over it", false},
    {"pulse_digest", "SHA-256 of the reference pulse", false},
    {"readings_digest", "SHA-256 of readings.csv", false},
    {"indications_digest", "SHA-256 of indications.csv", false},
};

static void write_sources(const struct report *report, FILE *out)
{
    html_table_begin(out, "What it was computed from");
    for (size_t k = 0; k < sizeof sources / sizeof sources[0]; k++) {
        const char *value = results_text(&report->results, sources[k].path);
        if (value == NULL || value[0] == '\0')
            continue;
        html_row(out, sources[k].name, sources[k].is_file ? file_base_name(value) : value);
    }
    html_row(out, "SHA-256 of summary.json", report->results.digest);
    html_table_end(out);
}

/* A line of a procedure file that reads back as this value. What no value can hold was not in a procedure
 * either: that is a comment. */
static void write_setting(const char *key, const char *value, FILE *out)
{
    size_t room = strlen(value) + sizeof "\"\"";
    char *line = memory_take(room, 1);
    bool holds = plyecho_procedure_quote(value, line, room);
    html_format(out, "%s%s = %s\n", holds ? "" : "; cannot stand in a procedure file: ", key,
                holds ? line : value);
    free(line);
}

/* As a procedure file has it, so that it can be taken from the page. */
static void write_procedure(const struct report *report, FILE *out)
{
    const json_t *settings = json_object_get(report->results.summary, "settings"), *one;
    const char *last = "";
    size_t k;
    html_heading(out, 3, "procedure", "The procedure");
    html_element(
        out, "p",
        "What held, as a procedure file has it. The digest above is of the file itself, "
        "with its comments.");
    fputs("<pre>", out);
    json_array_foreach(settings, k, one)
    {
        const char *section = json_string_value(json_object_get(one, "section"));
        const char *key = json_string_value(json_object_get(one, "key"));
        const char *value = json_string_value(json_object_get(one, "value"));
        if (section == NULL || key == NULL || value == NULL)
            continue;
        if (strcmp(section, last) != 0)
            html_format(out, "%s[%s]\n", last[0] != '\0' ? "\n" : "", section);
        last = section;
        write_setting(key, value, out);
    }
    fputs("</pre>\n", out);
}

static void write_signature(const char *role, FILE *out)
{
    fputs("<tr><th scope=\"row\">", out);
    html_text(out, role);
    fputs("</th><td></td><td></td><td></td></tr>\n", out);
}

static void write_signatures(FILE *out)
{
    html_heading(out, 2, "signatures", "Signatures");
    fputs("<div class=\"wide\"><table class=\"signatures\" aria-labelledby=\"signatures\">"
          "<thead><tr><td></td><th scope=\"col\">"
          "Name, level</th><th scope=\"col\">Date</th><th scope=\"col\">Signature</th></tr>"
          "</thead><tbody>\n",
          out);
    write_signature("Read by", out);
    write_signature("Judged by", out);
    write_signature("Received by the owner", out);
    html_table_end(out);
}

void report_repeat(const struct report *report, FILE *out)
{
    fputs("<section aria-labelledby=\"repeat\">\n", out);
    html_heading(out, 2, "repeat", "To do it again");
    html_element(
        out, "p",
        "The same program, manifest, traces and procedure give the same tables, byte for "
        "byte. readings.csv holds the SHA-256 of every trace.");
    write_sources(report, out);
    write_procedure(report, out);
    fputs("</section>\n<section aria-labelledby=\"signatures\">\n", out);
    write_signatures(out);
    fputs("</section>\n", out);
}
