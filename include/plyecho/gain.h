/* gain.h - fixed gain, and gain that grows with time (time-corrected gain)
 *
 * Gain multiplies the samples; in a logarithmic trace, whose samples are dB, it is added.
 */
#ifndef PLYECHO_GAIN_H
#define PLYECHO_GAIN_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/trace.h>

/* One point of a table of gain against time. */
struct plyecho_gain_point {
    double time_s;
    double gain_db;
};

/* Read a table from text: CSV with the header `time_us,gain_db`, a row a point, times
 * ascending, at least one row; blank lines and lines that begin with '#' are passed over.
 * *points is malloc'ed. Errors name the line. */
PLYECHO_API enum plyecho_code plyecho_gain_table_read(const char *text, size_t size,
                                                      struct plyecho_gain_point **points,
                                                      size_t *count, struct plyecho_error *err);

/* Gain in dB at a time: straight lines in dB between the points, flat outside them. points: at
 * least 1, times ascending. */
PLYECHO_API double plyecho_gain_at(const struct plyecho_gain_point *points, size_t count,
                                   double time_s);

/* Apply gain_db to all channels. full_scale and step are scaled likewise. The label `gain_db`
 * (of the file, of each channel) grows by the gain where it is there; where it is not, the
 * recorder's gain is not known, and the label `added_gain_db` keeps the sum of what was added
 * since. PLYECHO_BAD_ARGUMENT where gain_db is not within +-200 dB or a sample would overflow;
 * the traces are then as they were. */
PLYECHO_API enum plyecho_code plyecho_gain_fixed(struct plyecho_traces *traces, double gain_db,
                                                 struct plyecho_error *err);

/* Apply a table (as plyecho_gain_at) to all channels. Levels at different times are no longer on one scale, so
 * full_scale and step are dropped, the label `gain_db` is renamed to `gain_before_tcg_db`, and
 * the label `tcg` says in plain text what was done, after what it said before; a `tcg` of one
 * channel is carried on likewise. Errors as
 * plyecho_gain_fixed; a table without a point is PLYECHO_BAD_ARGUMENT. */
PLYECHO_API enum plyecho_code plyecho_gain_table(struct plyecho_traces *traces,
                                                 const struct plyecho_gain_point *points,
                                                 size_t count, struct plyecho_error *err);

/* Apply db_per_us x (time - from_s) after from_s, nothing before it. The rest as
 * plyecho_gain_table. */
PLYECHO_API enum plyecho_code plyecho_gain_slope(struct plyecho_traces *traces,
                                                 double db_per_us, double from_s,
                                                 struct plyecho_error *err);

#endif
