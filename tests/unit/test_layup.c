/* Parts in words become the stack they describe; words that describe none are refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "../../src/cmd/layup.h"

static const double front = 3.162e6, reference = 10e6;

static struct plyecho_layer one(const char *text)
{
    struct plyecho_plies layer;
    struct plyecho_error err;
    if (layup_read_layer(text, true, &layer, &err) != PLYECHO_OK)
        fail_msg("%s: %s", text, err.text);
    return layer.wall;
}

static bool near(double a, double b)
{
    return fabs(a / b - 1.0) < 1e-12;
}

static void a_layer_reads_as_written(void **state)
{
    (void)state;
    struct plyecho_layer named = one("carbon:3.2");
    assert_true(near(named.impedance_rayl, 1576.0 * 2950.0));
    assert_true(near(named.thickness_m, 3.2e-3));
    struct plyecho_layer numbers = one("z=4.65,v=2950,a=0.1,d=3.2");
    assert_true(near(numbers.impedance_rayl, 4.65e6));
    assert_true(near(numbers.velocity_m_s, 2950.0));
    assert_true(near(numbers.attenuation_np_m_hz, plyecho_attenuation_from_db_mm_mhz(0.1)));
    assert_true(near(numbers.thickness_m, 3.2e-3));
    struct plyecho_layer mixed = one("carbon:3.2,v=3000,a=0");
    assert_true(near(mixed.velocity_m_s, 3000.0));
    assert_true(mixed.attenuation_np_m_hz == 0.0);
    assert_true(near(mixed.impedance_rayl, named.impedance_rayl));
    assert_true(near(one("carbon,d=2").thickness_m, 2e-3));
    struct plyecho_plies plies;
    layup_read_layer("carbon:3.2,plies=16,film=0.005,scatter=0.02,film-scatter=0.3", true,
                     &plies, NULL);
    assert_int_equal(plies.count, 16);
    assert_true(near(plies.film.thickness_m, 5e-6));
    assert_true(near(plies.film.impedance_rayl, 1140.0 * 2770.0));
    assert_true(plies.ply_scatter == 0.02 && plies.film_scatter == 0.3);
    layup_read_layer("carbon:3.2,plies=2,film=water:0.001", true, &plies, NULL);
    assert_true(near(plies.film.velocity_m_s, 1482.38));
    assert_int_equal(layup_read_layer("water", false, &plies, NULL), PLYECHO_OK);
}

static void nonsense_is_refused_with_a_cure(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"carbn:3.2", "the nearest is carbon"},
        {"unobtainium:3.2", "no medium of the list: carbon, glass"},
        {"carbon:3,2", "with a decimal point"},
        {"carbon", "has no thickness"},
        {"carbon:0", "above 0"},
        {"carbon:-1", "above 0"},
        {"carbon:3.2mm", "thickness in mm"},
        {"", "no part of a layer"},
        {":3", "no part of a layer"},
        {"carbon:3.2,", "no part of a layer"},
        {"carbon:3.2,w=3", "no part of a layer"},
        {"carbon:3.2,v=0", "v=0: give a number above 0"},
        {"carbon:3.2,a=-1", "a=-1: give a number of at least 0"},
        {"carbon:3.2,plies=1.5", "whole number from 1 to 10000"},
        {"carbon:3.2,film=-1", "film=-1"},
        {"v=3000,d=3", "no medium"},
        {"z=4,d=3", "has no velocity"},
        {"carbon:0000000000000000000000000000000000000000000000000000000000000000001",
         "above 0"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plyecho_plies layer;
        struct plyecho_error err;
        if (layup_read_layer(rows[i].text, true, &layer, &err) != PLYECHO_BAD_ARGUMENT ||
            strstr(err.text, rows[i].words) == NULL)
            fail_msg("%s: %s", rows[i].text, err.text);
    }
}

/* values from the command line's words, the way the program reads them */
static struct layup_values values_of(char *const *words, size_t count)
{
    struct layup_values values = {0};
    struct option_set set = {layup_options, &values};
    const char *operands[16];
    size_t operand_count;
    options_preset(&set, 1);
    assert_int_equal(options_parse(&set, 1, words, count, operands, &operand_count, NULL),
                     PLYECHO_OK);
    return values;
}

static void clear_values(struct layup_values *values)
{
    struct option_set set = {layup_options, values};
    options_clear(&set, 1);
}

static struct layup_stack built(char *const *words, size_t count, double *thickness_m)
{
    struct layup_values values = values_of(words, count);
    struct layup layup;
    struct layup_stack stack;
    assert_int_equal(layup_read(&values, &layup, NULL), PLYECHO_OK);
    assert_int_equal(layup_build(&layup, 1, front, reference, &stack, NULL), PLYECHO_OK);
    *thickness_m = layup_thickness_m(&layup);
    layup_clear(&layup);
    clear_values(&values);
    return stack;
}

#define WORDS(...) ((char *[]){__VA_ARGS__}), sizeof((char *[]){__VA_ARGS__}) / sizeof(char *)

static void layers_stand_in_order_and_a_coat_is_no_wall(void **state)
{
    (void)state;
    double thickness;
    char layer[] = "--layer", carbon[] = "carbon:3.2,plies=4,film=0.01", glass[] = "glass:1",
         coat[] = "--coat", filler[] = "filler:0.3", behind[] = "--behind", water[] = "water";
    struct layup_stack stack =
        built(WORDS(layer, carbon, coat, filler, layer, glass, behind, water), &thickness);
    assert_true(near(thickness, 4.2e-3));
    assert_int_equal(stack.stack.count, 1 + 7 + 1);
    assert_int_equal(stack.wall, 1);
    assert_int_equal(stack.first_part, 7);
    assert_true(near(stack.layers[0].thickness_m, 0.3e-3));
    assert_true(near(stack.layers[8].thickness_m, 1e-3));
    assert_true(near(stack.stack.behind_impedance_rayl, 998.2 * 1482.38));
    assert_true(stack.stack.front_impedance_rayl == front);
    assert_true(stack.stack.gap.cover == 0.0);
    struct plyecho_stack air = layup_in_air(&stack.stack);
    assert_true(creal(plyecho_stack_reflection(&air, 0.0)) < -0.999);
    layup_stack_clear(&stack);
}

static void a_gap_lies_where_it_was_put(void **state)
{
    (void)state;
    double thickness;
    char layer[] = "--layer", carbon[] = "carbon:3.2", glass[] = "glass:1",
         after[] = "--gap-after", none[] = "0", first[] = "1", last[] = "2",
         depth[] = "--gap-depth", mm[] = "1.2", joint[] = "3.2", cover[] = "--cover",
         share[] = "0.4", fill[] = "--gap-fill", wet[] = "water:0.005";
    struct layup_stack stack =
        built(WORDS(layer, carbon, layer, glass, after, first, cover, share), &thickness);
    assert_int_equal(stack.stack.count, 2);
    assert_int_equal(stack.stack.gap.after, 1);
    assert_true(stack.stack.gap.cover == 0.4);
    assert_true(isinf(stack.stack.gap.filling.thickness_m));
    layup_stack_clear(&stack);

    stack = built(WORDS(layer, carbon, layer, glass, depth, mm, fill, wet), &thickness);
    assert_int_equal(stack.stack.count, 3);
    assert_int_equal(stack.first_part, 2);
    assert_int_equal(stack.stack.gap.after, 1);
    assert_true(stack.stack.gap.cover == 1.0);
    assert_true(near(stack.layers[0].thickness_m, 1.2e-3));
    assert_true(near(stack.layers[1].thickness_m, 2.0e-3));
    assert_true(near(stack.layers[2].thickness_m, 1.0e-3));
    assert_true(near(stack.stack.gap.filling.thickness_m, 5e-6));
    layup_stack_clear(&stack);

    stack = built(WORDS(layer, carbon, layer, glass, depth, joint), &thickness);
    assert_int_equal(stack.stack.count, 2);
    assert_int_equal(stack.stack.gap.after, 1);
    layup_stack_clear(&stack);
    stack = built(WORDS(layer, carbon, layer, glass, after, none), &thickness);
    assert_int_equal(stack.stack.gap.after, 0);
    layup_stack_clear(&stack);
    stack = built(WORDS(layer, carbon, layer, glass, after, last), &thickness);
    assert_int_equal(stack.stack.gap.after, 2);
    layup_stack_clear(&stack);
}

static void refused(char *const *words, size_t count, const char *reason)
{
    struct layup_values values = values_of(words, count);
    struct layup layup;
    struct plyecho_error err;
    assert_int_equal(layup_read(&values, &layup, &err), PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, reason));
    clear_values(&values);
}

static void parts_that_cannot_be_are_refused(void **state)
{
    (void)state;
    char layer[] = "--layer", carbon[] = "carbon:3.2", after[] = "--gap-after", two[] = "2",
         depth[] = "--gap-depth", cover[] = "--cover", uncoupled[] = "--uncoupled",
         coat[] = "--coat", behind[] = "--behind", lead[] = "lead";
    refused(WORDS(coat, carbon), "give --layer");
    refused(WORDS(layer, carbon, after, two), "there are 1 layers");
    refused(WORDS(layer, carbon, depth, two, after, two), "not both");
    refused(WORDS(layer, carbon, layer, carbon, depth, (char[]){"7"}),
            "behind the wall of 6.4");
    refused(WORDS(layer, carbon, cover, (char[]){"0.4"}), "need --gap-after or --gap-depth");
    refused(WORDS(layer, carbon, behind, lead), "\"lead\" is no medium");
    struct layup_values values = values_of(WORDS(uncoupled));
    struct layup layup;
    assert_int_equal(layup_read(&values, &layup, NULL), PLYECHO_OK);
    assert_true(layup.uncoupled);
    layup_clear(&layup);
    clear_values(&values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_layer_reads_as_written),
        cmocka_unit_test(nonsense_is_refused_with_a_cure),
        cmocka_unit_test(layers_stand_in_order_and_a_coat_is_no_wall),
        cmocka_unit_test(a_gap_lies_where_it_was_put),
        cmocka_unit_test(parts_that_cannot_be_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
