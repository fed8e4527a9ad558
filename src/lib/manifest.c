#include <plyecho/manifest.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "named_rows.h"

enum column { FILE_NAME, CHANNEL, ANGLE, AXIAL, X, Y, COLUMNS };

static const struct pe_named_column columns[COLUMNS] = {
    [FILE_NAME] = {"file", false}, [CHANNEL] = {"channel", true}, [ANGLE] = {"angle_deg", true},
    [AXIAL] = {"axial_mm", true},  [X] = {"x_mm", true},          [Y] = {"y_mm", true},
};

static const struct pe_named_table table = {
    columns, COLUMNS, true, "file,channel,angle_deg,axial_mm (on a plate x_mm,y_mm)"};

static const double mm = 1e-3;
static const double most_m = 1e3;    /* longer than any part */
static const double step_deg = 1e-6; /* what tells two places apart */
static const double steps_a_metre = 1e9;

bool plyecho_manifest_is(const void *bytes, size_t size)
{
    return pe_named_rows_are(&table, bytes, size);
}

/* ---- one shot ---- */

static enum plyecho_code check_place(bool tube, const struct plyecho_shot *shot,
                                     struct plyecho_error *err)
{
    double across = shot->place.across, along = shot->place.along;
    if (tube && !(across >= -180.0 && across <= 360.0))
        return plyecho_fail_line(
            err, PLYECHO_BAD_ARGUMENT, shot->line,
            "angle_deg %.10g: angles are 0 to 360, or -180 to 180; a place "
            "read again has its angle again",
            across);
    if ((!tube && !(fabs(across) <= most_m)) || !(fabs(along) <= most_m))
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, shot->line,
                                 "a place more than %g m away; write it in mm", most_m);
    return PLYECHO_OK;
}

static double rounded(double value, double steps_a_unit)
{
    return round(value * steps_a_unit) / steps_a_unit + 0.0; /* no -0 */
}

static enum plyecho_code make_room(struct plyecho_manifest *m, long line,
                                   struct plyecho_error *err)
{
    if (m->count == PLYECHO_MOST_SHOTS)
        return plyecho_fail_line(err, PLYECHO_TOO_LARGE, line,
                                 "more than %d shots; scan the part in sections",
                                 PLYECHO_MOST_SHOTS);
    if (m->count < m->room)
        return PLYECHO_OK;
    size_t room = 2 * m->room + 64;
    struct plyecho_shot *shot = pe_resize(m->shot, room, sizeof *shot);
    if (shot == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory");
    m->shot = shot;
    m->room = room;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_manifest_add(struct plyecho_manifest *m,
                                       const struct plyecho_shot *shot,
                                       struct plyecho_error *err)
{
    enum plyecho_code code = check_place(m->tube, shot, err);
    if (code == PLYECHO_OK)
        code = make_room(m, shot->line, err);
    if (code != PLYECHO_OK)
        return code;
    size_t size = strlen(shot->file) + 1;
    char *file = pe_alloc(size, 1);
    if (file == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory");
    memcpy(file, shot->file, size);
    struct plyecho_shot *added = &m->shot[m->count++];
    *added = *shot;
    added->file = file;
    added->place.across = rounded(shot->place.across, m->tube ? 1.0 / step_deg : steps_a_metre);
    added->place.along = rounded(shot->place.along, steps_a_metre);
    return PLYECHO_OK;
}

/* ---- all of them ---- */

static int by_trace(const void *a, const void *b)
{
    const struct plyecho_shot *one = *(const struct plyecho_shot *const *)a;
    const struct plyecho_shot *other = *(const struct plyecho_shot *const *)b;
    int order = strcmp(one->file, other->file);
    if (order == 0)
        order = (one->channel > other->channel) - (one->channel < other->channel);
    return order != 0 ? order : (one > other) - (one < other);
}

static enum plyecho_code twice(const struct plyecho_shot *one, const struct plyecho_shot *again,
                               struct plyecho_error *err)
{
    if (again->line == 0) /* not from a manifest */
        return plyecho_fail(err, PLYECHO_BAD_FILE, "%s is named twice; name it once",
                            again->file);
    return plyecho_fail_line(err, PLYECHO_BAD_FILE, again->line,
                             "channel %zu of %s stands in line %ld already; one trace was "
                             "taken at one place: mend file or channel",
                             again->channel, again->file, one->line);
}

static enum plyecho_code check_twice(const struct plyecho_manifest *m,
                                     struct plyecho_error *err)
{
    const struct plyecho_shot **sorted = pe_alloc(m->count, sizeof *sorted);
    enum plyecho_code code = PLYECHO_OK;
    if (sorted == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory");
    for (size_t i = 0; i < m->count; i++)
        sorted[i] = &m->shot[i];
    qsort(sorted, m->count, sizeof(*sorted), by_trace);
    for (size_t i = 1; i < m->count && code == PLYECHO_OK; i++) {
        const struct plyecho_shot *one = sorted[i - 1], *again = sorted[i];
        if (one->channel == again->channel && strcmp(one->file, again->file) == 0)
            code = twice(one, again, err);
    }
    free(sorted);
    return code;
}

/* Angles from 0 to below 360, however they were counted. */
static enum plyecho_code wrap(struct plyecho_manifest *m, struct plyecho_error *err)
{
    const struct plyecho_shot *below = NULL, *above = NULL;
    for (size_t i = 0; i < m->count; i++) {
        if (m->shot[i].place.across < 0.0)
            below = &m->shot[i];
        if (m->shot[i].place.across > 180.0)
            above = &m->shot[i];
    }
    if (below != NULL && above != NULL)
        return plyecho_fail_line(
            err, PLYECHO_BAD_ARGUMENT, below->line,
            "angle_deg %g of %s, and %g of %s: count either 0 to 360 or -180 to 180, so that a "
            "place has one angle",
            below->place.across, below->file, above->place.across, above->file);
    m->wrapped = below != NULL;
    for (size_t i = 0; i < m->count; i++) {
        double *angle = &m->shot[i].place.across;
        if (*angle < 0.0)
            *angle = rounded(*angle + 360.0, 1.0 / step_deg);
        if (*angle >= 360.0)
            *angle = 0.0;
    }
    return PLYECHO_OK;
}

enum plyecho_code plyecho_manifest_check(struct plyecho_manifest *m, struct plyecho_error *err)
{
    if (m->count == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "no places; write the heading %s and a row for each trace",
                            table.heading);
    enum plyecho_code code = m->tube ? wrap(m, err) : PLYECHO_OK;
    return code == PLYECHO_OK ? check_twice(m, err) : code;
}

/* ---- the file ---- */

static enum plyecho_code choose_kind(const struct pe_named_rows *r, struct plyecho_manifest *m)
{
    bool round = pe_named_rows_has(r, ANGLE) && pe_named_rows_has(r, AXIAL);
    bool flat = pe_named_rows_has(r, X) && pe_named_rows_has(r, Y);
    m->tube = round;
    if (round != flat)
        return PLYECHO_OK;
    return plyecho_fail_line(
        r->err, PLYECHO_BAD_FILE, r->line,
        round
            ? "angle_deg,axial_mm and x_mm,y_mm: a part is a tube or a plate, take one of the "
              "two out; the heading is %s"
            : "says of no trace where it was taken; the heading is %s",
        table.heading);
}

static enum plyecho_code read_row(const struct pe_named_rows *r, const struct pe_span *cell,
                                  struct plyecho_manifest *m)
{
    struct plyecho_shot shot = {.channel = 1, .line = r->line};
    enum column across = m->tube ? ANGLE : X, along = m->tube ? AXIAL : Y;
    enum plyecho_code code = pe_named_number(
        r, (int)across, cell[across],
        m->tube ? "degrees without a unit" : "mm without its unit", &shot.place.across);
    if (code == PLYECHO_OK)
        code = pe_named_number(r, (int)along, cell[along], "mm without its unit",
                               &shot.place.along);
    if (code == PLYECHO_OK)
        code = pe_named_channel(r, cell[CHANNEL], &shot.channel);
    if (code == PLYECHO_OK)
        code = pe_named_text(r, cell[FILE_NAME],
                             "no file named; write the trace of this place there", &shot.file);
    if (code != PLYECHO_OK)
        return code;
    shot.place.across *= m->tube ? 1.0 : mm;
    shot.place.along *= mm;
    code = plyecho_manifest_add(m, &shot, r->err);
    free(shot.file);
    return code;
}

static enum plyecho_code read_all(struct plyecho_manifest *m, const void *bytes, size_t size,
                                  struct plyecho_error *err)
{
    struct pe_named_rows r;
    struct pe_span cell[PE_MOST_NAMED_COLUMNS];
    bool more = true;
    enum plyecho_code code = pe_named_rows_open(&r, &table, bytes, size, err);
    if (code == PLYECHO_OK && r.places > 0)
        code = choose_kind(&r, m);
    while (code == PLYECHO_OK && more) {
        code = pe_named_rows_next(&r, cell, &more);
        if (code == PLYECHO_OK && more)
            code = read_row(&r, cell, m);
    }
    return code == PLYECHO_OK ? plyecho_manifest_check(m, err) : code;
}

enum plyecho_code plyecho_manifest_read(struct plyecho_manifest *m, const void *bytes,
                                        size_t size, struct plyecho_error *err)
{
    *m = (struct plyecho_manifest){.tube = false};
    enum plyecho_code code = read_all(m, bytes, size, err);
    if (code != PLYECHO_OK)
        plyecho_manifest_clear(m);
    return code;
}

void plyecho_manifest_clear(struct plyecho_manifest *m)
{
    for (size_t i = 0; i < m->count; i++)
        free(m->shot[i].file);
    free(m->shot);
    *m = (struct plyecho_manifest){.tube = false};
}
