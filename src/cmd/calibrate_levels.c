#include <config.h>

#include "calibrate_levels.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "procedure_changes.h"

/* The recording level stands so far above the highest echo of a sound wall, the evaluation level so far
 * below the weakest artificial delamination, or without one above the recording level: common practice,
 * no source. */
static const double recording_margin_db = 6.0, evaluation_margin_db = 6.0;

/* Back walls of sound places that differ by more are not of one coupling or material: common practice, no
 * source. */
static const double most_spread_db = 6.0;

static const struct column columns[] = {
    {.name = "recording_level_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "evaluation_level_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "reference_gain_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "sound_traces", .kind = COLUMN_COUNT},
    {.name = "artificial_traces", .kind = COLUMN_COUNT},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "highest_sound_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "weakest_artificial_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "back_wall_spread_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 3},
    {.name = "warning", .kind = COLUMN_TEXT, .width = 10},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

struct levels {
    double highest_db;                  /* of all sound traces, inside */
    double weakest_db;                  /* of all artificial delaminations */
    double least_back_db, most_back_db; /* back-wall echoes of sound traces, gain taken off */
    struct plyecho_known gain_db;       /* of the first sound trace */
    size_t sound, artificial;
};

/* To a hundredth of a decibel. */
static struct cell cell_level(double level_db)
{
    return cell_number(round(level_db * 100.0) / 100.0);
}

/* A sound wall: nothing called in it. Its back-wall echo is compared with the others' at a common gain. */
static bool take_sound(const struct setup *setup, const struct plyecho_trace *trace,
                       const struct plyecho_conditioned *conditioned,
                       const struct plyecho_assessment *a, struct levels *levels,
                       struct plyecho_error *err)
{
    struct plyecho_picks picks;
    struct plyecho_known gain;
    if (a->verdict != PLYECHO_NO_INDICATION || !a->range_known) {
        plyecho_fail(err, PLYECHO_UNSUITABLE,
                     "the wall is not found sound (%s); take a trace where it is",
                     plyecho_verdict_word(a->verdict));
        return false;
    }
    if (plyecho_labels_known(trace->labels, "gain_db", trace->channel, &gain, err) !=
        PLYECHO_OK)
        return false;
    if (levels->sound == 0)
        levels->gain_db = gain;
    if (gain.known != levels->gain_db.known) {
        plyecho_fail(
            err, PLYECHO_UNSUITABLE,
            "some sound traces state their gain and some do not; set the label gain_db "
            "in all");
        return false;
    }
    plyecho_wall_pick(conditioned, &setup->assess.wall, &picks);
    double back =
        picks.back >= 0 ? decibels(picks.echoes[picks.back].amplitude) - gain.value : NAN;
    levels->least_back_db = fmin(levels->least_back_db, back);
    levels->most_back_db = fmax(levels->most_back_db, back);
    levels->highest_db = fmax(levels->highest_db, decibels(a->highest_inner));
    levels->sound++;
    return true;
}

static bool take_artificial(const struct plyecho_assessment *a, struct levels *levels,
                            struct plyecho_error *err)
{
    if (!a->has_indication) {
        plyecho_fail(err, PLYECHO_UNSUITABLE,
                     "no echo inside is found (%s); take a trace over the middle of the "
                     "artificial delamination",
                     plyecho_verdict_word(a->verdict));
        return false;
    }
    levels->weakest_db = fmin(levels->weakest_db, decibels(a->strength));
    levels->artificial++;
    return true;
}

static bool take_file(struct setup *setup, const char *name, double sample_rate_hz, bool sound,
                      struct levels *levels, struct messages *messages)
{
    struct plyecho_read_options read = {.sample_rate_hz = sample_rate_hz,
                                        .velocity_m_s = setup->assess.wall.velocity_m_s};
    struct plyecho_traces traces = {0};
    struct plyecho_error err;
    bool good = inputs_read_one(name, &read, &traces, &err) == PLYECHO_OK;
    for (size_t c = 1; good && c <= traces.channels; c++) {
        struct plyecho_trace trace = plyecho_traces_channel(&traces, c);
        struct plyecho_conditioned conditioned;
        struct plyecho_assessment a;
        good = setup_condition(setup, &trace, &conditioned, &err) == PLYECHO_OK;
        if (!good)
            break;
        plyecho_assess(&conditioned, &trace, &setup->assess, &a);
        good = sound ? take_sound(setup, &trace, &conditioned, &a, levels, &err)
                     : take_artificial(&a, levels, &err);
    }
    if (!good)
        message_error(messages, name, &err);
    plyecho_traces_clear(&traces);
    return good;
}

static bool write_levels(const struct calibrate_values *v, const struct levels *levels,
                         double recording_db, double evaluation_db, struct messages *messages)
{
    struct procedure_changes changes = {.count = 0};
    procedure_changes_add(&changes, "calibration", "recording_level_db", "%.1f", recording_db);
    procedure_changes_add(&changes, "calibration", "evaluation_level_db", "%.1f",
                          evaluation_db);
    if (levels->gain_db.known)
        procedure_changes_add(&changes, "calibration", "reference_gain_db", "%.1f",
                              levels->gain_db.value);
    else /* that of an earlier calibration is not these levels' */
        procedure_changes_drop(&changes, "calibration", "reference_gain_db");
    return procedure_changes_write(&changes, v->into.value, messages);
}

/* NULL: there is nothing to say. */
static const char *warning_of(bool weak, bool uneven)
{
    if (weak)
        return "the weakest artificial delamination does not stand clear of the sound wall's own "
               "echoes: it may pass unseen";
    return uneven ? "the sound places' back walls differ by more than 6 dB at one gain: couple "
                    "evenly and take them again, or look whether all are sound"
                  : NULL;
}

static enum status tell(const struct calibrate_values *v, const struct levels *l,
                        struct messages *messages)
{
    bool weak = l->artificial > 0 &&
                l->weakest_db - evaluation_margin_db < l->highest_db + recording_margin_db;
    double recording_db = l->highest_db + recording_margin_db;
    double evaluation_db = l->artificial > 0
                               ? fmax(recording_db, l->weakest_db - evaluation_margin_db)
                               : recording_db + evaluation_margin_db;
    double spread_db = l->most_back_db - l->least_back_db;
    bool uneven = spread_db > most_spread_db;
    struct table table;
    table_begin(&table, &v->table, columns, COLUMNS, stdout);
    const struct cell cells[COLUMNS] = {
        cell_level(recording_db),
        cell_level(evaluation_db),
        l->gain_db.known ? cell_number(l->gain_db.value) : cell_unknown(),
        cell_count(l->sound),
        cell_count(l->artificial),
        cell_yes_no(weak || uneven),
        cell_level(l->highest_db),
        l->artificial > 0 ? cell_level(l->weakest_db) : cell_unknown(),
        cell_level(spread_db),
        cell_text(warning_of(weak, uneven)),
    };
    table_row(&table, cells);
    if (v->into.set && weak)
        message_trouble(
            messages, v->into.value,
            "nothing written: no level parts the weakest artificial delamination "
            "(%.1f dB) from the sound wall's echoes (%.1f dB); use another probe or band",
            l->weakest_db, l->highest_db);
    else if (v->into.set)
        write_levels(v, l, recording_db, evaluation_db, messages);
    return verb_status(messages, weak || uneven);
}

enum status calibrate_levels(const struct calibrate_values *v, struct setup *setup,
                             struct messages *messages)
{
    struct levels levels = {.highest_db = -INFINITY,
                            .weakest_db = INFINITY,
                            .least_back_db = INFINITY,
                            .most_back_db = -INFINITY};
    double rate = v->sample_rate_hz.value;
    if (!(setup->assess.wall.velocity_m_s > 0.0) || !setup->assess.wall.nominal_m.known) {
        message_trouble(messages, NULL,
                        "levels need velocity and nominal wall; give a --procedure with "
                        "velocity_m_s under [material] and nominal_mm under [part]");
        return STATUS_TROUBLE;
    }
    for (size_t i = 0; i < v->sound.count; i++)
        if (!take_file(setup, v->sound.items[i], rate, true, &levels, messages))
            return STATUS_TROUBLE;
    for (size_t i = 0; i < v->artificial.count; i++)
        if (!take_file(setup, v->artificial.items[i], rate, false, &levels, messages))
            return STATUS_TROUBLE;
    return tell(v, &levels, messages);
}
