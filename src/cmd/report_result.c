/* The first screen: did it pass, where is the worst spot, how sure is that. And each limit. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "html_out.h"
#include "report.h"

static const double per_mm = 1e3;

static const struct {
    const char *word, *class, *mark, *plain;
} verdicts[] = {
    {"accepted", "passes", "\342\234\223", /* a tick */
     "What was read is within the limits of the procedure. That is a reading of the stretch "
     "below, not a clearance of the part: what it cannot see stands below, too."},
    {"rejected", "fails", "\342\234\227", /* a cross */
     "This part does not pass. Do not use it until a qualified person has decided what "
     "happens with it."},
    {"undecided", "open", "?",
     "Nobody can say yet that this part passes. Do not use it until what is open below is "
     "settled."},
    {"not evaluated", "open", "?",
     "The procedure states no limits, so nothing was decided: the readings stand below for "
     "whoever may judge them."},
    {"in doubt", "open", "?",
     "A check of the set-up was beyond its limits, so these readings cannot be relied on. Do not "
     "use the part on their word: calibrate again and read again."},
};

enum { REJECTED = 1, NOT_EVALUATED = 3, IN_DOUBT = 4 };

/* ---- the verdict ---- */

static size_t verdict_of(const struct report *report)
{
    const char *word = results_text(&report->results, "part_verdict");
    size_t v = NOT_EVALUATED;
    for (size_t k = 0; word != NULL && k < NOT_EVALUATED; k++)
        if (strcmp(verdicts[k].word, word) == 0)
            v = k;
    return v != REJECTED && report->checked.failed != NULL ? IN_DOUBT : v;
}

const char *report_verdict(const struct report *report)
{
    return verdicts[verdict_of(report)].word;
}

static size_t limits_in_state(const struct report *report, const char *state)
{
    const json_t *limits = json_object_get(report->results.summary, "limits"), *one;
    size_t count = 0, k;
    json_array_foreach(limits, k, one)
    {
        const char *is = json_string_value(json_object_get(one, "state"));
        count += is != NULL && strcmp(is, state) == 0;
    }
    return count;
}

static void tell_limits(const struct report *report, FILE *out)
{
    size_t broken = limits_in_state(report, "broken"), open = limits_in_state(report, "open");
    if (broken + open == 0)
        return;
    fputs(" (", out);
    if (broken > 0)
        html_format(out, "%zu limit%s broken%s", broken, broken > 1 ? "s" : "",
                    open > 0 ? ", " : "");
    if (open > 0)
        html_format(out, "%zu open", open);
    fputs("; <a href=\"#limits\">all limits</a>)", out);
}

/* ---- wall and coverage ---- */

static bool is_by_neighbours(const struct results *r, const struct plyecho_place *place)
{
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        if (fabs(p->place.across - place->across) < 1e-9 &&
            fabs(p->place.along - place->along) < 1e-9)
            return !p->wall_seen;
    }
    return false;
}

static void tell_wall(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known least = results_number(r, "wall.least_mm");
    struct plyecho_known u = results_number(r, "wall.least_u_mm");
    const char *limit = report_value(report, "acceptance", "least_mm");
    char words[REPORT_WORDS_ROOM], where[REPORT_WORDS_ROOM];
    html_term(out, "Thinnest wall");
    if (least.known) {
        struct plyecho_known across =
            results_number(r, r->tube ? "wall.angle_deg" : "wall.x_mm");
        struct plyecho_known along = results_number(r, r->tube ? "wall.axial_mm" : "wall.y_mm");
        const struct plyecho_place place = {r->tube ? across.value : across.value / per_mm,
                                            along.value / per_mm};
        least.value /= per_mm;
        u.value /= per_mm;
        html_format(out, "%s at %s", report_wall(least, u, words),
                    report_place(r, &place, where));
        if (is_by_neighbours(r, &place))
            html_text(out, " (its own trace is undecided; that this is the wall its neighbours "
                           "tell)");
        if (limit != NULL)
            html_format(out, "; the limit is %s mm", limit);
    } else {
        html_text(out, "no wall was seen");
    }
    fputs("</dd>\n", out);
}

/* Down, so that what was not seen never rounds away. */
static double rounded_down(double percent)
{
    return floor(percent * 10.0) / 10.0;
}

static void tell_coverage(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known seen = results_number(r, "coverage.seen_percent");
    struct plyecho_known unseen = results_number(r, "coverage.largest_unseen_mm");
    struct plyecho_known unread = results_number(r, "coverage.places_unread");
    char words[REPORT_WORDS_ROOM];
    html_term(out, "What was read");
    html_format(out, "%zu place%s, %s", r->places, r->places == 1 ? "" : "s",
                report_range(r, words));
    if (unread.value > 0.0)
        html_format(out, "; %.0f of them without a reading", unread.value);
    if (seen.known)
        html_format(out, "; the beam was on %.10g %% of that stretch",
                    rounded_down(seen.value));
    else
        html_text(out, "; how much of that stretch the beam saw is not known");
    if (unseen.known && unseen.value > 0.0)
        html_format(out, ", and a flaw of %.1f mm could lie unseen between the places",
                    unseen.value);
    html_text(out, ". Of the rest of the part this page says nothing.");
    fputs("</dd>\n", out);
}

static void tell_zero(const struct report *report, FILE *out)
{
    const char *mark = report_value(report, "part", "zero_mark");
    const char *turn = report_value(report, "part", "angle_direction");
    html_term(out, "Places count from");
    html_text(out,
              mark != NULL ? mark : "a mark that was not recorded: nobody can find them again");
    if (report->results.tube && turn != NULL)
        html_format(out, "; angles rise %s, looking the way axial mm rise", turn);
    fputs("</dd>\n", out);
}

/* A rejection stands whether or not the set-up held. */
static void tell_check(const struct report *report, size_t v, FILE *out)
{
    const char *alone = results_text(&report->results, "part_verdict");
    if (v == IN_DOUBT && alone != NULL)
        html_format(out, " By themselves they say: %s.", alone);
    if (v == REJECTED && report->checked.failed != NULL)
        html_text(out,
                  " The set-up failed its check as well: what was not found may be there.");
}

/* ---- why ---- */

static void list_limits(const struct report *report, const char *state, const char *name,
                        FILE *out)
{
    enum { MOST = 5 };
    const json_t *limits = json_object_get(report->results.summary, "limits"), *one;
    size_t k, told = 0;
    if (limits_in_state(report, state) == 0)
        return;
    html_term(out, name);
    fputs("<ul>\n", out);
    json_array_foreach(limits, k, one)
    {
        const char *is = json_string_value(json_object_get(one, "state"));
        if (is != NULL && strcmp(is, state) == 0 && told++ < MOST)
            html_element(out, "li", json_string_value(json_object_get(one, "words")));
    }
    fputs("</ul></dd>\n", out);
}

static void tell_why(const struct report *report, FILE *out)
{
    list_limits(report, "broken", "Limits that are broken", out);
    list_limits(report, "open", "What is open", out);
}

static void tell_unlooked(const struct report *report, FILE *out)
{
    if (report_unlooked(report, 0) == NULL)
        return;
    html_term(out, "What was not looked for");
    for (size_t k = 0; report_unlooked(report, k) != NULL; k++)
        html_format(out, "%s ", report_unlooked(report, k));
    fputs("</dd>\n", out);
}

static void tell_doubts(const struct report *report, FILE *out)
{
    const char *doubts = results_text(&report->results, "procedure_doubts");
    if (doubts == NULL)
        return;
    html_term(out, "Doubts about the procedure");
    html_text(out, doubts);
    fputs("</dd>\n", out);
}

void report_result(const struct report *report, FILE *out)
{
    size_t v = verdict_of(report);
    fprintf(out, "<section class=\"verdict %s\" aria-labelledby=\"result\">\n",
            verdicts[v].class);
    fprintf(out, "<h2 id=\"result\"><span aria-hidden=\"true\">%s</span> Result: ",
            verdicts[v].mark);
    html_text(out, verdicts[v].word);
    fputs("</h2>\n<p class=\"plain\">", out);
    html_text(out, verdicts[v].plain);
    tell_check(report, v, out);
    tell_limits(report, out);
    fputs("</p>\n<dl>\n", out);
    report_worst_spot(report, out);
    tell_why(report, out);
    tell_doubts(report, out);
    tell_unlooked(report, out);
    tell_wall(report, out);
    tell_coverage(report, out);
    tell_zero(report, out);
    report_setup_term(report, out);
    fputs("</dl>\n</section>\n", out);
}

/* ---- each limit ---- */

static void write_limit(const json_t *limit, FILE *out)
{
    const char *state = json_string_value(json_object_get(limit, "state"));
    bool broken = state != NULL && strcmp(state, "broken") == 0;
    bool holds = state != NULL && strcmp(state, "holds") == 0;
    fputs("<tr><td class=\"state\"><span aria-hidden=\"true\">", out);
    fputs(broken ? "\342\234\227" : holds ? "\342\234\223" : "?", out);
    fputs("</span> ", out);
    html_text(out, state);
    fputs("</td><td>", out);
    html_text(out, json_string_value(json_object_get(limit, "words")));
    fputs("</td></tr>\n", out);
}

void report_limits(const struct report *report, FILE *out)
{
    const json_t *limits = json_object_get(report->results.summary, "limits"), *limit;
    size_t k;
    fputs("<section aria-labelledby=\"limits\">\n", out);
    html_heading(out, 2, "limits", "The limits, each with its reading");
    if (json_array_size(limits) == 0)
        html_element(out, "p", "The procedure states no limit.");
    else {
        fputs(
            "<div class=\"wide\"><table aria-labelledby=\"limits\"><thead><tr>"
            "<th scope=\"col\">State</th><th scope=\"col\">Limit and reading</th></tr></thead>"
            "<tbody>\n",
            out);
        json_array_foreach(limits, k, limit) write_limit(limit, out);
        html_table_end(out);
    }
    html_element(
        out, "p",
        "A wall or a size holds its limit where it does so by twice its standard "
        "uncertainty, and breaks it where it reads beyond; between the two it is open. "
        "Limits come from the procedure; they belong to the part's maker, the governing "
        "code and qualified personnel.");
    fputs("</section>\n", out);
}
