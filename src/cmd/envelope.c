/* envelope - magnitude of the analytic signal */
#include "filter.h"

#include <stdlib.h>

#include "memory.h"
#include "oscillation.h"

struct envelope_values {
    struct filter_values filter;
};

struct envelope_context {
    struct oscillation oscillation;
    float *quadrature;
};

static const struct option options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = filter_options,
     .offset = offsetof(struct envelope_values, filter)},
    {.name = NULL},
};

static enum plyecho_code demodulate(void *context, struct plyecho_traces *traces,
                                    struct plyecho_error *err)
{
    struct envelope_context *own = context;
    enum plyecho_code code = oscillation_plan(&own->oscillation, traces, err);
    if (code != PLYECHO_OK)
        return code;
    size_t samples = traces->samples;
    own->quadrature = memory_resize(own->quadrature, samples, sizeof *own->quadrature);
    for (size_t c = 1; c <= traces->channels; c++) {
        float *x = plyecho_traces_samples(traces, c);
        plyecho_analytic_run(own->oscillation.analytic, x, x, own->quadrature);
        plyecho_envelope(x, own->quadrature, samples, x);
    }
    traces->signal = PLYECHO_SIGNAL_ENVELOPE;
    traces->step = 0.0; /* no longer on the converter's grid */
    return plyecho_traces_fields_to_labels(traces, err);
}

static enum status run(const struct invocation *invocation)
{
    const struct envelope_values *values = invocation->values;
    struct envelope_context own = {0};
    enum status status = filter_run(invocation, &values->filter, demodulate, &own);
    oscillation_clear(&own.oscillation);
    free(own.quadrature);
    return status;
}

const struct verb verb_envelope = {
    .name = "envelope",
    .group = VERB_PREPARE,
    .help = "demodulate: magnitude of the analytic signal",
    .operands = "[FILE...]",
    .description =
        "Replaces each trace by its envelope, the magnitude of the analytic signal over the "
        "record as it stands, and sets the label signal to envelope. An offset or a drift "
        "goes into the envelope: take a band first. What is rectified, an envelope or its "
        "logarithm already is refused.",
    .example = "plyecho bandpass --band 4M:12M ring3.wav | plyecho envelope -o ring3-env.wav",
    .options = options,
    .values_size = sizeof(struct envelope_values),
    .run = run,
};
