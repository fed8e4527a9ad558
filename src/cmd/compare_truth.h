/* compare_truth.h - a scan's readings against places measured otherwise
 */
#ifndef PLYECHO_CMD_COMPARE_TRUTH_H
#define PLYECHO_CMD_COMPARE_TRUTH_H

#include <plyecho/agreement.h>

#include "compare.h"

/* What a cut has shown. */
enum truth_cut {
    TRUTH_NOT_CUT,
    TRUTH_NOTHING_FOUND,
    TRUTH_DELAMINATION /* depth_m holds */
};

/* What the scan made of a cut place. */
enum truth_call {
    TRUTH_NOT_CALLED,   /* not cut, not scanned or not read */
    TRUTH_FOUND,        /* called a delamination, and it is one */
    TRUTH_ONLY_FLAGGED, /* one, but flagged as something else */
    TRUTH_MISSED,       /* one, but not flagged */
    TRUTH_FALSE_CALL,   /* called one, but nothing was found */
    TRUTH_CLEAR         /* nothing called, nothing found */
};

const char *truth_call_word(enum truth_call call);

/* A row of the table. */
struct truth_row {
    long line;
    struct plyecho_place place;
    struct plyecho_known thickness_m, thickness_u_m;
    enum truth_cut cut;
    double depth_m;

    size_t at; /* the place that was scanned there, or PLYECHO_NO_PLACE */
    struct plyecho_known difference_m, difference_u_m; /* wall, reading less truth */
    enum truth_call call;
    struct plyecho_known depth_difference_m; /* of an echo that was called */
    struct plyecho_known depth_limit_m;      /* it agrees within this; not known: not judged */
};

struct truth {
    const struct compare_scan *scan;
    const char *file;
    struct truth_row *row;
    size_t count;
    size_t scanned, empty; /* places that were; rows without a value, which are not in row */
    size_t no_wall;        /* measured, but the scan tells no wall there */
    size_t exact;          /* walls whose measurement states no uncertainty: taken as exact */
    double
        factor; /* beyond so many uncertainties one wall of all is off for sure (Bonferroni) */
    struct plyecho_agreement wall, depth; /* count 0: none */
    struct plyecho_known wall_u_m;        /* root mean square of differences' uncertainties */
    struct plyecho_share wall_within;     /* twice their uncertainty */
    struct plyecho_share depth_within;
    struct plyecho_share found, false_calls;
    size_t missed, only_flagged, not_read; /* of those that were cut */
};

/* Read the table and find its places; trouble is said. truth_clear is due in any case. */
bool truth_read(struct truth *truth, const struct compare_scan *scan, const char *file,
                struct messages *messages);
void truth_clear(struct truth *truth);

/* Judge each row, then all. */
void truth_judge(struct truth *truth, struct plyecho_known depth_tolerance_m);

/* Within their limits? True as well where nobody can say. */
bool truth_wall_agrees(const struct truth_row *row);
bool truth_depth_agrees(const struct truth_row *row);

/* More of the walls off than chance has it, or all of them together, or one far off. */
bool truth_walls_flagged(const struct truth *truth);
bool truth_wall_far_off(const struct truth *truth, const struct truth_row *row);
bool truth_cut_flagged(const struct truth_row *row);
bool truth_flagged(const struct truth *truth);

void truth_print(const struct truth *truth, FILE *out);
void truth_table(const struct truth *truth, const struct table_values *values);

#endif
