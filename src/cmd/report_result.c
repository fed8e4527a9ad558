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
     "All that was read is within the limits of the procedure. That is a reading, not a "
     "clearance: what it cannot see stands below."},
    {"rejected", "fails", "\342\234\227", /* a cross */
     "This part does not pass. Do not use it until a qualified person has decided what "
     "happens with it."},
    {"undecided", "open", "?",
     "Nobody can say yet that this part passes. Do not use it until what is open below is "
     "settled."},
    {"not evaluated", "open", "?",
     "The procedure states no limits, so nothing was decided: the readings stand below for "
     "whoever may judge them."},
};

/* ---- the verdict ---- */

static size_t verdict_of(const struct report *report)
{
    const char *word = results_text(&report->results, "part_verdict");
    size_t count = sizeof verdicts / sizeof verdicts[0];
    for (size_t k = 0; word != NULL && k < count; k++)
        if (strcmp(verdicts[k].word, word) == 0)
            return k;
    return count - 1;
}

static void term(FILE *out, const char *name)
{
    fputs("<dt>", out);
    html_text(out, name);
    fputs("</dt><dd>", out);
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
    fputs(": <a href=\"#limits\">which</a>)", out);
}

/* ---- the worst spot, and how sure ---- */

/* Places of an indication, and those whose own trace says the same. */
static void count_own(const struct results *r, size_t indication, size_t *all, size_t *own)
{
    *all = *own = 0;
    for (size_t i = 0; i < r->places; i++)
        if (r->member[i] == indication + 1) {
            (*all)++;
            *own += r->reading[i].verdict == r->indication[indication].kind;
        }
}

static void tell_sureness(const struct results *r, size_t worst, FILE *out)
{
    const struct plyecho_indication *n = &r->indication[worst];
    const struct plyecho_place_reading *p = &r->reading[n->worst];
    size_t all, own;
    char words[REPORT_WORDS_ROOM];
    count_own(r, worst, &all, &own);
    if (n->kind == PLYECHO_THIN)
        html_format(out, "The wall there is %s.%s ",
                    report_wall(p->second_wall_m, p->second_wall_u_m, words),
                    p->verdict == n->kind
                        ? ""
                        : " That it is the wall and no delamination is told by the wall "
                          "around, which leads down to it.");
    if (own > 0)
        html_format(out, "%zu of its %zu place%s say%s so by their own trace", own, all,
                    all == 1 ? "" : "s", own == 1 ? "s" : "");
    else
        html_format(out,
                    "None of its %zu place%s says so by its own trace alone; the places "
                    "around do",
                    all, all == 1 ? "" : "s");
    if (p->verdict == n->kind && p->evidence_ratio > 0.0)
        html_format(out, ", at the worst one by %.0f to 1 against the next best explanation%s",
                    p->evidence_ratio,
                    p->evidence_ratio >= 1000.0 ? " (more is never claimed)" : "");
    html_text(out, ".");
    if (isfinite(n->arc_u_m) && n->across < 360.0)
        html_format(
            out,
            " Its size is known to about \302\261%.1f mm round and \302\261%.1f mm along "
            "(k = 2), as the places are spaced.",
            2.0 * n->arc_u_m * per_mm, 2.0 * n->along_u_m * per_mm);
    if (n->open_ended)
        html_text(out, " It reaches the end of what was read, and may go on.");
    if (n->within_beam)
        html_text(out, " It is no wider than the beam, and may be smaller than told.");
}

static void tell_worst(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    char words[REPORT_WORDS_ROOM];
    size_t worst = report_worst(r);
    term(out, "Worst spot");
    if (worst == r->indications) {
        html_text(out, "No indication: nothing reportable was found where it was read.");
        fputs("</dd>\n", out);
        return;
    }
    const struct plyecho_indication *n = &r->indication[worst];
    fputs("<strong>", out);
    html_text(out, plyecho_verdict_word(n->kind));
    fputs("</strong> ", out);
    html_format(out, "at %s: ", report_place(r, &r->reading[n->worst].place, words));
    html_format(out, "%s. %s", report_size(r, n, words), report_kind_words(n->kind));
    fprintf(out, " (<a href=\"#indication-%zu\">number %zu below</a>)</dd>\n", worst + 1,
            worst + 1);
    term(out, "How sure");
    tell_sureness(r, worst, out);
    fputs("</dd>\n", out);
}

/* ---- wall and coverage ---- */

static void tell_wall(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known least = results_number(r, "wall.least_mm");
    struct plyecho_known u = results_number(r, "wall.least_u_mm");
    const char *limit = report_value(report, "acceptance", "least_mm");
    char words[REPORT_WORDS_ROOM], where[REPORT_WORDS_ROOM];
    term(out, "Thinnest wall");
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
        if (limit != NULL)
            html_format(out, "; the limit is %s mm", limit);
    } else {
        html_text(out, "no wall was seen");
    }
    fputs("</dd>\n", out);
}

static void tell_coverage(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known seen = results_number(r, "coverage.seen_percent");
    struct plyecho_known unseen = results_number(r, "coverage.largest_unseen_mm");
    struct plyecho_known unread = results_number(r, "coverage.places_unread");
    term(out, "What was read");
    html_format(out, "%zu places", r->places);
    if (unread.value > 0.0)
        html_format(out, ", %.0f of them without a reading", unread.value);
    if (seen.known)
        html_format(out, "; the beam was on %.0f %% of that surface", seen.value);
    else
        html_text(out, "; how much of the surface the beam saw is not known");
    if (unseen.known && unseen.value > 0.0)
        html_format(out, ", and a flaw of %.1f mm could lie unseen between them", unseen.value);
    fputs("</dd>\n", out);
}

static void tell_zero(const struct report *report, FILE *out)
{
    const char *mark = report_value(report, "part", "zero_mark");
    const char *turn = report_value(report, "part", "angle_direction");
    term(out, "Places count from");
    html_text(out,
              mark != NULL ? mark : "a mark that was not recorded: nobody can find them again");
    if (report->results.tube && turn != NULL)
        html_format(out, "; angles rise %s, looking the way axial mm rise", turn);
    fputs("</dd>\n", out);
}

void report_result(const struct report *report, FILE *out)
{
    size_t v = verdict_of(report);
    const char *doubts = results_text(&report->results, "procedure_doubts");
    fprintf(out, "<section class=\"verdict %s\" aria-labelledby=\"result\">\n",
            verdicts[v].class);
    fprintf(out, "<h2 id=\"result\"><span aria-hidden=\"true\">%s</span> Result: ",
            verdicts[v].mark);
    html_text(out, verdicts[v].word);
    fputs("</h2>\n<p class=\"plain\">", out);
    html_text(out, verdicts[v].plain);
    tell_limits(report, out);
    fputs("</p>\n<dl>\n", out);
    tell_worst(report, out);
    tell_wall(report, out);
    tell_coverage(report, out);
    tell_zero(report, out);
    if (doubts != NULL) {
        term(out, "Doubts about the set-up");
        html_text(out, doubts);
        fputs("</dd>\n", out);
    }
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
        fputs("<div class=\"wide\"><table><thead><tr><th scope=\"col\">State</th>"
              "<th scope=\"col\">Limit and reading</th></tr></thead><tbody>\n",
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
