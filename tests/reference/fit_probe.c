/* fit_probe - the library's fits on raw samples, for the reference tests
 *
 * fit_probe plate SAMPLES RATE_HZ FRONT_S TRANSIT_S F0_HZ REFLECTION LOSS_U END_S
 *     float32 samples of a trace, then of its reference (the line's end in air), on standard
 * input fit_probe transit SAMPLES RATE_HZ LOW_HZ HIGH_HZ FIRST_S SECOND_S BEFORE_S AFTER_S F0_HZ
 *     float32 samples of a trace
 * Both print lines `name value`, and arrays as `name count` with one value a line behind it.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/plate_fit.h>
#include <plyecho/transit.h>
#include <plyecho/verdict.h>

struct record {
    struct plyecho_traces traces;
    struct plyecho_trace trace;
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned conditioned;
};

static void must(enum plyecho_code code, const struct plyecho_error *err)
{
    if (code == PLYECHO_OK)
        return;
    fprintf(stderr, "fit_probe: %s\n", err->text);
    exit(2);
}

static void take(struct record *r, size_t n, double rate)
{
    struct plyecho_error err;
    must(plyecho_traces_init(&r->traces, 1, n, &err), &err);
    r->traces.sample_rate_hz = rate;
    if (fread(r->traces.amplitude, sizeof(float), n, stdin) != n)
        exit(2);
    r->trace = plyecho_traces_channel(&r->traces, 1);
}

static void condition(struct record *r, const struct plyecho_band *band)
{
    struct plyecho_error err;
    must(plyecho_conditioner_new(&r->conditioner, r->trace.samples, r->trace.sample_rate_hz,
                                 band, &err),
         &err);
    must(plyecho_conditioner_run(r->conditioner, &r->trace, &r->conditioned, &err), &err);
}

static void drop(struct record *r)
{
    plyecho_conditioner_free(r->conditioner);
    plyecho_traces_clear(&r->traces);
}

static void tell(const char *name, double value)
{
    printf("%s %.17g\n", name, value);
}

static void tell_all(const char *name, const float *x, size_t n)
{
    printf("%s %zu\n", name, n);
    for (size_t i = 0; i < n; i++)
        printf("%.9g\n", (double)x[i]);
}

static void tell_conditioned(const struct plyecho_conditioned *c)
{
    tell("low_hz", c->band.low_hz);
    tell("high_hz", c->band.high_hz);
    tell("noise", c->noise);
    tell("pulse_s", c->pulse_s);
    tell_all("in_phase", c->in_phase, c->samples);
}

static void probe_plate(size_t n, double rate, char **words)
{
    struct record trace, air;
    struct plyecho_error err;
    struct plyecho_reference reference;
    struct plyecho_plate_fit *fit;
    struct plyecho_plate plate;
    take(&trace, n, rate);
    take(&air, n, rate);
    condition(&air, NULL);
    must(plyecho_reference_take(&air.conditioned, &air.trace, &reference, &err), &err);
    condition(&trace, &reference.band);
    struct plyecho_plate_task task = {.front_s = strtod(words[0], NULL),
                                      .transit_s = strtod(words[1], NULL),
                                      .reference_hz = strtod(words[2], NULL),
                                      .front_reflection = strtod(words[3], NULL),
                                      .loss_u_np_hz = strtod(words[4], NULL),
                                      .end_s = strtod(words[5], NULL)};
    must(plyecho_plate_fit_new(&fit, &reference.shape, &reference.band, rate, &err), &err);
    must(plyecho_plate_fit_run(fit, &trace.conditioned, &task, &plate, &err), &err);
    plyecho_plate_fit_free(fit);
    tell("transit_s", plate.transit_s);
    tell("transit_bound_s", plate.transit_bound_s);
    tell("front_reflection", plate.front_reflection);
    tell("loss_np_hz", plate.loss_np_hz);
    tell("amplitude", plate.amplitude);
    tell("misfit", plate.misfit);
    tell("peak_sample", reference.shape.peak_sample);
    tell_all("pulse", reference.shape.amplitude, reference.shape.samples);
    tell_conditioned(&trace.conditioned);
    drop(&trace);
    drop(&air);
}

static void probe_transit(size_t n, double rate, char **words)
{
    struct record trace;
    struct plyecho_error err;
    struct plyecho_band band = {strtod(words[0], NULL), strtod(words[1], NULL)};
    struct plyecho_transit transit;
    take(&trace, n, rate);
    condition(&trace, &band);
    struct plyecho_transit_task task = {.first_s = strtod(words[2], NULL),
                                        .second_s = strtod(words[3], NULL),
                                        .before_s = strtod(words[4], NULL),
                                        .after_s = strtod(words[5], NULL),
                                        .reference_hz = strtod(words[6], NULL),
                                        .sign = -1};
    must(plyecho_transit_fit(&trace.conditioned, &task, &transit, &err), &err);
    tell("time_s", transit.time_s);
    tell("u_s", transit.u_s);
    tell("ratio", transit.ratio);
    tell("ratio_u", transit.ratio_u);
    tell("loss_np_hz", transit.loss_np_hz);
    tell("misfit", transit.misfit);
    tell_conditioned(&trace.conditioned);
    drop(&trace);
}

int main(int argc, char **argv)
{
    if (argc < 4)
        return 2;
    size_t n = strtoul(argv[2], NULL, 10);
    double rate = strtod(argv[3], NULL);
    if (strcmp(argv[1], "plate") == 0 && argc == 10)
        probe_plate(n, rate, argv + 4);
    else if (strcmp(argv[1], "transit") == 0 && argc == 11)
        probe_transit(n, rate, argv + 4);
    else
        return 2;
    return 0;
}
