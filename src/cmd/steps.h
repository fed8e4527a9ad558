/* steps.h - the traces of a calibration's steps: read, checked, timed
 */
#ifndef PLYECHO_CMD_STEPS_H
#define PLYECHO_CMD_STEPS_H

#include <stdbool.h>

#include <plyecho/calibration.h>
#include <plyecho/digest.h>
#include <plyecho/step_rows.h>

#include "setup.h"

/* One step as it was timed. */
struct timed_step {
    enum plyecho_reason reason; /* none, or what makes its time doubtful */
    double front_s, back_s;     /* echoes; front 0 in contact */
    double centre_hz;           /* of the pass band */
    double pulse_s;             /* pulse length at -20 dB */
    /* echoes before the one that ends the time, and about as high or higher, as the time counts */
    double earlier_s[PLYECHO_PICKED_ECHOES];
    int earlier;
};

/* How often the sound passed the step before the echo that was taken, where an echo that came after one
 * passage stands before it; else 1. zero_s: of the line of all steps. */
int steps_passages(const struct timed_step *timed, double time_s, double zero_s);

struct steps {
    struct plyecho_step_rows rows;
    struct plyecho_step step[PLYECHO_MOST_STEPS]; /* what the line is fitted to */
    struct timed_step timed[PLYECHO_MOST_STEPS];
    size_t count;
    enum plyecho_mode mode; /* of all of them, 1 to 3 */
    double sample_rate_hz;  /* of all of them */
    char digest
        [PLYECHO_DIGEST_ROOM]; /* of the traces: the SHA-256 of what sha256sum prints for them */
};

struct steps_expected {
    double least_velocity_m_s, most_velocity_m_s; /* of the steps' material */
    double sample_rate_hz;                        /* over what the traces say; 0: as they say */
};

/* Read the table at path and time every step; setup's wall options say mode and attenuation, their velocity
 * and nominal become those of the steps. All or nothing: false where there was trouble, which has been
 * said. steps_clear is due in any case. */
bool steps_read(struct steps *steps, const char *path, struct setup *setup,
                const struct steps_expected *expected, struct messages *messages);

void steps_clear(struct steps *steps);

#endif
