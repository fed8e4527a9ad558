#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "json_out.h"
#include "memory.h"
#include "readings.h"
#include "scan_axes.h"
#include "utf8.h"

static const double per_mm = 1e3;

static double off_wall_mm(const struct plyecho_gauge_log *log, size_t place)
{
    return (log->place[place].off_m - log->wall_off_m) * per_mm;
}

/* ---- text ---- */

static void print_wall(const struct plyecho_gauge_log *log, FILE *out)
{
    char words[PLYECHO_PLACE_ROOM];
    const struct plyecho_gauge_place *least = &log->place[log->least];
    fprintf(out, "readings: %zu at %zu places", log->readings, log->count);
    if (log->unread > 0)
        fprintf(out, ", none shown at %zu of them", log->unread);
    if (log->wall > 0)
        fprintf(out, "; mean of what is taken for the wall %.3f mm", log->mean_m * per_mm);
    if (log->wall > 0 && log->spread_m.known)
        fprintf(out, ", spread about %s %.3f mm",
                log->answer == PLYECHO_GAUGE_TOO_FEW ? "it" : "the smooth wall",
                log->spread_m.value * per_mm);
    fprintf(out, "; least %.3f mm", least->wall_m * per_mm);
    if (least->u_m.known)
        fprintf(out, " (u %.3f mm)", least->u_m.value * per_mm);
    else
        fputs(" (u not known)", out);
    fprintf(out, " at %s\n", plyecho_place_words(log->tube, &least->place, words));
}

static void print_spot(const struct readings *r, size_t k, FILE *out)
{
    char words[PLYECHO_PLACE_ROOM];
    const struct readings_spot *s = &r->spot[k];
    const struct plyecho_gauge_place *p = &r->log->place[s->worst];
    fprintf(out, "%3zu  %-4s  %zu place%s, %s %.3f mm at %s, %.3f mm %s the wall around", k + 1,
            plyecho_gauge_group_word(s->group), s->places, s->places > 1 ? "s" : "",
            s->group == PLYECHO_GAUGE_LOW ? "least" : "most", p->wall_m * per_mm,
            plyecho_place_words(r->tube, &p->place, words), fabs(off_wall_mm(r->log, s->worst)),
            s->group == PLYECHO_GAUGE_LOW ? "below" : "above");
    if (p->fall == PLYECHO_GAUGE_AT_ONCE)
        fputs("; it falls at once", out);
    else if (p->fall == PLYECHO_GAUGE_IN_STEPS)
        fputs("; it falls step by step", out);
    fputs("\n", out);
}

static void print_spots(const struct readings *r, FILE *out)
{
    enum { MOST = 20 };
    for (size_t k = 0; k < r->spots && k < MOST; k++)
        print_spot(r, k, out);
    if (r->spots > MOST)
        fprintf(out, "  and %zu more\n", r->spots - MOST);
}

static void print_unread(const struct readings *r, FILE *out)
{
    enum { MOST = 10 };
    size_t told = 0;
    char words[PLYECHO_PLACE_ROOM];
    for (size_t i = 0; i < r->log->count && told < MOST; i++)
        if (r->log->place[i].readings == 0)
            fprintf(out, "%s%s", told++ == 0 ? "no reading at: " : "; ",
                    plyecho_place_words(r->tube, &r->log->place[i].place, words));
    if (told > 0)
        fputs(r->log->unread > told ? "; and more\n" : "\n", out);
}

void readings_summary_print(const struct readings *r, FILE *out)
{
    if (r->procedure.part.name.value != NULL) {
        utf8_put(out, r->procedure.part.name.value, UTF8_PLAIN);
        fputs(": ", out);
    }
    fprintf(out, "%s\n", plyecho_gauge_answer_word(r->log->answer));
    fputs("It means: ", out);
    readings_meaning(r->log, out);
    fputs(".\n", out);
    print_wall(r->log, out);
    print_spots(r, out);
    print_unread(r, out);
    readings_evidence(r, out);
    fputs("Next: ", out);
    readings_next_step(r->log, out);
    fputs("\n", out);
    fprintf(out, "Not told: %s\n", readings_cannot_tell);
    fprintf(out, "Caution: %s\n", readings_cautions);
}

/* ---- json ---- */

static void write_place(struct json_out *j, bool tube, const struct plyecho_place *place)
{
    const struct scan_axes *axes = scan_axes_of(tube);
    json_number(j, axes->across.name, scan_axis_number(&axes->across, place->across));
    json_number(j, axes->along.name, scan_axis_number(&axes->along, place->along));
}

static void write_counts(struct json_out *j, const struct plyecho_gauge_log *log)
{
    json_open(j, "counts", '{');
    json_number(j, "readings", (double)log->readings);
    json_number(j, "places", (double)log->count);
    json_number(j, "places_unread", (double)log->unread);
    json_number(j, "unread_next_to_each_other", (double)log->in_patches);
    json_number(j, "wall", (double)log->wall);
    json_number(j, "other_wall", (double)log->other);
    json_number(j, "low", (double)log->low);
    json_number(j, "low_at_once", (double)log->at_once);
    json_number(j, "low_in_steps", (double)log->in_steps);
    json_number(j, "low_beside_unread", (double)log->beside_unread);
    json_number(j, "high", (double)log->high);
    json_number(j, "outliers", (double)log->outliers);
    json_number(j, "beyond_tolerance", (double)log->beyond);
    json_number(j, "disagreeing", (double)log->disagreeing);
    json_close(j);
}

static void write_wall(struct json_out *j, const struct plyecho_gauge_log *log)
{
    const struct plyecho_gauge_place *least = &log->place[log->least];
    json_open(j, "wall", '{');
    json_number(j, "mean_mm", log->wall > 0 ? log->mean_m * per_mm : NAN);
    json_known(j, "spread_mm", log->spread_m, per_mm);
    json_number(j, "least_mm", least->wall_m * per_mm);
    json_known(j, "least_u_mm", least->u_m, per_mm);
    write_place(j, log->tube, &least->place);
    json_number(j, log->nominal_known ? "nominal_mm" : "median_mm", log->level_m * per_mm);
    json_number(j, "tolerance_mm", log->tolerance_m * per_mm);
    json_number(j, "counts_mm", log->counts_m * per_mm);
    json_number(j, "resolution_mm", log->resolution_m * per_mm);
    json_known(j, "repeats_spread_mm", log->repeats_m, per_mm);
    json_close(j);
}

static void write_group(struct json_out *j, const char *name, const struct plyecho_cluster *c)
{
    json_open(j, name, '{');
    json_number(j, "share", c->share);
    json_number(j, "off_smooth_wall_mm", c->mean * per_mm);
    json_number(j, "spread_mm", c->spread * per_mm);
    json_close(j);
}

static void write_groups(struct json_out *j, const struct plyecho_gauge_log *log)
{
    const struct plyecho_clusters *c = &log->clusters;
    if (log->answer == PLYECHO_GAUGE_TOO_FEW)
        return;
    json_open(j, "groups", '{');
    json_number(j, "told", log->two ? 2.0 : 1.0);
    write_group(j, "one", &c->one);
    write_group(j, "low", &c->low);
    write_group(j, "high", &c->high);
    json_number(j, "criterion_gain", c->criterion_gain);
    json_known(j, "chance_of_one", c->chance, 1.0);
    json_close(j);
}

static void write_spots(struct json_out *j, const struct readings *r)
{
    json_open(j, "spots", '[');
    for (size_t k = 0; k < r->spots; k++) {
        const struct readings_spot *s = &r->spot[k];
        const struct plyecho_gauge_place *p = &r->log->place[s->worst];
        json_open(j, NULL, '{');
        json_number(j, "number", (double)(k + 1));
        json_text(j, "group", plyecho_gauge_group_word(s->group));
        json_number(j, "places", (double)s->places);
        json_number(j, "worst_mm", p->wall_m * per_mm);
        json_number(j, "off_wall_mm", off_wall_mm(r->log, s->worst));
        json_text(j, "fall", plyecho_gauge_fall_word(p->fall));
        write_place(j, r->tube, &p->place);
        json_close(j);
    }
    json_close(j);
}

static void write_said(struct json_out *j, const char *name, const struct readings *r,
                       void (*say)(const struct readings *, FILE *))
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = memory_stream(&text, &size);
    say(r, out);
    memory_stream_end(out);
    json_text(j, name, text);
    free(text);
}

static void say_meaning(const struct readings *r, FILE *out)
{
    readings_meaning(r->log, out);
}

static void say_next_step(const struct readings *r, FILE *out)
{
    readings_next_step(r->log, out);
}

static void write_words(struct json_out *j, const struct readings *r)
{
    write_said(j, "meaning", r, say_meaning);
    write_said(j, "evidence", r, readings_evidence);
    write_said(j, "next", r, say_next_step);
    json_text(j, "cannot_tell", readings_cannot_tell);
    json_text(j, "cautions", readings_cautions);
}

void readings_summary_write(const struct readings *r, FILE *out)
{
    const struct plyecho_procedure *p = &r->procedure;
    struct json_out j;
    json_begin(&j, out);
    json_text(&j, "program", "plyecho " PACKAGE_VERSION);
    json_text(&j, "part", p->part.name.value);
    json_text(&j, "surface", r->tube ? "tube" : "plate");
    json_text(&j, "zero_mark", p->part.zero_mark.value);
    json_text(&j, "log", r->name);
    json_text(&j, "log_digest", r->digest);
    json_text(&j, "procedure", r->procedure_name);
    json_text(&j, "procedure_digest", p->digest[0] != '\0' ? p->digest : NULL);
    json_text(&j, "options", r->given);
    json_open(&j, "pictures", '[');
    for (size_t k = 0; k < r->pictures.count; k++)
        json_text(&j, NULL, r->pictures.name[k]);
    json_close(&j);
    json_text(&j, "answer", plyecho_gauge_answer_word(r->log->answer));
    write_counts(&j, r->log);
    write_wall(&j, r->log);
    write_groups(&j, r->log);
    write_spots(&j, r);
    write_words(&j, r);
    json_end(&j);
}
