#include "rig.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <plyecho/number.h>

#include "layup.h"

#define DEFAULT_PROBE "10M:0.6"
#define DEFAULT_FACE "epoxy"

#define OFFSET(member) offsetof(struct rig_values, member)

const struct option rig_probe_options[] = {
    {.name = "probe",
     .kind = OPTION_TEXT,
     .argument = "HZ:SHARE",
     .offset = OFFSET(probe),
     .help =
         "centre frequency and -6 dB bandwidth over it, of the pulse as it comes back from the "
         "end of the delay line (default " DEFAULT_PROBE ")"},
    {.name = "tail",
     .kind = OPTION_NUMBER,
     .argument = "RATIO",
     .offset = OFFSET(tail),
     .range = OPTION_BETWEEN,
     .least = 0.0,
     .most = PLYECHO_MAX_TAIL,
     .has_preset = true,
     .preset = 0.0,
     .help = "the pulse's fall time over its rise time; 0 is a symmetric pulse, 2 a probe that "
             "rings down"},
    {.name = "delay-line",
     .kind = OPTION_TEXT,
     .argument = "LAYER",
     .offset = OFFSET(delay_line),
     .help = "delay line, such as pmma:10, or water:20 for a water path; contact without it"},
    {.name = "face",
     .kind = OPTION_TEXT,
     .argument = "MEDIUM",
     .offset = OFFSET(face),
     .help = "in contact, what the probe's face is made of (default " DEFAULT_FACE ")"},
    {.name = NULL},
};

const struct option rig_options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = rig_probe_options, .offset = 0},
    {.name = "phase",
     .kind = OPTION_NUMBER,
     .argument = "DEG",
     .offset = OFFSET(phase_deg),
     .has_preset = true,
     .preset = 0.0,
     .help = "phase of the oscillation at the envelope's maximum"},
    {.name = "line-repeat",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .offset = OFFSET(line_repeat),
     .range = OPTION_BETWEEN,
     .least = -1.0,
     .most = 1.0,
     .has_preset = true,
     .preset = 0.3,
     .help = "reflection at the probe's end of the delay line, which makes the line repeat"},
    {.name = "zero",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = OFFSET(zero_us),
     .has_preset = true,
     .preset = 0.0,
     .help = "time from the trigger to the sound leaving the probe"},
    {.name = "level",
     .kind = OPTION_NUMBER,
     .argument = "AMPLITUDE",
     .offset = OFFSET(level),
     .range = OPTION_ABOVE,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.9,
     .help = "of the echo of a full reflector at the line's end"},
    {.name = "front-jitter",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .offset = OFFSET(front_jitter_db),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.0,
     .help =
         "standard deviation of the front echo's gain against the rest, as a flat face on a "
         "tube has it"},
    {.name = "initial",
     .kind = OPTION_NUMBER,
     .argument = "AMPLITUDE",
     .offset = OFFSET(initial),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.0,
     .help = "initial pulse at time 0"},
    {.name = "initial-fall",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = OFFSET(initial_fall_us),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.15,
     .help = "time in which the initial pulse's ringing falls to 1/e"},
    {.name = "drift",
     .kind = OPTION_NUMBER,
     .argument = "AMPLITUDE",
     .offset = OFFSET(drift),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.0,
     .help = "of a slow wave under the trace, 1.5 records long"},
    {.name = "snr",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .offset = OFFSET(snr_db),
     .help =
         "the largest echo's peak over the standard deviation of white noise; no noise where "
         "not given"},
    {.name = "noise",
     .kind = OPTION_NUMBER,
     .argument = "AMPLITUDE",
     .offset = OFFSET(noise),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .has_preset = true,
     .preset = 0.0,
     .help = "standard deviation of white noise that does not depend on the echoes"},
    {.name = NULL},
};

#undef OFFSET
#define OFFSET(member) offsetof(struct recorder_values, member)

const struct option recorder_options[] = {
    {.name = "sample-rate",
     .kind = OPTION_NUMBER,
     .argument = "HZ",
     .offset = OFFSET(sample_rate_hz),
     .range = OPTION_ABOVE,
     .least = 0.0,
     .has_preset = true,
     .preset = 100e6,
     .help = "sample rate of the recorder"},
    {.name = "samples",
     .kind = OPTION_COUNT,
     .argument = "N",
     .offset = OFFSET(samples),
     .range = OPTION_BETWEEN,
     .least = 2.0,
     .most = 1 << 20,
     .has_preset = true,
     .preset = 2048.0,
     .help = "length of a trace"},
    {.name = "start",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = OFFSET(start_us),
     .has_preset = true,
     .preset = 0.0,
     .help = "time of the first sample after the trigger"},
    {.name = "full-scale",
     .kind = OPTION_NUMBER,
     .argument = "AMPLITUDE",
     .offset = OFFSET(full_scale),
     .range = OPTION_ABOVE,
     .least = 0.0,
     .has_preset = true,
     .preset = 1.0,
     .help = "amplitude at which the recorder clips"},
    {.name = "bits",
     .kind = OPTION_COUNT,
     .argument = "N",
     .offset = OFFSET(bits),
     .range = OPTION_BETWEEN,
     .least = 2.0,
     .most = 24.0,
     .help = "of the recorder's converter; samples are not rounded where not given"},
    {.name = NULL},
};

/* Centre frequency and relative bandwidth of --probe. */
static enum plyecho_code read_band(const struct rig_values *rig, double *centre_hz,
                                   double *bandwidth, struct plyecho_error *err)
{
    const char *text = rig->probe.set ? rig->probe.value : DEFAULT_PROBE;
    const char *colon = strchr(text, ':');
    char centre[PLYECHO_NUMBER_ROOM];
    if (colon == NULL || (size_t)(colon - text) >= sizeof centre)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "--probe \"%.40s\": give centre frequency and bandwidth, such as "
                            "5M:0.6",
                            text);
    snprintf(centre, sizeof centre, "%.*s", (int)(colon - text), text);
    enum plyecho_code code = plyecho_number_parse(centre, centre_hz, err);
    return code == PLYECHO_OK ? plyecho_number_parse(colon + 1, bandwidth, err) : code;
}

static enum plyecho_code read_probe(const struct rig_values *rig, struct plyecho_pulse *pulse,
                                    struct plyecho_error *err)
{
    double centre_hz, bandwidth;
    enum plyecho_code code = read_band(rig, &centre_hz, &bandwidth, err);
    if (code != PLYECHO_OK)
        return code;
    const double radian_per_degree = 3.14159265358979323846 / 180.0;
    return plyecho_pulse_from_band(pulse, centre_hz, bandwidth,
                                   rig->phase_deg.value * radian_per_degree, rig->tail.value,
                                   err);
}

/* The medium that touches the part, and its length where it is a delay line. */
static enum plyecho_code read_coupling(const struct rig_values *rig, struct plyecho_layer *line,
                                       double *front_rayl, struct plyecho_error *err)
{
    struct plyecho_plies medium;
    if (rig->delay_line.set && rig->face.set)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "--face is for contact; a delay line touches the part itself");
    const char *face = rig->face.set ? rig->face.value : DEFAULT_FACE;
    enum plyecho_code code = rig->delay_line.set
                                 ? layup_read_layer(rig->delay_line.value, true, &medium, err)
                                 : layup_read_layer(face, false, &medium, err);
    if (code != PLYECHO_OK)
        return code;
    *front_rayl = medium.wall.impedance_rayl;
    *line = medium.wall;
    if (!rig->delay_line.set)
        line->thickness_m = 0.0;
    return PLYECHO_OK;
}

enum plyecho_code rig_read(const struct rig_values *rig, const struct recorder_values *recorder,
                           struct plyecho_setup *setup, double *front_rayl,
                           struct plyecho_error *err)
{
    *setup = (struct plyecho_setup){
        .line_repeat = rig->line_repeat.value,
        .zero_s = rig->zero_us.value * 1e-6,
        .level = rig->level.value,
        .front_jitter_db = rig->front_jitter_db.value,
        .initial_level = rig->initial.value,
        .initial_fall_s = rig->initial_fall_us.value * 1e-6,
        .drift_level = rig->drift.value,
        .noise_level = rig->noise.value,
        .snr_db = rig->snr_db.set ? rig->snr_db.value : INFINITY,
        .full_scale = recorder->full_scale.value,
        .bits = (int)recorder->bits.value,
        .sample_rate_hz = recorder->sample_rate_hz.value,
        .start_s = recorder->start_us.value * 1e-6,
        .samples = (size_t)recorder->samples.value,
    };
    enum plyecho_code code = read_probe(rig, &setup->pulse, err);
    if (code == PLYECHO_OK)
        code = read_coupling(rig, &setup->delay_line, front_rayl, err);
    return code;
}

double rig_bandwidth(const struct rig_values *rig)
{
    double centre_hz, bandwidth;
    struct plyecho_error err;
    return read_band(rig, &centre_hz, &bandwidth, &err) == PLYECHO_OK ? bandwidth : 0.0;
}
