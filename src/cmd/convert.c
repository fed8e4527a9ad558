/* convert - the same traces in another container */
#include "filter.h"

struct convert_values {
    struct filter_values filter;
};

static const struct option options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = filter_options,
     .offset = offsetof(struct convert_values, filter)},
    {.name = NULL},
};

static enum plyecho_code keep(void *context, struct plyecho_traces *traces,
                              struct plyecho_error *err)
{
    (void)context, (void)traces, (void)err;
    return PLYECHO_OK;
}

static enum status run(const struct invocation *invocation)
{
    const struct convert_values *values = invocation->values;
    return filter_run(invocation, &values->filter, keep, NULL);
}

const struct verb verb_convert = {
    .name = "convert",
    .group = VERB_PREPARE,
    .help = "write traces in another format, labels kept",
    .operands = "[FILE...]",
    .description =
        "Reads trace files (WAV, RF64, W64, AIFF, CAF, AU, or CSV as instruments export it) "
        "and writes them as WAV with 32-bit float samples or as CSV. Samples, time base and "
        "labels stay as they are. Without --to or an ending in -o, CSV stays CSV and the rest "
        "becomes WAV.",
    .example = "plyecho convert -o ring3.csv ring3.wav",
    .options = options,
    .values_size = sizeof(struct convert_values),
    .run = run,
};
