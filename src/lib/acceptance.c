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

enum plyecho_part_verdict plyecho_part_verdict_of(const struct plyecho_limit *limit,
                                                  size_t count)
{
    static const enum plyecho_part_verdict of_weight[] = {
        PLYECHO_PART_ACCEPTED, PLYECHO_PART_UNDECIDED, PLYECHO_PART_REJECTED};
    int worst = 0;
    for (size_t k = 0; k < count; k++)
        if (pe_accept_weight(limit[k].state) > worst)
            worst = pe_accept_weight(limit[k].state);
    return count > 0 ? of_weight[worst] : PLYECHO_PART_NOT_EVALUATED;
}

static bool has_limits(const struct plyecho_procedure *p)
{
    return p->acceptance.least_m.set || p->acceptance.most_spread_m.set ||
           p->acceptance.most_delamination_m.set || p->acceptance.most_delamination_m2.set ||
           p->acceptance.most_inner_echo_m2.set || p->acceptance.most_attenuated_m2.set ||
           p->acceptance.least_distance_m.set || p->acceptance.least_coverage.set ||
           p->acceptance.most_unseen_m.set;
}

enum plyecho_code plyecho_accept(const struct plyecho_part_reading *part,
                                 struct plyecho_acceptance *acceptance,
                                 struct plyecho_error *err)
{
    const struct pe_acceptor j = {part, acceptance};
    *acceptance = (struct plyecho_acceptance){.verdict = PLYECHO_PART_NOT_EVALUATED};
    if (!has_limits(part->procedure))
        return PLYECHO_OK;
    pe_accept_walls(&j);
    pe_accept_sizes(&j);
    pe_accept_coverage(&j);
    pe_accept_bars(&j);
    enum plyecho_code code = pe_accept_gaps(&j, err);
    acceptance->verdict = plyecho_part_verdict_of(acceptance->limit, acceptance->count);
    return code;
}
