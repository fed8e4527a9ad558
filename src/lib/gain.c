#include <plyecho/gain.h>

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/labels.h>
#include <plyecho/number.h>

#include "alloc.h"

static const double most_db = 200.0;

/* ---- the table ---- */

struct line {
    const char *text;
    size_t size;
};

/* Take the next line off text; false at the end. Blanks round it and a '\r' are cut off. */
static bool next_line(const char **text, size_t *size, struct line *line)
{
    if (*size == 0)
        return false;
    const char *end = memchr(*text, '\n', *size);
    size_t length = end != NULL ? (size_t)(end - *text) : *size;
    size_t used = end != NULL ? length + 1 : length;
    *line = (struct line){*text, length};
    *text += used;
    *size -= used;
    while (line->size > 0 && strchr(" \t\r", line->text[0]) != NULL) {
        line->text++;
        line->size--;
    }
    while (line->size > 0 && strchr(" \t\r", line->text[line->size - 1]) != NULL)
        line->size--;
    return true;
}

static bool is_header(const struct line *line)
{
    static const char header[] = "time_us,gain_db";
    return line->size == sizeof header - 1 && memcmp(line->text, header, line->size) == 0;
}

static size_t skip_blanks(const struct line *line, size_t at)
{
    while (at < line->size && (line->text[at] == ' ' || line->text[at] == '\t'))
        at++;
    return at;
}

/* `number , number`, nothing else. */
static bool read_point(const struct line *line, struct plyecho_gain_point *point)
{
    double time_us, gain_db;
    size_t used = plyecho_number_scan(line->text, line->size, '.', &time_us);
    if (used == 0)
        return false;
    size_t at = skip_blanks(line, used);
    if (at == line->size || line->text[at] != ',')
        return false;
    at = skip_blanks(line, at + 1);
    used = plyecho_number_scan(line->text + at, line->size - at, '.', &gain_db);
    if (used == 0 || at + used != line->size)
        return false;
    *point = (struct plyecho_gain_point){time_us * 1e-6, gain_db};
    return isfinite(time_us) && isfinite(gain_db);
}

static int shown(const struct line *line)
{
    return line->size < 60 ? (int)line->size : 60;
}

static enum plyecho_code add_point(const struct line *line, long number,
                                   struct plyecho_gain_point *points, size_t count,
                                   struct plyecho_error *err)
{
    struct plyecho_gain_point *point = points + count;
    if (!read_point(line, point))
        return plyecho_fail_line(err, PLYECHO_BAD_NUMBER, number,
                                 "'%.*s': needs a time in us, a comma and a gain in dB, "
                                 "such as 2.5,6",
                                 shown(line), line->text);
    if (fabs(point->gain_db) > most_db)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, number,
                                 "gain of %g dB: needs -%g to %g dB", point->gain_db, most_db,
                                 most_db);
    if (count > 0 && point->time_s <= points[count - 1].time_s)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, number,
                                 "time %g us does not come after %g us: sort the rows by time, "
                                 "one row a time",
                                 point->time_s * 1e6, points[count - 1].time_s * 1e6);
    return PLYECHO_OK;
}

static enum plyecho_code read_rows(const char *text, size_t size,
                                   struct plyecho_gain_point *points, size_t *count,
                                   struct plyecho_error *err)
{
    struct line line;
    bool header_seen = false;
    for (long number = 1; next_line(&text, &size, &line); number++) {
        if (line.size == 0 || line.text[0] == '#')
            continue;
        if (!header_seen) {
            if (!is_header(&line))
                return plyecho_fail_line(err, PLYECHO_BAD_FILE, number,
                                         "'%.*s': a gain table begins with the header "
                                         "time_us,gain_db",
                                         shown(&line), line.text);
            header_seen = true;
            continue;
        }
        enum plyecho_code code = add_point(&line, number, points, *count, err);
        if (code != PLYECHO_OK)
            return code;
        ++*count;
    }
    if (*count == 0)
        return plyecho_fail(
            err, PLYECHO_BAD_FILE,
            "a gain table without a row: needs the header time_us,gain_db and a "
            "row a point");
    return PLYECHO_OK;
}

enum plyecho_code plyecho_gain_table_read(const char *text, size_t size,
                                          struct plyecho_gain_point **points, size_t *count,
                                          struct plyecho_error *err)
{
    size_t lines = 1;
    for (size_t i = 0; i < size; i++)
        lines += text[i] == '\n';
    *count = 0;
    *points = pe_alloc(lines, sizeof **points);
    if (*points == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a gain table");
    enum plyecho_code code = read_rows(text, size, *points, count, err);
    if (code != PLYECHO_OK) {
        free(*points);
        *points = NULL;
        *count = 0;
    }
    return code;
}

double plyecho_gain_at(const struct plyecho_gain_point *points, size_t count, double time_s)
{
    if (time_s <= points[0].time_s)
        return points[0].gain_db;
    if (time_s >= points[count - 1].time_s)
        return points[count - 1].gain_db;
    size_t low = 0, high = count - 1; /* points[low] <= time < points[high] */
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (points[middle].time_s <= time_s)
            low = middle;
        else
            high = middle;
    }
    const struct plyecho_gain_point *a = points + low, *b = points + high;
    return a->gain_db +
           (b->gain_db - a->gain_db) * (time_s - a->time_s) / (b->time_s - a->time_s);
}

/* ---- applying ---- */

static double factor(double gain_db)
{
    return pow(10.0, gain_db / 20.0);
}

static double amplified(double x, double gain_db, enum plyecho_signal signal)
{
    return signal == PLYECHO_SIGNAL_LOG ? x + gain_db : x * factor(gain_db);
}

/* gain_db holds a value a sample, the same for all channels. */
static enum plyecho_code apply(struct plyecho_traces *traces, const double *gain_db,
                               struct plyecho_error *err)
{
    size_t samples = traces->samples, all = traces->channels * samples;
    for (size_t i = 0; i < all; i++) {
        double x =
            amplified((double)traces->amplitude[i], gain_db[i % samples], traces->signal);
        if (fabs(x) > (double)FLT_MAX)
            return plyecho_fail(
                err, PLYECHO_BAD_ARGUMENT,
                "a gain of %g dB takes sample %zu beyond what a sample can hold; "
                "use less",
                gain_db[i % samples], i % samples);
    }
    for (size_t i = 0; i < all; i++)
        traces->amplitude[i] = (float)amplified((double)traces->amplitude[i],
                                                gain_db[i % samples], traces->signal);
    return PLYECHO_OK;
}

static double *gains(const struct plyecho_traces *traces, struct plyecho_error *err)
{
    double *gain_db = pe_alloc(traces->samples, sizeof *gain_db);
    if (gain_db == NULL)
        plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the gain of %zu samples",
                     traces->samples);
    return gain_db;
}

static enum plyecho_code check_gain(double gain_db, struct plyecho_error *err)
{
    if (!(fabs(gain_db) <= most_db))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "gain of %g dB: needs -%g to %g dB",
                            gain_db, most_db, most_db);
    return PLYECHO_OK;
}

/* Add to every gain_db there is; to added_gain_db of the file where there is none. */
static enum plyecho_code note_gain(struct plyecho_labels *labels, double gain_db,
                                   struct plyecho_error *err)
{
    size_t found = 0, count = labels->count;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(labels->items[i].key, "gain_db") != 0)
            continue;
        size_t channel = labels->items[i].channel;
        double sum = 0.0;
        enum plyecho_code code = plyecho_labels_number(labels, "gain_db", channel, &sum, err);
        if (code == PLYECHO_OK)
            code = plyecho_labels_set_number(labels, "gain_db", channel, sum + gain_db, err);
        if (code != PLYECHO_OK)
            return code;
        found++;
    }
    if (found > 0)
        return PLYECHO_OK;
    double sum = 0.0;
    enum plyecho_code code = plyecho_labels_number(labels, "added_gain_db", 0, &sum, err);
    if (code != PLYECHO_OK)
        return code;
    return plyecho_labels_set_number(labels, "added_gain_db", 0, sum + gain_db, err);
}

/* Apply, and put the new labels in the old ones' place. Those are made beforehand, so that trouble
 * leaves the traces as they were. What is left in labels is the caller's to clear. */
static enum plyecho_code apply_and_label(struct plyecho_traces *traces, const double *gain_db,
                                         struct plyecho_labels *labels,
                                         struct plyecho_error *err)
{
    enum plyecho_code code = apply(traces, gain_db, err);
    if (code == PLYECHO_OK) {
        struct plyecho_labels before = traces->labels;
        traces->labels = *labels;
        *labels = before;
    }
    return code;
}

enum plyecho_code plyecho_gain_fixed(struct plyecho_traces *traces, double gain_db,
                                     struct plyecho_error *err)
{
    enum plyecho_code code = check_gain(gain_db, err);
    if (code != PLYECHO_OK)
        return code;
    double *gain = gains(traces, err);
    if (gain == NULL)
        return PLYECHO_NO_MEMORY;
    for (size_t i = 0; i < traces->samples; i++)
        gain[i] = gain_db;
    struct plyecho_labels labels = {0};
    code = plyecho_labels_copy(&labels, &traces->labels, err);
    if (code == PLYECHO_OK)
        code = note_gain(&labels, gain_db, err);
    if (code == PLYECHO_OK)
        code = apply_and_label(traces, gain, &labels, err);
    plyecho_labels_clear(&labels);
    free(gain);
    if (code != PLYECHO_OK)
        return code;
    if (traces->full_scale > 0.0)
        traces->full_scale = amplified(traces->full_scale, gain_db, traces->signal);
    if (traces->signal != PLYECHO_SIGNAL_LOG)
        traces->step *= factor(gain_db);
    return PLYECHO_OK;
}

/* ---- time-corrected gain ---- */

enum { WORDS_ROOM = 400 };

static void append(char *words, const char *format, ...) PLYECHO_PRINTF(2, 3);

static void append(char *words, const char *format, ...)
{
    size_t used = strlen(words);
    va_list args;
    va_start(args, format);
    vsnprintf(words + used, WORDS_ROOM - used, format, args);
    va_end(args);
}

static void remove_all(struct plyecho_labels *labels, const char *key)
{
    for (size_t i = labels->count; i-- > 0;)
        if (strcmp(labels->items[i].key, key) == 0)
            plyecho_labels_remove(labels, key, labels->items[i].channel);
}

static enum plyecho_code rename_all(struct plyecho_labels *labels, const char *from,
                                    const char *to, struct plyecho_error *err)
{
    for (size_t i = 0; i < labels->count; i++) {
        const struct plyecho_label *label = &labels->items[i];
        if (strcmp(label->key, from) != 0)
            continue;
        enum plyecho_code code =
            plyecho_labels_set(labels, to, label->channel, label->value, err);
        if (code != PLYECHO_OK)
            return code;
    }
    remove_all(labels, from);
    return PLYECHO_OK;
}

/* Add what was done to what the label says, whole. */
static enum plyecho_code note_after(struct plyecho_labels *labels, size_t channel,
                                    const char *earlier, const char *done,
                                    struct plyecho_error *err)
{
    static const char between[] = ", then ";
    size_t room = strlen(earlier) + sizeof between + strlen(done);
    char *words = pe_alloc(room, 1);
    if (words == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the label tcg");
    snprintf(words, room, "%s%s%s", earlier, between, done);
    enum plyecho_code code = plyecho_labels_set(labels, "tcg", channel, words, err);
    free(words);
    return code;
}

/* Put away the scale that no longer holds, and say why: for the file, and for each channel that
 * has a word of its own, as that hides the file's. */
static enum plyecho_code note_tcg(struct plyecho_labels *labels, const char *done,
                                  struct plyecho_error *err)
{
    enum plyecho_code code = rename_all(labels, "gain_db", "gain_before_tcg_db", err);
    bool of_file = false;
    for (size_t i = 0; code == PLYECHO_OK && i < labels->count; i++) {
        const struct plyecho_label *label = &labels->items[i];
        if (strcmp(label->key, "tcg") != 0)
            continue;
        of_file = of_file || label->channel == 0;
        code = note_after(labels, label->channel, label->value, done, err);
    }
    if (code == PLYECHO_OK && !of_file)
        code = plyecho_labels_set(labels, "tcg", 0, done, err);
    remove_all(labels, "full_scale");
    return code;
}

static enum plyecho_code apply_tcg(struct plyecho_traces *traces, const double *gain_db,
                                   const char *done, struct plyecho_error *err)
{
    struct plyecho_labels labels = {0};
    enum plyecho_code code = plyecho_labels_copy(&labels, &traces->labels, err);
    if (code == PLYECHO_OK)
        code = note_tcg(&labels, done, err);
    if (code == PLYECHO_OK)
        code = apply_and_label(traces, gain_db, &labels, err);
    plyecho_labels_clear(&labels);
    if (code != PLYECHO_OK)
        return code;
    traces->full_scale = 0.0;
    traces->step = 0.0;
    return PLYECHO_OK;
}

static double sample_time(const struct plyecho_traces *traces, size_t i)
{
    return traces->start_s + (double)i / traces->sample_rate_hz;
}

enum plyecho_code plyecho_gain_table(struct plyecho_traces *traces,
                                     const struct plyecho_gain_point *points, size_t count,
                                     struct plyecho_error *err)
{
    if (count == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a gain table without a point: needs at least 1");
    for (size_t i = 0; i < count; i++)
        if (check_gain(points[i].gain_db, err) != PLYECHO_OK)
            return PLYECHO_BAD_ARGUMENT;
    double *gain = gains(traces, err);
    if (gain == NULL)
        return PLYECHO_NO_MEMORY;
    for (size_t i = 0; i < traces->samples; i++)
        gain[i] = plyecho_gain_at(points, count, sample_time(traces, i));
    char done[WORDS_ROOM] = "";
    append(done, "table of %zu points, %g dB at %g us", count, points[0].gain_db,
           points[0].time_s * 1e6);
    if (count > 1)
        append(done, " to %g dB at %g us", points[count - 1].gain_db,
               points[count - 1].time_s * 1e6);
    enum plyecho_code code = apply_tcg(traces, gain, done, err);
    free(gain);
    return code;
}

enum plyecho_code plyecho_gain_slope(struct plyecho_traces *traces, double db_per_us,
                                     double from_s, struct plyecho_error *err)
{
    double end_s = sample_time(traces, traces->samples - 1);
    double last_db = db_per_us * fmax(0.0, end_s - from_s) * 1e6;
    if (!isfinite(db_per_us) || !isfinite(from_s) || check_gain(last_db, NULL) != PLYECHO_OK)
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "a slope of %g dB/us comes to %g dB at the trace's end: needs -%g to "
            "%g dB",
            db_per_us, last_db, most_db, most_db);
    double *gain = gains(traces, err);
    if (gain == NULL)
        return PLYECHO_NO_MEMORY;
    for (size_t i = 0; i < traces->samples; i++)
        gain[i] = db_per_us * fmax(0.0, sample_time(traces, i) - from_s) * 1e6;
    char done[WORDS_ROOM] = "";
    append(done, "%g dB/us from %g us", db_per_us, from_s * 1e6);
    enum plyecho_code code = apply_tcg(traces, gain, done, err);
    free(gain);
    return code;
}
