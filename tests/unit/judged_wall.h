/* judged_wall.h - walls of every explanation, made by the layer model with a probe of 5 MHz, and how
 * they are judged: by single echoes, or by whole stacks with the pulse known or not
 */
#ifndef PLYECHO_TESTS_JUDGED_WALL_H
#define PLYECHO_TESTS_JUDGED_WALL_H

#include <plyecho/simulate.h>
#include <plyecho/stacks.h>
#include <plyecho/verdict.h>

enum { JUDGED_SAMPLES = 2048 };
#define JUDGED_RATE_HZ 100e6
#define JUDGED_VELOCITY_M_S 2950.0
#define JUDGED_LOSS_DB 0.1 /* a mm and MHz */

struct judged_wall {
    const char *name;
    double coat_mm, upper_mm; /* carbon down to the place inside */
    double film_um, film_mrayl;
    double lower_mm, lower_mrayl;
    double cover; /* of an air gap below the upper part */
    double loss_db;
    bool dry;
};

struct judged_wall judged_plain(double mm);

/* A wall of two parts. */
struct judged_wall judged_parted(const char *name, double upper_mm, double lower_mm,
                                 double lower_mrayl);

/* A gap of cover 0.5 in the middle of 2.6 mm. */
struct judged_wall judged_half_gap(void);

struct plyecho_layer judged_layer(double mrayl, double speed, double mm, double db);

/* 12 mm of PMMA, 12 bits. */
struct plyecho_setup judged_setup(double snr_db);

struct plyecho_traces judged_record(const struct judged_wall *wall, double snr_db,
                                    unsigned long seed);

/* Of the delay line's end in air; filled by judged_reference_take, a group's setup. */
extern struct plyecho_reference judged_reference;
int judged_reference_take(void **state);

enum judged_how {
    SINGLE_ECHOES, /* no stacks, no reference */
    WITHOUT_PULSE, /* stacks, the pulse's shape fitted along */
    WITH_PULSE
};

/* Velocity known to 10 m/s, tolerance a tenth. */
struct plyecho_assess_options judged_options(double nominal_mm, enum judged_how how);

enum plyecho_code judged_condition(const struct plyecho_trace *raw,
                                   const struct plyecho_band *band,
                                   struct plyecho_conditioner **conditioner,
                                   struct plyecho_conditioned *out);

struct plyecho_assessment judged_raw(const struct plyecho_trace *raw,
                                     struct plyecho_assess_options options,
                                     enum judged_how how);

/* At 40 dB. */
struct plyecho_assessment judged(const struct judged_wall *wall, double nominal_mm,
                                 enum judged_how how, unsigned long seed);

/* Fail the test with the assessment's words on another verdict. */
void judged_as(const struct judged_wall *wall, const struct plyecho_assessment *assessment,
               enum plyecho_verdict verdict);

#endif
