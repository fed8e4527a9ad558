/* plan.h - what follows from a probe and a part, and what a practitioner would warn of
 */
#ifndef PLYECHO_CMD_PLAN_H
#define PLYECHO_CMD_PLAN_H

#include <plyecho/known.h>
#include <plyecho/media.h>
#include <plyecho/pulse.h>

#include "layup.h"

/* What was asked for, in SI units. */
struct plan {
    struct plyecho_pulse pulse;
    double bandwidth;          /* relative, at -6 dB */
    struct plyecho_layer line; /* thickness_m 0: contact */
    double front_rayl;         /* of what touches the part */
    struct layup layup;        /* the part as it was given */
    struct layup_stack part;   /* and as it is laid */
    const struct plyecho_medium
        *handbook;                 /* first layer's, where its velocity is from the table */
    struct plyecho_known face_m;   /* diameter of the probe's crystal */
    struct plyecho_known tube_m;   /* outer diameter; unknown: flat */
    struct plyecho_known length_m; /* to be scanned along the tube or plate */
    struct plyecho_known least_depth_m;
    double couplant_m_s;
    double wanted;  /* least indication, over a full reflector at its depth */
    double overlap; /* share of the beam */
    double snr_db;  /* of a full reflector's echo at the line's end */
    bool snr_given;
    bool water_path; /* the delay line is water */

    /* worked out by plan_prepare */
    double wall_m, velocity_m_s; /* effective, by phase at the centre frequency */
    double wavelength_m;
    double line_s, wall_s; /* there and back */
    double path_m;         /* probe to back wall, as a path in the wall */
    double length_6db_s, length_20db_s;
    double front; /* reflection at the part's face */
};

/* A number, or a warning: then value is NAN and words are all there is. */
struct plan_row {
    const char *group;
    char quantity[40];
    double value;
    char words[300];
};

/* Zero-initialise; rows are freed with free. */
struct plan_report {
    struct plan_row *rows;
    size_t count, room;
    double band_low_hz, band_high_hz; /* recommended */
    double dead_zone_m, back_dead_zone_m;
};

/* The numbers that the others rest on. */
void plan_prepare(struct plan *plan);

/* All rows: numbers first (plan_numbers.c), then warnings (plan_warnings.c). */
void plan_numbers(const struct plan *plan, struct plan_report *report);
void plan_warnings(const struct plan *plan, struct plan_report *report);

/* Add a row. */
void plan_add(struct plan_report *report, const char *group, const char *quantity, double value,
              const char *format, ...) PLYECHO_PRINTF(5, 6);

/* The number of that quantity, NAN where there is none. */
double plan_value(const struct plan_report *report, const char *quantity);

#endif
