#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "quantile.h"
#include "report.h"
#include "scan_axes.h"

static const double per_mm = 1e3;

const char *report_value(const struct report *report, const char *section, const char *key)
{
    const struct report_values *v = report->values;
    const struct {
        const char *section, *key, *value;
    } over[] = {{"part", "name", v->part.value}, {"inspection", "date", v->date.value},
                {
                    "inspection",
                    "operator",
                    v->operator.value },
                    {"inspection", "operator_certificate", v->operator_certificate.value},
                    {"inspection", "operator_level", v->operator_level.value},
                    {"inspection", "place", v->place.value},
                    {"inspection", "surface", v->surface.value},
                    {"inspection", "reason", v->reason.value},
    };
    for (size_t k = 0; k < sizeof over / sizeof over[0]; k++)
        if (over[k].value != NULL && strcmp(over[k].section, section) == 0 &&
            strcmp(over[k].key, key) == 0)
            return over[k].value;
    return results_setting(&report->results, section, key);
}

bool report_has_layers(const struct report *report)
{
    const json_t *settings = json_object_get(report->results.summary, "settings"), *one;
    size_t k;
    json_array_foreach(settings, k, one)
    {
        const char *section = json_string_value(json_object_get(one, "section"));
        if (section != NULL && strcmp(section, "layers") == 0)
            return true;
    }
    return false;
}

const char *report_place(const struct results *r, const struct plyecho_place *place,
                         char out[REPORT_WORDS_ROOM])
{
    return plyecho_place_words(r->tube, place, out);
}

/* Numbers of a table that is not ours may be as long as a number can be: each has a room of its own. */
enum { PIECE_ROOM = 64 };

static void round_words(const struct results *r, const struct plyecho_indication *n,
                        char out[PIECE_ROOM])
{
    if (r->tube && n->across >= 360.0)
        snprintf(out, PIECE_ROOM, "all round");
    else if (isfinite(n->arc_m))
        snprintf(out, PIECE_ROOM, "%.1f mm %s", n->arc_m * per_mm, r->tube ? "round" : "in x");
    else if (r->tube && isfinite(n->across))
        snprintf(out, PIECE_ROOM, "%.1f deg round", n->across);
    else
        snprintf(out, PIECE_ROOM, "extent %s not known", r->tube ? "round" : "in x");
}

const char *report_depth(const struct plyecho_indication *n, char out[REPORT_WORDS_ROOM])
{
    char least[24], most[24];
    snprintf(least, sizeof least, "%.2f", n->least_depth_m * per_mm);
    snprintf(most, sizeof most, "%.2f", n->most_depth_m * per_mm);
    bool one = strcmp(least, most) == 0;
    snprintf(out, REPORT_WORDS_ROOM, "%s%s%s mm", least, one ? "" : " to ", one ? "" : most);
    return out;
}

size_t report_coordinates(const struct results *r, bool along, double *value)
{
    static const double same = 1e-6; /* degrees or mm: what places are told apart by */
    const struct scan_axes *axes = scan_axes_of(r->tube);
    size_t distinct = 0;
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place *p = &r->reading[i].place;
        value[i] = along ? scan_axis_number(&axes->along, p->along)
                         : scan_axis_number(&axes->across, p->across);
    }
    quantile_sort(value, r->places);
    for (size_t i = 0; i < r->places; i++)
        if (distinct == 0 || value[i] - value[distinct - 1] > same)
            value[distinct++] = value[i];
    return distinct;
}

const char *report_range(const struct results *r, char out[REPORT_WORDS_ROOM])
{
    double *value = memory_take(r->places, sizeof *value);
    size_t used = 0;
    for (size_t k = 0; k < 2; k++) {
        size_t count = report_coordinates(r, k == 1, value);
        const char *what = k == 1 ? (r->tube ? "along" : "y") : r->tube ? "round" : "x";
        const char *unit = k == 0 && r->tube ? "deg" : "mm";
        int written =
            snprintf(out + used, REPORT_WORDS_ROOM - used, "%s%s from %.6g to %.6g %s",
                     k == 1 ? ", " : "", what, value[0], value[count - 1], unit);
        used += written > 0 ? (size_t)written : 0;
    }
    free(value);
    return out;
}

const char *report_size(const struct results *r, const struct plyecho_indication *n,
                        char out[REPORT_WORDS_ROOM])
{
    char round[PIECE_ROOM], along[PIECE_ROOM], depth[REPORT_WORDS_ROOM];
    bool deep = isfinite(n->least_depth_m);
    round_words(r, n, round);
    if (isfinite(n->along_m))
        snprintf(along, sizeof along, ", %.1f mm %s", n->along_m * per_mm,
                 r->tube ? "along" : "in y");
    else
        snprintf(along, sizeof along, ", extent %s not known", r->tube ? "along" : "in y");
    snprintf(out, REPORT_WORDS_ROOM, "%s%s%s%.60s%s", round, along, deep ? ", " : "",
             deep ? report_depth(n, depth) : "", deep ? " deep" : "");
    return out;
}

struct plyecho_known report_shown_u(struct plyecho_known u_m)
{
    static const double last_digit_m = 1e-6;
    return (struct plyecho_known){u_m.known, fmax(u_m.value, last_digit_m)};
}

const char *report_wall(struct plyecho_known wall_m, struct plyecho_known u_m,
                        char out[REPORT_WORDS_ROOM])
{
    if (!wall_m.known)
        snprintf(out, REPORT_WORDS_ROOM, "not seen");
    else if (u_m.known)
        snprintf(out, REPORT_WORDS_ROOM, "%.3f mm \302\261 %.3f mm (k = 2)",
                 wall_m.value * per_mm, 2.0 * report_shown_u(u_m).value * per_mm);
    else
        snprintf(out, REPORT_WORDS_ROOM, "%.3f mm (uncertainty not known)",
                 wall_m.value * per_mm);
    return out;
}

const char *report_kind_words(enum plyecho_verdict kind)
{
    static const char *const words[PLYECHO_VERDICT_COUNT] = {
        [PLYECHO_NO_INDICATION] = "Nothing reportable.",
        [PLYECHO_INNER_ECHO] =
            "Something inside the wall sends sound back, and the back of the wall is still seen "
            "behind it: a bonded layer or glue line, or a gap that lets sound through.",
        [PLYECHO_DELAMINATION] = "The layers of the wall have come apart here.",
        [PLYECHO_THIN] = "The wall is thinner here than its nominal allows, or than its limit.",
        [PLYECHO_ATTENUATED] =
            "The back of the wall is seen far too weakly: pores, crushed or badly pressed "
            "material, or a rough back.",
        [PLYECHO_UNDECIDED] =
            "What was read here has more than one explanation, and the reading cannot choose.",
        [PLYECHO_UNREADABLE] = "Nothing could be read here.",
    };
    return words[kind] != NULL ? words[kind] : "";
}
