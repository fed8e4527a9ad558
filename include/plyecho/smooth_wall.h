/* smooth_wall.h - the wall that changes gently round and along a part, through readings of which some are none
 *
 * A tube's wall may be eccentric, oval and tapered, a plate's a wedge or bowed: a few smooth terms, as many as the places
 * can carry. Over a delamination, or through an inner layer, readings are no wall, and there may be many of them. So the fit
 * is by least trimmed squares (P. Rousseeuw, J. Am. Statist. Assoc. 79 (1984) 871; drawn starts and concentration
 * steps after P. Rousseeuw, K. Van Driessen, Data Min. Knowl. Disc. 12 (2006) 29): it goes through the two in five of the
 * readings that agree best, then through all that are no further off than any of as many normal ones is 19 times in
 * 20. Up to nearly half of the readings may be anything; of two walls it finds one.
 */
#ifndef PLYECHO_SMOOTH_WALL_H
#define PLYECHO_SMOOTH_WALL_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/place_reading.h>

enum { PLYECHO_SMOOTH_TERMS = 6 };

struct plyecho_smooth_wall {
    bool tube;
    /* In this order, where there are places enough for them; else 0. Tube: level, cos and sin of the angle, along, cos
     * and sin of twice the angle. Plate: level, x, y, x^2, x y, y^2. Lengths are counted from `middle` in multiples of
     * `scale`, angles in degrees. */
    double coefficient[PLYECHO_SMOOTH_TERMS];
    bool used[PLYECHO_SMOOTH_TERMS];
    struct plyecho_place middle, scale;
    size_t kept;     /* readings that it goes through in the end */
    double spread_m; /* standard deviation of those from it */
};

/* value_m: [count] finite readings, or what they are above a nominal that is known at each place; count 1 or more.
 * resolution_m: above 0, what readings are rounded to: readings that agree within half of it agree. PLYECHO_BAD_ARGUMENT,
 * PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_smooth_wall_fit(struct plyecho_smooth_wall *wall,
                                                      const struct plyecho_place *places,
                                                      const double *value_m, size_t count,
                                                      bool tube, double resolution_m,
                                                      struct plyecho_error *err);

PLYECHO_API double plyecho_smooth_wall_at(const struct plyecho_smooth_wall *wall,
                                          const struct plyecho_place *place);

#endif
