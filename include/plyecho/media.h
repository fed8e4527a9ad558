/* media.h - materials of the trade by name, for simulation and planning
 *
 * Starting values only: a laminate's velocity differs by several percent from one fibre and
 * resin to the next, so a thickness needs a calibration on the same lay-up.
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
    double attenuation_db_mm_mhz; /* one way */
    const char *source; /* of density and velocity; every attenuation is from memory */
};

/* The medium of that name, or NULL. */
PLYECHO_API const struct plyecho_medium *plyecho_medium_find(const char *name);

/* All media in order: index from 0, NULL behind the last. */
PLYECHO_API const struct plyecho_medium *plyecho_medium_at(size_t index);

/* A layer of it. */
PLYECHO_API struct plyecho_layer plyecho_medium_layer(const struct plyecho_medium *medium,
                                                      double thickness_m);

#endif
