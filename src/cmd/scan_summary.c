#include <config.h>

#include "scan_summary.h"

#include <math.h>
#include <string.h>

#include <plyecho/procedure_keys.h>
#include <plyecho/walls.h>

#include "json_out.h"
#include "scan_axes.h"
#include "scan_procedure.h"
#include "table.h"
#include "utf8.h"

static const double per_mm = 1e3, per_mm2 = 1e6, per_percent = 1e2;

/* ---- counts ---- */

struct counts {
    size_t raw[PLYECHO_VERDICT_COUNT], second[PLYECHO_VERDICT_COUNT];
    size_t not_read, flagged;
};

static struct counts count_places(const struct scan_results *r)
{
    struct counts c = {.not_read = 0};
    for (size_t i = 0; i < r->places.count; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        c.flagged += !p->read || p->second_flagged;
        c.not_read += !p->read;
        if (!p->read)
            continue;
        c.raw[p->verdict]++;
        c.second[p->second]++;
    }
    return c;
}

/* ---- json ---- */

static void write_verdicts(struct json_out *j, const char *name, const size_t *counts)
{
    json_open(j, name, '{');
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++)
        json_number(j, plyecho_verdict_word((enum plyecho_verdict)v), (double)counts[v]);
    json_close(j);
}

static void write_axis(struct json_out *j, const char *before, const struct scan_axis *axis,
                       double coordinate)
{
    char name[40];
    snprintf(name, sizeof name, "%s%s", before, axis->name);
    json_number(j, name, scan_axis_number(axis, coordinate));
}

/* before: what the fields' names begin with. */
static void write_place(struct json_out *j, const char *before, const struct scan_results *r,
                        const struct plyecho_place *place)
{
    const struct scan_axes *axes = scan_axes_of(r->manifest->tube);
    write_axis(j, before, &axes->across, place->across);
    write_axis(j, before, &axes->along, place->along);
}

static void write_counts(struct json_out *j, const struct scan_results *r)
{
    struct counts c = count_places(r);
    json_open(j, "counts", '{');
    json_number(j, "places", (double)r->places.count);
    json_number(j, "shots", (double)r->manifest->count);
    json_number(j, "not_read", (double)c.not_read);
    json_number(j, "flagged", (double)c.flagged);
    json_number(j, "indications", (double)r->indications);
    write_verdicts(j, "verdicts", c.raw);
    write_verdicts(j, "second_verdicts", c.second);
    json_close(j);
}

static void write_wall(struct json_out *j, const struct scan_results *r)
{
    struct plyecho_walls w = plyecho_walls_take(r->reading, r->places.count);
    const struct plyecho_place_reading *least = &r->reading[w.least];
    json_open(j, "wall", '{');
    json_number(j, "places", (double)w.count);
    json_number(j, "mean_mm", w.count > 0 ? w.mean_m * per_mm : NAN);
    json_known(j, "spread_mm", w.spread_m, per_mm);
    json_number(j, "mean_off_nominal_mm", w.about_nominal ? w.mean_off_m * per_mm : NAN);
    json_known(j, "spread_about_nominal_mm", w.spread_about_m, per_mm);
    if (w.count > 0) {
        json_known(j, "least_mm", least->second_wall_m, per_mm);
        json_known(j, "least_u_mm", least->second_wall_u_m, per_mm);
        write_place(j, "", r, &least->place);
    }
    json_close(j);
}

static void write_coverage(struct json_out *j, const struct scan_results *r)
{
    const struct plyecho_coverage *c = &r->coverage;
    json_open(j, "coverage", '{');
    json_known(j, "beam_mm", r->beam_m, per_mm);
    json_known(j, r->manifest->tube ? "pitch_arc_mm" : "pitch_x_mm", c->pitch_across_m, per_mm);
    json_known(j, r->manifest->tube ? "pitch_axial_mm" : "pitch_y_mm", c->pitch_along_m,
               per_mm);
    json_number(j, "places_read", (double)c->read);
    json_number(j, "places_unread", (double)c->unread);
    json_number(j, "area_mm2", c->area_m2 * per_mm2);
    json_known(j, "seen_percent", c->share, per_percent);
    json_known(j, "largest_unseen_mm", c->unseen_m, per_mm);
    if (c->unseen_m.known)
        write_place(j, "unseen_", r, &c->unseen_at);
    json_close(j);
}

/* Stretches without a reading: coupling lost, or traces missing. */
static void write_stretches(struct json_out *j, const struct scan_results *r)
{
    json_open(j, "unread_stretches", '[');
    for (size_t k = 0; k < r->stretches; k++) {
        const struct scan_stretch *s = &r->stretch[k];
        json_open(j, NULL, '{');
        json_number(j, "places", (double)s->places);
        write_place(j, "", r, &r->reading[s->first].place);
        json_close(j);
    }
    json_close(j);
}

static void write_sound(struct json_out *j, const struct scan_results *r)
{
    json_open(j, "sound_places", '{');
    json_number(j, "count", (double)r->sound.count);
    json_known(j, "level", r->sound.level, 1.0);
    json_known(j, "back_wall_db", r->sound.balance_db, 1.0);
    json_known(j, "wall_mm", r->sound.wall_m, per_mm);
    json_close(j);
}

static void write_acceptance(struct json_out *j, const struct plyecho_acceptance *a)
{
    json_text(j, "part_verdict", plyecho_part_verdict_word(a->verdict));
    json_open(j, "limits", '[');
    for (size_t k = 0; k < a->count; k++) {
        const struct plyecho_limit *limit = &a->limit[k];
        json_open(j, NULL, '{');
        json_text(j, "key", limit->key);
        json_known(j, "limit", limit->limit, 1.0);
        json_known(j, "reading", limit->reading, 1.0);
        json_text(j, "state", plyecho_limit_state_word(limit->state));
        json_text(j, "words", limit->words);
        json_close(j);
    }
    json_close(j);
}

static void write_indications(struct json_out *j, const struct scan_results *r,
                              char *const *evidence)
{
    json_open(j, "indications", '[');
    for (size_t i = 0; i < r->indications; i++) {
        const struct plyecho_indication *n = &r->indication[i];
        const struct plyecho_shot *shot = &r->manifest->shot[r->best[n->worst]];
        json_open(j, NULL, '{');
        json_number(j, "number", (double)(i + 1));
        json_text(j, "kind", plyecho_verdict_word(n->kind));
        write_place(j, "", r, &r->reading[n->worst].place);
        json_text(j, "file", shot->file);
        json_number(j, "channel", (double)shot->channel);
        json_text(j, "context", plyecho_context_word(r->reading[n->worst].context));
        json_text(j, "evidence_of_trace", evidence[i]);
        json_close(j);
    }
    json_close(j);
}

static void write_pictures(struct json_out *j, const struct scan_pictures *pictures)
{
    json_open(j, "pictures", '[');
    for (size_t k = 0; k < pictures->count; k++) {
        json_open(j, NULL, '{');
        json_text(j, "name", pictures->name[k]);
        json_text(j, "digest", pictures->digest[k]);
        json_close(j);
    }
    json_close(j);
}

static void write_provenance(struct json_out *j, const struct scan_results *r,
                             const struct scan_about *about)
{
    const struct plyecho_procedure *p = r->procedure;
    char setup[PLYECHO_DIGEST_ROOM];
    json_number(j, "results_format", SCAN_RESULTS_FORMAT);
    json_text(j, "program", "plyecho " PACKAGE_VERSION);
    json_text(j, "part", p->part.name.value);
    json_text(j, "surface", r->manifest->tube ? "tube" : "plate");
    json_text(j, "zero_mark", p->part.zero_mark.value);
    json_text(j, "manifest", about->manifest_name);
    json_text(j, "manifest_digest", about->head->manifest);
    json_text(j, "procedure", about->procedure_name);
    json_text(j, "procedure_digest", p->digest[0] != '\0' ? p->digest : NULL);
    plyecho_procedure_setup_digest(p, setup);
    json_text(j, "setup_digest", setup);
    json_text(j, "readings_digest", about->readings_digest);
    json_text(j, "indications_digest", about->indications_digest);
    json_text(j, "options", about->options);
    json_text(j, "judged_on", about->judged_on);
    json_text(j, "procedure_doubts", about->doubts);
    json_text(j, "pulse_digest", about->head->pulse[0] != '\0' ? about->head->pulse : NULL);
    write_pictures(j, about->pictures);
}

static const char cautions[] =
    "A scan is a reading, not a clearance: cracks through the thickness, broken fibres and what "
    "lies under metal are not seen, and a surviving back wall does not prove a bond. Acceptance "
    "belongs to the part's maker, the governing code and qualified personnel.";

void scan_summary_write(const struct scan_results *r, const struct scan_about *about, FILE *out)
{
    struct json_out j;
    json_begin(&j, out);
    write_provenance(&j, r, about);
    write_acceptance(&j, &r->acceptance);
    write_counts(&j, r);
    write_wall(&j, r);
    write_coverage(&j, r);
    write_stretches(&j, r);
    write_sound(&j, r);
    write_indications(&j, r, about->evidence);
    scan_procedure_write(&j, r->procedure);
    json_text(&j, "cautions", cautions);
    json_end(&j);
}

/* ---- text ---- */

static void print_counts(const struct scan_results *r, FILE *out)
{
    struct counts c = count_places(r);
    const char *between = "";
    fprintf(out, "%zu places: ", r->places.count);
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++)
        if (c.second[v] > 0) {
            fprintf(out, "%s%zu %s", between, c.second[v],
                    plyecho_verdict_word((enum plyecho_verdict)v));
            between = ", ";
        }
    if (c.not_read > 0)
        fprintf(out, "%s%zu not read", between, c.not_read);
    fputs("\n", out);
}

static void print_place(const struct scan_results *r, const struct plyecho_place *place,
                        FILE *out)
{
    char words[PLYECHO_PLACE_ROOM];
    fputs(plyecho_place_words(r->manifest->tube, place, words), out);
}

static void print_stretches(const struct scan_results *r, FILE *out)
{
    const struct scan_stretch *longest = NULL;
    for (size_t k = 0; k < r->stretches; k++)
        if (longest == NULL || r->stretch[k].places > longest->places)
            longest = &r->stretch[k];
    if (longest == NULL)
        return;
    fprintf(out, "not read or unreadable: %zu stretch%s, the longest of %zu place%s from ",
            r->stretches, r->stretches > 1 ? "es" : "", longest->places,
            longest->places > 1 ? "s" : "");
    print_place(r, &r->reading[longest->first].place, out);
    fputs(" on\n", out);
}

static void print_wall(const struct scan_results *r, FILE *out)
{
    struct plyecho_walls w = plyecho_walls_take(r->reading, r->places.count);
    const struct plyecho_place_reading *least = &r->reading[w.least];
    if (w.count == 0) {
        fputs("wall: seen nowhere\n", out);
        return;
    }
    fprintf(out, "wall: mean %.3f mm", w.mean_m * per_mm);
    if (w.spread_m.known)
        fprintf(out, ", spread %.3f mm", w.spread_m.value * per_mm);
    if (w.about_nominal && w.spread_about_m.known)
        fprintf(out, "; off the nominal by %+.3f mm, spread %.3f mm", w.mean_off_m * per_mm,
                w.spread_about_m.value * per_mm);
    fprintf(out, "; least %.3f mm", least->second_wall_m.value * per_mm);
    if (least->second_wall_u_m.known)
        fprintf(out, " (u %.3f mm)", least->second_wall_u_m.value * per_mm);
    else
        fputs(" (u not known)", out);
    fputs(" at ", out);
    print_place(r, &least->place, out);
    fputs("\n", out);
}

static void print_coverage(const struct scan_results *r, FILE *out)
{
    const struct plyecho_coverage *c = &r->coverage;
    if (!c->share.known) {
        bool diameter = !r->manifest->tube || isfinite(r->grid->radius_m[0]);
        fprintf(out, "coverage: not known; %s\n",
                !r->beam_m.known
                    ? "the procedure needs beam_mm, or the probe's data, under [equipment]"
                : !diameter ? "the procedure needs diameter_mm under [part]"
                            : "the places form no lines round and along the part");
        return;
    }
    fprintf(out, "coverage: %.0f %% within the beam of %.2g mm", c->share.value * per_percent,
            r->beam_m.value * per_mm);
    if (c->unseen_m.known && c->unseen_m.value > 0.0)
        fprintf(out, "; a flaw of %.1f mm could lie unseen", c->unseen_m.value * per_mm);
    fputs("\n", out);
}

/* From and to, or the one place that is known. */
static void print_extent(const char *before, double extent, double from, double to, int width,
                         const char *unit, FILE *out)
{
    if (isfinite(extent))
        fprintf(out, "%s%6.1f to %*.1f%s", before, from, width, to, unit);
    else
        fprintf(out, "%s%6.1f%s, extent not known", before, from, unit);
}

static void print_indication(const struct scan_results *r, size_t i, FILE *out)
{
    const struct plyecho_indication *n = &r->indication[i];
    bool tube = r->manifest->tube;
    double across = tube ? 1.0 : per_mm;
    fprintf(out, "%3zu  %-13s", i + 1, plyecho_verdict_word(n->kind));
    print_extent(tube ? "" : "x ", n->across, n->from_across * across, n->to_across * across,
                 tube ? 5 : 0, tube ? " deg" : " mm", out);
    print_extent(tube ? ", " : ", y ", n->along_m, n->from_along_m * per_mm,
                 n->to_along_m * per_mm, 0, " mm", out);
    if (isfinite(n->least_depth_m))
        fprintf(out, ", %.2f to %.2f mm deep", n->least_depth_m * per_mm,
                n->most_depth_m * per_mm);
    if (isfinite(n->area_m2))
        fprintf(out, ", %.0f mm2", n->area_m2 * per_mm2);
    fputs(n->declared ? ", declared\n" : "\n", out);
}

static void print_limits(const struct plyecho_acceptance *a, FILE *out)
{
    for (size_t k = 0; k < a->count; k++) {
        fprintf(out, "  %-6s ", plyecho_limit_state_word(a->limit[k].state));
        utf8_put(out, a->limit[k].words, UTF8_PLAIN);
        fputs("\n", out);
    }
}

void scan_summary_print(const struct scan_results *r, const struct scan_about *about, FILE *out)
{
    enum { MOST = 40 };
    if (r->procedure->part.name.value != NULL) {
        utf8_put(out, r->procedure->part.name.value, UTF8_PLAIN);
        fputs(": ", out);
    }
    fprintf(out, "%s\n", plyecho_part_verdict_word(r->acceptance.verdict));
    print_limits(&r->acceptance, out);
    print_counts(r, out);
    print_stretches(r, out);
    print_wall(r, out);
    print_coverage(r, out);
    for (size_t i = 0; i < r->indications && i < MOST; i++)
        print_indication(r, i, out);
    if (r->indications > MOST)
        fprintf(out, "  and %zu more in indications.csv\n", r->indications - MOST);
    if (about->doubts != NULL) {
        fputs("The procedure leaves doubts: ", out);
        utf8_put(out, about->doubts, UTF8_PLAIN);
        fputs("\n", out);
    }
    fprintf(out, "%s\n", cautions);
}
