#include <plyecho/indications.h>

#include <math.h>

/* What it is sorted by: within a kind by area, where every one has an area. */
struct ordering {
    const struct plyecho_indication *list;
    bool by_area;
};

/* An attenuated place may be sound, an undecided one may be a delamination: neither is less than the other. */
static int rank(enum plyecho_verdict kind)
{
    static const int ranks[PLYECHO_VERDICT_COUNT] = {
        [PLYECHO_INNER_ECHO] = 1, [PLYECHO_UNDECIDED] = 2,    [PLYECHO_ATTENUATED] = 2,
        [PLYECHO_THIN] = 3,       [PLYECHO_DELAMINATION] = 4,
    };
    return ranks[kind];
}

static bool comes_before(const struct ordering *by, size_t a, size_t b)
{
    const struct plyecho_indication *one = &by->list[a], *other = &by->list[b];
    if (one->declared != other->declared)
        return other->declared;
    if (rank(one->kind) != rank(other->kind))
        return rank(one->kind) > rank(other->kind);
    if (by->by_area && one->area_m2 != other->area_m2)
        return one->area_m2 > other->area_m2;
    if (!by->by_area && one->places != other->places)
        return one->places > other->places;
    return a < b;
}

static void swap(size_t *a, size_t *b)
{
    size_t kept = *a;
    *a = *b;
    *b = kept;
}

/* Let the entry at `at` sink to where none of the heap below it comes behind it. */
static void sink(const struct ordering *by, size_t *heap, size_t count, size_t at)
{
    for (size_t below = 2 * at + 1; below < count; below = 2 * at + 1) {
        if (below + 1 < count && comes_before(by, heap[below], heap[below + 1]))
            below++;
        if (!comes_before(by, heap[at], heap[below]))
            return;
        swap(&heap[at], &heap[below]);
        at = below;
    }
}

/* Heapsort: it needs no room, so that nothing can fail. */
void plyecho_indications_order(const struct plyecho_indication *list, size_t count,
                               size_t *order)
{
    struct ordering by = {list, true};
    for (size_t i = 0; i < count; i++) {
        order[i] = i;
        by.by_area = by.by_area && !isnan(list[i].area_m2);
    }
    for (size_t i = count / 2; i-- > 0;)
        sink(&by, order, count, i);
    for (size_t left = count; left-- > 1;) {
        swap(&order[0], &order[left]);
        sink(&by, order, left, 0);
    }
}
