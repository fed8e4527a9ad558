/* scan_probe - what the library makes of the places of a scan, for the reference tests
 *
 * scan_probe label|indications|coverage DIAMETER_M BEAM_M
 *     A diameter of 0 is a plate. On standard input a line a place: across (degrees or m), along in m,
 *     verdict by its number in verdict.h, strength, depth in m, highest echo inside.
 * label prints a number a place; indications one line each: kind, places, from and to across, width across, arc,
 * its uncertainty, from and to along, its uncertainty, area, within the beam (0 or 1), distance to the next;
 * coverage: area, share, diameter unseen and its place.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/coverage.h>
#include <plyecho/indications.h>

enum { MOST = 100000 };

struct scan {
    struct plyecho_place places[MOST];
    struct plyecho_place_reading readings[MOST];
    bool member[MOST];
    size_t label[MOST];
    size_t count;
};

static void must(enum plyecho_code code, const struct plyecho_error *err)
{
    if (code == PLYECHO_OK)
        return;
    fprintf(stderr, "scan_probe: %s\n", err->text);
    exit(2);
}

static void read_places(struct scan *scan)
{
    struct plyecho_place p;
    unsigned verdict;
    double strength, depth, inner;
    while (scan->count < MOST && scanf("%lf %lf %u %lf %lf %lf", &p.across, &p.along, &verdict,
                                       &strength, &depth, &inner) == 6) {
        size_t i = scan->count++;
        struct plyecho_place_reading *r = &scan->readings[i];
        scan->places[i] = r->place = p;
        r->read = true;
        r->verdict = r->second = (enum plyecho_verdict)verdict;
        r->second_flagged = verdict != PLYECHO_NO_INDICATION;
        r->second_strength = strength;
        r->second_depth_m = depth;
        r->highest_inner = (struct plyecho_known){true, inner};
        scan->member[i] = r->second_flagged;
    }
}

static void tell_labels(struct scan *scan, const struct plyecho_grid *grid)
{
    struct plyecho_error err;
    size_t sets;
    must(plyecho_grid_label(grid, scan->member, scan->label, &sets, &err), &err);
    for (size_t i = 0; i < scan->count; i++)
        printf("%zu\n", scan->label[i]);
}

static void tell_indications(const struct scan *scan, const struct plyecho_grid *grid,
                             struct plyecho_known beam)
{
    struct plyecho_error err;
    struct plyecho_indication *list;
    size_t count;
    must(plyecho_indications_find(grid, scan->readings, beam, &list, &count, NULL, &err), &err);
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_indication *i = &list[k];
        printf("%d %zu %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %d %.17g\n",
               (int)i->kind, i->places, i->from_across, i->to_across, i->across, i->arc_m,
               i->arc_u_m, i->from_along_m, i->to_along_m, i->along_u_m, i->area_m2,
               i->within_beam, i->next_m.known ? i->next_m.value : -1.0);
    }
    free(list);
}

static void tell_coverage(const struct scan *scan, const struct plyecho_grid *grid,
                          struct plyecho_known beam)
{
    struct plyecho_error err;
    struct plyecho_coverage c;
    must(plyecho_coverage_take(grid, scan->readings, beam, &c, &err), &err);
    printf("%.17g %.17g %.17g %.17g %.17g\n", c.area_m2, c.share.value, c.unseen_m.value,
           c.unseen_at.across, c.unseen_at.along);
}

int main(int argc, char **argv)
{
    static struct scan scan;
    if (argc != 4)
        return 2;
    double diameter = atof(argv[2]), beam = atof(argv[3]);
    const struct plyecho_part part = {diameter > 0.0, {diameter > 0.0, diameter}, NULL};
    const struct plyecho_known beam_m = {beam > 0.0, beam};
    struct plyecho_grid *grid;
    struct plyecho_error err;
    read_places(&scan);
    must(plyecho_grid_new(&grid, scan.places, scan.count, &part, &err), &err);
    if (strcmp(argv[1], "label") == 0)
        tell_labels(&scan, grid);
    else if (strcmp(argv[1], "indications") == 0)
        tell_indications(&scan, grid, beam_m);
    else
        tell_coverage(&scan, grid, beam_m);
    plyecho_grid_free(grid);
    return 0;
}
