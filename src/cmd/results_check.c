#include <config.h>

#include "results_check.h"

#include <stdio.h>
#include <string.h>

#include <plyecho/acceptance.h>

/* ---- the verdict ---- */

static bool take_state(const json_t *limit, enum plyecho_limit_state *state)
{
    const char *word = json_string_value(json_object_get(limit, "state"));
    for (int k = PLYECHO_LIMIT_HOLDS; word != NULL && k <= PLYECHO_LIMIT_OPEN; k++)
        if (strcmp(word, plyecho_limit_state_word((enum plyecho_limit_state)k)) == 0) {
            *state = (enum plyecho_limit_state)k;
            return true;
        }
    return false;
}

static enum plyecho_code check_verdict(const struct results *r, struct plyecho_error *err)
{
    struct plyecho_limit limit[PLYECHO_LIMITS_MOST];
    const json_t *limits = json_object_get(r->summary, "limits");
    const char *verdict = results_text(r, "part_verdict");
    size_t count = json_array_size(limits);
    if (!json_is_array(limits) || verdict == NULL || count > PLYECHO_LIMITS_MOST)
        return plyecho_fail(
            err, PLYECHO_BAD_FILE,
            "no part_verdict with its limits: not as scan wrote it; scan again");
    for (size_t k = 0; k < count; k++)
        if (!take_state(json_array_get(limits, k), &limit[k].state))
            return plyecho_fail(err, PLYECHO_BAD_FILE,
                                "limit %zu has no state: not as scan wrote it; scan again",
                                k + 1);
    const char *follows = plyecho_part_verdict_word(plyecho_part_verdict_of(limit, count));
    if (strcmp(verdict, follows) == 0)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_FILE,
                        "the part is '%.20s' there, but '%s' by its limits: changed since the "
                        "scan; scan again",
                        verdict, follows);
}

/* ---- the counts ---- */

static enum plyecho_code check_count(const struct results *r, const char *name, size_t count,
                                     struct plyecho_error *err)
{
    char path[80];
    snprintf(path, sizeof path, "counts.%s", name);
    struct plyecho_known stated = results_number(r, path);
    if (stated.known && stated.value == (double)count)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_FILE,
                        "%s is not %zu, as the tables have it: changed since the scan; scan "
                        "again",
                        path, count);
}

static enum plyecho_code check_verdicts(const struct results *r, const char *name,
                                        const size_t counts[PLYECHO_VERDICT_COUNT],
                                        struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT && code == PLYECHO_OK; v++) {
        char path[60];
        snprintf(path, sizeof path, "%s.%s", name,
                 plyecho_verdict_word((enum plyecho_verdict)v));
        code = check_count(r, path, counts[v], err);
    }
    return code;
}

static enum plyecho_code check_counts(const struct results *r, struct plyecho_error *err)
{
    size_t raw[PLYECHO_VERDICT_COUNT] = {0}, second[PLYECHO_VERDICT_COUNT] = {0};
    size_t not_read = 0, flagged = 0;
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        flagged += !p->read || p->second_flagged;
        not_read += !p->read;
        raw[p->verdict] += p->read;
        second[p->second] += p->read;
    }
    const struct {
        const char *name;
        size_t count;
    } counts[] = {{"places", r->places},
                  {"not_read", not_read},
                  {"flagged", flagged},
                  {"indications", r->indications}};
    enum plyecho_code code = PLYECHO_OK;
    for (size_t k = 0; k < sizeof counts / sizeof counts[0] && code == PLYECHO_OK; k++)
        code = check_count(r, counts[k].name, counts[k].count, err);
    if (code == PLYECHO_OK)
        code = check_verdicts(r, "verdicts", raw, err);
    return code == PLYECHO_OK ? check_verdicts(r, "second_verdicts", second, err) : code;
}

enum plyecho_code results_check(const struct results *r, struct plyecho_error *err)
{
    enum plyecho_code code = check_verdict(r, err);
    return code == PLYECHO_OK ? check_counts(r, err) : code;
}
