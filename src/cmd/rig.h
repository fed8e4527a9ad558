/* rig.h - probe, coupling and recorder in words: the options of a simulated measurement
 */
#ifndef PLYECHO_CMD_RIG_H
#define PLYECHO_CMD_RIG_H

#include <plyecho/simulate.h>

#include "options.h"

/* Probe and coupling, and what spoils a trace: may differ from channel to channel. */
struct rig_values {
    struct option_text probe;
    struct option_number tail;
    struct option_number phase_deg;
    struct option_text delay_line;
    struct option_number line_repeat;
    struct option_text face;
    struct option_number zero_us;
    struct option_number level;
    struct option_number front_jitter_db;
    struct option_number initial;
    struct option_number initial_fall_us;
    struct option_number drift;
    struct option_number snr_db;
    struct option_number noise;
};

extern const struct option rig_probe_options[]; /* probe and coupling alone */
extern const struct option rig_options[];

/* Recorder: one for all channels of a file. */
struct recorder_values {
    struct option_number sample_rate_hz;
    struct option_count samples;
    struct option_number start_us;
    struct option_number full_scale;
    struct option_count bits;
};

extern const struct option recorder_options[];

/* front_rayl receives the impedance of what touches the part: the delay line, or in contact the
 * probe's face. */
enum plyecho_code rig_read(const struct rig_values *rig, const struct recorder_values *recorder,
                           struct plyecho_setup *setup, double *front_rayl,
                           struct plyecho_error *err);

/* Relative -6 dB bandwidth of --probe, as rig_read has read it; 0 where it does not read. */
double rig_bandwidth(const struct rig_values *rig);

#endif
