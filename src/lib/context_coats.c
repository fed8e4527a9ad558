/* A coat of filler or paint covers more than one place: one that no neighbour has may be none. */
#include <math.h>

#include "context_inside.h"
#include "sort.h"

/* So many neighbours without a coat, and so large a share of those read: our choice. */
enum { LEAST_BARE = 3 };
static const double mostly = 0.75;

static bool is_whole(const struct plyecho_place_reading *r)
{
    return r->verdict == PLYECHO_NO_INDICATION || r->verdict == PLYECHO_INNER_ECHO;
}

/* Median wall of the neighbours, where most are bare, their back wall kept. */
static struct plyecho_known bare_around(const struct pe_neighbourhood *n, size_t place)
{
    double wall[PLYECHO_NEIGHBOURS];
    size_t near[PLYECHO_NEIGHBOURS], bare = 0, read = 0;
    size_t count = plyecho_grid_neighbours(n->grid, place, near);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_place_reading *r = &n->readings[near[k]];
        read += r->read && r->verdict != PLYECHO_UNREADABLE;
        if (r->read && is_whole(r) && r->wall_seen && !r->coat_m.known)
            wall[bare++] = r->wall_m;
    }
    if (bare < LEAST_BARE || (double)bare < mostly * (double)read)
        return (struct plyecho_known){false, 0.0};
    return (struct plyecho_known){true, pe_median(wall, bare)};
}

/* The wall is that of both together. What passed by itself passes; what did not stays flagged, since filler flush with
 * the surface would look the same. */
static void judge(const struct pe_neighbourhood *n, size_t place)
{
    struct plyecho_place_reading *r = &n->readings[place];
    bool thin = r->verdict == PLYECHO_THIN ||
                (r->verdict == PLYECHO_UNDECIDED && r->reason == PLYECHO_REASON_COAT_UNSURE);
    if (!r->read || !r->coat_m.known || (!thin && !is_whole(r)))
        return;
    struct plyecho_known around = bare_around(n, place);
    double whole = r->wall_m + r->coat_m.value;
    if (!around.known || fabs(whole - around.value) > pe_same_wall_m)
        return;
    r->second = thin ? PLYECHO_NO_INDICATION : r->verdict;
    r->context = PLYECHO_CONTEXT_AROUND;
    r->second_wall_m = (struct plyecho_known){true, whole};
    if (r->has_indication)
        r->second_depth_m += r->coat_m.value;
}

void pe_context_coats(struct pe_neighbourhood *n)
{
    for (size_t i = 0; i < n->grid->count; i++)
        judge(n, i);
}
