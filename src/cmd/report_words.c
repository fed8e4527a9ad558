#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report.h"

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
        snprintf(out, PIECE_ROOM, "%.1f mm %s", n->arc_m * per_mm,
                 r->tube ? "round" : "across");
    else if (isfinite(n->across))
        snprintf(out, PIECE_ROOM, "%.1f deg round", n->across);
    else
        snprintf(out, PIECE_ROOM, "extent %s not known", r->tube ? "round" : "across");
}

static void depth_words(const struct plyecho_indication *n, char out[PIECE_ROOM])
{
    char least[24], most[24];
    snprintf(least, sizeof least, "%.2f", n->least_depth_m * per_mm);
    snprintf(most, sizeof most, "%.2f", n->most_depth_m * per_mm);
    bool one = strcmp(least, most) == 0;
    out[0] = '\0';
    if (isfinite(n->least_depth_m))
        snprintf(out, PIECE_ROOM, ", %s%s%s mm deep", least, one ? "" : " to ",
                 one ? "" : most);
}

const char *report_size(const struct results *r, const struct plyecho_indication *n,
                        char out[REPORT_WORDS_ROOM])
{
    char round[PIECE_ROOM], along[PIECE_ROOM], depth[PIECE_ROOM];
    round_words(r, n, round);
    if (isfinite(n->along_m))
        snprintf(along, sizeof along, ", %.1f mm along", n->along_m * per_mm);
    else
        snprintf(along, sizeof along, ", extent along not known");
    depth_words(n, depth);
    snprintf(out, REPORT_WORDS_ROOM, "%s%s%s", round, along, depth);
    return out;
}

const char *report_wall(struct plyecho_known wall_m, struct plyecho_known u_m,
                        char out[REPORT_WORDS_ROOM])
{
    if (!wall_m.known)
        snprintf(out, REPORT_WORDS_ROOM, "not seen");
    else if (u_m.known)
        snprintf(out, REPORT_WORDS_ROOM, "%.3f mm \302\261 %.3f mm (k = 2)",
                 wall_m.value * per_mm, 2.0 * u_m.value * per_mm);
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
        [PLYECHO_THIN] = "The wall is thinner here than it may be.",
        [PLYECHO_ATTENUATED] =
            "The back of the wall is seen far too weakly: pores, crushed or badly pressed "
            "material, or a rough back.",
        [PLYECHO_UNDECIDED] =
            "What was read here has more than one explanation, and the reading cannot choose.",
        [PLYECHO_UNREADABLE] = "Nothing could be read here.",
    };
    return words[kind] != NULL ? words[kind] : "";
}

static int rank(enum plyecho_verdict kind)
{
    static const int ranks[PLYECHO_VERDICT_COUNT] = {
        [PLYECHO_INNER_ECHO] = 1, [PLYECHO_UNDECIDED] = 2,    [PLYECHO_ATTENUATED] = 3,
        [PLYECHO_THIN] = 4,       [PLYECHO_DELAMINATION] = 5,
    };
    return ranks[kind];
}

size_t report_worst(const struct results *r)
{
    size_t worst = r->indications;
    for (size_t i = 0; i < r->indications; i++) {
        const struct plyecho_indication *n = &r->indication[i];
        if (n->declared)
            continue;
        const struct plyecho_indication *other =
            worst < r->indications ? &r->indication[worst] : NULL;
        if (other == NULL || rank(n->kind) > rank(other->kind) ||
            (rank(n->kind) == rank(other->kind) && n->places > other->places))
            worst = i;
    }
    return worst;
}
