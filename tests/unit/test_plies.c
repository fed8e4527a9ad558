/* A laminate of plies has the thickness asked for, and scatters as asked. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/media.h>
#include <plyecho/plies.h>

static struct plyecho_plies sixteen(void)
{
    return (struct plyecho_plies){
        .wall = plyecho_medium_layer(plyecho_medium_find("carbon"), 3.2e-3),
        .count = 16,
        .film = plyecho_medium_layer(plyecho_medium_find("epoxy"), 5e-6),
    };
}

static void even_plies_are_even(void **state)
{
    (void)state;
    struct plyecho_plies plies = sixteen();
    struct plyecho_layer layers[31];
    assert_int_equal(plyecho_plies_layers(16), 31);
    assert_int_equal(plyecho_plies_layers(0), 0);
    assert_int_equal(plyecho_plies_lay(&plies, 1, layers, NULL), PLYECHO_OK);
    assert_true(fabs(plyecho_layers_thickness_m(layers, 31) - 3.2e-3) < 1e-15);
    for (int i = 0; i < 31; i++) {
        double expected = i % 2 == 0 ? (3.2e-3 - 15 * 5e-6) / 16 : 5e-6;
        assert_true(fabs(layers[i].thickness_m - expected) < 1e-15);
        assert_true(layers[i].velocity_m_s == (i % 2 == 0 ? 2950.0 : 2770.0));
    }
}

/* Over many lays the deviations are those asked for, the wall keeps its thickness, and nothing
 * comes out thinner than nothing. */
static void scatter_is_as_asked(void **state)
{
    (void)state;
    enum { LAYS = 300 };
    struct plyecho_plies plies = sixteen();
    plies.ply_scatter = 0.03;
    plies.film_scatter = 0.3;
    struct plyecho_layer layers[31], again[31];
    double square[2] = {0.0, 0.0};
    for (unsigned long seed = 1; seed <= LAYS; seed++) {
        assert_int_equal(plyecho_plies_lay(&plies, seed, layers, NULL), PLYECHO_OK);
        assert_true(fabs(plyecho_layers_thickness_m(layers, 31) - 3.2e-3) < 1e-15);
        for (int i = 0; i < 31; i++) {
            assert_true(layers[i].thickness_m > 0.0);
            double mean = i % 2 == 0 ? (3.2e-3 - 15 * 5e-6) / 16 : 5e-6;
            double off = layers[i].thickness_m / mean - 1.0;
            square[i % 2] += off * off;
        }
    }
    /* the sum being fixed takes one of 16 degrees of freedom from the plies */
    double ply = sqrt(square[0] / (15.0 * LAYS)), film = sqrt(square[1] / (15.0 * LAYS));
    assert_true(fabs(ply / 0.03 - 1.0) < 4.0 / sqrt(2.0 * 15.0 * LAYS));
    assert_true(fabs(film / 0.3 - 1.0) < 4.0 / sqrt(2.0 * 15.0 * LAYS));
    assert_int_equal(plyecho_plies_lay(&plies, LAYS, again, NULL), PLYECHO_OK);
    assert_memory_equal(layers, again, sizeof layers);
}

static void refused(const struct plyecho_plies *plies, const char *words)
{
    struct plyecho_layer layers[2001];
    struct plyecho_error err;
    assert_int_equal(plyecho_plies_lay(plies, 1, layers, &err), PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, words));
}

static void impossible_laminates_are_refused(void **state)
{
    (void)state;
    struct plyecho_plies plies = sixteen();
    plies.count = 0;
    refused(&plies, "0 plies");
    plies.count = 1000;
    refused(&plies, "leave no room");
    plies = sixteen();
    plies.ply_scatter = 0.9;
    refused(&plies, "ply thickness of 0.9");
    plies = sixteen();
    plies.film_scatter = -0.1;
    refused(&plies, "films of -0.1");
}

/* Sources: CRC Handbook (PMMA 3.162, polystyrene 2.491, mild steel 46.79 MRayl), water at 20 C
 * 1.4797 MRayl from Marczak's polynomial; air 413 Rayl from memory. */
static void media_have_the_handbook_impedances(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double rayl;
    } rows[] = {
        {"pmma", 3.162e6},   {"polystyrene", 2.491e6}, {"steel", 46.79e6},
        {"water", 1.4797e6}, {"air", 413.25},          {"epoxy", 3.16e6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plyecho_layer layer =
            plyecho_medium_layer(plyecho_medium_find(rows[i].name), 1e-3);
        assert_true(fabs(layer.impedance_rayl / rows[i].rayl - 1.0) < 1e-3);
    }
    assert_null(plyecho_medium_find("unobtainium"));
    size_t count = 0;
    for (const struct plyecho_medium *m; (m = plyecho_medium_at(count)) != NULL; count++)
        assert_ptr_equal(plyecho_medium_find(m->name), m);
    assert_true(count >= 9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(even_plies_are_even),
        cmocka_unit_test(scatter_is_as_asked),
        cmocka_unit_test(impossible_laminates_are_refused),
        cmocka_unit_test(media_have_the_handbook_impedances),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
