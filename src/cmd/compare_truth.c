#include "compare_truth.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include <plyecho/walls.h>

#include "memory.h"

static const double coverage_factor = 2.0, coverage = 0.95;

const char *truth_call_word(enum truth_call call)
{
    static const char *const words[] = {
        [TRUTH_NOT_CALLED] = "",
        [TRUTH_FOUND] = "found",
        [TRUTH_ONLY_FLAGGED] = "only flagged",
        [TRUTH_MISSED] = "missed",
        [TRUTH_FALSE_CALL] = "false call",
        [TRUTH_CLEAR] = "clear",
    };
    return words[call];
}

/* ---- one row ---- */

static void judge_wall(struct truth_row *row, const struct plyecho_place_reading *r)
{
    if (!row->thickness_m.known || !plyecho_walls_has(r))
        return;
    row->difference_m =
        (struct plyecho_known){true, r->second_wall_m.value - row->thickness_m.value};
    row->difference_u_m = r->second_wall_u_m;
    if (row->difference_u_m.known && row->thickness_u_m.known)
        row->difference_u_m.value = hypot(r->second_wall_u_m.value, row->thickness_u_m.value);
}

static enum truth_call call_of(const struct truth_row *row,
                               const struct plyecho_place_reading *r)
{
    if (row->cut == TRUTH_NOT_CUT || plyecho_place_unread(r))
        return TRUTH_NOT_CALLED;
    if (row->cut == TRUTH_NOTHING_FOUND)
        return r->second == PLYECHO_DELAMINATION ? TRUTH_FALSE_CALL : TRUTH_CLEAR;
    if (r->second == PLYECHO_DELAMINATION)
        return TRUTH_FOUND;
    return r->second_flagged ? TRUTH_ONLY_FLAGGED : TRUTH_MISSED;
}

static void judge_depth(struct truth_row *row, const struct plyecho_place_reading *r,
                        struct plyecho_known tolerance_m)
{
    if (row->cut != TRUTH_DELAMINATION || row->call == TRUTH_NOT_CALLED ||
        !plyecho_verdict_has_echo(r->second))
        return;
    row->depth_difference_m = (struct plyecho_known){true, r->second_depth_m - row->depth_m};
    row->depth_limit_m = r->depth_u_m;
    row->depth_limit_m.value *= coverage_factor;
    if (tolerance_m.known)
        row->depth_limit_m = tolerance_m;
}

static bool within(struct plyecho_known difference, struct plyecho_known limit, double factor)
{
    return !difference.known || !limit.known || fabs(difference.value) <= factor * limit.value;
}

bool truth_wall_agrees(const struct truth_row *row)
{
    return within(row->difference_m, row->difference_u_m, coverage_factor);
}

bool truth_depth_agrees(const struct truth_row *row)
{
    return within(row->depth_difference_m, row->depth_limit_m, 1.0);
}

/* ---- all ---- */

/* Agreement of what is known; the differences are independent as far as anyone can tell. */
static void take_agreement(const struct truth *t, bool depth, double *scratch,
                           struct plyecho_agreement *agreement)
{
    size_t n = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct truth_row *row = &t->row[i];
        struct plyecho_known d = depth ? row->depth_difference_m : row->difference_m;
        if (d.known)
            scratch[n++] = d.value;
    }
    plyecho_agreement_take(scratch, n, agreement, NULL); /* of none the count is 0 */
}

static void take_within(struct truth *t)
{
    size_t walls = 0, walls_good = 0, depths = 0, depths_good = 0;
    double squares = 0.0;
    for (size_t i = 0; i < t->count; i++) {
        const struct truth_row *row = &t->row[i];
        if (row->difference_m.known && row->difference_u_m.known) {
            walls++;
            walls_good += truth_wall_agrees(row);
            squares += row->difference_u_m.value * row->difference_u_m.value;
        }
        if (row->depth_difference_m.known && row->depth_limit_m.known) {
            depths++;
            depths_good += truth_depth_agrees(row);
        }
    }
    t->wall_within = plyecho_share_take(walls_good, walls);
    t->depth_within = plyecho_share_take(depths_good, depths);
    t->factor =
        walls > 0 ? gsl_cdf_ugaussian_Qinv(0.5 * (1.0 - coverage) / (double)walls) : 0.0;
    t->wall_u_m.known = walls > 0 && walls == t->wall.count;
    t->wall_u_m.value = t->wall_u_m.known ? sqrt(squares / (double)walls) : 0.0;
}

static void take_calls(struct truth *t)
{
    size_t calls[TRUTH_CLEAR + 1] = {0};
    for (size_t i = 0; i < t->count; i++) {
        const struct truth_row *row = &t->row[i];
        calls[row->call]++;
        t->not_read += row->cut != TRUTH_NOT_CUT && row->at != PLYECHO_NO_PLACE &&
                       row->call == TRUTH_NOT_CALLED;
        t->no_wall +=
            row->thickness_m.known && row->at != PLYECHO_NO_PLACE && !row->difference_m.known;
    }
    t->missed = calls[TRUTH_MISSED];
    t->only_flagged = calls[TRUTH_ONLY_FLAGGED];
    t->found = plyecho_share_take(calls[TRUTH_FOUND],
                                  calls[TRUTH_FOUND] + t->missed + t->only_flagged);
    t->false_calls = plyecho_share_take(calls[TRUTH_FALSE_CALL],
                                        calls[TRUTH_FALSE_CALL] + calls[TRUTH_CLEAR]);
}

void truth_judge(struct truth *t, struct plyecho_known depth_tolerance_m)
{
    double *scratch = memory_take(t->count, sizeof *scratch);
    for (size_t i = 0; i < t->count; i++) {
        struct truth_row *row = &t->row[i];
        if (row->at == PLYECHO_NO_PLACE)
            continue;
        const struct plyecho_place_reading *r = &t->scan->results.reading[row->at];
        judge_wall(row, r);
        row->call = call_of(row, r);
        judge_depth(row, r, depth_tolerance_m);
    }
    take_agreement(t, false, scratch, &t->wall);
    take_agreement(t, true, scratch, &t->depth);
    take_within(t);
    take_calls(t);
    free(scratch);
}

bool truth_cut_flagged(const struct truth_row *row)
{
    return row->call == TRUTH_MISSED || row->call == TRUTH_ONLY_FLAGGED ||
           row->call == TRUTH_FALSE_CALL || !truth_depth_agrees(row);
}

bool truth_wall_far_off(const struct truth *t, const struct truth_row *row)
{
    return !within(row->difference_m, row->difference_u_m, t->factor);
}

bool truth_walls_flagged(const struct truth *t)
{
    bool flagged =
        (t->wall_u_m.known && fabs(t->wall.bias) > coverage_factor * t->wall_u_m.value) ||
        (t->wall_within.count > 0 && t->wall_within.interval_95.most < coverage);
    for (size_t i = 0; i < t->count && !flagged; i++)
        flagged = truth_wall_far_off(t, &t->row[i]);
    return flagged;
}

bool truth_flagged(const struct truth *t)
{
    bool flagged = truth_walls_flagged(t);
    for (size_t i = 0; i < t->count && !flagged; i++)
        flagged = truth_cut_flagged(&t->row[i]);
    return flagged;
}

bool compare_with_truth(const struct compare_scan *scan, const char *file,
                        struct plyecho_known tolerance_m, const struct table_values *values,
                        struct messages *messages)
{
    struct truth t;
    bool flagged = false;
    if (truth_read(&t, scan, file, messages)) {
        truth_judge(&t, tolerance_m);
        if (values->format.index == TABLE_TEXT)
            truth_print(&t, stdout);
        else
            truth_table(&t, values);
        flagged = truth_flagged(&t);
    }
    truth_clear(&t);
    return flagged;
}
