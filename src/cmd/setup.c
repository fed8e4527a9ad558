#include <config.h>

#include "setup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <plyecho/date.h>

#include "effective.h"
#include "memory.h"
#include "procedure_doubts.h"
#include "procedure_file.h"

/* Centre frequencies further apart than this share are of two probes. */
static const double other_probe = 0.35;

/* What the pulse's band leaves of another probe's echoes lies nearer than that. */
static const double same_probe = 0.2;

static const char *const modes[] = {"auto", "1", "2", "3", NULL};

const struct option setup_over_options[] = {
    {.name = "velocity",
     .kind = OPTION_NUMBER,
     .argument = "M/S",
     .range = OPTION_BETWEEN,
     .least = 100,
     .most = 20000,
     .offset = offsetof(struct setup_values, velocity_m_s),
     .help = "phase velocity of the wall at the pulse's centre frequency"},
    {.name = "velocity-u",
     .kind = OPTION_NUMBER,
     .argument = "M/S",
     .range = OPTION_AT_LEAST,
     .offset = offsetof(struct setup_values, velocity_u_m_s),
     .help = "its standard uncertainty; 0 states it as exact, without it the thickness has no "
             "uncertainty"},
    {.name = "nominal",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_BETWEEN,
     .least = PLYECHO_WALL_LEAST_MM,
     .most = PLYECHO_WALL_MOST_MM,
     .offset = offsetof(struct setup_values, nominal_mm),
     .help =
         "wall thickness that the part should have; without it no full shadow is told from a "
         "thin wall"},
    {.name = "attenuation",
     .kind = OPTION_NUMBER,
     .argument = "DB/MM/MHZ",
     .range = OPTION_AT_LEAST,
     .offset = offsetof(struct setup_values, attenuation_db_mm_mhz),
     .help = "attenuation of the wall, one way; without it the back wall's level "
             "is not assessed, and porosity not ruled out"},
    {.name = "mode",
     .kind = OPTION_WORD,
     .argument = "MODE",
     .words = modes,
     .has_preset = true,
     .preset = 0,
     .offset = offsetof(struct setup_values, mode),
     .help =
         "measuring mode after ISO 16809: 1 transmission pulse to back wall, 2 interface echo "
         "to back wall, 3 between back-wall echoes"},
    {.name = "zero",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct setup_values, zero_us),
     .help = "zero offset of mode 1: what the time base reads at the wall's front, in µs"},
    {.name = "zero-u",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .range = OPTION_AT_LEAST,
     .offset = offsetof(struct setup_values, zero_u_us),
     .help = "its standard uncertainty in µs; without it mode 1 gives none"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = band_options,
     .offset = offsetof(struct setup_values, band)},
    {.name = "pulse",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct setup_values, pulse),
     .help = "trace with one clean echo of the same probe and settings, best the delay line's "
             "end in air"},
    {.name = "layers",
     .kind = OPTION_TEXT,
     .argument = "LAYERS",
     .offset = offsetof(struct setup_values, layers),
     .help = "what is expected in the wall, from outside in, as under [layers] in a procedure "
             "file, ; between layers: \"carbon = 3.2 mm; glass = 1.1 mm, 2800 m/s\""},
    {.name = NULL},
};

const struct option setup_options[] = {
    {.name = "procedure",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct setup_values, procedure),
     .help = "procedure file with part, material, settings and limits; options win over it"},
    {.name = "", .kind = OPTION_GROUP, .group = setup_over_options, .offset = 0},
    {.name = NULL},
};

/* ---- procedure file and options ---- */

static struct plyecho_known known(const struct plyecho_setting *setting)
{
    return (struct plyecho_known){setting->set, setting->set ? setting->value : 0.0};
}

void setup_take_wall(const struct plyecho_procedure *p, struct plyecho_wall_options *wall)
{
    *wall = plyecho_wall_defaults();
    wall->velocity_m_s = known(&p->material.velocity_m_s).value;
    wall->velocity_u = known(&p->material.velocity_u_m_s);
    wall->nominal_m = known(&p->part.nominal_m);
    wall->tolerance_m = PLYECHO_NOMINAL_TOLERANCE_SHARE * wall->nominal_m.value;
    if (p->part.nominal_tolerance_m.set)
        wall->tolerance_m = p->part.nominal_tolerance_m.value;
    wall->attenuation = known(&p->material.attenuation_np_m_hz);
    if (p->signal.mode.set)
        wall->mode = (enum plyecho_mode)(int)p->signal.mode.value;
    wall->zero_s = known(&p->calibration.zero_s);
    wall->zero_u_s = known(&p->calibration.zero_u_s);
}

/* What else shifts a thickness. Of a velocity from the command line nobody knows at which temperature and by
 * how many steps it was found. */
static void take_influences(struct setup *setup, const struct setup_values *values)
{
    const struct plyecho_procedure *p = &setup->procedure;
    struct plyecho_wall_options *wall = &setup->assess.wall;
    const struct plyecho_setting *part = &p->material.temperature_c;
    const struct plyecho_setting *steps = &p->calibration.temperature_c;
    const struct plyecho_setting *correlation = &p->calibration.velocity_zero_correlation;
    bool calibrated = p->material.velocity_m_s.set && !values->velocity_m_s.set &&
                      !values->velocity_u_m_s.set;
    bool zero = p->calibration.zero_s.set && !values->zero_us.set && !values->zero_u_us.set;
    struct plyecho_influences i = {
        .clock_limit = known(&p->equipment.clock_limit),
        .couplant_limit = known(&p->equipment.couplant_limit_s),
        .curvature_u_m = known(&p->part.curvature_u_m),
    };
    if (calibrated)
        i.freedom = known(&p->calibration.freedom);
    if (calibrated && part->set && steps->set) {
        i.warmer_k = (struct plyecho_known){true, part->value - steps->value};
        i.warmer_limit_k = known(&p->material.temperature_limit_k);
        i.velocity_per_k = known(&p->material.velocity_per_k);
        i.velocity_per_k_u = known(&p->material.velocity_per_k_u);
    }
    if (calibrated && zero && correlation->set)
        wall->velocity_zero_correlation = correlation->value;
    wall->influences = i;
}

/* From the steps' temperature to the part's: a shift that is known is corrected (JCGM 100, 3.2.3). */
static void correct_velocity(struct setup *setup, const char *procedure_file,
                             const struct messages *messages)
{
    struct plyecho_wall_options *wall = &setup->assess.wall;
    const struct plyecho_influences *i = &wall->influences;
    double by = i->velocity_per_k.value * i->warmer_k.value;
    if (!i->warmer_k.known || !i->velocity_per_k.known || by == 0.0)
        return;
    wall->velocity_m_s += by;
    message_note(messages, procedure_file,
                 "velocity corrected by %+.1f m/s to %.1f m/s: the part is at %g C, the steps "
                 "were at %g C",
                 by, wall->velocity_m_s, setup->procedure.material.temperature_c.value,
                 setup->procedure.calibration.temperature_c.value);
}

/* What the material's name gives where neither file nor options say. */
static void take_material(struct setup *setup, bool needs_velocity, const char *procedure_file,
                          const struct messages *messages)
{
    struct plyecho_procedure *p = &setup->procedure;
    struct plyecho_wall_options *wall = &setup->assess.wall;
    const struct plyecho_medium *medium = effective_take_material(p);
    if (medium == NULL)
        return;
    wall->attenuation = known(&p->material.attenuation_np_m_hz);
    if (wall->velocity_m_s > 0.0)
        return;
    wall->velocity_m_s = p->material.velocity_m_s.value;
    wall->velocity_u = known(&p->material.velocity_u_m_s);
    if (needs_velocity)
        message_note(messages, procedure_file,
                     "velocity %.0f m/s (u %.0f m/s) is the table's for %s, a starting value: "
                     "calibrate on the same lay-up before a thickness counts",
                     wall->velocity_m_s, wall->velocity_u.value, medium->name);
}

/* Of a nominal that is not the file's: a procedure that contradicts itself was refused when it was read. Where
 * an option brings it in, every wall is flagged, on the safe side, and no option mends it. */
static bool check_least(const struct setup *setup, const struct setup_values *values,
                        struct messages *messages)
{
    static const char words[] =
        "line %ld: least_mm = %.6g is above the nominal wall of %.6g mm: "
        "a wall as it should be is rejected";
    const struct plyecho_known *nominal = &setup->assess.wall.nominal_m;
    const struct plyecho_known *least = &setup->assess.least_m;
    const char *file = values->procedure.value;
    long line = setup->procedure.acceptance.least_m.line;
    if (!nominal->known || !least->known || least->value <= nominal->value)
        return true;
    bool by_option = values->nominal_mm.set || values->layers.set;
    if (by_option)
        message_note(messages, file, words, line, least->value * 1e3, nominal->value * 1e3);
    else
        message_trouble(messages, file, words, line, least->value * 1e3, nominal->value * 1e3);
    return by_option;
}

/* ---- reference pulse ---- */

/* said_by: the procedure that names the pulse, or NULL where an option does. */
static bool take_reference(struct setup *setup, const char *path, const char *said_by,
                           double sample_rate_hz, struct messages *messages)
{
    struct plyecho_read_options read = {.sample_rate_hz = sample_rate_hz};
    struct plyecho_traces traces = {0};
    struct plyecho_conditioned conditioned;
    struct plyecho_error err;
    struct conditioning conditioning = setup->conditioning;
    conditioning.conditioner = NULL;
    enum plyecho_code code = inputs_read_one(path, &read, &traces, &err);
    if (code == PLYECHO_OK && traces.channels > 1)
        code = plyecho_fail(&err, PLYECHO_UNSUITABLE,
                            "%zu channels: a reference pulse is one trace with one clean echo, "
                            "best the delay line's end in air",
                            traces.channels);
    if (code == PLYECHO_OK) {
        struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
        code = conditioning_run(&conditioning, &trace, &conditioned, &err);
        if (code == PLYECHO_OK)
            code = plyecho_reference_take(&conditioned, &trace, &setup->reference, &err);
    }
    if (code == PLYECHO_OK) {
        setup->assess.reference = &setup->reference;
        setup->assess.wall.front_s = (struct plyecho_known){true, setup->reference.time_s};
    } else if (said_by == NULL)
        message_error(messages, path, &err);
    else
        message_trouble(messages, said_by, "line %ld: pulse %s: %s",
                        setup->procedure.signal.pulse.line, path, err.text);
    conditioning_close(&conditioning);
    plyecho_traces_clear(&traces);
    return code == PLYECHO_OK;
}

/* One that the procedure names lies beside it. */
char *setup_pulse_path(const struct setup *setup, const char *procedure_file)
{
    const struct plyecho_text_setting *pulse = &setup->procedure.signal.pulse;
    if (pulse->value == NULL)
        return NULL;
    return pulse->line == 0 ? memory_text(pulse->value)
                            : procedure_file_beside(procedure_file, pulse->value);
}

static bool open_pulse(struct setup *setup, const char *procedure_file, double sample_rate_hz,
                       struct messages *messages)
{
    char *path = setup_pulse_path(setup, procedure_file);
    bool by_option = setup->procedure.signal.pulse.line == 0;
    bool good = path == NULL || take_reference(setup, path, by_option ? NULL : procedure_file,
                                               sample_rate_hz, messages);
    free(path);
    return good;
}

struct doubts_told {
    struct setup *setup;
    const char *file;
    const struct messages *messages;
};

/* list, which is freed, and one more; NULL: none yet. */
static char *with_more(char *list, const char *between, const char *more)
{
    size_t room = (list != NULL ? strlen(list) + strlen(between) : 0) + strlen(more) + 1;
    char *all = memory_take(room, 1);
    snprintf(all, room, "%s%s%s", list != NULL ? list : "", list != NULL ? between : "", more);
    free(list);
    return all;
}

static void tell_doubt(void *context, const struct procedure_doubt *doubt)
{
    const struct doubts_told *told = context;
    char where[32] = "";
    if (doubt->line > 0)
        snprintf(where, sizeof where, "line %ld: ", doubt->line);
    size_t room = strlen(where) + strlen(doubt->key) + 2 + strlen(doubt->words) + 1;
    char *words = memory_take(room, 1);
    snprintf(words, room, "%s%s: %s", where, doubt->key, doubt->words);
    told->setup->doubts = with_more(told->setup->doubts, "; ", words);
    if (doubt->walls)
        told->setup->wall_doubts = with_more(told->setup->wall_doubts, ", ", doubt->key);
    message_note(told->messages, told->file, "%s", words);
    free(words);
}

void setup_today(char day[SETUP_DAY_ROOM])
{
    time_t now = time(NULL);
    struct tm parts = {.tm_mday = 1};
    gmtime_r(&now, &parts);
    strftime(day, SETUP_DAY_ROOM, "%Y-%m-%d", &parts);
}

/* The readings' own day, where that is stated. */
static void take_day(struct setup *setup, const char *day)
{
    const char *read_on = setup->procedure.inspection.date.value;
    snprintf(setup->judged_on, sizeof setup->judged_on, "%.10s",
             read_on != NULL ? read_on : day);
}

/* A date that is left from an earlier part would hide that. */
static void note_expired(const struct setup *setup, const char *file, long today,
                         const struct messages *messages)
{
    const struct plyecho_text_setting *date = &setup->procedure.calibration.date;
    const struct plyecho_setting *valid = &setup->procedure.calibration.valid_days;
    long days = today - plyecho_date_days(date->value);
    long then = plyecho_date_days(setup->judged_on) - plyecho_date_days(date->value);
    if (valid->set && (double)days > valid->value && (double)then <= valid->value)
        message_note(
            messages, file,
            "line %ld: date: the calibration held on %s, the [inspection] date, and has "
            "expired since; mend that date if it is not of these readings",
            date->line, setup->judged_on);
}

static void tell_doubts(struct setup *setup, const char *file, const char *day,
                        const struct messages *messages)
{
    const struct procedure_doubts_about about = {file, plyecho_date_days(day), true};
    struct doubts_told told = {setup, file, messages};
    if (setup->procedure.calibration.date.value != NULL) {
        take_day(setup, day);
        note_expired(setup, file, about.today, messages);
    }
    procedure_doubts(&setup->procedure, &about, tell_doubt, &told);
}

bool setup_open(struct setup *setup, const struct setup_values *values, bool needs_velocity,
                double sample_rate_hz, struct messages *messages)
{
    char today[SETUP_DAY_ROOM];
    memset(setup, 0, sizeof *setup);
    setup_today(today);
    if (values->procedure.set &&
        !procedure_file_read(values->procedure.value, &setup->procedure, messages))
        return false;
    if (!effective_take_options(&setup->procedure, values, messages))
        return false;
    if (needs_velocity && values->procedure.set)
        tell_doubts(setup, values->procedure.value, values->day != NULL ? values->day : today,
                    messages);
    setup_take_wall(&setup->procedure, &setup->assess.wall);
    setup->assess.least_m = known(&setup->procedure.acceptance.least_m);
    take_influences(setup, values);
    if (needs_velocity)
        correct_velocity(setup, values->procedure.value, messages);
    take_material(setup, needs_velocity, values->procedure.value, messages);
    if (!place_open(&setup->place, values->layers.value, &setup->procedure,
                    values->procedure.value, &setup->assess.wall, messages) ||
        !check_least(setup, values, messages))
        return false;
    if (setup->place.all.count > 0)
        setup->assess.layers = &setup->place.here;
    if (needs_velocity && !(setup->assess.wall.velocity_m_s > 0.0)) {
        message_trouble(messages, NULL,
                        "no velocity: give --velocity M/S, or a --procedure with velocity_m_s "
                        "under [material]");
        return false;
    }
    const struct plyecho_band_setting *band = &setup->procedure.signal.band_hz;
    conditioning_open(&setup->conditioning, band->set ? &band->value : NULL);
    if (!open_pulse(setup, values->procedure.value, sample_rate_hz, messages))
        return false;
    /* with a known pulse its band serves all traces */
    if (!band->set && setup->assess.reference != NULL)
        conditioning_open(&setup->conditioning, &setup->reference.band);
    return true;
}

/* Are they the echoes of a probe at all, whatever its frequency? */
static bool holds_echoes(const struct plyecho_trace *trace)
{
    struct conditioning own;
    struct plyecho_conditioned conditioned;
    struct plyecho_error err;
    conditioning_open(&own, NULL);
    bool whole = conditioning_run(&own, trace, &conditioned, &err) == PLYECHO_OK &&
                 plyecho_echoes_whole(&conditioned, trace);
    conditioning_close(&own);
    return whole;
}

/* A pulse of another probe would judge everything wrong: the echoes' own centre frequency, of the
 * first trace taken from each file, must be the pulse's, give or take what attenuation takes. */
static enum plyecho_code check_probe(struct setup *setup, const struct plyecho_trace *trace,
                                     const struct plyecho_conditioned *conditioned,
                                     struct plyecho_error *err)
{
    if (setup->assess.reference == NULL || trace->signal != PLYECHO_SIGNAL_RF)
        return PLYECHO_OK;
    struct plyecho_band own;
    enum plyecho_code code = PLYECHO_OK;
    double pulse_hz = 0.5 * (setup->reference.band.low_hz + setup->reference.band.high_hz);
    bool new_file = trace->channel <= setup->last_channel || setup->last_channel == 0;
    setup->last_channel = trace->channel;
    if (new_file) {
        code = conditioning_own_band(&setup->conditioning, trace, &own, err);
        setup->own_centre_hz = code == PLYECHO_OK ? 0.5 * (own.low_hz + own.high_hz) : pulse_hz;
    }
    if (code == PLYECHO_UNSUITABLE)
        return PLYECHO_OK; /* no echo at all: the judge says so */
    /* interference may be stronger than the echoes: those in the pulse's band decide; a spoilt record is
     * the judge's */
    if (code == PLYECHO_OK && fabs(setup->own_centre_hz / pulse_hz - 1.0) > other_probe &&
        !plyecho_reference_fits(conditioned, trace, &setup->reference, same_probe) &&
        holds_echoes(trace))
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "its echoes centre on %.1f MHz, the reference pulse on %.1f MHz: not "
            "the same probe; record the pulse anew, or leave it out",
            setup->own_centre_hz * 1e-6, pulse_hz * 1e-6);
    return code;
}

void setup_begin_file(struct setup *setup)
{
    setup->last_channel = 0;
}

/* What fits whole traces, each at its own sample rate. */
static enum plyecho_code make_fit(struct setup *setup, double sample_rate_hz,
                                  struct plyecho_error *err)
{
    struct plyecho_wall_options *wall = &setup->assess.wall;
    if (setup->fit_rate_hz == sample_rate_hz)
        return PLYECHO_OK;
    plyecho_plate_fit_free(wall->fit);
    plyecho_stacks_free(setup->assess.stacks);
    wall->fit = NULL;
    setup->assess.stacks = NULL;
    setup->fit_rate_hz = 0.0;
    const struct plyecho_reference *r = setup->assess.reference;
    enum plyecho_code code = plyecho_stacks_new(&setup->assess.stacks, sample_rate_hz,
                                                r != NULL ? &r->shape : NULL, err);
    if (r != NULL && code == PLYECHO_OK)
        code = plyecho_plate_fit_new(&wall->fit, &setup->reference.shape,
                                     &setup->reference.band, sample_rate_hz, err);
    if (code == PLYECHO_OK)
        setup->fit_rate_hz = sample_rate_hz;
    return code;
}

/* Levels say nothing where the gain changes along the trace. */
static enum plyecho_code check_gain(const struct plyecho_trace *trace,
                                    struct plyecho_error *err)
{
    if (plyecho_labels_get(trace->labels, "tcg", trace->channel) == NULL)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                        "time-corrected gain was applied (label tcg), so levels cannot be "
                        "compared; judge the trace as it was before");
}

enum plyecho_code setup_condition(struct setup *setup, const struct plyecho_trace *trace,
                                  struct plyecho_conditioned *out, struct plyecho_error *err)
{
    enum plyecho_code code = check_gain(trace, err);
    if (code == PLYECHO_OK)
        code = place_at(&setup->place, trace, &setup->assess.wall, err);
    if (code == PLYECHO_OK)
        code = make_fit(setup, trace->sample_rate_hz, err);
    if (code == PLYECHO_OK)
        code = conditioning_run(&setup->conditioning, trace, out, err);
    if (code == PLYECHO_OK)
        code = check_probe(setup, trace, out, err);
    /* in the trace itself echoes may run into each other */
    if (code == PLYECHO_OK && setup->assess.reference != NULL)
        out->pulse_s = setup->reference.pulse_s;
    return code;
}

void setup_close(struct setup *setup)
{
    plyecho_plate_fit_free(setup->assess.wall.fit);
    plyecho_stacks_free(setup->assess.stacks);
    conditioning_close(&setup->conditioning);
    plyecho_procedure_clear(&setup->procedure);
    free(setup->doubts);
    free(setup->wall_doubts);
}
