/* Which indication comes first on the page. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "report.h"

/* Delamination before thin, attenuated, undecided, inner echo, the others. */
static int rank(enum plyecho_verdict kind)
{
    static const int ranks[PLYECHO_VERDICT_COUNT] = {
        [PLYECHO_INNER_ECHO] = 1, [PLYECHO_UNDECIDED] = 2,    [PLYECHO_ATTENUATED] = 3,
        [PLYECHO_THIN] = 4,       [PLYECHO_DELAMINATION] = 5,
    };
    return ranks[kind];
}

/* The kind that a limit is about; PLYECHO_NO_INDICATION: none of those. */
static enum plyecho_verdict kind_of(const char *key)
{
    static const struct {
        const char *key;
        enum plyecho_verdict kind;
    } keys[] = {
        {"least_mm", PLYECHO_THIN},
        {"most_delamination_mm", PLYECHO_DELAMINATION},
        {"most_delamination_mm2", PLYECHO_DELAMINATION},
        {"most_inner_echo_mm2", PLYECHO_INNER_ECHO},
        {"most_attenuated_mm2", PLYECHO_ATTENUATED},
    };
    for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
        if (strcmp(keys[k].key, key) == 0)
            return keys[k].kind;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++)
        if (strcmp(plyecho_verdict_word((enum plyecho_verdict)v), key) == 0)
            return (enum plyecho_verdict)v;
    return PLYECHO_NO_INDICATION;
}

/* 2: a limit on this kind is broken, 1: one is open, 0: neither. */
static void weigh_kinds(const struct results *r, int weight[PLYECHO_VERDICT_COUNT])
{
    const json_t *limits = json_object_get(r->summary, "limits"), *one;
    size_t k;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++)
        weight[v] = 0;
    json_array_foreach(limits, k, one)
    {
        const char *key = json_string_value(json_object_get(one, "key"));
        const char *state = json_string_value(json_object_get(one, "state"));
        if (key == NULL || state == NULL)
            continue;
        int is = strcmp(state, "broken") == 0 ? 2 : strcmp(state, "open") == 0 ? 1 : 0;
        enum plyecho_verdict kind = kind_of(key);
        weight[kind] = is > weight[kind] ? is : weight[kind];
    }
}

size_t *report_order(const struct results *r)
{
    size_t *by_weight = memory_take(r->indications, sizeof *by_weight);
    size_t *order = memory_take(r->indications, sizeof *order), count = 0;
    int weight[PLYECHO_VERDICT_COUNT];
    weigh_kinds(r, weight);
    plyecho_indications_order(r->indication, r->indications, by_weight);
    for (int w = 2; w >= -1; w--)
        for (size_t i = 0; i < r->indications; i++) {
            const struct plyecho_indication *n = &r->indication[by_weight[i]];
            if ((n->declared ? -1 : weight[n->kind]) == w)
                order[count++] = by_weight[i];
        }
    free(by_weight);
    return order;
}

size_t report_worst(const struct report *report)
{
    const struct results *r = &report->results;
    return r->indications > 0 && !r->indication[report->order[0]].declared ? report->order[0]
                                                                           : r->indications;
}

size_t report_flagged_place(const struct results *r)
{
    size_t found = r->places;
    for (size_t i = 0; i < r->places; i++)
        if (r->reading[i].second_flagged &&
            (found == r->places || rank(r->reading[i].second) > rank(r->reading[found].second)))
            found = i;
    return found;
}
