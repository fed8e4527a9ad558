/* acceptance_inside.h - what the limits of acceptance.h share
 */
#ifndef PLYECHO_LIB_ACCEPTANCE_INSIDE_H
#define PLYECHO_LIB_ACCEPTANCE_INSIDE_H

#include <plyecho/acceptance.h>

#define MM 1e3
#define MM2 1e6
#define PERCENT 1e2

/* Guard band in standard uncertainties: guarded acceptance of JCGM 106 (8.3.2) with the expanded uncertainty
 * for k = 2, from memory. */
#define PE_ACCEPT_GUARD 2.0

/* What there may be a row for, one each at most. */
enum pe_limit {
    PE_LIMIT_LEAST_WALL,
    PE_LIMIT_SPREAD,
    PE_LIMIT_DELAMINATION_EXTENT,
    PE_LIMIT_DELAMINATION_AREA,
    PE_LIMIT_INNER_ECHO_AREA,
    PE_LIMIT_ATTENUATED_AREA,
    PE_LIMIT_DISTANCE,
    PE_LIMIT_LEAST_COVERAGE,
    PE_LIMIT_MOST_UNSEEN,
    PE_BAR_DELAMINATION,
    PE_BAR_THIN,
    PE_BAR_ATTENUATED,
    PE_BAR_INNER_ECHO,
    PE_BAR_NO_WALL,
    PE_BAR_FLAGGED,
    PE_BAR_UNDECIDED,
    PE_BAR_UNREADABLE,
    PE_BAR_UNREAD,
    PE_BAR_NO_NOMINAL,
    PE_BAR_NO_LEVEL,
    PE_BAR_COVERAGE,
    PE_BAR_SINGLE_LINE,
    PE_BAR_WALL_DOUBT,
    PE_BAR_COPIED,
    PE_BAR_NO_LINES,
    PE_BAR_UNSCANNED,
    PE_LIMIT_COUNT
};
_Static_assert((int)PE_LIMIT_COUNT <= (int)PLYECHO_LIMITS_MOST, "each has room for its row");

/* What is judged, and where it goes. */
struct pe_acceptor {
    const struct plyecho_part_reading *part;
    struct plyecho_acceptance *acceptance;
};

/* The row of that, behind those before it, with its words to be written. */
struct plyecho_limit *pe_accept_row(const struct pe_acceptor *j, enum pe_limit which,
                                    struct plyecho_known limit, struct plyecho_known reading,
                                    enum plyecho_limit_state state);

/* Go on with its words; "..." at their end where they have no room. */
void pe_accept_say(struct plyecho_limit *row, const char *format, ...) PLYECHO_PRINTF(2, 3);
void pe_accept_say_place(struct plyecho_limit *row, const struct plyecho_grid *grid,
                         const struct plyecho_place *place);

/* Of two readings that with the higher one counts: open before held, broken before open. */
int pe_accept_weight(enum plyecho_limit_state state);

static inline struct plyecho_known pe_accept_limit(const struct plyecho_setting *s, double unit)
{
    return (struct plyecho_known){s->set, s->value * unit};
}

/* The rows of what is stated, in the order of the keys. */
void pe_accept_walls(const struct pe_acceptor *j);    /* least wall, spread */
void pe_accept_sizes(const struct pe_acceptor *j);    /* indications: sizes, distance */
void pe_accept_coverage(const struct pe_acceptor *j); /* coverage, flaw unseen */

/* What bars acceptance without a limit of its own: places, and what nobody asked (acceptance_bars.c). */
void pe_accept_bars(const struct pe_acceptor *j);

/* Places that the scan left out (acceptance_gaps.c). PLYECHO_NO_MEMORY. */
enum plyecho_code pe_accept_gaps(const struct pe_acceptor *j, struct plyecho_error *err);

#endif
