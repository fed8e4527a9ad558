/* A comparison in time as a page for a person. */
#include "compare_time.h"

#include <math.h>

#include "utf8.h"

static const double per_mm = 1e3;

static void print_scan(const char *which, const struct compare_scan *s, FILE *out)
{
    const char *date = results_setting(&s->results, "inspection", "date");
    const char *verdict = results_text(&s->results, "part_verdict");
    fprintf(out, "  %s ", which);
    utf8_put(out, s->folder, UTF8_PLAIN);
    if (date != NULL) {
        fputs(", ", out);
        utf8_put(out, date, UTF8_PLAIN);
    }
    fputs(": ", out);
    utf8_put(out, verdict != NULL ? verdict : "no verdict", UTF8_PLAIN);
    fprintf(out, ", %zu places\n", s->results.places);
}

static void print_alignment(const struct compare_time *c, FILE *out)
{
    char words[COMPARE_WORDS_ROOM];
    const char *mark = results_setting(&c->after->results, "part", "zero_mark");
    fputs("zero mark: ", out);
    if (mark != NULL)
        utf8_put(out, mark, UTF8_PLAIN);
    else
        fputs("none is stated", out);
    fprintf(out, "; %s\n", compare_time_alignment_words(c, words));
}

/* ---- walls ---- */

static void print_shift(const struct plyecho_wall_changes *w, FILE *out)
{
    fprintf(out, "walls: %zu compared; all together %+.3f mm", w->compared,
            w->median_m.value * per_mm);
    if (!w->shift_u_m.known)
        fputs(" (u not known)", out);
    else
        fprintf(out, " (u at most %.3f mm): %s", w->shift_u_m.value * per_mm,
                w->shifted
                    ? "beyond the uncertainty; a velocity or zero that changed moves all "
                      "walls, and so does wear"
                    : "within the uncertainty");
    if (w->spread_m.known)
        fprintf(out, "; about that they scatter by %.3f mm", w->spread_m.value * per_mm);
    fputs("\n", out);
}

static void print_wall(const struct compare_time *c, size_t i, FILE *out)
{
    char place[PLYECHO_PLACE_ROOM];
    const struct plyecho_place_reading *a = &c->before->results.reading[i],
                                       *b = &c->after->results.reading[c->after_of[i]];
    const struct plyecho_wall_change *w = &c->wall[i];
    fprintf(out, "  %-10s %s: %.3f to %.3f mm (%+.3f, u %.3f)\n",
            plyecho_wall_change_word(w->state),
            plyecho_place_words(c->before->results.tube, &a->place, place),
            a->second_wall_m.value * per_mm, b->second_wall_m.value * per_mm,
            w->difference_m * per_mm, w->u_m.value * per_mm);
}

static bool is_changed(const struct plyecho_wall_change *w)
{
    return w->state >= PLYECHO_WALL_STANDS_OUT;
}

static void print_walls(const struct compare_time *c, FILE *out)
{
    enum { MOST = 20 };
    const struct plyecho_wall_changes *w = &c->walls;
    size_t shown = 0;
    if (w->compared == 0) {
        fputs("walls: no place has one in both scans\n", out);
        return;
    }
    print_shift(w, out);
    if (w->judged < w->compared)
        fprintf(out,
                "  %zu not judged: an uncertainty is not known; state velocity_u_m_s in the "
                "procedure and scan again\n",
                w->compared - w->judged);
    fprintf(
        out,
        "  %zu thinner, %zu thicker by more than %.2f times their uncertainty; %zu within it "
        "stand out of the scatter by as much\n",
        w->thinner, w->thicker, w->factor, w->standing_out);
    for (size_t i = 0; i < c->before->results.places; i++)
        if (is_changed(&c->wall[i]) && shown++ < MOST)
            print_wall(c, i, out);
    if (shown > MOST)
        fprintf(out, "  and %zu more: --format csv has them all\n", shown - MOST);
}

/* ---- indications ---- */

static void print_indication(const struct compare_time *c,
                             const struct plyecho_indication_change *change, FILE *out)
{
    char extent[COMPARE_EXTENT_ROOM], words[COMPARE_WORDS_ROOM];
    const struct plyecho_indication *n = compare_time_shown(c, change);
    fprintf(out, "  %-14s %-13s %s", plyecho_indication_state_word(change->state),
            plyecho_verdict_word(n->kind), compare_extent(c->before->results.tube, n, extent));
    if (isfinite(n->least_depth_m))
        fprintf(out, ", %.2f mm deep", n->least_depth_m * per_mm);
    if (n->declared)
        fputs(", declared", out);
    compare_time_indication_words(c, change, words);
    if (words[0] != '\0')
        fprintf(out, "; %s", words);
    fputs("\n", out);
}

/* What to act on comes first. */
static void print_indications(const struct compare_time *c, FILE *out)
{
    enum { MOST = 40 };
    size_t shown = 0;
    if (c->indications == 0) {
        fputs("indications: none in either scan\n", out);
        return;
    }
    fputs("indications:\n", out);
    for (int flagged = 1; flagged >= 0; flagged--)
        for (size_t i = 0; i < c->indications; i++)
            if (compare_time_indication_flagged(c, &c->indication[i]) == (flagged == 1) &&
                shown++ < MOST)
                print_indication(c, &c->indication[i], out);
    if (shown > MOST)
        fprintf(out, "  and %zu more: --format csv has them all\n", shown - MOST);
}

void compare_time_print(const struct compare_time *c, FILE *out)
{
    compare_put_name(c->after, out);
    fputs(compare_time_flagged(c) ? ": changed, or in doubt\n" : ": no change seen\n", out);
    print_scan("before", c->before, out);
    print_scan("after ", c->after, out);
    fprintf(out, "places: %zu in both, %zu only before, %zu only after\n", c->matched,
            c->before->results.places - c->matched, c->after->results.places - c->matched);
    print_alignment(c, out);
    print_indications(c, out);
    print_walls(c, out);
    fprintf(out, "%s\n", compare_cautions);
}
