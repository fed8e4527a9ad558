/* Whether the set-up held: its checks before and after the readings. */
#include <config.h>

#include "html_out.h"
#include "report.h"

static const char *date_of(const struct check_log_row *row)
{
    return row->date[0] != '\0' ? row->date : "a day that is not recorded";
}

static void tell_failed(const struct check_log_row *failed, FILE *out)
{
    html_format(
        out,
        "The check of %s was beyond its limits (%s), and no good one parts it from these "
        "readings. ",
        date_of(failed), failed->beyond[0] != '\0' ? failed->beyond : "it could not be read");
}

static void tell_good(const struct check_log_judgement *j, FILE *out)
{
    if (j->before != NULL)
        html_format(out, "Last good check before the readings: %s. ", j->before->date);
    else
        html_text(out, "No good check before the readings is on record. ");
    if (j->after != NULL)
        html_format(out, "First good one after them: %s. ", j->after->date);
    else
        html_text(out, "No good check after them is on record. ");
}

static void tell_others(const struct report *report, const struct check_log_judgement *j,
                        FILE *out)
{
    const char *date = report_value(report, "inspection", "date");
    if (j->unplaced > 0)
        html_format(out, "%zu good check%s cannot be placed before or after the readings%s. ",
                    j->unplaced, j->unplaced > 1 ? "s" : "",
                    date == NULL ? ", whose date is not recorded" : "");
    if (j->foreign > 0)
        html_format(out,
                    "%zu check%s in the log %s of another set-up (probe, settings or "
                    "calibration) and count%s for nothing. ",
                    j->foreign, j->foreign > 1 ? "s" : "", j->foreign > 1 ? "are" : "is",
                    j->foreign > 1 ? "" : "s");
}

void report_setup_term(const struct report *report, FILE *out)
{
    const struct check_log_judgement *j = &report->checked;
    html_term(out, "The set-up");
    if (report->checks.rows == NULL)
        html_text(out, "No log of checks was given, so nothing shows that it held.");
    else {
        if (j->failed != NULL)
            tell_failed(j->failed, out);
        tell_good(j, out);
    }
    fputs("</dd>\n", out);
}

void report_checks(const struct report *report, FILE *out)
{
    const struct check_log_judgement *j = &report->checked;
    html_heading(out, 3, "checks", "Checks of the set-up");
    fputs("<p>", out);
    if (report->checks.rows == NULL)
        html_text(out, "No log of checks was given: whether the set-up held is not shown.");
    else {
        if (j->failed != NULL)
            tell_failed(j->failed, out);
        tell_good(j, out);
        tell_others(report, j, out);
    }
    fputs("</p>\n", out);
    if (j->after != NULL)
        return;
    fputs("<p>", out);
    html_format(out, "Readings since the last good check: %s%zu places.",
                j->before == NULL ? "not known, at least " : "", report->results.places);
    fputs("</p>\n", out);
}
