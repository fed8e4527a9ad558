#include "indication_next.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"

/* What rounding may shift the bound of a box of boxes by; far below any spacing. */
static const double slack_m = 1e-9;

/* The extent of an indication, or what holds several. An extent that is not known counts as none. */
struct box {
    double from_across, across; /* degrees or m */
    double from_along, along;
    double m_each; /* of arc, half of what it adds to a distance */
};

/* A tree of boxes in one array, the middle of each stretch its root, parted across and along in turn: on average
 * only some boxes near to one need a look, whatever shape the scan has. */
struct node {
    struct box own, around; /* around: the whole stretch */
    size_t at;              /* in the list */
};

struct tree {
    const struct plyecho_grid *grid;
    struct node *node;
    size_t count;
};

static double or_none(double extent)
{
    return isnan(extent) ? 0.0 : extent;
}

static struct box box_of(const struct plyecho_grid *g, const struct plyecho_indication *i)
{
    return (struct box){i->from_across, or_none(i->across), i->from_along_m,
                        or_none(i->along_m),
                        0.5 * plyecho_grid_arc_m(g, g->row[i->worst], 1.0, 0.0)};
}

/* ---- how far ---- */

/* Between two extents that begin at `a` and `b`, as wide as given; below 0 where they overlap. */
static double gap_between(double a, double a_wide, double b, double b_wide)
{
    return fmax(b - (a + a_wide), a - (b + b_wide));
}

/* Places on lines without a known spacing between them: none on one line, else not known. */
static double gap_unspaced(double a, double b, double b_wide)
{
    return a >= b && a <= b + b_wide ? 0.0 : NAN;
}

/* Round a tube, the shorter way. */
static double gap_across(const struct plyecho_grid *g, const struct box *a, const struct box *b)
{
    if (!(g->reach_across > 0.0))
        return gap_unspaced(a->from_across, b->from_across, b->across);
    if (!g->tube)
        return gap_between(a->from_across, a->across, b->from_across, b->across);
    double up = fmod(b->from_across - a->from_across + 360.0, 360.0) - a->across;
    double down = fmod(a->from_across - b->from_across + 360.0, 360.0) - b->across;
    return fmin(up, down);
}

static double gap_along(const struct plyecho_grid *g, const struct box *a, const struct box *b)
{
    if (!(g->reach_along > 0.0))
        return gap_unspaced(a->from_along, b->from_along, b->along);
    return gap_between(a->from_along, a->along, b->from_along, b->along);
}

/* From one indication to another, or at least so far to all in a box of several. NAN: not known, of none in it. */
static double distance_m(const struct plyecho_grid *g, const struct box *one,
                         const struct box *other)
{
    double across = gap_across(g, one, other), along = gap_along(g, one, other);
    if (isnan(across) || isnan(along))
        return NAN;
    return hypot((one->m_each + other->m_each) * fmax(0.0, across), fmax(0.0, along));
}

/* ---- the tree ---- */

static int by_across(const void *a, const void *b)
{
    const struct box *x = &((const struct node *)a)->own, *y = &((const struct node *)b)->own;
    if (x->from_across != y->from_across)
        return x->from_across < y->from_across ? -1 : 1;
    return (x->from_along > y->from_along) - (x->from_along < y->from_along);
}

static int by_along(const void *a, const void *b)
{
    const struct box *x = &((const struct node *)a)->own, *y = &((const struct node *)b)->own;
    if (x->from_along != y->from_along)
        return x->from_along < y->from_along ? -1 : 1;
    return (x->from_across > y->from_across) - (x->from_across < y->from_across);
}

static void take_in(struct box *box, const struct box *other)
{
    double to_across = fmax(box->from_across + box->across, other->from_across + other->across);
    double to_along = fmax(box->from_along + box->along, other->from_along + other->along);
    box->from_across = fmin(box->from_across, other->from_across);
    box->from_along = fmin(box->from_along, other->from_along);
    box->across = to_across - box->from_across;
    box->along = to_along - box->from_along;
    box->m_each = fmin(box->m_each, other->m_each);
}

/* Depth as the logarithm of the count. */
static void build(struct node *node, size_t count, bool across)
{
    if (count == 0)
        return;
    size_t half = count / 2;
    qsort(node, count, sizeof *node, across ? by_across : by_along);
    node[half].around = node[half].own;
    for (size_t k = 0; k < count; k++)
        take_in(&node[half].around, &node[k].own);
    build(node, half, !across);
    build(node + half + 1, count - half - 1, !across);
}

/* ---- the search ---- */

struct search {
    const struct tree *tree;
    struct box from;
    size_t at; /* itself is not looked at */
    struct plyecho_known next_m;
};

static void note_next(struct plyecho_known *next, double distance_m)
{
    if (!isnan(distance_m) && (!next->known || distance_m < next->value))
        *next = (struct plyecho_known){true, distance_m};
}

static double bound_m(const struct search *s, const struct node *node, size_t count)
{
    return count > 0 ? distance_m(s->tree->grid, &s->from, &node[count / 2].around) : NAN;
}

static void look(struct search *s, const struct node *node, size_t count, double bound)
{
    bool nearer =
        !s->next_m.known || (s->next_m.value > 0.0 && bound < s->next_m.value + slack_m);
    if (isnan(bound) || !nearer)
        return;
    size_t half = count / 2, rest = count - half - 1;
    const struct node *upper = node + half + 1;
    if (node[half].at != s->at)
        note_next(&s->next_m, distance_m(s->tree->grid, &s->from, &node[half].own));
    double low = bound_m(s, node, half), high = bound_m(s, upper, rest);
    if (high < low) {
        look(s, upper, rest, high);
        look(s, node, half, low);
    } else {
        look(s, node, half, low);
        look(s, upper, rest, high);
    }
}

/* ---- all of it ---- */

/* What is declared is no next one, and where no diameter is known nothing is. */
static void plant(struct tree *t, const struct plyecho_indication *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct box own = box_of(t->grid, &list[i]);
        if (!list[i].declared && !isnan(own.m_each))
            t->node[t->count++] = (struct node){own, own, i};
    }
    build(t->node, t->count, true);
}

enum plyecho_code pe_indication_next(const struct plyecho_grid *grid,
                                     struct plyecho_indication *list, size_t count,
                                     struct plyecho_error *err)
{
    struct tree tree = {.grid = grid, .node = pe_alloc(count, sizeof *tree.node)};
    if (tree.node == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the indications");
    plant(&tree, list, count);
    for (size_t i = 0; i < count; i++) {
        struct search s = {.tree = &tree, .from = box_of(grid, &list[i]), .at = i};
        if (!isnan(s.from.m_each))
            look(&s, tree.node, tree.count, bound_m(&s, tree.node, tree.count));
        list[i].next_m = s.next_m;
    }
    free(tree.node);
    return PLYECHO_OK;
}
