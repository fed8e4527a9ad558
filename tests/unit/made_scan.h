/* made_scan.h - a scan of a tube made by hand: sound everywhere until a test says otherwise
 */
#ifndef PLYECHO_TESTS_MADE_SCAN_H
#define PLYECHO_TESTS_MADE_SCAN_H

#include <plyecho/context.h>

/* Profiles reach 6 mm deep, at 3000 m/s. */
enum { MADE_PLACES = 400, MADE_STEPS = 80 };
#define MADE_STEP_M 75e-6

struct made_scan {
    struct plyecho_grid *grid;
    struct plyecho_place_reading reading[MADE_PLACES]; /* row by row */
    struct plyecho_context_options options;
    struct plyecho_sound_places sound; /* made_scan_judge fills it */
};

/* A tube of 30 mm, columns all round from angle 0, rows 5 mm apart from axial 0. Each place: no indication, a wall
 * of 3.2 mm (u 0.01 mm) that scatters by some micrometres, no nominal, levels of 0.08 with echoes inside
 * from 0.02 to 0.04, back walls at -1 dB. */
void made_scan_new(struct made_scan *scan, size_t columns, size_t rows);

struct plyecho_place_reading *made_scan_at(struct made_scan *scan, size_t column, size_t row);

/* Every place has a nominal wall of 3.2 mm, give or take 0.32 mm. */
void made_scan_nominal(struct made_scan *scan);

/* Change one place. */
void made_wall(struct plyecho_place_reading *r, double wall_m);
void made_lone(struct plyecho_place_reading *r, double depth_m); /* undecided */
void made_inside(struct plyecho_place_reading *r, enum plyecho_verdict verdict, double depth_m,
                 double strength);
void made_attenuated(struct plyecho_place_reading *r, double balance_db);
void made_unreadable(struct plyecho_place_reading *r);

/* Whole traces, which no place has until these are called: the laminate's own echoes from 0.02 to 0.04, the back wall
 * at 0.75 to 0.85 where a wall was seen, the echo inside that the reading has. `k` is which of the scatter. */
void made_profiles(struct made_scan *scan);
void made_profile(struct plyecho_place_reading *r, size_t k);

/* One more echo in a place's profile. */
void made_echo(struct plyecho_place_reading *r, double depth_m, double strength);

void made_scan_judge(struct made_scan *scan);
/* What neighbours make of a place; fails the test otherwise. */
void expect(const struct plyecho_place_reading *r, enum plyecho_verdict second, bool flagged,
            enum plyecho_context context);

void made_scan_free(struct made_scan *scan);

#endif
