/* gain - fixed gain, or gain that grows with time */
#include "filter.h"

#include <stdlib.h>

#include <plyecho/gain.h>

#include "file.h"

struct gain_values {
    struct filter_values filter;
    struct option_number db;
    struct option_text table;
    struct option_number slope_db_us;
    struct option_number from_us;
};

static const struct option options[] = {
    {.name = "db",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .range = OPTION_BETWEEN,
     .least = -200,
     .most = 200,
     .offset = offsetof(struct gain_values, db),
     .help = "fixed gain; negative attenuates"},
    {.name = "table",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct gain_values, table),
     .help = "time-corrected gain from a CSV file with the header time_us,gain_db: straight "
             "lines in dB between its rows, flat outside"},
    {.name = "slope",
     .kind = OPTION_NUMBER,
     .argument = "DB/US",
     .offset = offsetof(struct gain_values, slope_db_us),
     .help = "time-corrected gain that grows by so many dB a microsecond"},
    {.name = "from",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .has_preset = true,
     .preset = 0,
     .offset = offsetof(struct gain_values, from_us),
     .help = "time at which --slope begins; no gain before"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = filter_options,
     .offset = offsetof(struct gain_values, filter)},
    {.name = NULL},
};

struct gain_context {
    const struct gain_values *values;
    struct plyecho_gain_point *points;
    size_t point_count;
};

static enum plyecho_code amplify(void *context, struct plyecho_traces *traces,
                                 struct plyecho_error *err)
{
    const struct gain_context *own = context;
    const struct gain_values *values = own->values;
    if (values->db.set)
        return plyecho_gain_fixed(traces, values->db.value, err);
    if (values->slope_db_us.set)
        return plyecho_gain_slope(traces, values->slope_db_us.value,
                                  values->from_us.value * 1e-6, err);
    return plyecho_gain_table(traces, own->points, own->point_count, err);
}

/* Exactly one kind of gain. */
static bool options_agree(const struct gain_values *values, struct messages *messages)
{
    int kinds = values->db.set + values->table.set + values->slope_db_us.set;
    if (kinds != 1)
        message_trouble(messages, "gain", "%s give one of --db, --table and --slope",
                        kinds == 0 ? "which gain?" : "more than one gain:");
    else if (values->from_us.set && !values->slope_db_us.set)
        message_trouble(messages, "gain",
                        "--from goes with --slope; leave it out or give a slope");
    else
        return true;
    return false;
}

static bool read_table(struct gain_context *own, struct messages *messages)
{
    const char *name = own->values->table.value;
    if (name == NULL)
        return true;
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    enum plyecho_code code = file_read(name, &bytes, &err);
    if (code == PLYECHO_OK)
        code = plyecho_gain_table_read((const char *)bytes.data, bytes.size, &own->points,
                                       &own->point_count, &err);
    free(bytes.data);
    if (code != PLYECHO_OK)
        message_error(messages, name, &err);
    return code == PLYECHO_OK;
}

static enum status run(const struct invocation *invocation)
{
    const struct gain_values *values = invocation->values;
    struct gain_context own = {.values = values};
    if (!options_agree(values, invocation->messages) || !read_table(&own, invocation->messages))
        return STATUS_TROUBLE;
    enum status status = filter_run(invocation, &values->filter, amplify, &own);
    free(own.points);
    return status;
}

const struct verb verb_gain = {
    .name = "gain",
    .group = VERB_PREPARE,
    .help = "fixed gain, or time-corrected gain from a table or a slope",
    .operands = "[FILE...]",
    .description =
        "Multiplies the samples (a logarithm has the dB added).\n"
        "Fixed gain keeps the scale: the label gain_db grows by it, full_scale is scaled "
        "along. Where a trace has no gain_db, the recorder's gain stays unknown and the "
        "label added_gain_db keeps count.\n"
        "Time-corrected gain ends the common scale: full_scale is dropped, gain_db becomes "
        "gain_before_tcg_db, and the label tcg says what was done, each step after those before it.",
    .example = "plyecho gain --slope 1.5 --from 4 -o ring3-tcg.wav ring3.wav",
    .options = options,
    .values_size = sizeof(struct gain_values),
    .run = run,
};
