/* acceptance.h - the verdict of the part: each limit of the procedure with its reading
 *
 * After JCGM 106 (guarded acceptance): a wall, a size or a distance holds its limit where it does so by twice its
 * standard uncertainty, breaks it where it reads beyond it; between the two, and where its uncertainty is not
 * known, nothing is decided. What no limit speaks of is never accepted in silence.
 */
#ifndef PLYECHO_ACCEPTANCE_H
#define PLYECHO_ACCEPTANCE_H

#include <stddef.h>

#include <plyecho/context.h>
#include <plyecho/coverage.h>
#include <plyecho/indications.h>
#include <plyecho/procedure.h>

enum plyecho_part_verdict {
    PLYECHO_PART_NOT_EVALUATED, /* the procedure has no limits */
    PLYECHO_PART_ACCEPTED,
    PLYECHO_PART_REJECTED, /* a limit is broken */
    PLYECHO_PART_UNDECIDED /* none is broken, but not all hold, or places were not read */
};

PLYECHO_API const char *plyecho_part_verdict_word(enum plyecho_part_verdict verdict);

/* open: neither held nor broken for sure, or not known at all. */
enum plyecho_limit_state { PLYECHO_LIMIT_HOLDS, PLYECHO_LIMIT_BROKEN, PLYECHO_LIMIT_OPEN };

PLYECHO_API const char *plyecho_limit_state_word(enum plyecho_limit_state state);

enum { PLYECHO_LIMITS_MOST = 32, PLYECHO_LIMIT_WORDS_ROOM = 400 };

/* One limit. */
struct plyecho_limit {
    const char
        *key; /* of the procedure, e.g. "least_mm"; else what bars acceptance, e.g. "unread" */
    struct plyecho_known limit; /* in the key's unit; not known: none may be there */
    struct plyecho_known reading;
    enum plyecho_limit_state state;
    /* for a person, with the place; "..." at the end where they were cut */
    char words[PLYECHO_LIMIT_WORDS_ROOM];
};

/* What these limits come to; their state is all that is looked at. Not evaluated where there is none. */
PLYECHO_API enum plyecho_part_verdict plyecho_part_verdict_of(const struct plyecho_limit *limit,
                                                              size_t count);

struct plyecho_acceptance {
    enum plyecho_part_verdict verdict;
    size_t count;
    struct plyecho_limit limit[PLYECHO_LIMITS_MOST];
};

/* All that was read of a part. */
struct plyecho_part_reading {
    const struct plyecho_procedure *procedure;
    const struct plyecho_grid *grid;
    const struct plyecho_place_reading
        *readings; /* [grid->count] judged with their neighbours */
    const struct plyecho_indication *indications;
    size_t count; /* of them */
    const struct plyecho_coverage *coverage;
    const struct plyecho_sound_places *sound;
    const char *wall_doubts; /* settings by which all walls may be wrong, or NULL */
    size_t copies;           /* traces that are another one's bytes, and so no reading */
};

/* Rows come in the order of the procedure's keys, each that is stated; behind them what bars acceptance where it is
 * there. By place, with their count as the reading: "delamination" and "thin" (broken), "attenuated" and undeclared
 * "inner-echo" (open) for which no limit is stated; "no-wall", "flagged", "undecided", "unreadable", "unread",
 * "no-nominal" and "no-level" (open: no attenuation, nor sound places that could stand for it). Of the part,
 * open: "coverage" that is not whole and has no limit, a "single-line" of places, a "wall-doubt", "copied" traces,
 * places that form "no-lines", and "unscanned" gaps between places. Second verdicts and second_wall_m count. Limits
 * on coverage are never broken, but open: what the beam did not see is not bad, it is not known. */
/* PLYECHO_NO_MEMORY; the verdict is then not to be used. */
PLYECHO_API enum plyecho_code plyecho_accept(const struct plyecho_part_reading *part,
                                             struct plyecho_acceptance *acceptance,
                                             struct plyecho_error *err);

#endif
