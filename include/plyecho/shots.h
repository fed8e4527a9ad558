/* shots.h - several shots at one place, lifted and coupled anew, as one reading
 */
#ifndef PLYECHO_SHOTS_H
#define PLYECHO_SHOTS_H

#include <stddef.h>

#include <plyecho/place_reading.h>

/* Combine the assessments of `count` (at least 1) shots: the verdict is that of the best coupled one that could be
 * read, told by the weakest interface echo where the reference tells its level, else by the surest time;
 * the standard deviation of the walls that the shots saw goes into the wall's uncertainty. Where that shot
 * is not flagged and another one is, or only another one finds a delamination, the reading is `undecided`,
 * `shots-disagree`. reading's
 * place is the caller's; what neighbours tell is not filled. spread_m: that standard deviation, from
 * two walls on. Returns which shot's the verdict is. */
PLYECHO_API size_t plyecho_shots_combine(const struct plyecho_assessment *const *shots,
                                         size_t count, double tolerance_m,
                                         struct plyecho_place_reading *reading,
                                         struct plyecho_known *spread_m);

#endif
