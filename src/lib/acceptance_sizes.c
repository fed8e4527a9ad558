/* Limits on the size of indications, and on their distance. */
#include <math.h>

#include "acceptance_inside.h"

static const struct plyecho_known unknown = {false, 0.0};

/* ---- sizes of indications ---- */

struct size {
    double value, u; /* in m or m2 */
    bool whole;      /* false: at least so much, the rest is not known */
};

typedef struct size size_of(const struct plyecho_indication *indication);

/* The larger of arc and axial extent, as far as they are known. */
static struct size extent_of(const struct plyecho_indication *i)
{
    bool arc = i->arc_m > i->along_m || isnan(i->along_m);
    double value = arc ? i->arc_m : i->along_m, u = arc ? i->arc_u_m : i->along_u_m;
    if (isnan(value))
        return (struct size){0.0, 0.0, false};
    return (struct size){value, u, !isnan(i->arc_m) && !isnan(i->along_m)};
}

static struct size area_of(const struct plyecho_indication *i)
{
    if (isnan(i->area_m2))
        return (struct size){0.0, 0.0, false};
    return (struct size){i->area_m2, hypot(i->arc_u_m * i->along_m, i->along_u_m * i->arc_m),
                         true};
}

/* One limit on the size of one kind. */
struct size_limit {
    enum pe_limit which;
    const char *kind_word, *unit_word;
    enum plyecho_verdict kind;
    const struct plyecho_setting *most;
    size_of *size;
    double unit;
};

/* What may be narrower than the beam, or goes on where nothing was read, has no size to hold against a limit. */
static enum plyecho_limit_state size_state(const struct size_limit *l,
                                           const struct plyecho_indication *i, const char **why)
{
    struct size size = l->size(i);
    double most = l->most->value;
    if (most <= 0.0) {
        *why = "none is allowed";
        return PLYECHO_LIMIT_BROKEN;
    }
    if (size.value > most && !i->within_beam) {
        *why = "above it";
        return PLYECHO_LIMIT_BROKEN;
    }
    *why = !size.whole
               ? "its size is not known: that takes a tube's diameter and places on several "
                 "lines"
           : i->within_beam
               ? "one way its extent cannot be told from the beam's, as the places are "
                 "spaced: there it may be smaller"
           : i->open_ended ? "it may go on where nothing was read"
           : size.value + PE_ACCEPT_GUARD * size.u > most ? "not below it by 2 u"
                                                          : NULL;
    if (*why != NULL)
        return PLYECHO_LIMIT_OPEN;
    *why = "below it by 2 u or more";
    return PLYECHO_LIMIT_HOLDS;
}

static bool is_of(const struct size_limit *l, const struct plyecho_indication *i)
{
    return i->kind == l->kind && !i->declared;
}

/* NULL: there is none. */
static const struct plyecho_indication *worst_size(const struct pe_acceptor *j,
                                                   const struct size_limit *l, size_t *count)
{
    const struct plyecho_indication *worst = NULL;
    const char *why;
    *count = 0;
    for (size_t k = 0; k < j->part->count; k++) {
        const struct plyecho_indication *i = &j->part->indications[k];
        if (!is_of(l, i))
            continue;
        ++*count;
        int more = worst == NULL ? 1
                                 : pe_accept_weight(size_state(l, i, &why)) -
                                       pe_accept_weight(size_state(l, worst, &why));
        if (more > 0 || (more == 0 && l->size(i).value > l->size(worst).value))
            worst = i;
    }
    return worst;
}

static void judge_size(const struct pe_acceptor *j, const struct size_limit *l)
{
    if (!l->most->set)
        return;
    size_t count;
    const struct plyecho_indication *i = worst_size(j, l, &count);
    struct plyecho_known limit = pe_accept_limit(l->most, l->unit);
    if (i == NULL) {
        pe_accept_say(pe_accept_row(j, l->which, limit, (struct plyecho_known){true, 0.0},
                                    PLYECHO_LIMIT_HOLDS),
                      "no %s", l->kind_word);
        return;
    }
    const char *why;
    enum plyecho_limit_state state = size_state(l, i, &why);
    struct size size = l->size(i);
    const struct plyecho_known reading = {size.whole, size.value * l->unit};
    struct plyecho_limit *row = pe_accept_row(j, l->which, limit, reading, state);
    pe_accept_say(row, "%s", l->kind_word);
    pe_accept_say_place(row, j->part->grid, &j->part->readings[i->worst].place);
    if (size.whole)
        pe_accept_say(row, ": %.3g %s (u %.2g %s), limit", reading.value, l->unit_word,
                      size.u * l->unit, l->unit_word);
    else if (size.value > 0.0)
        pe_accept_say(row, ": at least %.3g %s, limit", size.value * l->unit, l->unit_word);
    else
        pe_accept_say(row, ": limit");
    pe_accept_say(row, " %g %s: %s", limit.value, l->unit_word, why);
    if (count > 1)
        pe_accept_say(row, "; the worst of %zu", count);
}

static void judge_all_sizes(const struct pe_acceptor *j)
{
    const struct size_limit limits[] = {
        {PE_LIMIT_DELAMINATION_EXTENT, "delamination", "mm", PLYECHO_DELAMINATION,
         &j->part->procedure->acceptance.most_delamination_m, extent_of, MM},
        {PE_LIMIT_DELAMINATION_AREA, "delamination", "mm2", PLYECHO_DELAMINATION,
         &j->part->procedure->acceptance.most_delamination_m2, area_of, MM2},
        {PE_LIMIT_INNER_ECHO_AREA, "undeclared inner echo", "mm2", PLYECHO_INNER_ECHO,
         &j->part->procedure->acceptance.most_inner_echo_m2, area_of, MM2},
        {PE_LIMIT_ATTENUATED_AREA, "attenuated place", "mm2", PLYECHO_ATTENUATED,
         &j->part->procedure->acceptance.most_attenuated_m2, area_of, MM2},
    };
    for (size_t k = 0; k < sizeof limits / sizeof limits[0]; k++)
        judge_size(j, &limits[k]);
}

/* ---- distance ---- */

/* Of two edges, each known as well as this one's extent. */
static double distance_u(const struct plyecho_indication *i)
{
    return sqrt(2.0) * fmax(i->arc_u_m, i->along_u_m);
}

static enum plyecho_limit_state distance_state(const struct plyecho_indication *i, double least)
{
    double above = i->next_m.value - least;
    return above < 0.0                               ? PLYECHO_LIMIT_BROKEN
           : above < PE_ACCEPT_GUARD * distance_u(i) ? PLYECHO_LIMIT_OPEN
                                                     : PLYECHO_LIMIT_HOLDS;
}

/* Those that are declared are no flaws. NULL: no distance is known; *count is of all. */
static const struct plyecho_indication *nearest(const struct pe_acceptor *j, double least,
                                                size_t *count)
{
    const struct plyecho_indication *worst = NULL;
    *count = 0;
    for (size_t k = 0; k < j->part->count; k++) {
        const struct plyecho_indication *i = &j->part->indications[k];
        if (i->declared)
            continue;
        ++*count;
        if (!i->next_m.known)
            continue;
        int more = worst == NULL ? 1
                                 : pe_accept_weight(distance_state(i, least)) -
                                       pe_accept_weight(distance_state(worst, least));
        if (more > 0 || (more == 0 && i->next_m.value < worst->next_m.value))
            worst = i;
    }
    return worst;
}

static void judge_distance(const struct pe_acceptor *j)
{
    const struct plyecho_setting *setting = &j->part->procedure->acceptance.least_distance_m;
    size_t count;
    if (!setting->set)
        return;
    const struct plyecho_indication *i = nearest(j, setting->value, &count);
    struct plyecho_known limit = pe_accept_limit(setting, MM);
    if (i == NULL) {
        bool few = count < 2;
        pe_accept_say(
            pe_accept_row(j, PE_LIMIT_DISTANCE, limit, unknown,
                          few ? PLYECHO_LIMIT_HOLDS : PLYECHO_LIMIT_OPEN),
            few ? "fewer than two indications"
                : "no distance between indications is known: that takes a tube's diameter and "
                  "places that form lines");
        return;
    }
    enum plyecho_limit_state state = distance_state(i, setting->value);
    const struct plyecho_known reading = {true, i->next_m.value * MM};
    struct plyecho_limit *row = pe_accept_row(j, PE_LIMIT_DISTANCE, limit, reading, state);
    pe_accept_say(row, "%s", plyecho_verdict_word(i->kind));
    pe_accept_say_place(row, j->part->grid, &j->part->readings[i->worst].place);
    pe_accept_say(row, ", %.3g mm (u %.2g mm) from the next indication: %s %g mm%s",
                  reading.value, distance_u(i) * MM,
                  state == PLYECHO_LIMIT_BROKEN ? "below" : "not below", limit.value,
                  state == PLYECHO_LIMIT_OPEN ? ", but not above it by 2 u" : "");
}

void pe_accept_sizes(const struct pe_acceptor *j)
{
    judge_all_sizes(j);
    judge_distance(j);
}
