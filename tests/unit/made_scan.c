#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_scan.h"

static struct plyecho_known known(double value)
{
    return (struct plyecho_known){true, value};
}

static struct plyecho_place_reading sound_at(struct plyecho_place place, size_t k)
{
    double scatter = sin(2.4 * (double)k); /* the same on every run */
    return (struct plyecho_place_reading){
        .place = place,
        .read = true,
        .shots = 1,
        .verdict = PLYECHO_NO_INDICATION,
        .evidence_ratio = 100.0,
        .wall_seen = true,
        .wall_m = 3.2e-3 + 4e-6 * scatter,
        .wall_u_m = known(1e-5),
        .range_known = true,
        .level = 0.08,
        .highest_inner = known(0.03 + 0.01 * scatter),
        .balance_db = known(-1.0 + 0.3 * scatter),
    };
}

void made_scan_new(struct made_scan *scan, size_t columns, size_t rows)
{
    static const struct plyecho_part tube = {true, {true, 30e-3}, NULL};
    struct plyecho_place places[MADE_PLACES];
    struct plyecho_error err;
    assert_true(columns * rows <= MADE_PLACES);
    *scan = (struct made_scan){.grid = NULL};
    for (size_t k = 0; k < columns * rows; k++) {
        places[k] = (struct plyecho_place){360.0 / (double)columns * (double)(k % columns),
                                           5e-3 * (double)(k / columns)};
        scan->reading[k] = sound_at(places[k], k);
    }
    if (plyecho_grid_new(&scan->grid, places, columns * rows, &tube, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

struct plyecho_place_reading *made_scan_at(struct made_scan *scan, size_t column, size_t row)
{
    return &scan->reading[row * scan->grid->columns + column];
}

void made_scan_nominal(struct made_scan *scan)
{
    for (size_t i = 0; i < scan->grid->count; i++) {
        scan->reading[i].nominal_m = known(3.2e-3);
        scan->reading[i].tolerance_m = 0.32e-3;
    }
}

void made_wall(struct plyecho_place_reading *r, double wall_m)
{
    r->wall_m = wall_m;
}

void made_lone(struct plyecho_place_reading *r, double depth_m)
{
    r->verdict = PLYECHO_UNDECIDED;
    r->reason = PLYECHO_REASON_NOT_A_WALL;
    r->flagged = true;
    r->wall_seen = false;
    r->wall_u_m.known = false;
    r->lone_m = known(depth_m);
    r->lone_u_m = known(1e-5);
}

void made_inside(struct plyecho_place_reading *r, enum plyecho_verdict verdict, double depth_m,
                 double strength)
{
    r->verdict = verdict;
    r->flagged = true;
    r->has_indication = true;
    r->depth_m = depth_m;
    r->depth_u_m = known(1e-5);
    r->strength = strength;
    r->highest_inner = known(fabs(strength));
    if (fabs(strength) > 0.9)
        r->wall_seen = false;
}

void made_attenuated(struct plyecho_place_reading *r, double balance_db)
{
    r->verdict = PLYECHO_ATTENUATED;
    r->flagged = true;
    r->balance_db = known(balance_db);
}

void made_unreadable(struct plyecho_place_reading *r)
{
    r->verdict = PLYECHO_UNREADABLE;
    r->reason = PLYECHO_REASON_NO_COUPLING;
    r->flagged = true;
    r->wall_seen = false;
    r->range_known = false;
    r->highest_inner.known = r->balance_db.known = false;
}

void made_profile(struct plyecho_place_reading *r, size_t k)
{
    struct plyecho_profile *p = &r->profile;
    *p = (struct plyecho_profile){.step_m = MADE_STEP_M, .count = MADE_STEPS};
    for (size_t step = 0; step < p->count; step++)
        p->strength[step] = (float)(0.03 + 0.01 * sin(2.4 * (double)k + 5.1 * (double)step));
    if (r->wall_seen)
        made_echo(r, r->wall_m, 0.8 + 0.05 * sin(1.3 * (double)k));
    if (r->has_indication)
        made_echo(r, r->depth_m, fabs(r->strength));
}

void made_echo(struct plyecho_place_reading *r, double depth_m, double strength)
{
    static const double half_width = 2.0; /* steps; the envelope of a pulse of 0.4 us */
    for (size_t step = 0; step < r->profile.count; step++) {
        double off = ((double)step + 0.5 - depth_m / MADE_STEP_M) / half_width;
        float height = (float)(strength * exp2(-off * off));
        r->profile.strength[step] = fmaxf(r->profile.strength[step], height);
    }
}

void made_profiles(struct made_scan *scan)
{
    for (size_t k = 0; k < scan->grid->count; k++)
        made_profile(&scan->reading[k], k);
}

void made_scan_judge(struct made_scan *scan)
{
    struct plyecho_error err;
    if (plyecho_context_judge(scan->grid, scan->reading, &scan->options, &scan->sound, &err) !=
        PLYECHO_OK)
        fail_msg("%s", err.text);
}

void expect(const struct plyecho_place_reading *r, enum plyecho_verdict second, bool flagged,
            enum plyecho_context context)
{
    if (r->second != second || r->second_flagged != flagged || r->context != context)
        fail_msg("%g deg, %g mm: %s%s, '%s'; expected %s%s, '%s'", r->place.across,
                 r->place.along * 1e3, plyecho_verdict_word(r->second),
                 r->second_flagged ? " flagged" : "", plyecho_context_word(r->context),
                 plyecho_verdict_word(second), flagged ? " flagged" : "",
                 plyecho_context_word(context));
}

void made_scan_free(struct made_scan *scan)
{
    plyecho_grid_free(scan->grid);
}
