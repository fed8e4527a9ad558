#include "csv_axis.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "decimal.h"

enum {
    MOST_DIGITS = 12,
    BISECTIONS = 50,
    ABREAST = 4,
    STRETCH = 64 /* rows whose highest and lowest are taken first */
};

static const double JITTER = 0.1; /* of a step, that rows may be off beyond their rounding */
static const double CHANCE =
    0.5; /* that a number of so few digits lies in the interval anyway */

static double power_of_ten(int exponent)
{
    bool exact;
    double value = pe_decimal_compose(1, exponent, &exact);
    return exact ? value : pow(10.0, exponent);
}

/* The number with the fewest digits in [low, high], nearest to the middle; false where the
 * chance that any number so short lies there is larger than `chance`. */
static bool fewest_digits(double low, double high, double chance, uint64_t *digits,
                          int *exponent)
{
    double middle = 0.5 * (low + high);
    int first = (int)floor(log10(middle));
    for (int count = 1; count <= MOST_DIGITS; count++) {
        *exponent = first + 1 - count;
        double unit = power_of_ten(*exponent);
        bool exact;
        *digits = (uint64_t)nearbyint(middle / unit);
        double value = pe_decimal_compose(*digits, *exponent, &exact);
        if (exact && value >= low && value <= high)
            return (high - low) / unit <= chance;
    }
    return false;
}

static int significant_digits(uint64_t digits)
{
    int count = 0;
    while (digits > 0 && digits % 10 == 0)
        digits /= 10;
    for (; digits > 0; digits /= 10)
        count++;
    return count;
}

/* Take a round step or a round rate from the interval of steps, whichever is rounder. */
static void snap(double low, double high, double chance, struct pe_csv_steps *steps)
{
    uint64_t of_step = 0, of_rate = 0;
    int step_exponent, rate_exponent;
    steps->digits = 0;
    steps->step = 0.5 * (low + high);
    low = fmax(low, 0.5 * steps->step) * (1.0 - 4 * DBL_EPSILON);
    high = fmin(high, 1.5 * steps->step) * (1.0 + 4 * DBL_EPSILON);
    bool round_step = fewest_digits(low, high, chance, &of_step, &step_exponent);
    bool round_rate = fewest_digits(1.0 / high, 1.0 / low, chance, &of_rate, &rate_exponent);
    if (!round_step && !round_rate)
        return;
    steps->inverse = !round_step ||
                     (round_rate && significant_digits(of_rate) < significant_digits(of_step));
    steps->digits = steps->inverse ? of_rate : of_step;
    steps->exponent = steps->inverse ? rate_exponent : step_exponent;
    bool exact;
    double value = pe_decimal_compose(steps->digits, steps->exponent, &exact);
    steps->step = steps->inverse ? 1.0 / value : value;
}

static double largest(const struct pe_csv_axis *axis)
{
    return fmax(fabs(axis->value[0]), fabs(axis->value[axis->count - 1]));
}

/* What rounding, here and in double arithmetic, may have taken from a value. */
static double arithmetic_error(const struct pe_csv_axis *axis)
{
    return 8 * DBL_EPSILON * largest(axis);
}

/* Half a unit of the last digit that a value may have been printed with. */
static double half_unit(const struct pe_csv_axis *axis, double value)
{
    int last = axis->finest;
    if (value != 0.0) {
        int by_digits = (int)floor(log10(fabs(value))) + 1 - axis->significant;
        last = by_digits > last ? by_digits : last;
    }
    return 0.5 * power_of_ten(last);
}

/* Is each of n values no further than `most` from start + i step? Several abreast, because each comparison
 * waits for the one before it. */
static bool stays_near(const double *t, size_t n, double start, double step, double most)
{
    double worst[ABREAST] = {0.0};
    bool near = true;
    size_t i = 0;
    for (; n - i >= ABREAST; i += ABREAST) {
        for (size_t k = 0; k < ABREAST; k++) {
            double off = fabs(t[i + k] - (start + (double)(int32_t)(i + k) * step));
            worst[k] = off > worst[k] ? off : worst[k];
        }
        if (worst[0] > most)
            return false;
    }
    for (size_t k = 0; k < ABREAST; k++)
        near = near && worst[k] <= most;
    for (; near && i < n; i++)
        near = fabs(t[i] - (start + (double)(int32_t)i * step)) <= most;
    return near;
}

/* The usual case: every row stands exactly where a round step puts it. */
static bool fits_exactly(const struct pe_csv_axis *axis, double mean_step,
                         struct pe_csv_steps *steps)
{
    const double *t = axis->value;
    const size_t last = axis->count - 1;
    double error = arithmetic_error(axis);
    double room = (half_unit(axis, t[0]) + half_unit(axis, t[last]) + 2 * error) / (double)last;
    steps->room = room / mean_step;
    snap(mean_step - room, mean_step + room, HUGE_VAL, steps);
    if (steps->digits == 0 || last > INT32_MAX)
        return false;
    steps->start = t[0];
    steps->start_kept = true;
    return stays_near(t, last + 1, t[0], steps->step, 1e-3 * half_unit(axis, 0.0) + error);
}

/* Upper convex hull of points with rising x. */
struct hull {
    double *x, *y;
    size_t count;
};

static void hull_add(struct hull *hull, double x, double y)
{
    while (hull->count >= 2) {
        size_t b = hull->count - 1, a = b - 1;
        double before = (hull->y[b] - hull->y[a]) * (x - hull->x[b]);
        double after = (y - hull->y[b]) * (hull->x[b] - hull->x[a]);
        if (before > after)
            break;
        hull->count--;
    }
    hull->x[hull->count] = x;
    hull->y[hull->count++] = y;
}

/* The highest of y[0..n), first of its equals; several abreast, because each comparison waits for the one
 * before it. */
static size_t highest_of(const double *y, size_t n)
{
    double top[ABREAST];
    size_t i = 0, at = 0;
    for (size_t k = 0; k < ABREAST; k++)
        top[k] = y[0];
    for (; n - i >= ABREAST; i += ABREAST)
        for (size_t k = 0; k < ABREAST; k++)
            top[k] = y[i + k] > top[k] ? y[i + k] : top[k];
    for (; i < n; i++)
        top[0] = y[i] > top[0] ? y[i] : top[0];
    for (size_t k = 1; k < ABREAST; k++)
        top[0] = top[k] > top[0] ? top[k] : top[0];
    while (y[at] != top[0])
        at++;
    return at;
}

/* Is any of the points from one to before another above start + i slope? */
static bool any_above(const double *y, size_t from, size_t to, double start, double slope)
{
    double top[ABREAST] = {0.0};
    size_t i = from;
    for (; to - i >= ABREAST; i += ABREAST)
        for (size_t k = 0; k < ABREAST; k++) {
            double above = y[i + k] - (start + slope * (double)(int32_t)(i + k));
            top[k] = above > top[k] ? above : top[k];
        }
    for (; i < to; i++) {
        double above = y[i] - (start + slope * (double)(int32_t)i);
        top[0] = above > top[0] ? above : top[0];
    }
    for (size_t k = 1; k < ABREAST; k++)
        top[0] = top[k] > top[0] ? top[k] : top[0];
    return top[0] > 0.0;
}

/* The hull of the points in hull->y, n of them, against their index: first of the highest point of each
 * stretch, then of what stands above that, which is little. */
static void hull_of(size_t n, struct hull *coarse, struct hull *hull)
{
    const double *y = hull->y; /* the hull never grows beyond what was read */
    coarse->count = hull->count = 0;
    hull_add(coarse, 0.0, y[0]);
    for (size_t from = 1; from + 1 < n; from += STRETCH) {
        size_t count = n - 1 - from < STRETCH ? n - 1 - from : STRETCH;
        size_t at = from + highest_of(y + from, count);
        hull_add(coarse, (double)at, y[at]);
    }
    hull_add(coarse, (double)(n - 1), y[n - 1]);
    hull_add(hull, 0.0, y[0]);
    for (size_t k = 0; k + 1 < coarse->count; k++) {
        size_t from = (size_t)coarse->x[k], to = (size_t)coarse->x[k + 1];
        double slope = (coarse->y[k + 1] - coarse->y[k]) / (double)(to - from);
        double line = coarse->y[k] - slope * (double)from;
        for (size_t i = from + 1, end; i < to; i = end) {
            end = to - i < STRETCH ? to : i + STRETCH;
            if (!any_above(y, i, end, line, slope))
                continue;
            for (size_t above = i; above < end; above++)
                if (y[above] > line + slope * (double)(int32_t)above)
                    hull_add(hull, (double)above, y[above]);
        }
        hull_add(hull, (double)to, y[to]);
    }
}

/* max(y - slope x) over the hull, and where. */
static double hull_top(const struct hull *hull, double slope, double *at)
{
    double best = -HUGE_VAL;
    for (size_t i = 0; i < hull->count; i++) {
        double value = hull->y[i] - slope * hull->x[i];
        if (value > best) {
            best = value;
            *at = hull->x[i];
        }
    }
    return best;
}

/* A line a + i (mean + slope) passes all rows where floor <= a <= ceiling. */
struct corridor {
    struct hull low;  /* lower ends of the rows' intervals, less the mean line */
    struct hull high; /* upper ends, with the sign turned */
    double *memory;
};

/* How far the rows are from one line of this slope, beyond their rounding; below 0 where the
 * line is possible. Convex in the slope; *fall is its derivative with the sign turned. */
static double misfit(const struct corridor *corridor, double slope, double *fall)
{
    double low_at = 0.0, high_at = 0.0;
    double sum =
        hull_top(&corridor->low, slope, &low_at) + hull_top(&corridor->high, -slope, &high_at);
    *fall = low_at - high_at;
    return sum;
}

/* Lower ends of the rows' intervals, less the mean line; upper ends, with the sign turned, for sign -1. */
static void fill_ends(const struct pe_csv_axis *axis, double mean_step, double sign, double *y)
{
    double error = arithmetic_error(axis), half = half_unit(axis, 0.0) + error;
    const double *t = axis->value;
    for (size_t i = 0; i < axis->count; i++)
        y[i] = sign * (t[i] - t[0] - (double)(int32_t)i * mean_step) - half;
    if (half_unit(axis, largest(axis)) + error <= half)
        return;
    for (size_t i = 0; i < axis->count; i++)
        y[i] -= half_unit(axis, t[i]) + error - half;
}

static bool corridor_build(const struct pe_csv_axis *axis, double mean_step,
                           struct corridor *corridor)
{
    size_t n = axis->count;
    size_t most_coarse = n / STRETCH + 3;
    if (n > INT32_MAX) /* an int turns into a double faster than a size_t */
        return false;
    corridor->memory = pe_alloc(4 * n + 2 * most_coarse, sizeof(double));
    if (corridor->memory == NULL)
        return false;
    double *at = corridor->memory;
    corridor->low = (struct hull){.x = at, .y = at + n};
    corridor->high = (struct hull){.x = at + 2 * n, .y = at + 3 * n};
    struct hull coarse = {.x = at + 4 * n, .y = at + 4 * n + most_coarse};
    fill_ends(axis, mean_step, 1.0, corridor->low.y);
    hull_of(n, &coarse, &corridor->low);
    fill_ends(axis, mean_step, -1.0, corridor->high.y);
    hull_of(n, &coarse, &corridor->high);
    return true;
}

static double best_slope(const struct corridor *corridor, double reach)
{
    double low = -reach, high = reach, fall;
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = 0.5 * (low + high);
        misfit(corridor, middle, &fall);
        if (fall == 0.0)
            return middle;
        if (fall > 0.0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* The slope furthest from `inside` towards `outside` that is still possible. */
static double edge(const struct corridor *corridor, double inside, double outside,
                   double allowed)
{
    double fall;
    if (misfit(corridor, outside, &fall) <= allowed)
        return outside;
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = 0.5 * (inside + outside);
        if (misfit(corridor, middle, &fall) <= allowed)
            inside = middle;
        else
            outside = middle;
    }
    return inside;
}

static void place_start(const struct corridor *corridor, double first, double slope,
                        struct pe_csv_steps *steps)
{
    double at;
    double low = hull_top(&corridor->low, slope, &at);
    double high = -hull_top(&corridor->high, -slope, &at);
    steps->start_kept = low <= 0.0 && high >= 0.0;
    steps->start = steps->start_kept ? first : first + 0.5 * (low + high);
}

static bool fit_corridor(const struct corridor *corridor, double first, double mean_step,
                         struct pe_csv_steps *steps)
{
    double fall;
    double best = best_slope(corridor, mean_step);
    double least = misfit(corridor, best, &fall);
    if (least > JITTER * mean_step)
        return false;
    double allowed = least > 0.0 ? 1.25 * least : 0.0;
    double low = edge(corridor, best, -mean_step, allowed);
    double high = edge(corridor, best, mean_step, allowed);
    snap(mean_step + low, mean_step + high, CHANCE, steps);
    place_start(corridor, first, steps->step - mean_step, steps);
    return true;
}

/* The row that follows its neighbour worst; one that goes back comes first. */
static size_t find_bad_row(const struct pe_csv_axis *axis, double mean_step)
{
    const double *t = axis->value;
    size_t worst_row = 1;
    double worst = -1.0;
    for (size_t i = 1; i < axis->count; i++) {
        double step = t[i] - t[i - 1];
        if (step < 0.0)
            return i;
        if (fabs(step - mean_step) > worst) {
            worst = fabs(step - mean_step);
            worst_row = i;
        }
    }
    return worst_row;
}

/* Even steps rise by more than their jitter, and rounding keeps the order: no printed time may fall,
 * not even by less than it was rounded. */
static bool ever_falls(const struct pe_csv_axis *axis)
{
    for (size_t i = 1; i < axis->count; i++)
        if (axis->value[i] < axis->value[i - 1])
            return true;
    return false;
}

enum plyecho_code pe_csv_axis_fit(const struct pe_csv_axis *axis, struct pe_csv_steps *steps)
{
    const double *t = axis->value;
    *steps = (struct pe_csv_steps){.digits = 0};
    double mean_step = (t[axis->count - 1] - t[0]) / (double)(axis->count - 1);
    if (mean_step > 0.0 && isfinite(mean_step) && !ever_falls(axis)) {
        if (fits_exactly(axis, mean_step, steps))
            return PLYECHO_OK;
        struct corridor corridor;
        if (!corridor_build(axis, mean_step, &corridor))
            return PLYECHO_NO_MEMORY;
        bool fits = fit_corridor(&corridor, t[0], mean_step, steps);
        free(corridor.memory);
        if (fits)
            return PLYECHO_OK;
    }
    steps->bad_row = find_bad_row(axis, mean_step);
    return PLYECHO_BAD_TIME_BASE;
}
