#include "conditioning.h"

const struct option band_options[] = {
    {.name = "band",
     .kind = OPTION_BAND,
     .argument = "LO:HI",
     .offset = offsetof(struct band_values, hz),
     .help =
         "pass band in Hz, such as 4M:16M, before echoes are picked; without it the band of "
         "each trace's own echoes is taken"},
    {.name = NULL},
};

void conditioning_open(struct conditioning *c, const struct plyecho_band *band)
{
    *c = (struct conditioning){.has_band = band != NULL};
    if (band != NULL)
        c->band = *band;
}

void conditioning_open_option(struct conditioning *c, const struct band_values *values)
{
    struct plyecho_band band = {values->hz.low, values->hz.high};
    conditioning_open(c, values->hz.set ? &band : NULL);
}

/* A conditioner for traces like this one. */
static enum plyecho_code plan(struct conditioning *c, const struct plyecho_trace *trace,
                              struct plyecho_error *err)
{
    bool stays = time_base_stays(&c->time_base, trace->samples, trace->sample_rate_hz);
    if (stays && c->conditioner != NULL)
        return PLYECHO_OK;
    conditioning_close(c);
    return plyecho_conditioner_new(&c->conditioner, trace->samples, trace->sample_rate_hz,
                                   c->has_band ? &c->band : NULL, err);
}

enum plyecho_code conditioning_run(struct conditioning *c, const struct plyecho_trace *trace,
                                   struct plyecho_conditioned *out, struct plyecho_error *err)
{
    enum plyecho_code code = plan(c, trace, err);
    return code == PLYECHO_OK ? plyecho_conditioner_run(c->conditioner, trace, out, err) : code;
}

enum plyecho_code conditioning_own_band(struct conditioning *c,
                                        const struct plyecho_trace *trace,
                                        struct plyecho_band *band, struct plyecho_error *err)
{
    enum plyecho_code code = plan(c, trace, err);
    if (code != PLYECHO_OK)
        return code;
    return plyecho_conditioner_own_band(c->conditioner, trace, band, err);
}

void conditioning_close(struct conditioning *c)
{
    plyecho_conditioner_free(c->conditioner);
    c->conditioner = NULL;
}
