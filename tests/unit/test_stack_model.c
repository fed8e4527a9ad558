/* The reflection of a stack of a few layers: the same as the layer model's, with derivatives that
 * are those of the reflection, and one line after the other the same as each alone. */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/laminate.h>

#include "pi.h"
#include "stack_model.h"

static const double reference_hz = 5e6;

enum { MOST_BLOCKS = 80 };

static struct pe_line lines_from(double hz, double step_hz)
{
    struct pe_line line;
    for (int k = 0; k < PE_LANES; k++) {
        double at = hz + k * step_hz;
        line.hz[k] = at;
        line.omega[k] = 2.0 * PE_PI * at;
        line.bend[k] = 2.0 / PE_PI * at * log(at / reference_hz);
    }
    return line;
}

/* Along lines that are step_hz apart; one array of derivatives a number. */
static void walk_along(const struct pe_stack *s, double first_hz, double step_hz, int blocks,
                       struct pe_phasors *reflection, struct pe_phasors (*by)[MOST_BLOCKS])
{
    struct pe_line line[MOST_BLOCKS];
    struct pe_phasors carrier[MOST_BLOCKS];
    struct pe_stack_walk walk = {
        .blocks = blocks, .line = line, .carrier = carrier, .model = reflection};
    for (int b = 0; b < blocks; b++) {
        line[b] = lines_from(first_hz + b * PE_LANES * step_hz, step_hz);
        carrier[b] = pe_same(1.0);
    }
    for (int n = 0; n < PE_STACK_NUMBERS; n++)
        walk.by[n] = by[n];
    pe_stack_model(s, &walk);
}

static double complex reflection_at(const struct pe_stack *s, double hz,
                                    double complex by[PE_STACK_NUMBERS])
{
    struct pe_phasors reflection[MOST_BLOCKS], slopes[PE_STACK_NUMBERS][MOST_BLOCKS];
    walk_along(s, hz, 1e3, 1, reflection, slopes);
    for (int n = 0; n < PE_STACK_NUMBERS; n++)
        by[n] = pe_phasor(slopes[n], 0);
    return pe_phasor(reflection, 0);
}

/* All that a stack can have; the flags say what of it there is. */
static struct pe_stack everything(void)
{
    struct pe_stack s = {.coat = true, .place = true, .film = true, .gap = true};
    double *n = s.number;
    n[PE_JITTER] = 0.11;
    n[PE_FRONT] = 0.19;
    n[PE_SLOPE] = 0.034; /* 0.1 dB/mm/MHz at 2950 m/s: 0.0115 Np/mm/MHz x 2.95 mm/us */
    n[PE_TRANSIT] = 1.61e-6;
    n[PE_DEPTH] = 0.73e-6;
    n[PE_STEP_THERE] = 0.09;
    n[PE_FILM_THERE] = 0.23;
    n[PE_FILM_TIME] = 62e-9;
    n[PE_COVER] = 0.37;
    n[PE_COAT_TIME] = 170e-9;
    n[PE_COAT_STEP] = 0.16;
    return s;
}

/* The combinations that are stacks: film and gap need their place. Returns how many. */
enum { MOST_KINDS = 10 };

static int all_kinds(struct pe_stack kinds[MOST_KINDS])
{
    int count = 0;
    for (int coat = 0; coat < 2; coat++)
        for (int inside = 0; inside < 5; inside++) {
            struct pe_stack s = everything();
            s.coat = coat > 0;
            s.place = inside > 0;
            s.film = inside == 2 || inside == 4;
            s.gap = inside == 3 || inside == 4;
            kinds[count++] = s;
        }
    return count;
}

static const double steps[PE_STACK_NUMBERS] = {
    [PE_AMPLITUDE] = 1e-5,  [PE_START] = 1e-12,     [PE_JITTER] = 1e-5, [PE_FRONT] = 1e-5,
    [PE_SLOPE] = 1e-6,      [PE_TRANSIT] = 1e-13,   [PE_DEPTH] = 1e-13, [PE_STEP_THERE] = 1e-5,
    [PE_FILM_THERE] = 1e-5, [PE_FILM_TIME] = 1e-13, [PE_COVER] = 1e-5,  [PE_COAT_TIME] = 1e-13,
    [PE_COAT_STEP] = 1e-5,
};

static double complex difference(const struct pe_stack *s, int number, double hz)
{
    struct pe_stack more = *s, less = *s;
    double complex by[PE_STACK_NUMBERS];
    double h = steps[number];
    more.number[number] += h;
    less.number[number] -= h;
    return (reflection_at(&more, hz, by) - reflection_at(&less, hz, by)) /
           (more.number[number] - less.number[number]);
}

/* Central differences of double numbers: truncated at h^2, rounded at 1e-16 / h; in multiples of a
 * number's own scale both are below 1e-6 here. */
static void derivatives_are_those_of_the_reflection(void **state)
{
    (void)state;
    struct pe_stack kinds[MOST_KINDS];
    int count = all_kinds(kinds);
    assert_int_equal(count, MOST_KINDS);
    for (int k = 0; k < count; k++)
        for (double hz = 1.3e6; hz < 11e6; hz += 1.7e6) {
            double complex by[PE_STACK_NUMBERS];
            reflection_at(&kinds[k], hz, by);
            for (int n = 0; n < PE_STACK_NUMBERS; n++) {
                double scale = steps[n] < 1e-9 ? 1.0 / (2.0 * PE_PI * reference_hz)
                               : n == PE_SLOPE ? 0.2
                                               : 1.0;
                double off = cabs(difference(&kinds[k], n, hz) - by[n]) * scale;
                if (!(off < 1e-6))
                    fail_msg("stack %d, %g MHz, number %d: derivative off by %g", k, hz * 1e-6,
                             n, off);
            }
        }
}

/* What a stack does not have does not move it. */
static void what_is_not_there_has_no_derivative(void **state)
{
    (void)state;
    struct pe_stack s = everything();
    double complex by[PE_STACK_NUMBERS];
    s.coat = s.place = s.film = s.gap = false;
    reflection_at(&s, 4e6, by);
    static const int inside[] = {PE_DEPTH,     PE_STEP_THERE, PE_FILM_THERE,
                                 PE_FILM_TIME, PE_COVER,      PE_COAT_TIME,
                                 PE_COAT_STEP, PE_AMPLITUDE,  PE_START};
    for (size_t i = 0; i < sizeof inside / sizeof inside[0]; i++)
        assert_true(by[inside[i]] == 0.0);
    assert_true(cabs(by[PE_TRANSIT]) > 0.0 && cabs(by[PE_SLOPE]) > 0.0);
}

/* ---- against the layer model of laminate.h ---- */

/* What coats and films lose over the wall (stack_model.c). */
static const double coat_loss = 2.0, film_loss = 2.5;

static double from_reflection(double above, double r)
{
    return above * (1.0 + r) / (1.0 - r);
}

/* Any velocity does: only transit times count. */
static struct plyecho_layer layer_of(double impedance, double velocity, double time_s,
                                     double slope)
{
    return (struct plyecho_layer){impedance, velocity, slope / velocity,
                                  0.5 * velocity * time_s};
}

static double complex by_layers(const struct pe_stack *s, double hz)
{
    const double *n = s->number;
    double front = 3.1e6, above = front, slope = n[PE_SLOPE];
    struct plyecho_layer layers[PE_STACK_LAYERS];
    size_t count = 0, before;
    double face = from_reflection(above, n[PE_FRONT]);
    if (s->coat) {
        layers[count++] = layer_of(face, 2500.0, n[PE_COAT_TIME], coat_loss * slope);
        face = from_reflection(face, n[PE_COAT_STEP]);
    }
    double upper_s = s->place ? n[PE_DEPTH] : n[PE_TRANSIT];
    layers[count++] = layer_of(face, 2950.0, upper_s, slope);
    before = count;
    double film_s = s->film ? n[PE_FILM_TIME] : 0.0;
    if (s->film)
        layers[count++] = layer_of(from_reflection(face, -n[PE_FILM_THERE]), 2450.0, film_s,
                                   film_loss * slope);
    if (s->place)
        layers[count++] = layer_of(from_reflection(face, n[PE_STEP_THERE]), 3050.0,
                                   n[PE_TRANSIT] - n[PE_DEPTH] - film_s, slope);
    struct plyecho_stack stack = {
        .front_impedance_rayl = front,
        .layers = layers,
        .count = count,
        .behind_impedance_rayl = 1e-6, /* so little that it reflects -1 to all digits */
        .reference_frequency_hz = reference_hz,
        .gap = {s->gap ? n[PE_COVER] : 0.0, before, {1e-6, 343.0, 0.0, INFINITY}},
    };
    assert_int_equal(plyecho_stack_check(&stack, NULL), PLYECHO_OK);
    return plyecho_stack_reflection(&stack, I * 2.0 * PE_PI * hz);
}

static void the_reflection_is_the_layer_models(void **state)
{
    (void)state;
    struct pe_stack kinds[MOST_KINDS];
    int count = all_kinds(kinds);
    for (int lossless = 0; lossless < 2; lossless++)
        for (int k = 0; k < count; k++) {
            struct pe_stack s = kinds[k];
            double complex by[PE_STACK_NUMBERS];
            s.number[PE_JITTER] = 0.0;
            if (lossless > 0)
                s.number[PE_SLOPE] = 0.0;
            for (double hz = 0.9e6; hz < 12e6; hz += 0.37e6) {
                double off = cabs(reflection_at(&s, hz, by) - by_layers(&s, hz));
                if (!(off < 1e-9))
                    fail_msg("stack %d, %g MHz: off by %g", k, hz * 1e-6, off);
            }
        }
}

/* The front's own echo over what its reflection gives: that much is added, nothing else changes. */
static void jitter_is_the_fronts_alone(void **state)
{
    (void)state;
    struct pe_stack s = everything(), still = s;
    double complex by[PE_STACK_NUMBERS];
    still.number[PE_JITTER] = 0.0;
    double more = (exp(0.11) - 1.0) * 0.19;
    for (double hz = 1e6; hz < 10e6; hz += 1.1e6)
        assert_true(cabs(reflection_at(&s, hz, by) - reflection_at(&still, hz, by) - more) <
                    1e-14);
}

/* Energy: a stack without loss before air sends all of it back. */
static void without_loss_all_comes_back(void **state)
{
    (void)state;
    struct pe_stack kinds[MOST_KINDS];
    int count = all_kinds(kinds);
    for (int k = 0; k < count; k++) {
        struct pe_stack s = kinds[k];
        double complex by[PE_STACK_NUMBERS];
        if (s.gap)
            continue; /* two ways add up as amplitudes */
        s.number[PE_JITTER] = s.number[PE_SLOPE] = 0.0;
        for (double hz = 1e6; hz < 10e6; hz += 0.7e6)
            assert_float_equal(cabs(reflection_at(&s, hz, by)), 1.0, 1e-12);
    }
}

/* Turning factors from line to line round off by 1e-16 each. */
static void walking_along_is_starting_anew_at_each_line(void **state)
{
    (void)state;
    static struct pe_phasors along[MOST_BLOCKS], slopes[PE_STACK_NUMBERS][MOST_BLOCKS];
    struct pe_stack kinds[MOST_KINDS];
    int count = all_kinds(kinds);
    double first = 1.5e6, step = 47e3;
    for (int k = 0; k < count; k++) {
        walk_along(&kinds[k], first, step, MOST_BLOCKS, along, slopes);
        for (int i = 0; i < MOST_BLOCKS * PE_LANES; i++) {
            double complex alone[PE_STACK_NUMBERS];
            double complex here = reflection_at(&kinds[k], first + step * i, alone);
            assert_true(cabs(pe_phasor(along, i) - here) < 1e-11);
            for (int n = 0; n < PE_STACK_NUMBERS; n++)
                assert_true(cabs(pe_phasor(slopes[n], i) - alone[n]) <=
                            1e-10 * (cabs(alone[n]) + 1e-3));
        }
    }
}

/* Carried by any pulse, reflection and derivatives are multiplied with it; they are the same where no
 * derivative is wanted. */
static void what_carries_the_reflection_is_a_factor(void **state)
{
    (void)state;
    struct pe_stack s = everything();
    struct pe_line line = lines_from(3e6, 0.2e6);
    double complex pulse = 0.7 - 2.1 * I, by[PE_STACK_NUMBERS], g = reflection_at(&s, 3e6, by);
    struct pe_phasors carrier = pe_same(pulse), model, alone, by_depth;
    struct pe_stack_walk walk = {1, &line, &carrier, &alone, {NULL}};
    pe_stack_model(&s, &walk);
    walk.model = &model;
    walk.by[PE_DEPTH] = &by_depth;
    pe_stack_model(&s, &walk);
    assert_true(cabs(pe_phasor(&model, 0) - pulse * g) < 1e-13);
    assert_true(cabs(pe_phasor(&alone, 0) - pulse * g) < 1e-13);
    assert_true(cabs(pe_phasor(&by_depth, 0) - pulse * by[PE_DEPTH]) <
                1e-12 * cabs(by[PE_DEPTH]));
}

/* A passage that turns further than a small angle by dispersion: against exp. */
static void a_strong_dispersion_is_a_turn_as_well(void **state)
{
    (void)state;
    struct pe_line line = lines_from(9e6, 1e6);
    double loss = 4e-7, time = 1.3e-6;
    struct pe_passage passage = pe_passage_from(loss, time, &line);
    struct pe_phasors e = pe_passage_next(&passage, &line);
    assert_true(loss * line.bend[0] > 1.0);
    for (int k = 0; k < PE_LANES; k++) {
        double complex exponent =
            -loss * line.hz[k] + I * (loss * line.bend[k] - line.omega[k] * time);
        assert_true(cabs(pe_phasor(&e, k) - cexp(exponent)) < 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(derivatives_are_those_of_the_reflection),
        cmocka_unit_test(what_is_not_there_has_no_derivative),
        cmocka_unit_test(the_reflection_is_the_layer_models),
        cmocka_unit_test(jitter_is_the_fronts_alone),
        cmocka_unit_test(without_loss_all_comes_back),
        cmocka_unit_test(walking_along_is_starting_anew_at_each_line),
        cmocka_unit_test(what_carries_the_reflection_is_a_factor),
        cmocka_unit_test(a_strong_dispersion_is_a_turn_as_well),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
