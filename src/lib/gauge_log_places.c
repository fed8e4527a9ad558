/* Readings to places: those of one place combined, what they are rounded to, and what counts as a difference. */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "gauge_log_inside.h"
#include "sort.h"

/* The usual tolerance (design: a tenth of the nominal wall); half of it, and three last digits, count: our choice. */
static const double usual_tolerance = 0.1, counts_share = 0.5, counts_digits = 3.0;

/* Coordinates that are one: degrees, or 1000 m. */
static const double same = 1e-6;

struct keyed {
    double across, along;
    size_t reading;
};

static int by_place(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    if (x->along != y->along)
        return x->along < y->along ? -1 : 1;
    if (x->across != y->across)
        return x->across < y->across ? -1 : 1;
    return (x->reading > y->reading) - (x->reading < y->reading);
}

/* 0 to below 360, and 360 is 0 again. */
static double wrapped(double degrees)
{
    double turned = degrees - 360.0 * floor(degrees / 360.0);
    return turned > 360.0 - same ? 0.0 : turned;
}

static struct plyecho_place place_at(const struct plyecho_gauge_log *log,
                                     const struct plyecho_gauge_reading *r)
{
    return (struct plyecho_place){log->tube ? wrapped(r->place.across) : r->place.across,
                                  r->place.along};
}

/* Number the places in the order in which they first come. */
static enum plyecho_code number_places(struct plyecho_gauge_log *log,
                                       const struct plyecho_gauge_reading *readings,
                                       struct plyecho_error *err)
{
    size_t n = log->readings;
    struct keyed *keyed = pe_alloc(n, sizeof *keyed);
    if (keyed == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu readings", n);
    double across_unit = log->tube ? same : 1e-3 * same;
    for (size_t i = 0; i < n; i++) {
        struct plyecho_place p = place_at(log, &readings[i]);
        keyed[i] =
            (struct keyed){round(p.across / across_unit), round(p.along / (1e-3 * same)), i};
    }
    qsort(keyed, n, sizeof *keyed, by_place);
    for (size_t i = 0; i < n; i++) {
        bool again = i > 0 && keyed[i].across == keyed[i - 1].across &&
                     keyed[i].along == keyed[i - 1].along;
        /* the first reading of the place, for now */
        log->place_of[keyed[i].reading] =
            again ? log->place_of[keyed[i - 1].reading] : keyed[i].reading;
    }
    free(keyed);
    for (size_t i = 0; i < n; i++) {
        size_t first = log->place_of[i];
        log->place_of[i] = first == i ? log->count++ : log->place_of[first];
    }
    return PLYECHO_OK;
}

static void add_reading(struct plyecho_gauge_place *p, const struct plyecho_gauge_reading *r)
{
    if (!r->wall_m.known)
        return;
    double wall = r->wall_m.value;
    p->least_m = p->readings == 0 ? wall : fmin(p->least_m, wall);
    p->most_m = p->readings == 0 ? wall : fmax(p->most_m, wall);
    p->readings++;
    p->wall_m += (wall - p->wall_m) / (double)p->readings;
    if (r->u_m.known && (!p->u_m.known || r->u_m.value > p->u_m.value))
        p->u_m = r->u_m;
}

/* Within places, over all of them that were read twice. */
static void pool_repeats(struct plyecho_gauge_log *log,
                         const struct plyecho_gauge_reading *readings)
{
    double squares = 0.0, freedom = 0.0;
    for (size_t i = 0; i < log->readings; i++) {
        const struct plyecho_gauge_place *p = &log->place[log->place_of[i]];
        if (readings[i].wall_m.known)
            squares += pow(readings[i].wall_m.value - p->wall_m, 2.0);
    }
    for (size_t i = 0; i < log->count; i++)
        if (log->place[i].readings > 1)
            freedom += (double)(log->place[i].readings - 1);
    log->repeats_m.known = freedom > 0.0;
    log->repeats_m.value = freedom > 0.0 ? sqrt(squares / freedom) : 0.0;
}

static double resolution_of(const struct plyecho_gauge_log *log,
                            const struct plyecho_gauge_reading *readings)
{
    static const double steps[] = {1e-3, 0.1e-3, 0.05e-3, 0.01e-3};
    for (size_t k = 0; k < sizeof steps / sizeof steps[0]; k++) {
        bool all = true;
        for (size_t i = 0; i < log->readings && all; i++) {
            double of = readings[i].wall_m.value / steps[k];
            all = !readings[i].wall_m.known || fabs(of - round(of)) < 1e-6;
        }
        if (all)
            return steps[k];
    }
    return 1e-6;
}

/* ---- nominal and tolerance ---- */

static void take_nominals(struct plyecho_gauge_log *log,
                          const struct plyecho_gauge_log_options *options)
{
    log->nominal_known = true;
    for (size_t i = 0; i < log->count; i++) {
        struct plyecho_gauge_place *p = &log->place[i];
        p->nominal_m = options->nominal != NULL
                           ? plyecho_along_at(options->nominal, p->place.along)
                           : options->nominal_m;
        log->nominal_known = log->nominal_known && (p->nominal_m.known || p->readings == 0);
    }
}

static enum plyecho_code take_level(struct plyecho_gauge_log *log, struct plyecho_error *err)
{
    double *numbers = pe_alloc(log->read, sizeof *numbers);
    if (numbers == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", log->read);
    size_t n = 0;
    for (size_t i = 0; i < log->count; i++)
        if (log->place[i].readings > 0)
            numbers[n++] =
                log->nominal_known ? log->place[i].nominal_m.value : log->place[i].wall_m;
    pe_sort_doubles(numbers, n);
    log->level_m = 0.5 * (numbers[(n - 1) / 2] + numbers[n / 2]);
    free(numbers);
    return PLYECHO_OK;
}

/* Until the places are judged the level is the wall. */
static void look_at(const struct plyecho_gauge_log *log, struct plyecho_known least_m,
                    struct plyecho_gauge_place *p)
{
    double whole = p->nominal_m.known ? p->nominal_m.value : log->level_m;
    if (p->readings == 0) {
        p->group = PLYECHO_GAUGE_UNREAD;
        return;
    }
    p->disagree = p->readings > 1 && p->most_m - p->least_m > log->counts_m;
    if (p->disagree)
        p->wall_m = p->least_m;
    p->smooth_m = whole;
    p->off_m = p->wall_m - whole;
    p->beyond = fabs(p->off_m) > log->tolerance_m + 0.5 * log->resolution_m ||
                (least_m.known && p->wall_m < least_m.value);
}

static enum plyecho_code check(const struct plyecho_gauge_log *log,
                               const struct plyecho_gauge_reading *readings,
                               struct plyecho_error *err)
{
    bool any = false;
    for (size_t i = 0; i < log->readings; i++) {
        const struct plyecho_gauge_reading *r = &readings[i];
        any = any || r->wall_m.known;
        if ((r->wall_m.known && !(r->wall_m.value > 0.0 && isfinite(r->wall_m.value))) ||
            !isfinite(r->place.across) || !isfinite(r->place.along))
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "reading %zu is no thickness above 0, or has no place", i + 1);
    }
    return any ? PLYECHO_OK
               : plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                              "the log has no reading in it; give each a row below the "
                              "heading");
}

enum plyecho_code pe_gauge_places(struct plyecho_gauge_log *log,
                                  const struct plyecho_gauge_reading *readings,
                                  const struct plyecho_gauge_log_options *options,
                                  struct plyecho_error *err)
{
    enum plyecho_code code = check(log, readings, err);
    if (code != PLYECHO_OK)
        return code;
    log->place_of = pe_alloc(log->readings, sizeof *log->place_of);
    log->place = pe_alloc(log->readings, sizeof *log->place);
    if (log->place_of == NULL || log->place == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu readings",
                            log->readings);
    if ((code = number_places(log, readings, err)) != PLYECHO_OK)
        return code;
    for (size_t i = 0; i < log->readings; i++) {
        struct plyecho_gauge_place *p = &log->place[log->place_of[i]];
        p->place = p->readings == 0 ? place_at(log, &readings[i]) : p->place;
        add_reading(p, &readings[i]);
    }
    for (size_t i = 0; i < log->count; i++)
        log->read += log->place[i].readings > 0;
    log->unread = log->count - log->read;
    pool_repeats(log, readings);
    log->resolution_m = resolution_of(log, readings);
    take_nominals(log, options);
    if ((code = take_level(log, err)) != PLYECHO_OK)
        return code;
    log->tolerance_m = options->tolerance_m.known ? options->tolerance_m.value
                                                  : usual_tolerance * log->level_m;
    log->counts_m = fmax(counts_share * log->tolerance_m, counts_digits * log->resolution_m);
    for (size_t i = 0; i < log->count; i++)
        look_at(log, options->least_m, &log->place[i]);
    return PLYECHO_OK;
}
