/* media.h - materials of the trade by name, for simulation, planning and a first velocity
 *
 * Starting values only: a laminate's velocity differs by several percent from one fibre and
 * resin to the next, so a thickness needs a calibration on the same lay-up. The uncertainties say how
 * far a specimen may lie from the table: half widths of 3 % in metals and glasses, 5 % in plain
 * polymers, 10 % in laminates, resins and fillers (common practice, no source), each as a rectangle
 * (JCGM 100, 4.3.7: half width over the root of 3).
 */
#ifndef PLYECHO_MEDIA_H
#define PLYECHO_MEDIA_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/laminate.h>

struct plyecho_medium {
    const char *name;
    double density_kg_m3;
    double velocity_m_s;          /* longitudinal; in a laminate through the thickness */
    double velocity_u_m_s;        /* standard uncertainty for a specimen of this name */
    double attenuation_db_mm_mhz; /* one way, in proportion to frequency; 0: none to speak of */
    double attenuation_u_db_mm_mhz; /* standard uncertainty */
    const char *source;             /* of density and velocity */
    const char *attenuation_source;
};

/* The medium of that name, or NULL. */
PLYECHO_API const struct plyecho_medium *plyecho_medium_find(const char *name);

/* All media in order: index from 0, NULL behind the last. */
PLYECHO_API const struct plyecho_medium *plyecho_medium_at(size_t index);

/* Least and largest velocity that a specimen of this name can have: the half width behind
 * velocity_u_m_s either way. */
PLYECHO_API void plyecho_medium_velocity_range(const struct plyecho_medium *medium,
                                               double *low_m_s, double *high_m_s);

/* A layer of it. */
PLYECHO_API struct plyecho_layer plyecho_medium_layer(const struct plyecho_medium *medium,
                                                      double thickness_m);

/* Least and largest temperature of plyecho_water_velocity. */
#define PLYECHO_WATER_LEAST_C 0.0
#define PLYECHO_WATER_MOST_C 95.0

/* Speed of sound in pure water at 1 atm: Marczak, J. Acoust. Soc. Am. 102 (1997) 2776-2779, which
 * two other published fits bear out to 0.03 m/s. NAN outside its range. Near 74 C the speed has its
 * maximum, so that it tells no temperature above about 55 C. */
PLYECHO_API double plyecho_water_velocity(double temperature_c);

#endif
