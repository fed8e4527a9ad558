/* simulate - traces of a part that is known, with what is true of them in their labels */
#include <stdlib.h>

#include <plyecho/simulate.h>

#include "cases.h"
#include "memory.h"
#include "outputs.h"
#include "truth.h"

struct simulate_values {
    struct case_values base;
    struct recorder_values recorder;
    struct option_count channels;
    struct option_text cases;
    struct outputs_values outputs;
};

#define OFFSET(member) offsetof(struct simulate_values, member)

static const struct option options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = case_options, .offset = OFFSET(base)},
    {.name = "", .kind = OPTION_GROUP, .group = recorder_options, .offset = OFFSET(recorder)},
    {.name = "channels",
     .kind = OPTION_COUNT,
     .argument = "N",
     .offset = OFFSET(channels),
     .range = OPTION_BETWEEN,
     .least = 1.0,
     .most = PLYECHO_MAX_CHANNELS,
     .has_preset = true,
     .preset = 1.0,
     .help = "so many traces of the same part, each with a seed of its own"},
    {.name = "cases",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = OFFSET(cases),
     .help = "a channel a line instead, each with the options above in which it differs, up to "
             "--label; - is standard input"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = outputs_made_options,
     .offset = OFFSET(outputs)},
    {.name = NULL},
};

/* One channel: build the part, run the probe over it, say what is true. */
static enum plyecho_code simulate_channel(const struct cases *cases, size_t index,
                                          const struct recorder_values *recorder,
                                          struct plyecho_traces *traces,
                                          struct plyecho_labels *truth,
                                          struct plyecho_error *err)
{
    const struct case_values *own = &cases->items[index];
    unsigned long seed = (unsigned long)own->seed.value;
    struct plyecho_setup setup;
    double front_rayl;
    struct layup layup = {0};
    struct layup_stack part = {0};
    struct plyecho_simulator *simulator = NULL;
    struct plyecho_simulated simulated;
    enum plyecho_code code = rig_read(&own->rig, recorder, &setup, &front_rayl, err);
    if (code == PLYECHO_OK)
        code = layup_read(&own->layup, &layup, err);
    if (code == PLYECHO_OK)
        code = layup_build(&layup, seed, front_rayl, setup.pulse.centre_hz, &part, err);
    if (code == PLYECHO_OK)
        code = plyecho_simulator_new(&simulator, &setup, err);
    if (code == PLYECHO_OK) {
        struct plyecho_stack stack = part.stack;
        if (layup.uncoupled)
            stack = layup_in_air(&stack);
        code =
            plyecho_simulator_run(simulator, &stack, seed,
                                  plyecho_traces_samples(traces, index + 1), &simulated, err);
    }
    if (code == PLYECHO_OK) {
        traces->step = plyecho_simulator_step(simulator);
        code =
            truth_of_channel(own, cases->base, &layup, &part, &setup, &simulated, truth, err);
    }
    plyecho_simulator_free(simulator);
    layup_stack_clear(&part);
    layup_clear(&layup);
    return code;
}

static enum plyecho_code simulate_all(const struct cases *cases,
                                      const struct recorder_values *recorder,
                                      struct plyecho_traces *traces, struct plyecho_error *err)
{
    enum plyecho_code code =
        plyecho_traces_init(traces, cases->count, (size_t)recorder->samples.value, err);
    if (code != PLYECHO_OK)
        return code;
    traces->sample_rate_hz = recorder->sample_rate_hz.value;
    traces->start_s = recorder->start_us.value * 1e-6;
    traces->signal = PLYECHO_SIGNAL_RF;
    traces->full_scale = recorder->full_scale.value;
    struct plyecho_labels *truths = memory_take(cases->count, sizeof *truths);
    for (size_t i = 0; code == PLYECHO_OK && i < cases->count; i++) {
        struct plyecho_error why;
        code = simulate_channel(cases, i, recorder, traces, &truths[i], &why);
        if (code != PLYECHO_OK)
            plyecho_fail_line(err, code, cases->items[i].line, "%s", why.text);
    }
    if (code == PLYECHO_OK)
        code = truth_join(truths, cases->count, &traces->labels, err);
    for (size_t i = 0; i < cases->count; i++)
        plyecho_labels_clear(&truths[i]);
    free(truths);
    return code;
}

static enum status run(const struct invocation *invocation)
{
    const struct simulate_values *values = invocation->values;
    struct messages *messages = invocation->messages;
    struct plyecho_error err;
    struct cases cases = {0};
    struct plyecho_traces traces = {0};
    enum plyecho_code code = PLYECHO_OK;
    const char *about = "simulate";
    if (values->cases.set && values->channels.set) {
        message_trouble(messages, about, "give --channels or --cases, not both");
        return STATUS_TROUBLE;
    }
    struct outputs *outputs = outputs_open(invocation, &values->outputs, false);
    if (outputs == NULL)
        return STATUS_TROUBLE;
    if (values->cases.set)
        code = cases_read(&cases, about = values->cases.value, &values->base, &err);
    else
        cases_repeat(&cases, &values->base, (size_t)values->channels.value);
    if (code == PLYECHO_OK)
        code = simulate_all(&cases, &values->recorder, &traces, &err);
    traces.container = (enum plyecho_container)values->outputs.container.index;
    if (code == PLYECHO_OK)
        outputs_write(outputs, "-", &traces);
    else
        message_error(messages, about, &err);
    outputs_close(outputs);
    plyecho_traces_clear(&traces);
    cases_clear(&cases);
    return verb_status(messages, false);
}

const struct verb verb_simulate = {
    .name = "simulate",
    .group = VERB_MODEL,
    .help = "traces of a wall and a probe that are known, with their truth",
    .operands = NULL,
    .description =
        "Computes what a probe sees of a stack of layers, all reverberations included, with "
        "attenuation in proportion to frequency and the dispersion that belongs to it. Labels "
        "say what is true of each trace: truth_thickness_mm, truth_velocity_m_s (the first "
        "layer's phase velocity at the pulse's centre frequency, its resin films counted), "
        "truth_tof_us, truth_depth_mm and truth_cover of a gap, truth_snr_db, seed and "
        "others.\n"
        "Media: carbon, glass, cfrp-quasi-isotropic, cfrp-unidirectional, gfrp, epoxy, filler, "
        "pmma, polystyrene, nylon, aluminium, steel, stainless-steel, fused-silica, "
        "borosilicate, water, air. `plyecho plan --media` has their numbers: handbook values or "
        "common experience, good enough to plan with. Measure your own laminate.",
    .example =
        "plyecho simulate --layer carbon:3.2 --layer glass:1.0 --delay-line pmma:10 --probe "
        "10M:0.6 --snr 40 --seed 1 -o sleeve.wav\n  "
        "plyecho simulate --layer carbon:3.2,plies=16,film=0.005,scatter=0.02 --gap-depth "
        "1.2 --cover 0.4 --delay-line pmma:10 --channels 24 -o delaminated.wav\n  "
        "plyecho simulate --uncoupled --delay-line pmma:10 -o reference.wav",
    .options = options,
    .values_size = sizeof(struct simulate_values),
    .run = run,
};
