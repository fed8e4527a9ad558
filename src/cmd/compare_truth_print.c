/* Readings against a truth as a page for a person. */
#include "compare_truth.h"

#include <math.h>

#include "utf8.h"

static const double per_mm = 1e3, per_percent = 1e2;

enum { MOST = 20 };

static void print_place(const struct truth *t, const struct truth_row *row, FILE *out)
{
    char place[PLYECHO_PLACE_ROOM];
    fprintf(out, "line %ld, %s", row->line,
            plyecho_place_words(t->scan->results.tube, &row->place, place));
}

static void print_head(const struct truth *t, FILE *out)
{
    size_t shown = 0;
    compare_put_name(t->scan, out);
    fprintf(out, ": %zu of %zu places of ", t->scanned, t->count);
    utf8_put(out, t->file, UTF8_PLAIN);
    fputs(" were scanned\n", out);
    for (size_t i = 0; i < t->count; i++) {
        if (t->row[i].at != PLYECHO_NO_PLACE || shown++ >= MOST)
            continue;
        fputs("  not scanned: ", out);
        print_place(t, &t->row[i], out);
        fputs("\n", out);
    }
    if (shown > MOST)
        fprintf(out, "  and %zu more: --format csv has them all\n", shown - MOST);
}

static void print_share(const struct plyecho_share *s, FILE *out)
{
    fprintf(out, "%zu of %zu (95 %%: %.0f to %.0f %%)", s->hits, s->count,
            s->interval_95.least * per_percent, s->interval_95.most * per_percent);
}

static void print_agreement(const struct plyecho_agreement *a, FILE *out)
{
    fprintf(out, "%zu compared, bias %+.3f mm", a->count, a->bias * per_mm);
    if (!a->spread_known) {
        fputs("; more places, which differ, would tell how far readings scatter\n", out);
        return;
    }
    fprintf(out,
            " (95 %%: %+.3f to %+.3f), spread %.3f mm\n"
            "  limits of agreement %+.3f mm (95 %%: %+.3f to %+.3f) and %+.3f mm (%+.3f to "
            "%+.3f)\n",
            a->bias_95.least * per_mm, a->bias_95.most * per_mm, a->spread * per_mm,
            a->lower * per_mm, a->lower_95.least * per_mm, a->lower_95.most * per_mm,
            a->upper * per_mm, a->upper_95.least * per_mm, a->upper_95.most * per_mm);
}

static void print_off(const struct truth *t, FILE *out)
{
    size_t shown = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct truth_row *row = &t->row[i];
        if (truth_wall_agrees(row) || shown++ >= MOST)
            continue;
        fputs("  off: ", out);
        print_place(t, row, out);
        fprintf(out, ": %+.3f mm (u %.3f mm), read as %s\n", row->difference_m.value * per_mm,
                row->difference_u_m.value * per_mm,
                plyecho_verdict_word(t->scan->results.reading[row->at].second));
    }
    if (shown > MOST)
        fprintf(out, "  and %zu more: --format csv has them all\n", shown - MOST);
}

static void print_walls(const struct truth *t, FILE *out)
{
    if (t->wall.count + t->no_wall == 0)
        return;
    fputs("walls, reading less truth: ", out);
    if (t->wall.count > 0)
        print_agreement(&t->wall, out);
    else
        fputs("none compared\n", out);
    if (t->no_wall > 0)
        fprintf(out, "  at %zu measured places the scan tells no wall\n", t->no_wall);
    if (t->wall_within.count < t->wall.count)
        fprintf(out, "  %zu not judged: their uncertainty is not known\n",
                t->wall.count - t->wall_within.count);
    if (t->exact > 0)
        fprintf(out, "  %zu measured without thickness_u_mm: taken as exact\n", t->exact);
    if (t->wall_within.count == 0)
        return;
    fputs("  within twice their uncertainty: ", out);
    print_share(&t->wall_within, out);
    fputs(truth_walls_flagged(t) ? ": the readings' uncertainty does not account for it\n"
                                 : ", 95 % expected\n",
          out);
    print_off(t, out);
}

static void print_calls(const struct truth *t, FILE *out)
{
    size_t shown = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct truth_row *row = &t->row[i];
        if (!truth_cut_flagged(row) || shown++ >= MOST)
            continue;
        fprintf(out, "  %s: ",
                truth_depth_agrees(row) ? truth_call_word(row->call) : "at another depth");
        print_place(t, row, out);
        fprintf(out, ": read as %s",
                plyecho_verdict_word(t->scan->results.reading[row->at].second));
        if (row->depth_difference_m.known)
            fprintf(out, " %.2f mm deep, cut at %.2f mm",
                    (row->depth_m + row->depth_difference_m.value) * per_mm,
                    row->depth_m * per_mm);
        fputs("\n", out);
    }
    if (shown > MOST)
        fprintf(out, "  and %zu more: --format csv has them all\n", shown - MOST);
}

static void print_cuts(const struct truth *t, FILE *out)
{
    if (t->found.count + t->false_calls.count + t->not_read == 0)
        return;
    fputs("delaminations cut: found ", out);
    print_share(&t->found, out);
    fprintf(out, ", %zu missed, %zu only flagged; false calls ", t->missed, t->only_flagged);
    print_share(&t->false_calls, out);
    if (t->not_read > 0)
        fprintf(out, "; %zu not read", t->not_read);
    fputs("\n", out);
    print_calls(t, out);
    if (t->depth.count == 0)
        return;
    fputs("depths, reading less truth: ", out);
    print_agreement(&t->depth, out);
    if (t->depth_within.count == 0)
        fputs("  not judged: their uncertainty is not known; --depth-tolerance gives a limit\n",
              out);
    else {
        fputs("  within their limit: ", out);
        print_share(&t->depth_within, out);
        fputs("\n", out);
    }
}

void truth_print(const struct truth *t, FILE *out)
{
    print_head(t, out);
    print_walls(t, out);
    print_cuts(t, out);
    if (t->scan->results.tube && t->wall.count > 0)
        fputs(
            "A flat anvil over-reads a tube's wall by some tenths of a millimetre: a bias below "
            "zero of that size may be the micrometer's. Use a ball or pin anvil.\n",
            out);
    fprintf(out, "%s\n", compare_cautions);
}
