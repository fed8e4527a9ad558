/* Whether the set-up held: its checks before and after the readings. */
#include <config.h>

#include <string.h>

#include <plyecho/date.h>

#include "html_out.h"
#include "report.h"

/* Dates are ISO 8601: their days compare as numbers; a day without a time is any time of it. */
static bool is_before(const char *one, const char *other)
{
    long a = plyecho_date_days(one), b = plyecho_date_days(other);
    if (a != b || strlen(one) <= 10 || strlen(other) <= 10)
        return a <= b;
    return strcmp(one, other) <= 0;
}

/* The last check before the readings and the first behind them; NULL: none. Where the date of the readings is not known
 * the last check counts as before them. */
struct around {
    const struct report_check *before, *after;
};

static struct around find_around(const struct report *report)
{
    const char *date = report_value(report, "inspection", "date");
    struct around a = {NULL, NULL};
    for (size_t k = 0; k < report->checks; k++) {
        const struct report_check *check = &report->check[k];
        if (!plyecho_date_is(check->date, strlen(check->date)))
            continue;
        if (date == NULL || is_before(check->date, date)) {
            if (a.before == NULL || is_before(a.before->date, check->date))
                a.before = check;
        } else if (a.after == NULL || !is_before(a.after->date, check->date)) {
            a.after = check;
        }
    }
    return a;
}

bool report_setup_failed(const struct report *report)
{
    struct around a = find_around(report);
    return (a.before != NULL && a.before->flagged) || (a.after != NULL && a.after->flagged);
}

/* Does nothing tell which came first? */
static bool same_day(const char *one, const char *other)
{
    return plyecho_date_days(one) == plyecho_date_days(other) &&
           (strlen(one) <= 10 || strlen(other) <= 10);
}

/* What is told ahead of it: `usual`, unless it is not sure that it came before. */
static const char *when_before(const struct report *report, const struct report_check *check,
                               const char *usual)
{
    const char *date = report_value(report, "inspection", "date");
    if (date == NULL)
        return "The last check in the log (when the readings were taken is not recorded),";
    if (same_day(check->date, date))
        return "Last check before the readings, or after them on the same day,";
    return usual;
}

static void tell_check(const char *before, const struct report_check *check, FILE *out)
{
    const char *beyond = check->beyond[0] != '\0' ? check->beyond : "not readable";
    html_format(out, "%s %s, %s%s", before, check->date,
                check->flagged ? "beyond its limits: " : "within its limits",
                check->flagged ? beyond : "");
}

void report_setup_term(const struct report *report, FILE *out)
{
    struct around a = find_around(report);
    html_term(out, "The set-up");
    if (a.before != NULL)
        tell_check(when_before(report, a.before, "Checked before the readings,"), a.before,
                   out);
    else
        html_text(out, "No check before the readings is on record");
    html_text(out, "; ");
    if (a.after != NULL)
        tell_check("after them,", a.after, out);
    else
        html_text(out, "no check after them is on record");
    html_text(out, ".");
    fputs("</dd>\n", out);
}

static void paragraph(FILE *out, const char *before, const struct report_check *check)
{
    fputs("<p>", out);
    tell_check(before, check, out);
    fputs(".</p>\n", out);
}

void report_checks(const struct report *report, FILE *out)
{
    const char *date = report_value(report, "inspection", "date");
    struct around a = find_around(report);
    html_heading(out, 3, "checks", "Checks of the set-up");
    if (a.before == NULL && a.after == NULL) {
        html_element(out, "p",
                     report->has_checks
                         ? "The log has no check with a date."
                         : "No log of checks was given: whether the set-up held is not shown.");
        return;
    }
    if (a.before != NULL)
        paragraph(out, when_before(report, a.before, "Last check before the readings,"),
                  a.before);
    else
        html_element(out, "p", "No check before the readings is in the log.");
    if (a.after != NULL)
        paragraph(out, "First check after them,", a.after);
    if (a.before == NULL)
        return;
    fputs("<p>", out);
    html_format(out, "Readings since the last check: %zu places%s", report->results.places,
                date == NULL
                    ? "; the date of the readings is not recorded, so they may be older."
                    : ".");
    fputs("</p>\n", out);
}
