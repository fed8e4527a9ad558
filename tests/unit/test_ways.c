/* The way whose largest step is least, against the closure that Floyd and Warshall give (any textbook of algorithms; from
 * memory), which knows no heap. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "ways.h"

enum { COLUMNS = 9, ROWS = 8, MOST = COLUMNS * ROWS };

struct made {
    struct plyecho_grid *grid;
    double height[MOST];
    bool member[MOST];
    double outside[MOST];
};

/* The same numbers on every run: 0 to below 1. */
static double number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u; /* Numerical Recipes, from memory */
    return (double)(*state >> 8) / 16777216.0;
}

/* A tube with holes, so that not all neighbours are mutual. */
static void make(struct made *m, unsigned seed)
{
    static const struct plyecho_part tube = {true, {true, 30e-3}, NULL};
    struct plyecho_place places[MOST];
    struct plyecho_error err;
    size_t count = 0;
    for (size_t k = 0; k < MOST; k++)
        if (k < COLUMNS || number(&seed) < 0.85)
            places[count++] = (struct plyecho_place){40.0 * (double)(k % COLUMNS),
                                                     3e-3 * (double)(k / COLUMNS)};
    if (plyecho_grid_new(&m->grid, places, count, &tube, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    for (size_t i = 0; i < count; i++) {
        m->height[i] = number(&seed);
        m->member[i] = number(&seed) < 0.7;
        m->outside[i] = number(&seed) < 0.1 ? number(&seed) : INFINITY;
    }
}

/* Uphill is harder, and some steps cannot be made. */
static double step(const void *context, size_t from, size_t to)
{
    const struct made *m = context;
    double rise = m->height[to] - m->height[from];
    return fabs(rise) > 0.8 ? INFINITY : rise > 0.0 ? rise : -0.5 * rise;
}

static void close_all(const struct made *m, double way[MOST][MOST])
{
    size_t count = m->grid->count, near[PLYECHO_NEIGHBOURS];
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++)
            way[i][k] = i == k ? 0.0 : INFINITY;
    for (size_t to = 0; to < count; to++)
        for (size_t k = plyecho_grid_neighbours(m->grid, to, near); k > 0; k--)
            if (m->member[to] && m->member[near[k - 1]])
                way[near[k - 1]][to] = step(m, near[k - 1], to);
    for (size_t over = 0; over < count; over++)
        for (size_t i = 0; i < count; i++)
            for (size_t k = 0; k < count; k++)
                way[i][k] = fmin(way[i][k], fmax(way[i][over], way[over][k]));
}

static void every_place_is_reached_on_its_best_way(void **state)
{
    (void)state;
    static double way[MOST][MOST];
    for (unsigned seed = 1; seed <= 20; seed++) {
        struct made m;
        struct plyecho_error err;
        double largest[MOST];
        size_t reached = 0;
        make(&m, seed);
        close_all(&m, way);
        for (size_t i = 0; i < m.grid->count; i++)
            largest[i] = m.outside[i];
        assert_int_equal(pe_ways_find(m.grid, m.member, step, &m, largest, &err), PLYECHO_OK);
        for (size_t i = 0; i < m.grid->count; i++) {
            double best = INFINITY;
            for (size_t from = 0; from < m.grid->count; from++)
                if (m.member[from])
                    best = fmin(best, fmax(m.outside[from], way[from][i]));
            if (m.member[i] && largest[i] != best)
                fail_msg("seed %u, place %zu: %g, expected %g", seed, i, largest[i], best);
            reached += m.member[i] && best < m.outside[i];
        }
        assert_true(reached > 5);
        plyecho_grid_free(m.grid);
    }
}

static void no_memory_is_an_error(void **state)
{
    (void)state;
    struct made m;
    struct plyecho_error err;
    make(&m, 1);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long n = 0;
    for (; code != PLYECHO_OK && n < 10; n++) {
        fail_allocation(n);
        code = pe_ways_find(m.grid, m.member, step, &m, m.outside, &err);
        fail_no_allocation();
    }
    assert_int_equal(code, PLYECHO_OK);
    assert_int_equal(n, 4);
    plyecho_grid_free(m.grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_place_is_reached_on_its_best_way),
        cmocka_unit_test(no_memory_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
