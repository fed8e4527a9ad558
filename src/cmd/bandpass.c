/* bandpass - zero-phase band-pass in the frequency domain */
#include "filter.h"

#include "oscillation.h"

struct bandpass_values {
    struct filter_values filter;
    struct option_band band_hz;
};

static const struct option options[] = {
    {.name = "band",
     .kind = OPTION_BAND,
     .argument = "HZ:HZ",
     .offset = offsetof(struct bandpass_values, band_hz),
     .help =
         "pass band between its half-amplitude (-6 dB) frequencies, such as 4M:12M; from 0 a "
         "low pass, up to half the sample rate a high pass; needed"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = filter_options,
     .offset = offsetof(struct bandpass_values, filter)},
    {.name = NULL},
};

static enum plyecho_code pass(void *context, struct plyecho_traces *traces,
                              struct plyecho_error *err)
{
    struct oscillation *oscillation = context;
    enum plyecho_code code = oscillation_plan(oscillation, traces, err);
    if (code != PLYECHO_OK)
        return code;
    for (size_t c = 1; c <= traces->channels; c++) {
        float *x = plyecho_traces_samples(traces, c);
        plyecho_analytic_run(oscillation->analytic, x, x, NULL);
    }
    traces->step = 0.0; /* no longer on the converter's grid */
    return PLYECHO_OK;
}

static enum status run(const struct invocation *invocation)
{
    const struct bandpass_values *values = invocation->values;
    if (!values->band_hz.set) {
        message_trouble(invocation->messages, "bandpass",
                        "which band? give --band LOW:HIGH in Hz, such as --band 4M:12M");
        return STATUS_TROUBLE;
    }
    struct plyecho_band band = {values->band_hz.low, values->band_hz.high};
    struct oscillation oscillation = {.band = &band};
    enum status status = filter_run(invocation, &values->filter, pass, &oscillation);
    oscillation_clear(&oscillation);
    return status;
}

const struct verb verb_bandpass = {
    .name = "bandpass",
    .group = VERB_PREPARE,
    .help = "keep a band of frequencies, echoes stay where they are",
    .operands = "[FILE...]",
    .description =
        "Multiplies each trace's spectrum with a pass band, without any phase: an echo stays "
        "at its time and a symmetric echo stays symmetric. The gain is 1 within the band, 0 "
        "outside, and one half at the two frequencies given; between, it follows a raised "
        "cosine a quarter of the band's width wide (narrower at an edge near 0 Hz or half "
        "the sample rate).\n"
        "The straight line through the trace's ends is taken off first, unless the band "
        "begins at 0. The trace is padded, so that an echo at one end leaves less than -70 "
        "dB of itself at the other.\n"
        "Filtering hides clipping: look for it with inspect before.",
    .example = "plyecho bandpass --band 4M:12M ring3.wav | plyecho envelope -o ring3-env.wav",
    .options = options,
    .values_size = sizeof(struct bandpass_values),
    .run = run,
};
