/* A line of a cases file says what differs; labels say what is true of each channel. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include <plyecho/trace.h>

#include "../../src/cmd/cases.h"
#include "../../src/cmd/truth.h"

static const char *path;

static void write_text(const char *text, size_t size)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

static struct case_values base_of(char *const *words, size_t count)
{
    struct case_values base = {0};
    struct option_set set = {case_options, &base};
    const char *operands[16];
    size_t operand_count;
    options_preset(&set, 1);
    assert_int_equal(options_parse(&set, 1, words, count, operands, &operand_count, NULL),
                     PLYECHO_OK);
    return base;
}

static void clear_base(struct case_values *base)
{
    struct option_set set = {case_options, base};
    options_clear(&set, 1);
}

#define WORDS(...) ((char *[]){__VA_ARGS__}), sizeof((char *[]){__VA_ARGS__}) / sizeof(char *)

static char layer[] = "--layer", carbon[] = "carbon:3.2", snr[] = "--snr", forty[] = "40",
            label[] = "--label", part[] = "part=tube 3", seed[] = "--seed", hundred[] = "100";

static void a_line_takes_over_what_it_does_not_say(void **state)
{
    (void)state;
    struct case_values base =
        base_of(WORDS(layer, carbon, snr, forty, label, part, seed, hundred));
    const char text[] = "# a comment, then a blank line\n\n"
                        "--label angle_deg=0\n"
                        "  --label \"note=a dry place\" --uncoupled --snr 20\r\n"
                        "--layer carbon:2.5 --layer glass:1 --seed 7 --tail 2";
    write_text(text, sizeof text - 1);
    struct cases cases;
    assert_int_equal(cases_read(&cases, path, &base, NULL), PLYECHO_OK);
    assert_int_equal(cases.count, 3);
    const struct case_values *own = cases.items;
    assert_int_equal(own[0].seed.value, 100);
    assert_int_equal(own[1].seed.value, 101);
    assert_int_equal(own[2].seed.value, 7);
    assert_true(own[0].rig.snr_db.set && own[0].rig.snr_db.value == 40.0);
    assert_true(own[1].rig.snr_db.value == 20.0);
    assert_true(own[0].rig.level.value == 0.9);
    assert_true(own[2].rig.tail.value == 2.0 && own[0].rig.tail.value == 0.0);
    assert_true(own[1].layup.uncoupled && !own[0].layup.uncoupled);
    assert_int_equal(own[0].layup.layers.count, 1);
    assert_int_equal(own[2].layup.layers.count, 2);
    assert_string_equal(own[2].layup.layers.items[1], "glass:1");
    assert_int_equal(own[0].labels.count, 1);
    assert_string_equal(own[1].labels.items[0], "note=a dry place");
    cases_clear(&cases);
    clear_base(&base);
}

static void repeated_cases_differ_in_seed_alone(void **state)
{
    (void)state;
    struct case_values base = base_of(WORDS(layer, carbon, seed, hundred));
    struct cases cases;
    cases_repeat(&cases, &base, 3);
    assert_int_equal(cases.count, 3);
    assert_int_equal(cases.items[2].seed.value, 102);
    assert_string_equal(cases.items[2].layup.layers.items[0], "carbon:3.2");
    cases_clear(&cases);
    clear_base(&base);
}

static void refused(const char *text, size_t size, enum plyecho_code code, long line,
                    const char *words)
{
    struct case_values base = base_of(WORDS(layer, carbon));
    struct cases cases;
    struct plyecho_error err;
    write_text(text, size);
    assert_int_equal(cases_read(&cases, path, &base, &err), code);
    assert_int_equal(err.line, line);
    assert_non_null(strstr(err.text, words));
    cases_clear(&cases);
    clear_base(&base);
}

static void bad_lines_are_named(void **state)
{
    (void)state;
#define TEXT(t) t, sizeof t - 1
    refused(TEXT("--snr 40\n--sample-rate 1M\n"), PLYECHO_BAD_ARGUMENT, 2, "unknown option");
    refused(TEXT("--snr 40\n\n--snr forty\n"), PLYECHO_BAD_ARGUMENT, 3, "--snr");
    refused(TEXT("--label note=a dry place\n"), PLYECHO_BAD_ARGUMENT, 1,
            "\"dry\" is no option");
    refused(TEXT("--label \"note=a\n"), PLYECHO_BAD_ARGUMENT, 1, "not closed");
    refused(TEXT("# nothing\n"), PLYECHO_BAD_FILE, 0, "no line");
    refused(TEXT("--snr 40\0\n"), PLYECHO_BAD_FILE, 0, "no text");
    char *many = malloc(16 * (PLYECHO_MAX_CHANNELS + 1));
    many[0] = '\0';
    for (int i = 0; i <= PLYECHO_MAX_CHANNELS; i++)
        memcpy(many + 9 * i, "--snr 40\n", 10);
    refused(many, strlen(many), PLYECHO_TOO_LARGE, PLYECHO_MAX_CHANNELS + 1, "more than 1024");
    free(many);
    struct case_values base = base_of(WORDS(layer, carbon));
    struct cases cases;
    unlink(path);
    assert_int_equal(cases_read(&cases, path, &base, NULL), PLYECHO_IO);
    cases_clear(&cases);
    clear_base(&base);
}

static void labels_say_what_is_true(void **state)
{
    (void)state;
    struct case_values base = base_of(WORDS(layer, carbon, snr, forty, label, part,
                                            (char[]){"--gap-depth"}, (char[]){"1.2"}));
    struct cases cases;
    cases_repeat(&cases, &base, 1);
    struct layup layup;
    struct layup_stack stack;
    assert_int_equal(layup_read(&base.layup, &layup, NULL), PLYECHO_OK);
    assert_int_equal(layup_build(&layup, 1, 3e6, 10e6, &stack, NULL), PLYECHO_OK);
    struct plyecho_setup setup = {.pulse.centre_hz = 10e6};
    struct plyecho_simulated simulated = {7.5e-6, 0.5, 0.005, 0.0};
    struct plyecho_labels labels = {0};
    assert_int_equal(truth_of_channel(&cases.items[0], &base, &layup, &stack, &setup,
                                      &simulated, &labels, NULL),
                     PLYECHO_OK);
    static const char *const rows[][2] = {
        {"truth_layers", "carbon:3.2"},
        {"truth_thickness_mm", "3.2"},
        {"truth_velocity_m_s", "2950"},
        {"truth_tof_us", "2.16949153"},
        {"truth_depth_mm", "1.2"},
        {"truth_cover", "1"},
        {"truth_interface_us", "7.5"},
        {"truth_snr_db", "40"},
        {"seed", "1"},
        {"part", "tube 3"},
    };
    assert_int_equal(labels.count, sizeof rows / sizeof rows[0]);
    for (size_t i = 0; i < labels.count; i++)
        assert_string_equal(plyecho_labels_get(&labels, rows[i][0], 0), rows[i][1]);
    plyecho_labels_clear(&labels);
    cases.items[0].labels = base.labels;
    cases.items[0].labels.items[0] = "no equals sign";
    assert_int_equal(truth_of_channel(&cases.items[0], &base, &layup, &stack, &setup,
                                      &simulated, &labels, NULL),
                     PLYECHO_BAD_ARGUMENT);
    plyecho_labels_clear(&labels);
    layup_stack_clear(&stack);
    layup_clear(&layup);
    cases_clear(&cases);
    clear_base(&base);
}

static void common_labels_are_the_files_own(void **state)
{
    (void)state;
    struct plyecho_labels channels[2] = {{0}}, file = {0};
    plyecho_labels_set(&channels[0], "part", 0, "tube", NULL);
    plyecho_labels_set(&channels[0], "angle_deg", 0, "0", NULL);
    plyecho_labels_set(&channels[1], "angle_deg", 0, "45", NULL);
    plyecho_labels_set(&channels[1], "part", 0, "tube", NULL);
    plyecho_labels_set(&channels[1], "note", 0, "dry", NULL);
    assert_int_equal(truth_join(channels, 2, &file, NULL), PLYECHO_OK);
    assert_int_equal(file.count, 4);
    assert_string_equal(plyecho_labels_get(&file, "part", 0), "tube");
    assert_string_equal(plyecho_labels_get(&file, "angle_deg", 1), "0");
    assert_string_equal(plyecho_labels_get(&file, "angle_deg", 2), "45");
    assert_null(plyecho_labels_get(&file, "note", 1));
    assert_string_equal(plyecho_labels_get(&file, "note", 2), "dry");
    plyecho_labels_clear(&file);
    plyecho_labels_clear(&channels[0]);
    plyecho_labels_clear(&channels[1]);
}

int main(void)
{
    char name[] = "/tmp/plyecho-test-cases-XXXXXX";
    int descriptor = mkstemp(name);
    if (descriptor < 0)
        return 1;
    close(descriptor);
    path = name;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_takes_over_what_it_does_not_say),
        cmocka_unit_test(repeated_cases_differ_in_seed_alone),
        cmocka_unit_test(bad_lines_are_named),
        cmocka_unit_test(labels_say_what_is_true),
        cmocka_unit_test(common_labels_are_the_files_own),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    unlink(name);
    return failed;
}
