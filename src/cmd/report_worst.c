/* The worst spot of the part, and how sure that is: of the first screen. */
#include <config.h>

#include <math.h>
#include <string.h>

#include <plyecho/number.h>

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

static void tell_own(const struct results *r, size_t worst, FILE *out)
{
    const struct plyecho_indication *n = &r->indication[worst];
    const struct plyecho_place_reading *p = &r->reading[n->worst];
    size_t all, own;
    count_own(r, worst, &all, &own);
    if (own == 0)
        html_text(out, "No trace says so by itself; the places around do");
    else if (all == 1)
        html_text(out, "Its only place says so by its own trace");
    else
        html_format(out, "%zu of its %zu places say so by their own trace", own, all);
    if (p->verdict == n->kind && p->evidence_ratio > 0.0)
        html_format(out, ", where it is worst %.4g to 1 against the next best explanation%s",
                    p->evidence_ratio,
                    p->evidence_ratio >= 1000.0 ? " (more is never claimed)" : "");
    html_text(out, ". ");
}

static void tell_size(const struct results *r, const struct plyecho_indication *n, FILE *out)
{
    bool round = n->arc_u_m > 0.0 && !(r->tube && n->across >= 360.0),
         along = n->along_u_m > 0.0;
    if (round || along)
        html_text(out, "As the places are spaced its size is known to");
    if (round)
        html_format(out, " \302\261%.1f mm %s", 2.0 * n->arc_u_m * per_mm,
                    r->tube ? "round" : "in x");
    html_text(out, round && along ? " and" : "");
    if (along)
        html_format(out, " \302\261%.1f mm %s", 2.0 * n->along_u_m * per_mm,
                    r->tube ? "along" : "in y");
    html_text(out, round || along ? " (k = 2). " : "");
    if (n->open_ended)
        html_text(out, "It reaches the end of what was read, and may go on. ");
    if (n->within_beam)
        html_text(out, REPORT_WITHIN_BEAM " ");
}

static void tell_sureness(const struct results *r, size_t worst, FILE *out)
{
    const struct plyecho_indication *n = &r->indication[worst];
    const struct plyecho_place_reading *p = &r->reading[n->worst];
    char words[REPORT_WORDS_ROOM];
    if (n->kind == PLYECHO_THIN)
        html_format(
            out, "The wall there is %s.%s ",
            report_wall(p->second_wall_m, p->second_wall_u_m, words),
            p->verdict == n->kind
                ? ""
                : " That it is the wall and no delamination is told by the wall around, "
                  "which leads down to it.");
    tell_own(r, worst, out);
    tell_size(r, n, out);
}

static void tell_odds(const struct results *r, FILE *out)
{
    size_t sound = 0, by_neighbours = 0;
    double odds = INFINITY;
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        if (!p->read || p->second_flagged)
            continue;
        sound++;
        if (p->verdict != p->second || !(p->evidence_ratio > 0.0))
            by_neighbours++;
        else
            odds = fmin(odds, p->evidence_ratio);
    }
    html_format(out, "%zu of %zu place%s %s not flagged", sound, r->places,
                r->places == 1 ? "" : "s", sound == 1 ? "is" : "are");
    if (by_neighbours > 0)
        html_format(out, ", %zu of them on the word of their neighbours only", by_neighbours);
    if (isfinite(odds))
        html_format(
            out,
            "; by its own trace the least sure of %s stands %.4g to 1 against the next best "
            "explanation of that trace. These are no odds that the part is sound",
            by_neighbours > 0 ? "the others" : "them", odds);
    html_text(out, ". ");
}

/* The least wall against its limit, in standard uncertainties, rounded down. */
static void tell_room(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    struct plyecho_known least = results_number(r, "wall.least_mm");
    struct plyecho_known u = results_number(r, "wall.least_u_mm"), limit = {false, 0.0};
    const char *text = report_value(report, "acceptance", "least_mm");
    limit.known = text != NULL &&
                  plyecho_number_scan(text, strlen(text), '.', &limit.value) == strlen(text);
    if (!limit.known || !least.known || !u.known || !(u.value > 0.0) ||
        least.value < limit.value)
        return;
    double times = floor(10.0 * (least.value - limit.value) / u.value) / 10.0;
    html_format(out,
                "The thinnest wall is above its limit by %.1f times its standard "
                "uncertainty%s. ",
                times, times < 2.0 ? ", less than the 2 that it takes" : "");
}

static void tell_doubt(const struct report *report, FILE *out)
{
    if (results_text(&report->results, "procedure_doubts") != NULL ||
        report->checked.failed != NULL)
        html_text(out, "Only as sure as the set-up, which is in doubt: what follows does not "
                       "count that. ");
}

/* How sure it is that there is nothing. */
static void tell_soundness(const struct report *report, FILE *out)
{
    tell_doubt(report, out);
    tell_odds(&report->results, out);
    tell_room(report, out);
}

static const char *flagged_words(const struct plyecho_place_reading *p)
{
    if (!p->read)
        return report_kind_words(PLYECHO_UNREADABLE);
    return p->second == PLYECHO_NO_INDICATION
               ? "Its own trace is in doubt, though the places around it are sound: read it "
                 "again."
               : report_kind_words(p->second);
}

static void tell_no_indication(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    size_t place = report_flagged_place(r);
    char words[REPORT_WORDS_ROOM];
    if (place == r->places) {
        html_text(out, "None: nothing reportable was found where it was read.");
    } else {
        const struct plyecho_place_reading *p = &r->reading[place];
        fputs("<strong>", out);
        html_text(out, !p->read                             ? "not read"
                       : p->second == PLYECHO_NO_INDICATION ? "in doubt"
                                                            : plyecho_verdict_word(p->second));
        fputs("</strong> ", out);
        html_format(out, "at %s. %s", report_place(r, &p->place, words), flagged_words(p));
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
    size_t worst = report_worst(report);
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
    tell_doubt(report, out);
    tell_sureness(r, worst, out);
    fputs("</dd>\n", out);
}
