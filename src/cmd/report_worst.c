/* The worst spot of the part, and how sure that is: of the first screen. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "html_out.h"
#include "report.h"

static const double per_mm = 1e3;

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
    if (isfinite(n->arc_u_m) && isfinite(n->along_u_m) && n->across < 360.0)
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

/* A flagged place that is no indication of its own, as where a declared layer is not as declared; or none. */
static size_t flagged_place(const struct results *r)
{
    size_t found = r->places;
    for (size_t i = 0; i < r->places; i++)
        if (r->reading[i].second_flagged &&
            (found == r->places || (plyecho_place_unread(&r->reading[found]) &&
                                    !plyecho_place_unread(&r->reading[i]))))
            found = i;
    return found;
}

/* How sure it is that there is nothing: the least sure place, and the room above the limit. */
static void tell_soundness(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known least = results_number(r, "wall.least_mm");
    struct plyecho_known u = results_number(r, "wall.least_u_mm");
    const char *limit = report_value(report, "acceptance", "least_mm");
    size_t sound = 0;
    double odds = INFINITY;
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        if (!p->read || p->second_flagged)
            continue;
        sound++;
        if (p->verdict == p->second && p->evidence_ratio > 0.0)
            odds = fmin(odds, p->evidence_ratio);
    }
    html_format(out, "%zu of %zu places are not flagged", sound, r->places);
    if (isfinite(odds))
        html_format(out,
                    ", the least sure of them by %.1f to 1 against the next best explanation",
                    odds);
    double room = limit != NULL ? least.value - strtod(limit, NULL) : NAN;
    if (least.known && u.known && u.value > 0.0 && room > 0.0)
        html_format(out,
                    "; the thinnest wall is above its limit by %.0f times its standard "
                    "uncertainty",
                    room / u.value);
    html_text(out, ".");
}

static void tell_no_indication(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    size_t place = flagged_place(r);
    char words[REPORT_WORDS_ROOM];
    if (place == r->places) {
        html_text(out, "None: nothing reportable was found where it was read.");
    } else {
        const struct plyecho_place_reading *p = &r->reading[place];
        fputs("<strong>", out);
        html_text(out, plyecho_verdict_word(p->read ? p->second : PLYECHO_UNREADABLE));
        fputs("</strong> ", out);
        html_format(out, "at %s. %s", report_place(r, &p->place, words),
                    report_kind_words(p->read ? p->second : PLYECHO_UNREADABLE));
        if (r->member[place] > 0)
            html_format(out,
                        " It lies in indication %zu, which the procedure declares, but is not "
                        "as declared.",
                        r->member[place]);
    }
    fputs("</dd>\n", out);
    html_term(out, "How sure");
    tell_soundness(report, out);
    fputs("</dd>\n", out);
}

void report_worst_spot(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    char words[REPORT_WORDS_ROOM];
    size_t worst = report_worst(r);
    html_term(out, "Worst spot");
    if (worst == r->indications) {
        tell_no_indication(report, out);
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
    html_term(out, "How sure");
    tell_sureness(r, worst, out);
    fputs("</dd>\n", out);
}
