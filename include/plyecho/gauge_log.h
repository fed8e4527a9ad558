/* gauge_log.h - a log of plain thickness readings, as read off a gauge: does it look like one wall?
 *
 * Such a log has no echo in it. A gauge that takes the first big echo reads the depth of a delamination, or of an inner
 * layer, as a wall. Common practice, no source: low readings that scatter round a tube point to delamination. So the
 * smooth wall is taken out (smooth_wall.h), what is left is held against one normal group and against two
 * (clusters.h) and searched for outliers (outliers.h), and low places are asked how their neighbours lead to them:
 * a wall thins step by step, a delamination ends at its edge. All of that speaks for or against, none of it proves.
 */
#ifndef PLYECHO_GAUGE_LOG_H
#define PLYECHO_GAUGE_LOG_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/along.h>
#include <plyecho/clusters.h>
#include <plyecho/error.h>
#include <plyecho/grid.h>
#include <plyecho/known.h>
#include <plyecho/place_reading.h>
#include <plyecho/smooth_wall.h>

/* One line of the log. */
struct plyecho_gauge_reading {
    struct plyecho_place place;
    struct plyecho_known wall_m; /* not known: the gauge showed none; above 0 */
    struct plyecho_known u_m;    /* its standard uncertainty */
};

struct plyecho_gauge_log_options {
    struct plyecho_part part;
    struct plyecho_known nominal_m;
    const struct plyecho_along *nominal; /* NULL, or where it changes along the part: wins */
    struct plyecho_known least_m;        /* limit of acceptance */
    struct plyecho_known
        tolerance_m; /* not known: a tenth of the nominal, or of the median reading */
};

/* What a place's reading is taken for. */
enum plyecho_gauge_group {
    PLYECHO_GAUGE_WALL,
    PLYECHO_GAUGE_LOW,
    PLYECHO_GAUGE_HIGH,
    PLYECHO_GAUGE_OTHER_WALL, /* of two walls the other one */
    PLYECHO_GAUGE_UNREAD
};

/* How the readings around lead to a low one. */
enum plyecho_gauge_fall {
    PLYECHO_GAUGE_NO_FALL,
    PLYECHO_GAUGE_AT_ONCE,
    PLYECHO_GAUGE_IN_STEPS,
    PLYECHO_GAUGE_FALL_OPEN /* too little, or too few places around, to tell; or some without a reading */
};

/* The first that holds. */
enum plyecho_gauge_answer {
    PLYECHO_GAUGE_TOO_FEW,          /* places for statistics */
    PLYECHO_GAUGE_TWO_WALLS,        /* two levels, each by itself in a part of its own */
    PLYECHO_GAUGE_MIXED,            /* two groups, and three places or more fall at once */
    PLYECHO_GAUGE_LOW_SPOTS,        /* some places read less than the wall around */
    PLYECHO_GAUGE_HIGH_SPOTS,       /* or more */
    PLYECHO_GAUGE_SCATTERED,        /* no wall stands out, or readings of one place disagree */
    PLYECHO_GAUGE_BEYOND_TOLERANCE, /* one wall, but not within the tolerance, or below the limit */
    PLYECHO_GAUGE_UNREAD_PLACES, /* one wall, but the gauge showed none somewhere */
    PLYECHO_GAUGE_ONE_WALL,
    PLYECHO_GAUGE_ANSWER_COUNT
};

struct plyecho_gauge_place {
    struct plyecho_place place;
    size_t readings;          /* with a number */
    double wall_m;            /* their mean, or the least where they disagree; 0 without one */
    double least_m, most_m;   /* of them */
    bool disagree;            /* by more than counts */
    struct plyecho_known u_m; /* the largest of theirs: what they share does not average out */
    struct plyecho_known nominal_m;
    enum plyecho_gauge_group group;
    double smooth_m;                /* the wall that the readings together would have here */
    double off_m;                   /* wall_m less smooth_m */
    struct plyecho_known low_share; /* how likely it is of the low group, where there are two */
    bool outlier;                   /* by Rosner's test at 5 % */
    bool
        beyond; /* off the nominal, or the level without one, by more than the tolerance; or below the limit */
    enum plyecho_gauge_fall fall;
    double step_m; /* largest step on the best way to a low place; INFINITY: none leads there */
    bool in_patch; /* without a reading, as one or more places next to it */
    bool
        beside_unread; /* low, and next to a place without a reading, or one place off such a patch */
};

struct plyecho_gauge_log {
    bool tube;
    size_t count; /* places, in the order in which they first come */
    struct plyecho_gauge_place *place;
    size_t readings;
    size_t *place_of; /* [readings] */
    struct plyecho_grid
        *grid; /* NULL where the places form none: who is next to whom is not known */

    double resolution_m; /* all readings are multiples of it: 1, 0.1, 0.05, 0.01 or 0.001 mm */
    double level_m;      /* median nominal, else median reading */
    double tolerance_m;
    double
        counts_m; /* half the tolerance, three times the resolution at least: less is no difference */
    bool nominal_known;             /* at every place that was read */
    struct plyecho_known repeats_m; /* standard deviation of readings of one place, pooled */

    struct plyecho_smooth_wall
        smooth; /* of the readings, or where nominal_known of what they are above it */
    struct plyecho_clusters clusters; /* of off_m */
    bool two;                         /* groups, surely enough, and apart by more than counts */
    bool parted;                      /* each in a part of its own */
    double wall_off_m;                /* mean off_m of the group that is taken for the wall */

    enum plyecho_gauge_answer answer;
    size_t read, unread;                  /* places */
    size_t in_patches, beside_unread;     /* of the unread; of the low */
    size_t wall, low, high, other;        /* of those read, by group */
    size_t at_once, in_steps, alone;      /* of the low ones; alone: no reading leads there */
    size_t outliers, disagreeing, beyond; /* of those read */
    double mean_m;                        /* of the places of the wall */
    struct plyecho_known spread_m;        /* standard deviation of off_m there */
    size_t least;                         /* the place that reads least */
};

enum { PLYECHO_GAUGE_LEAST = 8, PLYECHO_GAUGE_MOST = 20000 };

/* The word for tables; never NULL. */
PLYECHO_API const char *plyecho_gauge_answer_word(enum plyecho_gauge_answer answer);
PLYECHO_API const char *plyecho_gauge_group_word(enum plyecho_gauge_group group);
PLYECHO_API const char *plyecho_gauge_fall_word(enum plyecho_gauge_fall fall);

/* Judge a log; the readings are the caller's. Readings of one place (coordinates within 1e-6 degrees or 1e-9 m) are
 * combined. PLYECHO_BAD_ARGUMENT where no reading is a number, or one is not above 0; PLYECHO_TOO_LARGE beyond
 * PLYECHO_GAUGE_MOST readings; PLYECHO_NO_MEMORY. *log is then NULL. */
PLYECHO_API enum plyecho_code plyecho_gauge_log_new(
    struct plyecho_gauge_log **log, const struct plyecho_gauge_reading *readings, size_t count,
    const struct plyecho_gauge_log_options *options, struct plyecho_error *err);

/* NULL is fine. */
PLYECHO_API void plyecho_gauge_log_free(struct plyecho_gauge_log *log);

#endif
