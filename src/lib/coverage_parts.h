/* coverage_parts.h - the two areas of work behind a scan's coverage
 */
#ifndef PLYECHO_LIB_COVERAGE_PARTS_H
#define PLYECHO_LIB_COVERAGE_PARTS_H

#include <plyecho/coverage.h>

/* Area of the grid's cells, what several places share counted once, and how much of it lies in a beam about a
 * place for which read[i] holds. beam_m 0: the area alone. PLYECHO_NO_MEMORY. */
enum plyecho_code pe_coverage_area(const struct plyecho_grid *grid, const bool *read,
                                   double beam_m, double *area_m2, double *seen_m2,
                                   struct plyecho_error *err);

/* The point within the grid's cells furthest from every place for which read[i] holds, of which there is one at
 * least; all radii are known. Returns how far; PLYECHO_NO_MEMORY. */
enum plyecho_code pe_coverage_furthest(const struct plyecho_grid *grid, const bool *read,
                                       double *distance_m, struct plyecho_place *at,
                                       struct plyecho_error *err);

/* Diameter of the circle that covers `share` of a beam's area, their centres so far apart. */
double pe_coverage_circle(double beam_m, double distance_m, double share);

#endif
