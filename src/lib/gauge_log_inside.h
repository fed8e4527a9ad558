/* gauge_log_inside.h - the steps by which a log of plain readings is judged, in this order
 */
#ifndef PLYECHO_LIB_GAUGE_LOG_INSIDE_H
#define PLYECHO_LIB_GAUGE_LOG_INSIDE_H

#include <plyecho/gauge_log.h>

/* Readings to places, with what they are rounded to and what counts as a difference (gauge_log_places.c). */
enum plyecho_code pe_gauge_places(struct plyecho_gauge_log *log,
                                  const struct plyecho_gauge_reading *readings,
                                  const struct plyecho_gauge_log_options *options,
                                  struct plyecho_error *err);

/* The smooth wall, groups and outliers, and what each place is taken for (gauge_log_groups.c). */
enum plyecho_code pe_gauge_groups(struct plyecho_gauge_log *log, struct plyecho_error *err);

/* Is each of two groups by itself in a part of its own? Then its places are a wall (gauge_log_parts.c). */
enum plyecho_code pe_gauge_parts(struct plyecho_gauge_log *log, struct plyecho_error *err);

/* How the readings around lead to low ones (gauge_log_falls.c). */
enum plyecho_code pe_gauge_falls(struct plyecho_gauge_log *log, struct plyecho_error *err);

#endif
