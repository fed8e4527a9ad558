#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "made_map.h"

enum { LARGE = 16 }; /* columns and rows from which on there are indications */

static double wall_at(double x, double y)
{
    return 3e-3 + 0.06e-3 * sin(x * 2 * M_PI) + 0.04e-3 * cos(y * 9) - 0.01e-3 * sin(x * 97);
}

/* x, y: 0 to 1 over the scan. */
static bool within(double x, double y, double x0, double x1, double y0, double y1)
{
    return x >= x0 && x <= x1 && y >= y0 && y <= y1;
}

static void judge(struct plyecho_place_reading *r, enum plyecho_verdict verdict, bool wall,
                  double depth_m)
{
    r->verdict = r->second = verdict;
    r->flagged = r->second_flagged = verdict != PLYECHO_NO_INDICATION;
    r->wall_seen = r->second_wall_m.known = wall;
    r->has_indication = depth_m > 0;
    r->depth_m = r->second_depth_m = depth_m;
}

static size_t spoil(struct plyecho_place_reading *r, double x, double y)
{
    double dx = (x - 0.3) / 0.12, dy = (y - 0.6) / 0.2;
    if (dx * dx + dy * dy < 1) {
        judge(r, PLYECHO_DELAMINATION, false, 1.2e-3);
        return 1;
    }
    if (within(x, y, 0.5, 0.9, 0.1, 0.3)) {
        judge(r, PLYECHO_INNER_ECHO, true, 2e-3);
        return 2;
    }
    if (within(fabs(x - 0.5), y, 0.46, 0.6, 0.7, 0.85)) {
        judge(r, PLYECHO_DELAMINATION, true, 0.8e-3);
        r->balance_db.value -= 4;
        return 3;
    }
    if (within(x, y, 0.62, 0.7, 0.55, 0.95))
        judge(r, PLYECHO_UNREADABLE, false, 0);
    else if (within(x, y, 0.76, 0.8, 0.5, 0.65))
        judge(r, PLYECHO_UNDECIDED, false, 0);
    else if (within(x, y, 0.1, 0.15, 0.2, 0.4))
        judge(r, PLYECHO_ATTENUATED, false, 0);
    else if (within(x, y, 0.44, 0.46, 0.3, 0.5))
        r->read = false;
    return 0;
}

static void fill(struct made_map *s, size_t columns, size_t rows)
{
    const struct plyecho_grid *g = s->grid;
    for (size_t i = 0; i < g->count; i++) {
        struct plyecho_place_reading *r = &s->readings[i];
        double x = (double)g->column[i] / (double)columns;
        double y = (double)g->row[i] / (double)rows;
        r->place = (struct plyecho_place){g->across[g->column[i]], g->along[g->row[i]]};
        r->read = true;
        r->shots = 1;
        r->wall_m = r->second_wall_m.value = wall_at(x, y);
        r->nominal_m = (struct plyecho_known){true, 3e-3};
        r->tolerance_m = 0.3e-3;
        r->balance_db = (struct plyecho_known){true, -1 + 1.5 * cos(x * 2 * M_PI) + y};
        judge(r, PLYECHO_NO_INDICATION, true, 0);
        if (columns >= LARGE && rows >= LARGE)
            s->member[i] = spoil(r, x, y);
    }
    const enum plyecho_verdict kinds[] = {PLYECHO_DELAMINATION, PLYECHO_INNER_ECHO,
                                          PLYECHO_DELAMINATION};
    for (size_t k = 0; k < MADE_INDICATIONS; k++) {
        s->indications[k].kind = kinds[k];
        s->indications[k].across = s->indications[k].along_m = NAN; /* its places are framed */
        size_t number = 0;
        for (size_t i = 0; i < g->count; i++)
            if (s->member[i] == k + 1 && ++number == (k == 0 ? columns : 4))
                s->indications[k].worst = i;
    }
}

struct made_map made_map(bool tube, size_t columns, size_t rows)
{
    struct plyecho_part part = {tube, {tube, 30e-3}, NULL};
    struct plyecho_place *places = calloc(columns * rows, sizeof *places);
    struct made_map s = {.grid = NULL};
    struct plyecho_error err;
    size_t count = 0;
    double step = tube ? 360.0 / (double)columns : 2e-3;
    for (size_t row = 0; row < rows; row++)
        for (size_t column = 0; column < columns; column++)
            if (columns < LARGE || row != 2 || column < 5 || column > 8)
                places[count++] =
                    (struct plyecho_place){step * (double)column, 10e-3 + 5e-3 * (double)row};
    if (plyecho_grid_new(&s.grid, places, count, &part, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    free(places);
    s.readings = calloc(count, sizeof *s.readings);
    s.member = calloc(count, sizeof *s.member);
    fill(&s, columns, rows);
    bool large = columns >= LARGE && rows >= LARGE;
    s.picture = (struct map_picture){
        .title = "Steerer tube 7",
        .zero_mark = "saw cut at the crown end, opposite the brake hole",
        .turn = MAP_CLOCKWISE,
        .grid = s.grid,
        .readings = s.readings,
        .member = large ? s.member : NULL,
        .indication_count = large ? MADE_INDICATIONS : 0,
    };
    return s;
}

void made_map_free(struct made_map *s)
{
    plyecho_grid_free(s->grid);
    free(s->readings);
    free(s->member);
}
