#include "probe.h"

#include <math.h>

#define OFFSET(member) offsetof(struct probe_limits, member)

const struct option probe_limit_options[] = {
    {.name = "frequency-limit",
     .kind = OPTION_NUMBER,
     .argument = "PERCENT",
     .offset = OFFSET(frequency_percent),
     .range = OPTION_ABOVE,
     .has_preset = true,
     .preset = 10.0,
     .help = "with --compare: how far a centre frequency may be from the earlier one"},
    {.name = "bandwidth-limit",
     .kind = OPTION_NUMBER,
     .argument = "PERCENT",
     .offset = OFFSET(bandwidth_percent),
     .range = OPTION_ABOVE,
     .has_preset = true,
     .preset = 15.0,
     .help = "the same of the -6 dB bandwidth"},
    {.name = "length-limit",
     .kind = OPTION_NUMBER,
     .argument = "PERCENT",
     .offset = OFFSET(length_percent),
     .range = OPTION_ABOVE,
     .has_preset = true,
     .preset = 20.0,
     .help = "the same of the pulse length at -20 dB"},
    {.name = "level-limit",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .offset = OFFSET(level_db),
     .range = OPTION_ABOVE,
     .has_preset = true,
     .preset = 3.0,
     .help = "the same of the echo's level, gains taken out"},
    {.name = "likeness-limit",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .offset = OFFSET(likeness),
     .range = OPTION_BETWEEN,
     .least = 0.0,
     .most = 1.0,
     .has_preset = true,
     .preset = 0.95,
     .help = "least correlation of the two waveforms"},
    {.name = NULL},
};

enum column_index {
    TRACE,
    CHANNEL,
    QUANTITY,
    NOW,
    EARLIER,
    CHANGE,
    CHANGE_UNIT,
    LIMIT,
    WITHIN,
    COLUMN_TOTAL
};

static const struct column columns[COLUMN_TOTAL] = {
    [TRACE] = {.name = "trace", .kind = COLUMN_FILE, .width = 16},
    [CHANNEL] = {.name = "channel", .kind = COLUMN_COUNT},
    [QUANTITY] = {.name = "quantity", .kind = COLUMN_TEXT, .width = 20},
    [NOW] = {.name = "now", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6, .width = 8},
    [EARLIER] =
        {.name = "earlier", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6, .width = 8},
    [CHANGE] =
        {.name = "change", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 4, .width = 8},
    [CHANGE_UNIT] = {.name = "change_unit", .kind = COLUMN_TEXT},
    [LIMIT] = {.name = "limit", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 4},
    [WITHIN] = {.name = "within", .kind = COLUMN_YES_NO},
};

/* A quantity of both pulses; NAN where it is not known. */
struct compared {
    const char *quantity;
    double now, earlier, change;
    const char *change_unit;
    double limit; /* NAN: none */
    bool within;
};

static struct compared in_percent(const char *quantity, double now, double earlier,
                                  double limit)
{
    double change = 100.0 * (now / earlier - 1.0);
    return (struct compared){quantity, now, earlier, change, "%", limit, fabs(change) <= limit};
}

static double us(struct plyecho_known seconds)
{
    return seconds.known ? seconds.value * 1e6 : NAN;
}

static bool print(const struct table *table, const char *name, size_t channel,
                  const struct compared *c)
{
    bool judged = isfinite(c->limit) && isfinite(c->change);
    struct cell cells[COLUMN_TOTAL];
    cells[TRACE] = cell_text(name);
    cells[CHANNEL] = cell_count(channel);
    cells[QUANTITY] = cell_text(c->quantity);
    cells[NOW] = cell_number(c->now);
    cells[EARLIER] = cell_number(c->earlier);
    cells[CHANGE] = cell_number(c->change);
    cells[CHANGE_UNIT] = cell_text(c->change_unit);
    cells[LIMIT] = cell_number(c->limit);
    cells[WITHIN] = judged ? cell_yes_no(c->within) : cell_unknown();
    table_row(table, cells);
    return judged && !c->within;
}

bool probe_compare(const struct table_values *values, const struct probe_limits *limits,
                   const char *name, size_t channel, const struct plyecho_probe_echo *now,
                   const struct plyecho_probe_echo *earlier)
{
    const struct plyecho_probe_character *a = &now->character, *b = &earlier->character;
    struct plyecho_known level = plyecho_probe_level_db(a, b);
    double level_db = level.known ? level.value : NAN,
           percent = limits->frequency_percent.value;
    double likeness = plyecho_probe_likeness(now, earlier);
    double time_us = a->time_s * 1e6, earlier_us = b->time_s * 1e6;
    const struct compared rows[] = {
        in_percent("centre_mhz", a->band.centre_hz * 1e-6, b->band.centre_hz * 1e-6, percent),
        in_percent("geometric_centre_mhz", a->band.geometric_centre_hz * 1e-6,
                   b->band.geometric_centre_hz * 1e-6, percent),
        in_percent("bandwidth_6db_mhz", a->band.bandwidth_hz * 1e-6,
                   b->band.bandwidth_hz * 1e-6, limits->bandwidth_percent.value),
        in_percent("length_20db_us", us(a->length_20db_s), us(b->length_20db_s),
                   limits->length_percent.value),
        {"level_db", level_db, level.known ? 0.0 : NAN, level_db, "dB", limits->level_db.value,
         fabs(level_db) <= limits->level_db.value},
        {"likeness", likeness, 1.0, likeness - 1.0, NULL, limits->likeness.value,
         likeness >= limits->likeness.value},
        {"time_us", time_us, earlier_us, time_us - earlier_us, "us", NAN, true},
    };
    struct table table;
    bool beyond = false;
    table_begin(&table, values, columns, COLUMN_TOTAL, stdout);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        beyond |= print(&table, name, channel, &rows[i]);
    return beyond;
}
