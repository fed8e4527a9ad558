/* Thickness from picked echoes, by measuring mode. */
#include <plyecho/wall.h>

#include <math.h>

#include <plyecho/clipping.h>
#include <plyecho/plate_fit.h>
#include <plyecho/transit.h>

#include "fourier.h"
#include "usual.h"

/* A time whose chance of a skipped cycle is above this is not given. */
static const double most_other_cycle = 0.2;

/* Standard deviation of the echoes of plies over the back wall's, where they cannot be seen: 0.015 at
 * 5 MHz and 0.03 at 10 MHz on the simulated laminates of tests/reference. */
static const double usual_plies_per_hz = 0.03 / 10e6;

/* What they do to a time over what as much noise would do: measured there too. */
static const double plies_in_step = 1.8;

/* A fit of the whole trace with more than this chi-squared per degree of freedom is of something
 * that the trace is not. */
static const double most_misfit = 2.0;

/* Without the oscillation, echoes that run into one of the two draw its peak aside by some share of
 * the pulse length (our choice, from the simulated laminates rectified). */
static const double peak_drawn = 0.1;

static const char *const words[PLYECHO_REASON_COUNT] = {
    [PLYECHO_REASON_NONE] = "",
    [PLYECHO_REASON_NO_ECHO] = "no-echo",
    [PLYECHO_REASON_NO_FRONT_ECHO] = "no-front-echo",
    [PLYECHO_REASON_NO_BACK_ECHO] = "no-back-echo",
    [PLYECHO_REASON_NO_SECOND_ECHO] = "no-second-echo",
    [PLYECHO_REASON_CLIPPED] = "clipped",
    [PLYECHO_REASON_TOO_NOISY] = "too-noisy",
    [PLYECHO_REASON_CYCLE] = "cycle-not-certain",
    [PLYECHO_REASON_OUTSIDE_TIME_BASE] = "outside-time-base",
    [PLYECHO_REASON_NO_COUPLING] = "no-coupling",
    [PLYECHO_REASON_NOT_A_WALL] = "not-a-wall",
    [PLYECHO_REASON_OFF_NOMINAL] = "off-nominal",
    [PLYECHO_REASON_NO_ZERO] = "no-zero",
    [PLYECHO_REASON_NO_NOMINAL] = "no-nominal",
    [PLYECHO_REASON_NOT_INSPECTED] = "not-inspected",
    [PLYECHO_REASON_LINE_REPEATS] = "line-repeats",
    [PLYECHO_REASON_DISTURBED] = "disturbed",
    [PLYECHO_REASON_BASE_STEP] = "base-line-step",
    [PLYECHO_REASON_SAMPLES_LOST] = "samples-lost",
    [PLYECHO_REASON_ONE_SIDED] = "one-sided",
    [PLYECHO_REASON_DISTORTED] = "distorted",
    [PLYECHO_REASON_SIGN_LOST] = "sign-lost",
    [PLYECHO_REASON_NOT_EXPLAINED] = "not-explained",
    [PLYECHO_REASON_COAT_UNSURE] = "coat-not-sure",
    [PLYECHO_REASON_SHOTS_DISAGREE] = "shots-disagree",
};

const char *plyecho_reason_word(enum plyecho_reason reason)
{
    if ((unsigned)reason >= PLYECHO_REASON_COUNT || words[reason] == NULL)
        return "unknown";
    return words[reason];
}

struct plyecho_wall_options plyecho_wall_defaults(void)
{
    return (struct plyecho_wall_options){.mode = PLYECHO_MODE_AUTO};
}

bool plyecho_echo_clipped(const struct plyecho_trace *raw, const struct plyecho_picks *p,
                          int echo)
{
    double rate = raw->sample_rate_hz, last = (double)raw->samples;
    double at = (p->echoes[echo].time_s - raw->start_s) * rate, reach = 0.6 * p->pulse_s * rate;
    size_t from = (size_t)fmax(0.0, at - reach), to = (size_t)fmin(last, at + reach + 1.0);
    struct plyecho_clipping clipping;
    return from < to && plyecho_clipping_find(raw, from, to, &clipping);
}

/* Standard uncertainty of an envelope peak's time from noise alone: the Cramer-Rao form
 * 1 / (snr x rms bandwidth) with the bandwidth of a Gaussian of this pulse length. */
static double peak_time_u(const struct plyecho_echo *echo, double pulse_s)
{
    double rms_bandwidth = 2.0 * PE_PI * 0.36 / pulse_s;
    return 1.0 / (pow(10.0, echo->snr_db / 20.0) * rms_bandwidth);
}

/* Stretch of an echo about its peak, in pulse lengths: probes ring on behind it. */
static const double stretch_before = 0.75, stretch_after = 1.5;

static const double least_apart = 1.9;

/* Stretch about each echo that is compared: the pulse, but nothing of the next echo. */
static void choose_stretch(const struct plyecho_picks *p, int a, int b,
                           struct plyecho_transit_task *task)
{
    task->before_s = stretch_before * p->pulse_s;
    task->after_s = stretch_after * p->pulse_s;
    const int ends[2] = {a, b};
    for (int e = 0; e < 2; e++) {
        for (int k = 0; k < p->count; k++) {
            double gap = p->echoes[k].time_s - p->echoes[ends[e]].time_s;
            bool matters = p->echoes[k].amplitude > 0.15 * p->echoes[ends[e]].amplitude;
            if (!matters || k == ends[e])
                continue;
            if (gap > 0.0 && gap < 2.0 * task->after_s)
                task->after_s = fmax(0.4 * p->pulse_s, fmin(task->after_s, 0.6 * gap));
            if (gap < 0.0 && -gap < 2.0 * task->before_s)
                task->before_s = fmax(0.4 * p->pulse_s, fmin(task->before_s, -0.6 * gap));
        }
    }
}

/* Highest envelope within a quarter of a pulse length about a time; 0 outside the record. */
static double height_near(const struct plyecho_conditioned *t, double time_s, double pulse_s)
{
    double rate = t->sample_rate_hz, reach = 0.25 * pulse_s * rate, high = 0.0;
    double x = (time_s - t->start_s) * rate;
    size_t from = (size_t)fmax(0.0, x - reach);
    size_t to = (size_t)fmax(0.0, fmin(x + reach + 1.0, (double)t->samples));
    for (size_t i = from; i < to; i++)
        high = fmax(high, t->envelope[i]);
    return high;
}

/* Does the delay line repeat? Its repeat (time 0 is the transmission pulse) goes with two passages of
 * the front, 2 (1 - r^2) / r times as high and one transit later: if that does not stand out of the
 * noise and of the wall's own repeats, neither does the former. */
static bool line_repeats(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                         double line_s, double transit_s)
{
    double front_s = p->echoes[p->front].time_s;
    double there = height_near(t, front_s + line_s + transit_s, p->pulse_s);
    double before = height_near(t, front_s + line_s, p->pulse_s);
    double own = 1.5 * PE_USUAL_FRONT_REFLECTION * before;
    return there > hypot(5.0 * t->noise, own);
}

/* Further repeats of the wall that can be compared with front and back: not where the delay line's own
 * repeats lie, each followed by the wall's. */
static unsigned further_echoes(const struct plyecho_conditioned *t,
                               const struct plyecho_picks *p,
                               const struct plyecho_transit_task *task)
{
    double transit = task->second_s - task->first_s, line = task->first_s;
    double length = task->before_s + task->after_s;
    unsigned further = 0;
    if (p->front < 0 || transit < length)
        return 0;
    bool repeats = line_repeats(t, p, line, transit);
    for (int n = 2; n <= PLYECHO_TRANSIT_ECHOES; n++) {
        double behind = n * transit - line;                /* the line's first repeat */
        double order = fmax(0.0, round(behind / transit)); /* of the wall's, behind that */
        bool in_the_way = fabs(behind - order * transit) < length;
        if (!in_the_way || (order < 1.0 && !repeats))
            further |= 1u << (n - 2);
    }
    return further;
}

/* Sum of the envelope between two times, and of how many samples. */
struct stretch_sum {
    double sum;
    size_t samples;
};

static void add_between(const struct plyecho_conditioned *t, double from_s, double to_s,
                        struct stretch_sum *sum)
{
    double rate = t->sample_rate_hz, from = (from_s - t->start_s) * rate;
    double to = fmin((to_s - t->start_s) * rate, (double)t->samples);
    if (!(from >= 0.0))
        return;
    for (size_t i = (size_t)from; (double)i < to; i++, sum->samples++)
        sum->sum += t->envelope[i];
}

/* Standard deviation of what lies between two echoes, and as far behind the second, beyond noise: the
 * echoes of plies, where nothing else is there. By the mean of the envelope, which a lone echo raises
 * less than the mean square; that of noise is sqrt(pi/2) standard deviations (Rayleigh). Where there is
 * too little to tell, what plies usually reflect. */
static double rms_between(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                          const struct plyecho_echo *a, const struct plyecho_echo *b)
{
    double before = stretch_before * p->pulse_s, after = stretch_after * p->pulse_s;
    struct stretch_sum between = {0};
    add_between(t, a->time_s + after, b->time_s - before, &between);
    add_between(t, b->time_s + after, 2.0 * b->time_s - a->time_s - before, &between);
    if ((double)between.samples < p->pulse_s * t->sample_rate_hz)
        return usual_plies_per_hz * t->centre_hz * fmax(a->amplitude, b->amplitude);
    double rms = between.sum / (double)between.samples / sqrt(0.5 * PE_PI);
    return sqrt(fmax(0.0, rms * rms - t->noise * t->noise));
}

/* What plies do to a time beyond noise: as much as lies between the echoes lies under them, and turns
 * the phase of the weaker one by its share; nearly twice that, because plies of one thickness add up. It
 * is the same in all shots, and its sign depends on the plies' thickness. */
static double ply_time_u(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                         int a, int b)
{
    const struct plyecho_echo *first = &p->echoes[a], *second = &p->echoes[b];
    double turn = plies_in_step * rms_between(t, p, first, second) /
                  fmin(first->amplitude, second->amplitude);
    return turn / (2.0 * PE_PI * t->centre_hz);
}

/* Growth of the loss with frequency, in Np per Hz, of a path that takes so long. */
static double loss_of(const struct plyecho_wall_options *o, double time_s)
{
    double per_m = o->attenuation.known ? o->attenuation.value : PE_USUAL_LOSS;
    return per_m * time_s * o->velocity_m_s;
}

/* How much earlier an envelope's peak comes than the phase at the centre frequency, after a loss that
 * grows so with frequency (docs/method.md, section 4). */
static double peak_ahead(double loss_np_hz)
{
    return loss_np_hz / (PE_PI * PE_PI);
}

/* Its standard uncertainty: a stated attenuation is good to a fifth, a usual one to itself. */
static double peak_ahead_u(const struct plyecho_wall_options *o, double ahead_s)
{
    return (o->attenuation.known ? 0.2 : 1.0) * ahead_s;
}

/* Phase delay between two echoes: by their spectra, or by envelope peaks where the sign is
 * lost. */
static void time_between(const struct plyecho_conditioned *t,
                         const struct plyecho_wall_options *o, const struct plyecho_picks *p,
                         int a, int b, int sign, struct plyecho_thickness *out)
{
    const struct plyecho_echo *first = &p->echoes[a], *second = &p->echoes[b];
    double apart = second->time_s - first->time_s;
    double loss = loss_of(o, apart);
    if (!t->has_sign) {
        out->time_s = apart + peak_ahead(loss);
        double u1 = peak_time_u(first, p->pulse_s), u2 = peak_time_u(second, p->pulse_s);
        double drawn_u = peak_drawn * p->pulse_s;
        double peaks_u = sqrt(u1 * u1 + u2 * u2 + drawn_u * drawn_u);
        out->plies_u_s = ply_time_u(t, p, a, b);
        out->dispersion_u_s = peak_ahead_u(o, peak_ahead(loss));
        out->time_u_s = hypot(peaks_u, hypot(out->plies_u_s, out->dispersion_u_s));
        out->ratio = second->amplitude / first->amplitude;
        return;
    }
    struct plyecho_transit_task task = {
        .first_s = first->time_s,
        .second_s = second->time_s,
        .reference_hz = t->centre_hz,
        .sign = sign,
        .loss_np_hz = loss,
        .loss_u_np_hz = (o->attenuation.known ? 0.4 : 1.0) * loss,
    };
    choose_stretch(p, a, b, &task);
    if (a == p->front)
        task.further = further_echoes(t, p, &task);
    struct plyecho_transit transit;
    if (plyecho_transit_fit(t, &task, &transit, NULL) != PLYECHO_OK) {
        out->reason = PLYECHO_REASON_OUTSIDE_TIME_BASE;
        return;
    }
    out->time_s = transit.time_s;
    out->plies_u_s = ply_time_u(t, p, a, b);
    out->time_u_s = hypot(transit.u_s, out->plies_u_s);
    out->ratio = transit.ratio;
    out->loss_np_hz = transit.loss_np_hz;
    out->bound_s = transit.bound_s;
    out->repeats_agree = transit.echoes > 1 && transit.misfit < most_misfit;
    out->other_cycle = transit.other_cycle;
    if (transit.other_cycle > most_other_cycle)
        out->reason = PLYECHO_REASON_CYCLE;
}

/* d = v t / 2; u(d)^2 = (t/2)^2 u(v)^2 + (v/2)^2 u(t)^2, and in mode 1 the covariance of velocity and
 * zero, whose derivatives are t/2 and -v/2 (JCGM 100, 5.1.2 and 5.2.2). */
void plyecho_wall_thickness(const struct plyecho_wall_options *o, struct plyecho_thickness *out)
{
    bool first = out->mode == PLYECHO_MODE_1;
    out->thickness_m = 0.5 * o->velocity_m_s * out->time_s;
    out->thickness_u.known =
        o->velocity_u.known && (!first || (o->zero_s.known && o->zero_u_s.known));
    if (!out->thickness_u.known)
        return;
    double by_velocity = 0.5 * out->time_s * o->velocity_u.value;
    double by_time = 0.5 * o->velocity_m_s * out->time_u_s;
    double by_others = plyecho_influences_u(&o->influences, out->thickness_m, o->velocity_m_s,
                                            out->mode != PLYECHO_MODE_3);
    double both = first ? -2.0 * o->velocity_zero_correlation * by_velocity * 0.5 *
                              o->velocity_m_s * o->zero_u_s.value
                        : 0.0;
    out->thickness_u.value = sqrt(fmax(0.0, by_velocity * by_velocity + by_time * by_time +
                                                by_others * by_others + both));
}

static struct plyecho_thickness refused(enum plyecho_mode mode, enum plyecho_reason reason)
{
    return (struct plyecho_thickness){.reason = reason, .mode = mode};
}

static struct plyecho_thickness by_mode_1(const struct plyecho_trace *raw,
                                          const struct plyecho_wall_options *o,
                                          const struct plyecho_picks *p)
{
    if (p->back < 0)
        return refused(PLYECHO_MODE_1, PLYECHO_REASON_NO_BACK_ECHO);
    if (plyecho_echo_clipped(raw, p, p->back))
        return refused(PLYECHO_MODE_1, PLYECHO_REASON_CLIPPED);
    struct plyecho_thickness out = {.mode = PLYECHO_MODE_1};
    const struct plyecho_echo *back = &p->echoes[p->back];
    double by_peak = back->time_s - (o->zero_s.known ? o->zero_s.value : 0.0);
    double ahead = peak_ahead(loss_of(o, by_peak));
    out.time_s = by_peak + ahead;
    double peak_u = peak_time_u(back, p->pulse_s);
    out.zero_u_s = o->zero_u_s.known ? o->zero_u_s.value : 0.0;
    out.dispersion_u_s = peak_ahead_u(o, ahead);
    out.time_u_s = hypot(peak_u, hypot(out.zero_u_s, out.dispersion_u_s));
    plyecho_wall_thickness(o, &out);
    if (!o->zero_s.known)
        out.reason = PLYECHO_REASON_NO_ZERO;
    return out;
}

/* Do front and back echo part, so that their spectra can be taken one by one? */
static bool echoes_apart(const struct plyecho_picks *p)
{
    double transit = p->echoes[p->back].time_s - p->echoes[p->front].time_s;
    return transit > least_apart * p->pulse_s;
}

/* Echoes inside would be fitted as if they were noise: then the two echoes alone are better. */
static bool is_plain(const struct plyecho_picks *p)
{
    for (int k = p->front + 1; k < p->back; k++)
        if (p->echoes[k].time_s - p->echoes[p->front].time_s > 0.5 * p->pulse_s &&
            p->echoes[k].amplitude > 0.3 * p->echoes[p->front].amplitude)
            return false;
    return true;
}

/* The whole trace at once, where the pulse is known: multiples tell the time too. Kept only where
 * it explains the trace about as well as the two echoes do. */
static void refine_by_plate(const struct plyecho_conditioned *t,
                            const struct plyecho_wall_options *o, const struct plyecho_picks *p,
                            struct plyecho_thickness *out)
{
    bool timed = out->reason == PLYECHO_REASON_NONE || out->reason == PLYECHO_REASON_CYCLE;
    if (o->fit == NULL || !timed || !is_plain(p) || echoes_apart(p))
        return;
    double loss = loss_of(o, out->time_s);
    struct plyecho_plate_task task = {
        .front_s = p->echoes[p->front].time_s,
        .transit_s = out->time_s,
        .reference_hz = t->centre_hz,
        .loss_np_hz = out->loss_np_hz,
        .loss_u_np_hz = (o->attenuation.known ? 0.4 : 1.0) * loss,
        .front_reflection = PE_USUAL_FRONT_REFLECTION,
        .end_s = 2.0 * p->echoes[p->front].time_s - p->pulse_s,
        .cycles = out->other_cycle > 1e-4 ? 1 : 0,
    };
    struct plyecho_plate plate;
    if (plyecho_plate_fit_run(o->fit, t, &task, &plate, NULL) != PLYECHO_OK)
        return;
    if (plate.misfit > most_misfit)
        return;
    out->time_s = plate.transit_s;
    out->plies_u_s = ply_time_u(t, p, p->front, p->back);
    out->time_u_s = hypot(plate.transit_u_s, out->plies_u_s);
    out->bound_s = plate.transit_bound_s;
    out->other_cycle = plate.other_cycle;
    out->reason =
        plate.other_cycle > most_other_cycle ? PLYECHO_REASON_CYCLE : PLYECHO_REASON_NONE;
    out->loss_np_hz = plate.loss_np_hz;
}

static struct plyecho_thickness by_mode_2(const struct plyecho_conditioned *t,
                                          const struct plyecho_trace *raw,
                                          const struct plyecho_wall_options *o,
                                          const struct plyecho_picks *p)
{
    if (p->front < 0)
        return refused(PLYECHO_MODE_2, PLYECHO_REASON_NO_FRONT_ECHO);
    if (p->back < 0)
        return refused(PLYECHO_MODE_2, PLYECHO_REASON_NO_BACK_ECHO);
    if (plyecho_echo_clipped(raw, p, p->front) || plyecho_echo_clipped(raw, p, p->back))
        return refused(PLYECHO_MODE_2, PLYECHO_REASON_CLIPPED);
    struct plyecho_thickness out = {.mode = PLYECHO_MODE_2};
    /* water and plastic delay lines are softer than the wall, air behind it is softer still */
    time_between(t, o, p, p->front, p->back, -1, &out);
    refine_by_plate(t, o, p, &out);
    plyecho_wall_thickness(o, &out);
    return out;
}

static struct plyecho_thickness by_mode_3(const struct plyecho_conditioned *t,
                                          const struct plyecho_trace *raw,
                                          const struct plyecho_wall_options *o,
                                          const struct plyecho_picks *p)
{
    if (p->back < 0)
        return refused(PLYECHO_MODE_3, PLYECHO_REASON_NO_BACK_ECHO);
    if (p->second < 0)
        return refused(PLYECHO_MODE_3, PLYECHO_REASON_NO_SECOND_ECHO);
    if (plyecho_echo_clipped(raw, p, p->back) || plyecho_echo_clipped(raw, p, p->second))
        return refused(PLYECHO_MODE_3, PLYECHO_REASON_CLIPPED);
    struct plyecho_thickness out = {.mode = PLYECHO_MODE_3};
    /* in contact the probe's face may be harder or softer than the wall */
    time_between(t, o, p, p->back, p->second, p->contact ? 0 : 1, &out);
    plyecho_wall_thickness(o, &out);
    return out;
}

/* Modes 2 and 3 measure the same wall. A difference of more than two standard uncertainties is one
 * more uncertainty; where it is more than three and a twentieth of a period (samples lost, a coat, a
 * cycle skipped, an echo in the way), neither is certain. On simulated walls, plain and hard, they
 * differ by less than three, or by less than 0.07 of a period. */
static void compare_modes(double centre_hz, const struct plyecho_thickness *other,
                          struct plyecho_thickness *taken)
{
    if (other->reason != PLYECHO_REASON_NONE || taken->reason != PLYECHO_REASON_NONE)
        return;
    double apart = fabs(other->time_s - taken->time_s);
    double u = hypot(other->time_u_s, taken->time_u_s);
    if (apart < 2.0 * u)
        return;
    taken->time_u_s = hypot(taken->time_u_s, apart);
    if (apart < 3.0 * u + 0.05 / centre_hz)
        return;
    taken->reason = PLYECHO_REASON_CYCLE;
    taken->modes_disagree = true;
}

/* Mode 1 needs its zero, and where that of unknown uncertainty is, its own is unknown; mode 3 needs
 * nothing. */
static struct plyecho_thickness best_in_contact(const struct plyecho_conditioned *t,
                                                const struct plyecho_trace *raw,
                                                const struct plyecho_wall_options *o,
                                                const struct plyecho_picks *p)
{
    struct plyecho_thickness third = by_mode_3(t, raw, o, p);
    if (third.reason == PLYECHO_REASON_NONE && !o->zero_s.known)
        return third;
    struct plyecho_thickness first = by_mode_1(raw, o, p);
    bool better = third.reason == PLYECHO_REASON_NONE &&
                  (first.reason != PLYECHO_REASON_NONE || !o->zero_u_s.known ||
                   third.time_u_s < first.time_u_s);
    return better ? third : first;
}

/* Mode 2, which times the back wall's repeats too; where they are not among what it timed, or do not fit,
 * mode 3 is asked, and taken where mode 2 fails or is far less sharp. */
static struct plyecho_thickness best_mode(const struct plyecho_conditioned *t,
                                          const struct plyecho_trace *raw,
                                          const struct plyecho_wall_options *o,
                                          const struct plyecho_picks *p)
{
    if (p->contact)
        return best_in_contact(t, raw, o, p);
    struct plyecho_thickness second = by_mode_2(t, raw, o, p);
    if (second.reason == PLYECHO_REASON_NONE && second.repeats_agree)
        return second;
    struct plyecho_thickness third = by_mode_3(t, raw, o, p);
    bool better =
        third.reason == PLYECHO_REASON_NONE &&
        (second.reason != PLYECHO_REASON_NONE || third.time_u_s < 0.5 * second.time_u_s);
    struct plyecho_thickness taken = better ? third : second;
    compare_modes(t->centre_hz, better ? &second : &third, &taken);
    plyecho_wall_thickness(o, &taken);
    return taken;
}

/* The nominal's tolerance, widened by twice the measurement's own uncertainty. */
static bool is_off_nominal(const struct plyecho_wall_options *o,
                           const struct plyecho_thickness *t)
{
    double u = t->thickness_u.known ? t->thickness_u.value : 0.0;
    return o->nominal_m.known &&
           fabs(t->thickness_m - o->nominal_m.value) > o->tolerance_m + 2.0 * u;
}

void plyecho_wall_measure(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                          const struct plyecho_wall_options *o, const struct plyecho_picks *p,
                          struct plyecho_thickness *out)
{
    if (p->count == 0) {
        *out = refused(o->mode, PLYECHO_REASON_NO_ECHO);
        return;
    }
    switch (o->mode) {
    case PLYECHO_MODE_1:
        *out = by_mode_1(raw, o, p);
        break;
    case PLYECHO_MODE_2:
        *out = by_mode_2(t, raw, o, p);
        break;
    case PLYECHO_MODE_3:
        *out = by_mode_3(t, raw, o, p);
        break;
    default:
        *out = best_mode(t, raw, o, p);
        break;
    }
    if (out->reason == PLYECHO_REASON_NONE && is_off_nominal(o, out))
        out->reason = PLYECHO_REASON_OFF_NOMINAL;
}
