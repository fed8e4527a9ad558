#include <plyecho/indications.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "indication_groups.h"
#include "indication_next.h"
#include "indication_size.h"

/* A seam is narrow in columns, and so against the round, and along most of the rows. */
enum { SEAM_COLUMNS = 3, SEAM_ROWS = 4 };
static const double seam_share_of_columns = 0.25, seam_share_of_rows = 0.75;

/* Higher is worse, within a kind. */
static double badness(const struct plyecho_place_reading *r)
{
    switch (r->second) {
    case PLYECHO_DELAMINATION:
    case PLYECHO_INNER_ECHO:
        return fabs(r->second_strength);
    case PLYECHO_THIN:
        return r->second_wall_m.known ? -r->second_wall_m.value : -INFINITY;
    case PLYECHO_ATTENUATED:
        return r->balance_db.known ? -r->balance_db.value : -INFINITY;
    default:
        return 0.0;
    }
}

static bool ends_here(const struct plyecho_grid *grid, size_t place)
{
    for (int d = PLYECHO_NEXT_ACROSS; d <= PLYECHO_BEFORE_ALONG; d++)
        if (plyecho_grid_step(grid, place, (enum plyecho_direction)d) == PLYECHO_NO_PLACE)
            return true;
    return false;
}

/* How many distinct lines the members lie on; seen is scratch. */
static size_t distinct(const size_t *line, const size_t *members, size_t count, size_t *seen)
{
    size_t lines = 0;
    for (size_t k = 0; k < count; k++)
        seen[line[members[k]]] = 0;
    for (size_t k = 0; k < count; k++)
        lines += seen[line[members[k]]]++ == 0;
    return lines;
}

static bool is_seam_like(const struct plyecho_grid *g, const size_t *members, size_t count,
                         size_t *seen)
{
    size_t columns = distinct(g->column, members, count, seen);
    size_t rows = distinct(g->row, members, count, seen);
    return columns <= SEAM_COLUMNS &&
           (double)columns <= seam_share_of_columns * (double)g->columns && rows >= SEAM_ROWS &&
           (double)rows >= seam_share_of_rows * (double)g->rows;
}

/* Everything but sizes and distances. */
static void describe(const struct pe_sized *s, size_t *seen, struct plyecho_indication *out)
{
    const size_t *start = &s->groups->start[s->group - 1];
    const size_t *members = &s->groups->member[start[0]];
    const struct plyecho_place_reading *first = &s->readings[members[0]];
    bool echo = plyecho_verdict_has_echo(first->second);
    *out = (struct plyecho_indication){.kind = first->second,
                                       .declared = first->second == PLYECHO_INNER_ECHO &&
                                                   !first->second_flagged,
                                       .places = start[1] - start[0],
                                       .worst = members[0],
                                       .least_depth_m = NAN,
                                       .most_depth_m = NAN,
                                       .strength = NAN};
    for (size_t k = 0; k < out->places; k++) {
        const struct plyecho_place_reading *r = &s->readings[members[k]];
        if (badness(r) > badness(&s->readings[out->worst]))
            out->worst = members[k];
        out->open_ended = out->open_ended || ends_here(s->grid, members[k]);
        if (echo) {
            out->least_depth_m = fmin(out->least_depth_m, r->second_depth_m);
            out->most_depth_m = fmax(out->most_depth_m, r->second_depth_m);
        }
    }
    const struct plyecho_place_reading *worst = &s->readings[out->worst];
    if (echo)
        out->strength = worst->second_strength;
    if (out->kind == PLYECHO_THIN)
        out->least_wall_m = worst->second_wall_m;
    out->seam_like = is_seam_like(s->grid, members, out->places, seen);
}

/* ---- all of it ---- */

static enum plyecho_code take_list(struct pe_sized sized, struct plyecho_indication **list,
                                   struct plyecho_error *err)
{
    size_t n = sized.grid->count, groups = sized.groups->count;
    double *half = pe_alloc(n, sizeof *half);
    size_t *seen = pe_alloc(n, sizeof *seen);
    struct pe_extent *extents = pe_alloc(n, sizeof *extents);
    struct plyecho_indication *found = pe_alloc(groups, sizeof *found);
    bool got = half != NULL && seen != NULL && extents != NULL && found != NULL;
    for (size_t k = 0; got && k < groups; k++) {
        sized.group = k + 1;
        describe(&sized, seen, &found[k]);
        pe_indication_size(&sized, half, extents, &found[k]);
    }
    free(half);
    free(seen);
    free(extents);
    if (!got) {
        free(found);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the indications");
    }
    enum plyecho_code code = pe_indication_next(sized.grid, found, groups, err);
    if (code == PLYECHO_OK)
        *list = found;
    else
        free(found);
    return code;
}

enum plyecho_code plyecho_indications_find(const struct plyecho_grid *grid,
                                           const struct plyecho_place_reading *readings,
                                           struct plyecho_known beam_m,
                                           struct plyecho_indication **list, size_t *count,
                                           size_t *member, struct plyecho_error *err)
{
    struct pe_groups groups;
    *list = NULL;
    *count = 0;
    enum plyecho_code code = pe_groups_take(&groups, grid, readings, err);
    if (code == PLYECHO_OK && groups.count > 0)
        code = take_list((struct pe_sized){grid, readings, &groups, 0, beam_m}, list, err);
    if (code == PLYECHO_OK)
        *count = groups.count;
    if (code == PLYECHO_OK && member != NULL)
        memcpy(member, groups.of, grid->count * sizeof *member);
    pe_groups_clear(&groups);
    return code;
}
