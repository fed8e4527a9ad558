/* log_probe - what the library's statistics make of numbers, for the reference tests
 *
 * log_probe outliers MOST CHANCE: from numbers on standard input, how many are outliers, then a line a step: index,
 *     distance, critical distance.
 * log_probe clusters FLOOR DRAWS: low group's mean, spread, share, high group's, both log-likelihoods, gain,
 *     chance (-1: not known), then how likely each number is of the low group.
 * log_probe wall RESOLUTION 0|1: from lines of across, along and value on a plate (0) or a tube (1), how many
 *     are kept and their spread, then the wall at each place.
 * log_probe log NOMINAL_MM 0|1: the same lines, in mm along; a nominal of 0 is not known. The answer, places of wall, low, high
 *     and other wall, low ones at once and in steps.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/clusters.h>
#include <plyecho/gauge_log.h>
#include <plyecho/outliers.h>
#include <plyecho/smooth_wall.h>

enum { MOST = 20000 };

static double values[MOST], low_share[MOST];
static struct plyecho_outlier steps[MOST];
static struct plyecho_place places[MOST];

static void must(enum plyecho_code code, const struct plyecho_error *err)
{
    if (code == PLYECHO_OK)
        return;
    fprintf(stderr, "log_probe: %s\n", err->text);
    exit(2);
}

static void tell_outliers(size_t count, size_t most, double chance)
{
    struct plyecho_error err;
    size_t outliers;
    must(plyecho_outliers_find(values, count, most, chance, steps, &outliers, &err), &err);
    printf("%zu\n", outliers);
    for (size_t i = 0; i < most; i++)
        printf("%zu %.17g %.17g\n", steps[i].index, steps[i].distance, steps[i].critical);
}

static void tell_clusters(size_t count, double floor, size_t draws)
{
    const struct plyecho_clusters_options options = {floor, draws, 1};
    struct plyecho_error err;
    struct plyecho_clusters c;
    must(plyecho_clusters_find(values, count, &options, &c, low_share, &err), &err);
    printf("%.17g %.17g %.17g %.17g %.17g %.17g\n%.17g %.17g %.17g %.17g\n", c.low.mean,
           c.low.spread, c.low.share, c.high.mean, c.high.spread, c.high.share,
           c.one_log_likelihood, c.two_log_likelihood, c.criterion_gain,
           c.chance.known ? c.chance.value : -1.0);
    for (size_t i = 0; i < count; i++)
        printf("%.17g\n", low_share[i]);
}

static size_t read_places(void)
{
    size_t count = 0;
    while (count < MOST && scanf("%lf %lf %lf", &places[count].across, &places[count].along,
                                 &values[count]) == 3)
        count++;
    return count;
}

static void tell_log(double nominal_mm, bool tube)
{
    static struct plyecho_gauge_reading readings[MOST];
    const struct plyecho_gauge_log_options options = {
        .part = {.tube = tube, .diameter_m = {tube, 28.6e-3}},
        .nominal_m = {nominal_mm > 0.0, nominal_mm * 1e-3},
    };
    struct plyecho_error err;
    struct plyecho_gauge_log *log;
    size_t count = read_places();
    for (size_t i = 0; i < count; i++) {
        readings[i].place = (struct plyecho_place){places[i].across, places[i].along * 1e-3};
        readings[i].wall_m = (struct plyecho_known){values[i] > 0.0, values[i] * 1e-3};
    }
    must(plyecho_gauge_log_new(&log, readings, count, &options, &err), &err);
    printf("%s %zu %zu %zu %zu %zu %zu\n", plyecho_gauge_answer_word(log->answer), log->wall,
           log->low, log->high, log->other, log->at_once, log->in_steps);
    plyecho_gauge_log_free(log);
}

static void tell_wall(double resolution, bool tube)
{
    struct plyecho_error err;
    struct plyecho_smooth_wall w;
    size_t count = read_places();
    must(plyecho_smooth_wall_fit(&w, places, values, count, tube, resolution, &err), &err);
    printf("%zu %.17g\n", w.kept, w.spread_m);
    for (size_t i = 0; i < count; i++)
        printf("%.17g\n", plyecho_smooth_wall_at(&w, &places[i]));
}

int main(int argc, char **argv)
{
    size_t count = 0;
    if (argc != 4)
        return 2;
    if (strcmp(argv[1], "wall") == 0) {
        tell_wall(atof(argv[2]), atoi(argv[3]) != 0);
        return 0;
    }
    if (strcmp(argv[1], "log") == 0) {
        tell_log(atof(argv[2]), atoi(argv[3]) != 0);
        return 0;
    }
    while (count < MOST && scanf("%lf", &values[count]) == 1)
        count++;
    if (strcmp(argv[1], "outliers") == 0)
        tell_outliers(count, strtoul(argv[2], NULL, 10), atof(argv[3]));
    else
        tell_clusters(count, atof(argv[2]), strtoul(argv[3], NULL, 10));
    return 0;
}
