/* Each indication: what it is, how large, what speaks for it. And the places that are flagged. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "html_out.h"
#include "memory.h"
#include "report.h"

static const double per_mm = 1e3, per_mm2 = 1e6;

/* As many as anyone reads on a page; all are in the tables of the folder. */
enum { INDICATIONS_MOST = 60, PLACES_MOST = 200 };

static const char *const context_words[PLYECHO_CONTEXT_COUNT] = {
    [PLYECHO_CONTEXT_SHADOW] =
        "The wall around is whole and does not lead down to this, or the layer around is not "
        "reached here: a delamination over the whole beam.",
    [PLYECHO_CONTEXT_THIN] = "The wall around falls to it step by step: a thin wall.",
    [PLYECHO_CONTEXT_EDGE] = "An indication next to it, at this depth, reaches into the beam.",
    [PLYECHO_CONTEXT_LAMINATE] =
        "Nothing inside stands higher than at the sound places: the laminate itself.",
    [PLYECHO_CONTEXT_WEAK] = "The back wall is far weaker than at the sound places.",
    [PLYECHO_CONTEXT_STEP] =
        "A layer ends here: beside this place the wall has its back at this depth.",
    [PLYECHO_CONTEXT_AROUND] =
        "The interface and wall of the neighbours, or of the places that are as declared, account "
        "for what is seen here.",
    [PLYECHO_CONTEXT_SHORT] =
        "Short of the wall around, but a thin wall as well as a shadow can be so.",
    [PLYECHO_CONTEXT_ALONE] =
        "No neighbour shows anything of it: couple again and read it again.",
};

/* ---- one indication ---- */

static void extent_row(FILE *out, const char *name, double extent_m, double u_m)
{
    char text[REPORT_WORDS_ROOM];
    if (isfinite(u_m) && u_m > 0.0)
        snprintf(text, sizeof text, "%.1f mm \302\261 %.1f mm (k = 2)", extent_m * per_mm,
                 2.0 * u_m * per_mm);
    else
        snprintf(text, sizeof text, "%.1f mm", extent_m * per_mm);
    if (isfinite(extent_m))
        html_row(out, name, text);
}

static void round_row(const struct results *r, const struct plyecho_indication *n, FILE *out)
{
    char text[REPORT_WORDS_ROOM];
    double scale = r->tube ? 1.0 : per_mm;
    if (n->across >= 360.0 && r->tube)
        snprintf(text, sizeof text, "all round");
    else if (!isfinite(n->across) && n->from_across == n->to_across)
        snprintf(text, sizeof text, "at %.1f %s, extent not known", n->from_across * scale,
                 r->tube ? "deg" : "mm");
    else
        snprintf(text, sizeof text, "%.1f to %.1f %s", n->from_across * scale,
                 n->to_across * scale, r->tube ? "deg" : "mm");
    html_row(out, r->tube ? "Round the tube" : "Across, x", text);
    extent_row(out, r->tube ? "Extent round, as an arc at its depth" : "Extent in x", n->arc_m,
               n->across >= 360.0 ? 0.0 : n->arc_u_m);
    if (isfinite(n->along_m))
        snprintf(text, sizeof text, "%.1f to %.1f mm", n->from_along_m * per_mm,
                 n->to_along_m * per_mm);
    else
        snprintf(text, sizeof text, "at %.1f mm, extent not known", n->from_along_m * per_mm);
    html_row(out, r->tube ? "Along the tube" : "Along, y", text);
    extent_row(out, r->tube ? "Extent along" : "Extent in y", n->along_m, n->along_u_m);
}

static void number_row(FILE *out, const char *name, double value, int decimals,
                       const char *unit)
{
    char text[REPORT_WORDS_ROOM];
    if (!isfinite(value))
        return;
    snprintf(text, sizeof text, "%.*f %s", decimals, value, unit);
    html_row(out, name, text);
}

static void size_table(const struct results *r, size_t i, FILE *out)
{
    const struct plyecho_indication *n = &r->indication[i];
    const struct plyecho_place_reading *p = &r->reading[n->worst];
    char text[REPORT_WORDS_ROOM];
    snprintf(text, sizeof text, "Indication %zu: where and how large", i + 1);
    html_table_begin(out, text);
    round_row(r, n, out);
    number_row(out, "Area", n->area_m2 * per_mm2, 0, "mm\302\262");
    if (isfinite(n->least_depth_m))
        html_row(out, "Depth, from the wall's front", report_depth(n, text));
    html_row(out, "Worst place", report_place(r, &p->place, text));
    const char *db = plyecho_rows_text(r->found, i, plyecho_rows_find(r->found, "worst_db"));
    if (db[0] != '\0') {
        snprintf(text, sizeof text, "%.20s dB against a full reflector at that depth", db);
        html_row(out, "Strongest echo", text);
    }
    if (n->least_wall_m.known)
        html_row(out, "Thinnest wall", report_wall(p->second_wall_m, p->second_wall_u_m, text));
    snprintf(text, sizeof text, "%zu", n->places);
    html_row(out, "Places that belong to it", text);
    if (n->next_m.known)
        number_row(out, "To the next indication", n->next_m.value * per_mm, 1, "mm");
    html_table_end(out);
}

static const json_t *summary_of(const struct report *report, size_t i)
{
    return json_array_get(json_object_get(report->results.summary, "indications"), i);
}

static void write_evidence(const struct report *report, size_t i, FILE *out)
{
    const struct results *r = &report->results;
    const struct plyecho_place_reading *p = &r->reading[r->indication[i].worst];
    const json_t *s = summary_of(report, i);
    if (context_words[p->context] != NULL) {
        fputs("<p>What its neighbours tell: ", out);
        html_text(out, context_words[p->context]);
        if (p->verdict != p->second)
            html_format(out, " The trace alone reads %s, and is overruled by that.",
                        plyecho_verdict_word(p->verdict));
        fputs("</p>\n", out);
    }
    html_element(out, "p", "What the trace of the worst place tells by itself:");
    html_lines(out, "evidence", json_string_value(json_object_get(s, "evidence_of_trace")));
    const char *file = json_string_value(json_object_get(s, "file"));
    if (file != NULL) {
        fputs("<p>Trace: ", out);
        html_format(out, "%s, channel %.0f", file,
                    json_number_value(json_object_get(s, "channel")));
        fputs("</p>\n", out);
    }
}

static void write_flags(const struct plyecho_indication *n, FILE *out)
{
    if (n->declared)
        html_element(out, "p", "It is as the procedure declares under [layers].");
    if (n->open_ended)
        html_element(out, "p", "It reaches the end of what was read, and may go on there.");
    if (n->within_beam)
        html_element(out, "p", REPORT_WITHIN_BEAM);
    if (n->seam_like)
        html_element(out, "p",
                     "It is narrow and runs along nearly all that was read, as a seam does.");
}

static void write_indication(const struct report *report, size_t i, FILE *out)
{
    const struct results *r = &report->results;
    const struct plyecho_indication *n = &r->indication[i];
    char title[REPORT_WORDS_ROOM + 64], words[REPORT_WORDS_ROOM], id[32];
    snprintf(title, sizeof title, "%zu: %s, %s", i + 1, plyecho_verdict_word(n->kind),
             report_size(r, n, words));
    snprintf(id, sizeof id, "indication-%zu", i + 1);
    fputs("<article>\n", out);
    html_heading(out, 3, id, title);
    html_element(out, "p", report_kind_words(n->kind));
    write_flags(n, out);
    size_table(r, i, out);
    report_a_scan(report, i, out);
    write_evidence(report, i, out);
    fputs("</article>\n", out);
}

/* ---- the flagged places ---- */

static void cell(FILE *out, const char *text)
{
    fputs("<td>", out);
    html_text(out, text);
    fputs("</td>", out);
}

/* No more digits than a reading has; all of them are in readings.csv. */
static void number_cell(FILE *out, struct plyecho_known number, int decimals)
{
    char text[REPORT_WORDS_ROOM] = "";
    if (number.known)
        snprintf(text, sizeof text, "%.*f", decimals, number.value * per_mm);
    cell(out, text);
}

static void place_row(const struct results *r, size_t i, FILE *out)
{
    const struct plyecho_place_reading *p = &r->reading[i];
    const struct plyecho_known depth_m = {
        !plyecho_place_unread(p) && plyecho_verdict_has_echo(p->second), p->second_depth_m};
    char words[REPORT_WORDS_ROOM];
    fputs("<tr><th scope=\"row\">", out);
    html_text(out, report_place(r, &p->place, words));
    fputs("</th>", out);
    cell(out, plyecho_verdict_word(p->verdict));
    cell(out, plyecho_verdict_word(p->second));
    number_cell(out, p->second_wall_m, 3);
    number_cell(out, report_shown_u(p->second_wall_u_m), 3);
    number_cell(out, depth_m, 2);
    snprintf(words, sizeof words, "%zu", r->member[i]);
    cell(out, r->member[i] > 0 ? words : "");
    fputs("</tr>\n", out);
}

static void write_places(const struct results *r, FILE *out)
{
    size_t shown = 0, flagged = 0;
    for (size_t i = 0; i < r->places; i++)
        flagged += r->reading[i].second_flagged;
    if (flagged == 0)
        return;
    html_heading(out, 3, "places", "Every place that is flagged");
    fputs("<div class=\"wide\"><table class=\"long\" aria-labelledby=\"places\"><thead><tr>"
          "<th scope=\"col\">Place</th><th scope=\"col\">Its trace alone</th>"
          "<th scope=\"col\">With its neighbours</th><th scope=\"col\">Wall, mm</th>"
          "<th scope=\"col\">Standard uncertainty, mm</th><th scope=\"col\">Depth, mm</th>"
          "<th scope=\"col\">Indication</th></tr></thead><tbody>\n",
          out);
    for (size_t i = 0; i < r->places && shown < PLACES_MOST; i++)
        if (r->reading[i].second_flagged) {
            place_row(r, i, out);
            shown++;
        }
    html_table_end(out);
    if (flagged > shown) {
        fputs("<p>", out);
        html_format(out, "And %zu more, in readings.csv of the scan.", flagged - shown);
        fputs("</p>\n", out);
    }
}

void report_indications(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    fputs("<section aria-labelledby=\"indications\">\n", out);
    html_heading(out, 2, "indications", "Indications");
    if (r->indications == 0)
        html_element(out, "p",
                     "None: nothing reportable was found at the places that were read.");
    for (size_t i = 0; i < r->indications && i < INDICATIONS_MOST; i++)
        write_indication(report, report->order[i], out);
    if (r->indications > INDICATIONS_MOST) {
        fputs("<p>", out);
        html_format(out, "And %zu more, in indications.csv of the scan.",
                    r->indications - INDICATIONS_MOST);
        fputs("</p>\n", out);
    }
    write_places(r, out);
    fputs("</section>\n", out);
}
