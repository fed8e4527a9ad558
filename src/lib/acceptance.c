#include <plyecho/acceptance.h>

#include "acceptance_inside.h"

static const char *const verdict_words[] = {
    [PLYECHO_PART_NOT_EVALUATED] = "not evaluated",
    [PLYECHO_PART_ACCEPTED] = "accepted",
    [PLYECHO_PART_REJECTED] = "rejected",
    [PLYECHO_PART_UNDECIDED] = "undecided",
};

static const char *const state_words[] = {
    [PLYECHO_LIMIT_HOLDS] = "holds",
    [PLYECHO_LIMIT_BROKEN] = "broken",
    [PLYECHO_LIMIT_OPEN] = "open",
};

const char *plyecho_part_verdict_word(enum plyecho_part_verdict verdict)
{
    return (unsigned)verdict < sizeof verdict_words / sizeof verdict_words[0]
               ? verdict_words[verdict]
               : "unknown";
}

const char *plyecho_limit_state_word(enum plyecho_limit_state state)
{
    return (unsigned)state < sizeof state_words / sizeof state_words[0] ? state_words[state]
                                                                        : "unknown";
}

static const struct plyecho_known unknown = {false, 0.0};

/* ---- what has no limit, or was not read ---- */

typedef bool place_test(const struct plyecho_place_reading *r);

static bool is_delamination(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_DELAMINATION;
}

static bool is_thin(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_THIN;
}

static bool is_attenuated(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_ATTENUATED;
}

static bool is_undeclared(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_INNER_ECHO && r->second_flagged;
}

/* What passed only with its neighbours' help. */
static bool is_flagged(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_NO_INDICATION && r->second_flagged;
}

/* Told, but without a back wall to measure by; or a shadow by its neighbours alone, which a wall that is thin at once
 * would look like. */
static bool is_without_wall(const struct plyecho_place_reading *r)
{
    bool told = r->second != PLYECHO_DELAMINATION && r->second != PLYECHO_UNDECIDED &&
                r->second != PLYECHO_UNREADABLE;
    return r->read && !r->second_wall_m.known && (told || r->context == PLYECHO_CONTEXT_SHADOW);
}

static bool is_undecided(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_UNDECIDED;
}

static bool is_unreadable(const struct plyecho_place_reading *r)
{
    return r->read && r->second == PLYECHO_UNREADABLE;
}

static bool is_unread(const struct plyecho_place_reading *r)
{
    return !r->read;
}

/* What bars acceptance wherever it is. */
struct bar {
    const char *key, *why;
    place_test *is;
    enum plyecho_limit_state state;
    bool limited; /* a limit of the procedure speaks of it */
};

static void judge_bar(const struct pe_acceptor *j, const struct bar *bar)
{
    const struct plyecho_place_reading *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < j->grid->count; i++)
        if (bar->is(&j->readings[i])) {
            first = first == NULL ? &j->readings[i] : first;
            count++;
        }
    if (count == 0 || bar->limited)
        return;
    const struct plyecho_known reading = {true, (double)count};
    struct plyecho_limit *row = pe_accept_row(j, bar->key, unknown, reading, bar->state);
    pe_accept_say(row, "%zu place%s %s, the first", count, count > 1 ? "s" : "", bar->key);
    pe_accept_say_place(row, j->grid, &first->place);
    pe_accept_say(row, ": %s", bar->why);
}

/* A place that is not as declared among others that are has no size of its own. */
static bool some_declared(const struct pe_acceptor *j)
{
    for (size_t k = 0; k < j->count; k++)
        if (j->indications[k].declared)
            return true;
    return false;
}

static void judge_bars(const struct pe_acceptor *j)
{
    static const char none[] = "none is allowed, since no limit is stated";
    static const char ask[] =
        "no limit is stated for it: the governing code or the maker must say";
    const struct plyecho_procedure *p = j->procedure;
    const struct bar bars[] = {
        {"delamination", none, is_delamination, PLYECHO_LIMIT_BROKEN,
         p->acceptance.most_delamination_m.set || p->acceptance.most_delamination_m2.set},
        {"thin", none, is_thin, PLYECHO_LIMIT_BROKEN, p->acceptance.least_m.set},
        {"attenuated", ask, is_attenuated, PLYECHO_LIMIT_OPEN,
         p->acceptance.most_attenuated_m2.set},
        {"inner-echo", ask, is_undeclared, PLYECHO_LIMIT_OPEN,
         p->acceptance.most_inner_echo_m2.set && !some_declared(j)},
        {"no-wall", "no back wall was surely seen, so that none holds the limit",
         is_without_wall, PLYECHO_LIMIT_OPEN, !p->acceptance.least_m.set},
        {"flagged", "its own trace is in doubt: to be read again", is_flagged,
         PLYECHO_LIMIT_OPEN, false},
        {"undecided", "to be read again, or looked at by other means", is_undecided,
         PLYECHO_LIMIT_OPEN, false},
        {"unreadable", "to be coupled and read again", is_unreadable, PLYECHO_LIMIT_OPEN,
         false},
        {"unread", "listed, but without a trace that could be read", is_unread,
         PLYECHO_LIMIT_OPEN, false},
    };
    for (size_t k = 0; k < sizeof bars / sizeof bars[0]; k++)
        judge_bar(j, &bars[k]);
}

/* ---- all of it ---- */

static bool has_limits(const struct plyecho_procedure *p)
{
    return p->acceptance.least_m.set || p->acceptance.most_spread_m.set ||
           p->acceptance.most_delamination_m.set || p->acceptance.most_delamination_m2.set ||
           p->acceptance.most_inner_echo_m2.set || p->acceptance.most_attenuated_m2.set ||
           p->acceptance.least_distance_m.set || p->acceptance.least_coverage.set ||
           p->acceptance.most_unseen_m.set;
}

enum plyecho_code plyecho_accept(const struct plyecho_procedure *procedure,
                                 const struct plyecho_grid *grid,
                                 const struct plyecho_place_reading *readings,
                                 const struct plyecho_indication *indications, size_t count,
                                 const struct plyecho_coverage *coverage,
                                 struct plyecho_acceptance *acceptance,
                                 struct plyecho_error *err)
{
    const struct pe_acceptor j = {procedure, grid,     readings,  indications,
                                  count,     coverage, acceptance};
    *acceptance = (struct plyecho_acceptance){.verdict = PLYECHO_PART_NOT_EVALUATED};
    if (!has_limits(procedure))
        return PLYECHO_OK;
    pe_accept_walls(&j);
    pe_accept_sizes(&j);
    pe_accept_coverage(&j);
    judge_bars(&j);
    enum plyecho_code code = pe_accept_gaps(&j, err);
    int worst = 0;
    for (size_t k = 0; k < acceptance->count; k++)
        if (pe_accept_weight(acceptance->limit[k].state) > worst)
            worst = pe_accept_weight(acceptance->limit[k].state);
    acceptance->verdict = worst == 2   ? PLYECHO_PART_REJECTED
                          : worst == 1 ? PLYECHO_PART_UNDECIDED
                                       : PLYECHO_PART_ACCEPTED;
    return code;
}
