/* What bars acceptance though no limit is broken: places that were told something of, and what nobody asked. */
#include <plyecho/walls.h>

#include "acceptance_inside.h"
#include "explain.h"

static const struct plyecho_known unknown = {false, 0.0};

/* ---- places ---- */

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

/* Told, but without a wall that anybody vouches for; what was not told has rows of its own. */
static bool is_without_wall(const struct plyecho_place_reading *r)
{
    return r->read && !plyecho_walls_has(r) && r->second != PLYECHO_UNDECIDED &&
           r->second != PLYECHO_UNREADABLE;
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

/* It passes for sound. */
static bool passes(const struct plyecho_place_reading *r)
{
    return r->read && (r->second == PLYECHO_NO_INDICATION || r->second == PLYECHO_INNER_ECHO);
}

static bool is_without_nominal(const struct plyecho_place_reading *r)
{
    return passes(r) && !r->nominal_m.known;
}

static bool is_without_level(const struct plyecho_place_reading *r)
{
    return passes(r) && !r->expectation;
}

/* What bars acceptance wherever it is. */
struct bar {
    enum pe_limit which;
    const char *what, *why; /* N places `what`, the first at ...: `why` */
    place_test *is;
    enum plyecho_limit_state state;
    bool asked; /* a limit of the procedure speaks of it, or something else rules it out */
};

static void judge_bar(const struct pe_acceptor *j, const struct bar *bar)
{
    const struct plyecho_place_reading *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < j->part->grid->count; i++)
        if (bar->is(&j->part->readings[i])) {
            first = first == NULL ? &j->part->readings[i] : first;
            count++;
        }
    if (count == 0 || bar->asked)
        return;
    const struct plyecho_known reading = {true, (double)count};
    struct plyecho_limit *row = pe_accept_row(j, bar->which, unknown, reading, bar->state);
    pe_accept_say(row, "%zu place%s %s, the first", count, count > 1 ? "s" : "", bar->what);
    pe_accept_say_place(row, j->part->grid, &first->place);
    pe_accept_say(row, ": %s", bar->why);
}

/* Sound places tell how strong a back wall is here, unless all are so weak for a usual laminate that the part may be
 * porous throughout. */
static bool has_usual_level(const struct pe_acceptor *j)
{
    const struct plyecho_known *balance_db = &j->part->sound->balance_db;
    return balance_db->known && balance_db->value > -PE_ATTENUATED_DB;
}

static void judge_places(const struct pe_acceptor *j)
{
    static const char none[] = "none is allowed, since no limit is stated";
    static const char ask[] =
        "no limit is stated for it: the governing code or the maker must say";
    const enum plyecho_limit_state open = PLYECHO_LIMIT_OPEN, broken = PLYECHO_LIMIT_BROKEN;
    const struct plyecho_procedure *p = j->part->procedure;
    const struct bar bars[] = {
        {PE_BAR_DELAMINATION, "delamination", none, is_delamination, broken,
         p->acceptance.most_delamination_m.set || p->acceptance.most_delamination_m2.set},
        {PE_BAR_THIN, "thin", none, is_thin, broken, p->acceptance.least_m.set},
        {PE_BAR_ATTENUATED, "attenuated", ask, is_attenuated, open,
         p->acceptance.most_attenuated_m2.set},
        {PE_BAR_INNER_ECHO, "inner-echo", ask, is_undeclared, open,
         p->acceptance.most_inner_echo_m2.set},
        {PE_BAR_NO_WALL, "whose wall was not surely seen",
         "behind a delamination or a weak back wall nothing tells whether it holds least_mm; a "
         "micrometer where it reaches, a reading from the other side as well, or a section "
         "tells",
         is_without_wall, open, !p->acceptance.least_m.set},
        {PE_BAR_FLAGGED, "flagged", "its own trace is in doubt: to be read again", is_flagged,
         open, false},
        {PE_BAR_UNDECIDED, "undecided", "to be read again, or looked at by other means",
         is_undecided, open, false},
        {PE_BAR_UNREADABLE, "unreadable", "to be coupled and read again", is_unreadable, open,
         false},
        {PE_BAR_UNREAD, "unread", "listed, but without a trace that could be read", is_unread,
         open, false},
        {PE_BAR_NO_NOMINAL, "without a nominal wall",
         "a delamination under all of the beam would pass for the wall: state nominal_mm, or "
         "the layers",
         is_without_nominal, open, false},
        {PE_BAR_NO_LEVEL, "whose back wall's level was not assessed",
         "porosity is not ruled out: state attenuation_db_mm_mhz, and read through a delay "
         "line",
         is_without_level, open, has_usual_level(j)},
    };
    for (size_t k = 0; k < sizeof bars / sizeof bars[0]; k++)
        judge_bar(j, &bars[k]);
}

/* ---- the part ---- */

/* The coverage is summed up to that. */
static const double whole = 0.998;

static void judge_unasked_coverage(const struct pe_acceptor *j)
{
    const struct plyecho_procedure *p = j->part->procedure;
    struct plyecho_known share = j->part->coverage->share;
    if (p->acceptance.least_coverage.set || p->acceptance.most_unseen_m.set ||
        (share.known && share.value >= whole))
        return;
    share.value *= PERCENT;
    struct plyecho_limit *row =
        pe_accept_row(j, PE_BAR_COVERAGE, unknown, share, PLYECHO_LIMIT_OPEN);
    if (share.known)
        pe_accept_say(row, "the beam was on %.4g %% of the surface", share.value);
    else
        pe_accept_say(row, "how much of the surface the beam was on is not known");
    pe_accept_say(row,
                  ", and no limit says whether that is enough: state least_coverage_percent or "
                  "most_unseen_mm%s",
                  share.known ? "" : ", with beam_mm and a tube's diameter_mm");
}

static void judge_single_line(const struct pe_acceptor *j)
{
    const struct plyecho_grid *g = j->part->grid;
    if (g->rows > 1 && g->columns > 1)
        return;
    bool along = g->rows == 1;
    struct plyecho_limit *row =
        pe_accept_row(j, PE_BAR_SINGLE_LINE, unknown, unknown, PLYECHO_LIMIT_OPEN);
    pe_accept_say(row,
                  "all places lie on one %s, and nothing is known of the part beside it: read "
                  "several, as far as the part has to hold",
                  g->tube && along ? "ring" : "line");
}

static void judge_doubts(const struct pe_acceptor *j)
{
    if (j->part->wall_doubts == NULL)
        return;
    pe_accept_say(pe_accept_row(j, PE_BAR_WALL_DOUBT, unknown, unknown, PLYECHO_LIMIT_OPEN),
                  "the walls may be wrong by what the procedure says of %s: mend it there, as "
                  "its doubts tell, and scan again",
                  j->part->wall_doubts);
}

static void judge_copies(const struct pe_acceptor *j)
{
    const struct plyecho_known reading = {true, (double)j->part->copies};
    if (j->part->copies == 0)
        return;
    pe_accept_say(pe_accept_row(j, PE_BAR_COPIED, unknown, reading, PLYECHO_LIMIT_OPEN),
                  "%zu trace%s a copy of another, and no reading of its place: read it again",
                  j->part->copies, j->part->copies > 1 ? "s are each" : " is");
}

void pe_accept_bars(const struct pe_acceptor *j)
{
    judge_places(j);
    judge_unasked_coverage(j);
    judge_single_line(j);
    judge_doubts(j);
    judge_copies(j);
}
