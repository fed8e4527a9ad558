#include <plyecho/along.h>

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <plyecho/number.h>

#include "span.h"

static const double mm = 1e-3;

/* Beyond, it is a slip: a hundred metres. */
static const double farthest_mm = 1e5;

/* What a point of the text may be wrong in. */
struct job {
    const struct plyecho_along_range *range;
    long line;
    struct plyecho_error *err;
};

static bool read_whole(struct pe_span text, double *value)
{
    size_t used = plyecho_number_scan(text.text, text.size, '.', value);
    return used != 0 && used == text.size;
}

/* Where the word `at` stands, with a blank either side; text.size: nowhere. */
static size_t find_at(struct pe_span text)
{
    for (size_t i = 1; i + 3 < text.size; i++)
        if (text.text[i] == 'a' && text.text[i + 1] == 't' && pe_is_blank(text.text[i - 1]) &&
            pe_is_blank(text.text[i + 2]))
            return i;
    return text.size;
}

static enum plyecho_code read_point(const struct job *job, struct pe_span text,
                                    struct plyecho_along *to)
{
    const struct plyecho_along_range *r = job->range;
    size_t at = find_at(text);
    double value = 0.0, axial = 0.0;
    bool good = at < text.size &&
                read_whole(pe_span_trim((struct pe_span){text.text, at}), &value) &&
                read_whole(pe_span_trim(pe_span_from(text, at + 2)), &axial);
    if (!good)
        return plyecho_fail_line(job->err, PLYECHO_BAD_NUMBER, job->line,
                                 "'%.*s' is no point of %s; write value and axial_mm as 3.2 at "
                                 "120, with commas between points",
                                 pe_span_shown(text), text.text, r->name);
    if (!(value >= r->least && value <= r->most))
        return plyecho_fail_line(job->err, PLYECHO_BAD_ARGUMENT, job->line,
                                 "%s = %.*s is out of range; it must be from %g to %g", r->name,
                                 pe_span_shown(text), text.text, r->least, r->most);
    if (!(axial >= -farthest_mm && axial <= farthest_mm))
        return plyecho_fail_line(job->err, PLYECHO_BAD_ARGUMENT, job->line,
                                 "axial_mm of '%.*s' is out of range; it must be from %g to %g",
                                 pe_span_shown(text), text.text, -farthest_mm, farthest_mm);
    if (to->count > 0 && axial * mm <= to->axial_m[to->count - 1])
        return plyecho_fail_line(job->err, PLYECHO_BAD_ARGUMENT, job->line,
                                 "'%.*s' of %s is not further along than the point before it; "
                                 "write the points in rising order of axial_mm",
                                 pe_span_shown(text), text.text, r->name);
    to->axial_m[to->count] = axial * mm;
    to->value[to->count++] = value * r->scale;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_along_read(struct plyecho_along *along, const char *text, size_t size,
                                     const struct plyecho_along_range *range, long line,
                                     struct plyecho_error *err)
{
    const struct job job = {range, line, err};
    struct plyecho_along read = {.line = line};
    struct pe_span left = {text, size};
    enum plyecho_code code = PLYECHO_OK;
    for (bool more = true; more && code == PLYECHO_OK;) {
        const char *comma = memchr(left.text, ',', left.size);
        size_t end = comma != NULL ? (size_t)(comma - left.text) : left.size;
        more = comma != NULL;
        if (read.count == PLYECHO_ALONG_MOST)
            return plyecho_fail_line(err, PLYECHO_TOO_LARGE, line,
                                     "%s has more than %d points; leave out those that lie on "
                                     "a line between their neighbours",
                                     range->name, PLYECHO_ALONG_MOST);
        code = read_point(&job, pe_span_trim((struct pe_span){left.text, end}), &read);
        left = pe_span_from(left, more ? end + 1 : end);
    }
    if (code == PLYECHO_OK && read.count < 2)
        code =
            plyecho_fail_line(err, PLYECHO_BAD_FILE, line,
                              "one point says nothing of %s elsewhere; write two or more, or "
                              "the number alone where it is the same all along",
                              range->name);
    if (code == PLYECHO_OK)
        *along = read;
    return code;
}

struct plyecho_known plyecho_along_at(const struct plyecho_along *along, double axial_m)
{
    /* labels are decimal fractions of a millimetre: the ends count */
    const double slack = 1e-9;
    for (size_t k = 1; k < along->count; k++) {
        double from = along->axial_m[k - 1], to = along->axial_m[k];
        if (!(axial_m >= from - slack && axial_m <= to + slack))
            continue;
        double share = (axial_m - from) / (to - from);
        return (struct plyecho_known){
            true, along->value[k - 1] + share * (along->value[k] - along->value[k - 1])};
    }
    return (struct plyecho_known){false, 0.0};
}

void plyecho_along_text(const struct plyecho_along *along, double scale,
                        char out[PLYECHO_ALONG_ROOM])
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t k = 0; k < along->count; k++)
        used += (size_t)snprintf(out + used, PLYECHO_ALONG_ROOM - used, "%s%.14g at %.14g",
                                 k > 0 ? ", " : "", along->value[k] / scale,
                                 along->axial_m[k] / mm);
}
