/* The manifest: what is read, what is refused with which line and cure. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/manifest.h>

#include "failing_alloc.h"

/* One step of double at 360. */
static const double close_to = 6e-14;

static enum plyecho_code read_text(struct plyecho_manifest *m, const char *text,
                                   struct plyecho_error *err)
{
    return plyecho_manifest_read(m, text, strlen(text), err);
}

static struct plyecho_manifest good(const char *text)
{
    struct plyecho_manifest m;
    struct plyecho_error err;
    if (read_text(&m, text, &err) != PLYECHO_OK)
        fail_msg("line %ld: %s", err.line, err.text);
    assert_true(plyecho_manifest_is(text, strlen(text)));
    return m;
}

static void check_shot(const struct plyecho_manifest *m, size_t k, const char *file,
                       size_t channel, double across, double along)
{
    assert_true(k < m->count);
    assert_string_equal(m->shot[k].file, file);
    assert_int_equal(m->shot[k].channel, channel);
    assert_float_equal(m->shot[k].place.across, across, close_to);
    assert_float_equal(m->shot[k].place.along, along, close_to);
}

static void check_tube(const char *text)
{
    struct plyecho_manifest m = good(text);
    assert_true(m.tube);
    assert_false(m.wrapped);
    assert_int_equal(m.count, 2);
    check_shot(&m, 0, "ring1.wav", 1, 7.5, 0.02);
    check_shot(&m, 1, "ring1.wav", 2, 352.5, 0.0205);
    plyecho_manifest_clear(&m);
}

static void tubes_as_they_come(void **state)
{
    (void)state;
    check_tube("file,channel,angle_deg,axial_mm\nring1.wav,1,7.5,20\nring1.wav,2,352.5,20.5\n");
    check_tube("\xef\xbb\xbf# ring by ring\r\naxial_mm;angle_deg;channel;file\r\n"
               "20;7,5;;ring1.wav\r\n\r\n20,5;352,5;2;ring1.wav\r\n");
    check_tube("file\tchannel\tangle_deg\taxial_mm\n\"ring1.wav\"\t\t7.5\t20\n"
               "# again\nring1.wav\t2\t352.5\t20.5");
    check_tube("file,channel,angle_deg,axial_mm\rring1.wav,1,7.5,20\rring1.wav,2,352.5,20.5\r");
}

static void other_columns_are_passed_over(void **state)
{
    (void)state;
    check_tube("time,file,operator,channel,angle_deg,note,axial_mm,line\n"
               "9:40,ring1.wav,M,1,7.5,\"dry, again\",20,3\n,ring1.wav,M,2,352.5,,20.5,4\n");
    struct plyecho_manifest m = good("file,x_mm,y_mm,z_mm\na.wav,1,2,3\n");
    assert_false(m.tube);
    plyecho_manifest_clear(&m);
}

static void plates_are_in_metres(void **state)
{
    (void)state;
    struct plyecho_manifest m = good("y_mm,x_mm,file\n-2.5,400,a.wav\n1e3,-0,b.wav\n");
    assert_false(m.tube);
    assert_int_equal(m.count, 2);
    check_shot(&m, 0, "a.wav", 1, 0.4, -0.0025);
    check_shot(&m, 1, "b.wav", 1, 0.0, 1.0);
    assert_false(signbit(m.shot[1].place.across));
    assert_int_equal(m.shot[0].line, 2);
    assert_int_equal(m.shot[1].line, 3);
    plyecho_manifest_clear(&m);
}

static void angles_below_zero_are_counted_on(void **state)
{
    (void)state;
    struct plyecho_manifest m = good("file,angle_deg,axial_mm\na,-180,1\nb,180,1\nc,-0.5,1\n"
                                     "d,0,1\ne,-1e-9,1\n");
    assert_true(m.wrapped);
    check_shot(&m, 0, "a", 1, 180.0, 0.001);
    check_shot(&m, 1, "b", 1, 180.0, 0.001);
    check_shot(&m, 2, "c", 1, 359.5, 0.001);
    check_shot(&m, 3, "d", 1, 0.0, 0.001);
    check_shot(&m, 4, "e", 1, 0.0, 0.001);
    /* the same place to the last bit, or two shots of it would be two places */
    assert_true(m.shot[0].place.across == m.shot[1].place.across);
    plyecho_manifest_clear(&m);
}

static void a_full_turn_is_its_begin(void **state)
{
    (void)state;
    struct plyecho_manifest m =
        good("file,angle_deg,axial_mm\na,0,1\nb,360,1\nc,359.9999999,1\n"
             "d,359.999,1\n");
    assert_false(m.wrapped);
    check_shot(&m, 1, "b", 1, 0.0, 0.001);
    check_shot(&m, 2, "c", 1, 0.0, 0.001);
    check_shot(&m, 3, "d", 1, 359.999, 0.001);
    plyecho_manifest_clear(&m);
}

static void places_are_told_apart_by_a_nanometre(void **state)
{
    (void)state;
    struct plyecho_manifest m =
        good("file,x_mm,y_mm\na,0.1,0.3\nb,0.1000004,0.2999996\nc,0.100001,0.3\n");
    assert_true(m.shot[0].place.across == m.shot[1].place.across);
    assert_true(m.shot[0].place.along == m.shot[1].place.along);
    assert_true(m.shot[0].place.across < m.shot[2].place.across);
    plyecho_manifest_clear(&m);
}

/* RFC 4180, 2.5 to 2.7: a field with the delimiter or a quote in it stands in quotes, and the quote is doubled. What
 * lies there was written by Python's csv module: csv.writer of 'a "dry" one.wav', '"', '""', 'b",1'. The last rows are
 * none of RFC 4180's: quotes within a cell that does not begin with one are text. */
static void a_name_may_have_quotes(void **state)
{
    (void)state;
    struct plyecho_manifest m = good("file,note,x_mm,y_mm\n\"a \"\"dry\"\" one.wav\",,0,1\n"
                                     "\"\"\"\",,1,1\n\"\"\"\"\"\",,2,1\n\"b\"\",1\",,3,1\n"
                                     "1/2\" c.wav,5\",4,1\nd\"\"e,,5,1\n \" f\"\"g\" ,,6,1\n");
    static const char *const names[] = {"a \"dry\" one.wav", "\"",     "\"\"", "b\",1",
                                        "1/2\" c.wav",       "d\"\"e", "f\"g"};
    for (size_t k = 0; k < sizeof names / sizeof names[0]; k++)
        check_shot(&m, k, names[k], 1, 0.001 * (double)k, 0.001);
    assert_int_equal(m.count, sizeof names / sizeof names[0]);
    plyecho_manifest_clear(&m);
    m = good("file\tnote\tx_mm\ty_mm\na.wav\t\"dry\"\t0\t1\n");
    check_shot(&m, 0, "a.wav", 1, 0.0, 0.001);
    plyecho_manifest_clear(&m);
    m = good("note\tfile\tx_mm\ty_mm\n\"dry\"\ta\"\"b.wav\t0\t1\n");
    check_shot(&m, 0, "a\"\"b.wav", 1, 0.0, 0.001);
    plyecho_manifest_clear(&m);
}

static void names_are_kept_as_they_stand(void **state)
{
    (void)state;
    struct plyecho_manifest m =
        good("file,angle_deg,axial_mm\n\"tube 3, again.wav\",0,1\n../<b>&\x1b[2J.wav,1,1\n");
    check_shot(&m, 0, "tube 3, again.wav", 1, 0.0, 0.001);
    check_shot(&m, 1, "../<b>&\x1b[2J.wav", 1, 1.0, 0.001);
    plyecho_manifest_clear(&m);
}

#define TUBE "file,channel,angle_deg,axial_mm\n"
#define PLATE "file,x_mm,y_mm\n"

static const struct {
    const char *text;
    enum plyecho_code code;
    long line; /* 0: of none */
    const char *says;
} broken[] = {
    {"", PLYECHO_BAD_FILE, 0, "no places"},
    {"# tube 3\n\n", PLYECHO_BAD_FILE, 0, "no places"},
    {TUBE, PLYECHO_BAD_FILE, 0, "no places"},
    {"ring1.wav,1,0,20\n", PLYECHO_BAD_FILE, 1, "no column file"},
    {"channel,angle_deg,axial_mm\n1,0,20\n", PLYECHO_BAD_FILE, 1, "no column file"},
    {"file,channel\na,1\n", PLYECHO_BAD_FILE, 1, "says of no trace where"},
    {"file,angle_deg,y_mm\na,1,1\n", PLYECHO_BAD_FILE, 1, "says of no trace where"},
    {"file,angle_deg,axial_mm,x_mm,y_mm\na,1,1,1,1\n", PLYECHO_BAD_FILE, 1, "tube or a plate"},
    {"file,angle_deg,axial_mm,angle_deg\na,1,1,1\n", PLYECHO_BAD_FILE, 1, "twice"},
    {"file,angel_deg,axial_mm\na,1,1\n", PLYECHO_BAD_FILE, 1, "nearest known is angle_deg"},
    {"file,chanel,angle_deg,axial_mm\na,1,1,1\n", PLYECHO_BAD_FILE, 1,
     "nearest known is channel"},
    {"file,x_mm,y_m\na,1,1\n", PLYECHO_BAD_FILE, 1, "nearest known is y_mm"},
    {"file,x_mm,y_mm,3,4,5,6,7,8,9,10,11,12,13,14,15,16\n", PLYECHO_TOO_LARGE, 1,
     "17 columns; leave out what is not needed, 16 are read"},
    {TUBE "a,1,0\n", PLYECHO_BAD_FILE, 2, "3 cells, the heading has 4"},
    {TUBE "a,1,7,5,20\n", PLYECHO_BAD_FILE, 2, "semicolons"},
    {TUBE "\"a\nb\",1,7,20\n", PLYECHO_BAD_FILE, 2, "1 cells, the heading has 4"},
    {TUBE ",1,0,20\n", PLYECHO_BAD_FILE, 2, "no file named"},
    {TUBE "\"\",1,0,20\n", PLYECHO_BAD_FILE, 2, "no file named"},
    {TUBE "a,1,,20\n", PLYECHO_BAD_NUMBER, 2, "angle_deg '' is no number; write it in degrees"},
    {TUBE "a,1,90 deg,20\n", PLYECHO_BAD_NUMBER, 2, "'90 deg' is no number"},
    {TUBE "a,1,0,2cm\n", PLYECHO_BAD_NUMBER, 2, "axial_mm '2cm' is no number; write it in mm"},
    {TUBE "a,1,nan,20\n", PLYECHO_BAD_NUMBER, 2, "'nan' is no number"},
    {TUBE "a,1,0,inf\n", PLYECHO_BAD_NUMBER, 2, "'inf' is no number"},
    {TUBE "a,1,0,-infinity\n", PLYECHO_BAD_NUMBER, 2, "'-infinity' is no number"},
    {TUBE "a,1,0,1e999\n", PLYECHO_BAD_ARGUMENT, 2, "more than 1000 m away"},
    {TUBE "a,0,0,20\n", PLYECHO_BAD_NUMBER, 2, "channel '0' is no whole number from 1"},
    {TUBE "a,1.5,0,20\n", PLYECHO_BAD_NUMBER, 2, "channel '1.5' is no whole number"},
    {TUBE "a,1025,0,20\n", PLYECHO_BAD_NUMBER, 2, "whole number from 1 to 1024"},
    {TUBE "a,1,360.5,20\n", PLYECHO_BAD_ARGUMENT, 2, "angle_deg 360.5: angles are 0 to 360"},
    {TUBE "a,1,-180.5,20\n", PLYECHO_BAD_ARGUMENT, 2, "angle_deg -180.5"},
    {TUBE "a,1,0,1000001\n", PLYECHO_BAD_ARGUMENT, 2, "write it in mm"},
    {PLATE "a,-1000001,0\n", PLYECHO_BAD_ARGUMENT, 2, "more than 1000 m away"},
    {TUBE "a,1,-10,20\n\nb,1,190,20\n", PLYECHO_BAD_ARGUMENT, 2,
     "angle_deg -10 of a, and 190 of b"},
    {TUBE "a,2,0,20\nb,1,1,20\n# again\na,2,2,20\n", PLYECHO_BAD_FILE, 5,
     "channel 2 of a stands in line 2 already"},
};

static void faults_have_line_and_cure(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        struct plyecho_manifest m;
        struct plyecho_error err;
        enum plyecho_code code = read_text(&m, broken[i].text, &err);
        assert_int_equal(m.count, 0);
        assert_null(m.shot);
        long line = err.line > 0 ? err.line : 0;
        if (code != broken[i].code || err.code != code || line != broken[i].line ||
            strstr(err.text, broken[i].says) == NULL)
            fail_msg("case %zu: code %d, line %ld: %s", i, code, err.line, err.text);
    }
}

static void what_is_no_manifest(void **state)
{
    (void)state;
    static const char *const other[] = {"", "RIFF\x24", "time_us,a,b\n0,0,0.5\n",
                                        "# file: tube.wav\n0.5\n0.25\n"};
    for (size_t i = 0; i < sizeof other / sizeof other[0]; i++)
        assert_false(plyecho_manifest_is(other[i], strlen(other[i])));
}

static void shots_one_by_one(void **state)
{
    (void)state;
    struct plyecho_manifest m = {.tube = false};
    struct plyecho_error err;
    char file[] = "plate.wav";
    struct plyecho_shot shot = {file, 3, {0.25, NAN}, 0};
    assert_int_equal(plyecho_manifest_add(&m, &shot, &err), PLYECHO_BAD_ARGUMENT);
    shot.place.along = 0.5;
    assert_int_equal(plyecho_manifest_add(&m, &shot, &err), PLYECHO_OK);
    file[0] = 'x'; /* it has a copy */
    check_shot(&m, 0, "plate.wav", 3, 0.25, 0.5);
    assert_int_equal(plyecho_manifest_check(&m, &err), PLYECHO_OK);
    assert_int_equal(plyecho_manifest_add(&m, &m.shot[0], &err), PLYECHO_OK);
    assert_int_equal(plyecho_manifest_check(&m, &err), PLYECHO_BAD_FILE);
    assert_string_equal(err.text, "plate.wav is named twice; name it once");
    plyecho_manifest_clear(&m);
    struct plyecho_manifest full = {.count = PLYECHO_MOST_SHOTS};
    assert_int_equal(plyecho_manifest_add(&full, &shot, &err), PLYECHO_TOO_LARGE);
    assert_int_equal(full.count, PLYECHO_MOST_SHOTS);
}

static void a_hundred_thousand_rows(void **state)
{
    (void)state;
    enum { ROWS = 100000 };
    size_t room = (size_t)ROWS * 40 + 100, size = 0;
    char *text = malloc(room);
    assert_non_null(text);
    size += (size_t)sprintf(text, "file,angle_deg,axial_mm\n");
    for (int i = 0; i < ROWS; i++)
        size += (size_t)sprintf(text + size, "t%d.wav,%g,%d\n", i, i % 400 * 0.9, i / 400);
    struct plyecho_manifest m = good(text);
    assert_int_equal(m.count, ROWS);
    check_shot(&m, ROWS - 1, "t99999.wav", 1, 399 * 0.9, 0.249);
    assert_int_equal(m.shot[ROWS - 1].line, ROWS + 1);
    plyecho_manifest_clear(&m);
    free(text);
}

static void memory_that_runs_out(void **state)
{
    (void)state;
    struct plyecho_manifest m;
    struct plyecho_error err;
    long nth = 0;
    for (bool failed = true; failed; nth++) {
        fail_allocation(nth);
        enum plyecho_code code = read_text(&m, TUBE "a,1,0,20\nb,1,1,20\n", &err);
        fail_no_allocation();
        failed = code != PLYECHO_OK;
        if (!failed)
            break;
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_int_equal(m.count, 0);
        assert_null(m.shot);
    }
    assert_true(nth >= 5); /* a row's name twice each, the rows, their order */
    plyecho_manifest_clear(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tubes_as_they_come),
        cmocka_unit_test(other_columns_are_passed_over),
        cmocka_unit_test(plates_are_in_metres),
        cmocka_unit_test(angles_below_zero_are_counted_on),
        cmocka_unit_test(a_full_turn_is_its_begin),
        cmocka_unit_test(places_are_told_apart_by_a_nanometre),
        cmocka_unit_test(a_name_may_have_quotes),
        cmocka_unit_test(names_are_kept_as_they_stand),
        cmocka_unit_test(faults_have_line_and_cure),
        cmocka_unit_test(what_is_no_manifest),
        cmocka_unit_test(shots_one_by_one),
        cmocka_unit_test(a_hundred_thousand_rows),
        cmocka_unit_test(memory_that_runs_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
