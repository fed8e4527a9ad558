/* compare_time.h - two scans of one part: what has changed, and how it is told
 */
#ifndef PLYECHO_CMD_COMPARE_TIME_H
#define PLYECHO_CMD_COMPARE_TIME_H

#include <plyecho/alignment.h>

#include "compare.h"

struct compare_time {
    const struct compare_scan *before, *after;
    size_t *after_of, *before_of; /* of each place, change.h */
    size_t matched;
    struct plyecho_alignment alignment;
    struct plyecho_wall_change *wall; /* [places before] */
    struct plyecho_wall_changes walls;
    struct plyecho_indication_change *indication;
    size_t indications;
};

/* Is this something to act on: more than the same, or what nobody can say? */
bool compare_time_wall_flagged(const struct plyecho_wall_change *change);
bool compare_time_indication_flagged(const struct compare_time *c,
                                     const struct plyecho_indication_change *change);
bool compare_time_alignment_flagged(const struct compare_time *c);
bool compare_time_flagged(const struct compare_time *c);

/* The indication that a change is told at: the later one, where there is one. */
const struct plyecho_indication *compare_time_shown(
    const struct compare_time *c, const struct plyecho_indication_change *change);

enum { COMPARE_WORDS_ROOM = 320 };

/* What the walls say of the zero mark, in a sentence. */
const char *compare_time_alignment_words(const struct compare_time *c,
                                         char words[COMPARE_WORDS_ROOM]);

/* What became of an indication: sizes, what cannot be said and why. */
const char *compare_time_indication_words(const struct compare_time *c,
                                          const struct plyecho_indication_change *change,
                                          char words[COMPARE_WORDS_ROOM]);

/* A page for a person; a table for a program. */
void compare_time_print(const struct compare_time *c, FILE *out);
void compare_time_table(const struct compare_time *c, const struct table_values *values);

#endif
