/* change.h - what has changed between two scans of one part
 *
 * Each difference is judged against both scans' uncertainties. A velocity that is a little off moves all walls of a
 * scan together: so the shift of all is judged apart, and a single place against its own two uncertainties, at a
 * limit that one in twenty comparisons of an unchanged part exceeds anywhere (Bonferroni). What the uncertainties have
 * in common hides small changes of one place: it stands out where it is off the shift of all by as many times their
 * scatter, taken at what it may be at most.
 */
#ifndef PLYECHO_CHANGE_H
#define PLYECHO_CHANGE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/grid.h>
#include <plyecho/indications.h>
#include <plyecho/known.h>
#include <plyecho/place_reading.h>

/* One scan, judged with its neighbours. */
struct plyecho_scanned {
    const struct plyecho_grid *grid;
    const struct plyecho_place_reading *readings; /* [grid->count] */
    const struct plyecho_indication *indications; /* [indication_count] */
    size_t indication_count;
};

/* Which place of `after` is which of `before`: the nearest, in either direction, on lines nearer than half of
 * the smaller spacing. after_of: [before->count] gets its index, or PLYECHO_NO_PLACE; before_of: [after->count]
 * likewise. Returns how many are matched. */
PLYECHO_API size_t plyecho_change_match(const struct plyecho_grid *before,
                                        const struct plyecho_grid *after, size_t *after_of,
                                        size_t *before_of);

/* The place nearest to a point, on lines nearer than half a spacing; or PLYECHO_NO_PLACE. */
PLYECHO_API size_t plyecho_change_place_at(const struct plyecho_grid *grid,
                                           struct plyecho_place point);

enum plyecho_wall_change_state {
    PLYECHO_WALL_NOT_COMPARED, /* not matched, or no wall in one of them */
    PLYECHO_WALL_NOT_JUDGED,   /* an uncertainty is not known */
    PLYECHO_WALL_SAME,         /* within the uncertainties */
    PLYECHO_WALL_STANDS_OUT,   /* as well, but off the shift of all by more than they scatter */
    PLYECHO_WALL_THINNER,
    PLYECHO_WALL_THICKER
};

/* The word for tables; never NULL. */
PLYECHO_API const char *plyecho_wall_change_word(enum plyecho_wall_change_state state);

struct plyecho_wall_change {
    enum plyecho_wall_change_state state;
    bool own_traces; /* both walls are told by their own trace, not only by the neighbours */
    double difference_m;      /* after less before, of second_wall_m; 0 where not compared */
    struct plyecho_known u_m; /* standard uncertainty: sqrt(u1^2 + u2^2) */
};

struct plyecho_wall_changes {
    size_t compared, judged, standing_out, thinner, thicker;
    double
        factor; /* beyond so many uncertainties a place has changed; 0 where none is judged */
    /* Of the places compared. The median is the shift of all together: what changed at a few moves it little. */
    struct plyecho_known mean_m, median_m;
    struct plyecho_known
        spread_m; /* from two on: 1.4826 times the median distance from the median */
    /* Of that shift, at most: as if each scan's uncertainty were common to all of its places. Not known where
     * one is not. */
    struct plyecho_known shift_u_m;
    bool shifted; /* beyond twice that */
};

/* changes: [before->grid->count], in its order. Walls count where plyecho_walls_has. PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_change_walls(const struct plyecho_scanned *before,
                                                   const struct plyecho_scanned *after,
                                                   const size_t *after_of,
                                                   struct plyecho_wall_change *changes,
                                                   struct plyecho_wall_changes *summary,
                                                   struct plyecho_error *err);

enum plyecho_indication_state {
    PLYECHO_INDICATION_SAME,
    PLYECHO_INDICATION_GREW,   /* extent or area, by more than twice its uncertainty */
    PLYECHO_INDICATION_SHRANK, /* likewise, and nothing of it grew */
    PLYECHO_INDICATION_NEW,
    PLYECHO_INDICATION_GONE,
    /* there in both, of another kind: a bond that opened, a declared layer that is no longer as declared */
    PLYECHO_INDICATION_OTHER_KIND,
    PLYECHO_INDICATION_HIDDEN,        /* another indication lies there now, so nobody can say */
    PLYECHO_INDICATION_NOT_COMPARABLE /* most of its places were not read in the other scan */
};

/* The word for tables; never NULL. */
PLYECHO_API const char *plyecho_indication_state_word(enum plyecho_indication_state state);

#define PLYECHO_NO_INDICATION_INDEX ((size_t)-1)

/* Indications of the two scans that are one. Several are where one fell apart or some grew together. */
struct plyecho_indication_change {
    enum plyecho_indication_state state;
    size_t before, after; /* the largest of each scan, or PLYECHO_NO_INDICATION_INDEX */
    size_t before_count, after_count;
    /* After less before, of all together, with its standard uncertainty; arc and along only of one to one.
     * Not known without a diameter. */
    struct plyecho_known area_m2, area_u_m2, arc_m, arc_u_m, along_m, along_u_m;
};

/* Two are one where their extents overlap on the surface (widened by their uncertainty) and their depths agree, of
 * one kind first (a declared layer is one, what is not as declared another), then what is left of different kinds.
 * Depths agree within twice their uncertainty, within a tenth where that is not known. *list is malloc'ed, in the order of `before`, then new ones in that of `after`; NULL where there
 * is none. PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_change_indications(
    const struct plyecho_scanned *before, const struct plyecho_scanned *after,
    const size_t *after_of, const size_t *before_of, struct plyecho_indication_change **list,
    size_t *count, struct plyecho_error *err);

#endif
