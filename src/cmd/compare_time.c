#include "compare_time.h"

#include <stdlib.h>
#include <string.h>

#include "memory.h"

/* ---- may they be compared ---- */

static const char *or_not_stated(const char *text)
{
    return text != NULL ? text : "not stated";
}

/* The same text in both, or in neither. */
static bool same_setting(const struct compare_scan *a, const struct compare_scan *b,
                         const char *key, struct messages *messages)
{
    const char *one = results_setting(&a->results, "part", key);
    const char *other = results_setting(&b->results, "part", key);
    if (strcmp(or_not_stated(one), or_not_stated(other)) == 0)
        return true;
    message_trouble(messages, b->folder,
                    "its [part] %s is '%.60s', that of %.60s '%.60s'; if it is the same part, "
                    "mend the procedure and scan again, else use --side-by-side",
                    key, or_not_stated(other), a->folder, or_not_stated(one));
    return false;
}

static bool same_part(const struct compare_scan *a, const struct compare_scan *b,
                      struct messages *messages)
{
    static const char *const keys[] = {"diameter_mm", "zero_mark", "angle_direction"};
    if (a->part == NULL || b->part == NULL) {
        message_trouble(messages, a->part == NULL ? a->folder : b->folder,
                        "the part has no name, so nobody can tell whether it is the same; put "
                        "name under [part] of the procedure and scan again");
        return false;
    }
    if (a->results.tube != b->results.tube) {
        message_trouble(
            messages, b->folder, "scanned as a %s, %.60s as a %s; name two scans of one part",
            b->results.tube ? "tube" : "plate", a->folder, a->results.tube ? "tube" : "plate");
        return false;
    }
    for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
        if (!same_setting(a, b, keys[k], messages))
            return false;
    return true;
}

static bool enough_in_common(const struct compare_time *c, struct messages *messages)
{
    size_t a = c->before->grid->count, b = c->after->grid->count, fewer = a < b ? a : b;
    if (2 * c->matched >= fewer && c->matched > 0)
        return true;
    message_trouble(messages, c->after->folder,
                    "only %zu of its %zu places lie within half a spacing of the %zu in %.60s; "
                    "scan the part again at the places of the earlier scan",
                    c->matched, b, a, c->before->folder);
    return false;
}

static void note_order(const struct compare_scan *a, const struct compare_scan *b,
                       struct messages *messages)
{
    const char *before = results_setting(&a->results, "inspection", "date");
    const char *after = results_setting(&b->results, "inspection", "date");
    if (before != NULL && after != NULL && strcmp(before, after) > 0)
        message_note(messages, b->folder,
                     "dated %.40s, before %.60s (%.40s); name the earlier scan first", after,
                     a->folder, before);
}

/* ---- what changed ---- */

static bool take(struct compare_time *c, struct messages *messages)
{
    const struct plyecho_scanned *a = &c->before->scanned, *b = &c->after->scanned;
    struct plyecho_error err;
    c->after_of = memory_take(a->grid->count, sizeof *c->after_of);
    c->before_of = memory_take(b->grid->count, sizeof *c->before_of);
    c->wall = memory_take(a->grid->count, sizeof *c->wall);
    c->matched = plyecho_change_match(a->grid, b->grid, c->after_of, c->before_of);
    if (!enough_in_common(c, messages))
        return false;
    if (plyecho_alignment_check(a, b, &c->alignment, &err) == PLYECHO_OK &&
        plyecho_change_walls(a, b, c->after_of, c->wall, &c->walls, &err) == PLYECHO_OK &&
        plyecho_change_indications(a, b, c->after_of, c->before_of, &c->indication,
                                   &c->indications, &err) == PLYECHO_OK)
        return true;
    message_error(messages, c->after->folder, &err);
    return false;
}

bool compare_time_wall_flagged(const struct plyecho_wall_change *change)
{
    return change->state != PLYECHO_WALL_SAME && change->state != PLYECHO_WALL_NOT_COMPARED;
}

const struct plyecho_indication *compare_time_shown(
    const struct compare_time *c, const struct plyecho_indication_change *change)
{
    return change->after != PLYECHO_NO_INDICATION_INDEX
               ? &c->after->results.indication[change->after]
               : &c->before->results.indication[change->before];
}

bool compare_time_indication_flagged(const struct compare_time *c,
                                     const struct plyecho_indication_change *change)
{
    switch (change->state) {
    case PLYECHO_INDICATION_SAME:
    case PLYECHO_INDICATION_SHRANK:
    case PLYECHO_INDICATION_GONE:
        return false;
    case PLYECHO_INDICATION_OTHER_KIND:
        return true;
    default: /* a layer that the procedure expects is no news */
        return !compare_time_shown(c, change)->declared;
    }
}

bool compare_time_alignment_flagged(const struct compare_time *c)
{
    return c->alignment.state != PLYECHO_ALIGNED;
}

bool compare_time_flagged(const struct compare_time *c)
{
    bool flagged = compare_time_alignment_flagged(c) || c->walls.shifted ||
                   c->walls.judged < c->walls.compared;
    for (size_t i = 0; i < c->before->results.places && !flagged; i++)
        flagged = compare_time_wall_flagged(&c->wall[i]);
    for (size_t i = 0; i < c->indications && !flagged; i++)
        flagged = compare_time_indication_flagged(c, &c->indication[i]);
    return flagged;
}

bool compare_in_time(const struct compare_scan *before, const struct compare_scan *after,
                     const struct table_values *values, struct messages *messages)
{
    struct compare_time c = {.before = before, .after = after};
    bool flagged = false;
    if (same_part(before, after, messages) && take(&c, messages)) {
        note_order(before, after, messages);
        if (values->format.index == TABLE_TEXT)
            compare_time_print(&c, stdout);
        else
            compare_time_table(&c, values);
        flagged = compare_time_flagged(&c);
    }
    free(c.after_of);
    free(c.before_of);
    free(c.wall);
    free(c.indication);
    return flagged;
}
