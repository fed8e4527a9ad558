#include "stack_search.h"

#include <math.h>
#include <string.h>

#include "fourier.h"
#include "usual.h"

/* An echo inside counts as seen where this share of its energy is its own (our choice: half its height). */
static const double own_share = 0.25;

/* An explanation so far behind the best (as a logarithm of odds, times the best one's chi-squared per degree
 * of freedom where that is above 1) changes nothing that is told: odds end at 1000, of tempered ones
 * (stacks.c), and the reporting level moves them by less than 8. */
static const double far_behind = 9.2, level_moves = 8.0;

/* Chi-squared a line. A plain wall explains the trace where it is below `plain_fits` and no echo inside
 * would take off more than `quiet`: nothing else is then more likely (docs/method.md). Below `settles` no
 * other cycle is tried, above `nothing_fits` a gap is tried everywhere. */
static const double settles = 1.5, nothing_fits = 3.5, plain_fits = 2.0, quiet = 10.0,
                    most_strain = 4.0;

/* A reference of the other polarity is rare (our choice), and not thought of where a stack leaves no more
 * chi-squared per degree of freedom than this. */
static const double usually_inverted = 0.01, well_explained = 1.5;

/* Step at which delays are looked through, in periods. */
static const double scan_periods = 0.2;

enum { SCAN = 256, LEFT_PEAKS = 3, FRONT_PEAKS = 2, CANDIDATES = LEFT_PEAKS + FRONT_PEAKS };

struct search {
    struct pe_stack_fit *fit;
    const struct pe_prospect *prospect;
    double start_s; /* of the front against the gate's origin, by the pulse itself */
    double best;    /* highest log evidence so far or to beat, and its chi-squared */
    double best_chi2;
    bool shaped; /* the plain wall fits so well that its pulse serves all */
    struct pe_explained *out;
    struct pe_trial now; /* the one that is tried */
};

static void set_up(struct search *s, enum pe_kind kind, bool coat)
{
    pe_trial_set(s->prospect, s->start_s, kind, coat, &s->now);
}

/* Begin where the plain wall ended, as far as it explains anything; under a coat, where a step close behind
 * the face ended if that explains more: it is the coat's. */
static void begin_with_plain(struct search *s)
{
    static const int common[] = {PE_AMPLITUDE, PE_START,     PE_JITTER,
                                 PE_FRONT,     PE_COAT_TIME, PE_COAT_STEP};
    const struct pe_explanation_fit *plain = &s->out->fit[PE_KIND_PLAIN][s->now.coat];
    const struct pe_explanation_fit *step = &s->out->fit[PE_KIND_STEP][0], *from = plain;
    if (s->shaped)
        memcpy(s->now.start.shape, s->out->fit[PE_KIND_PLAIN][0].shape,
               sizeof s->now.start.shape);
    bool is_coat = s->now.coat && isfinite(step->log_evidence) &&
                   step->stack.number[PE_STEP_THERE] > 0.0 &&
                   step->stack.number[PE_DEPTH] < PE_THICKEST_COAT_S;
    if (is_coat && step->log_evidence > plain->log_evidence)
        from = step;
    if (!isfinite(from->log_evidence) || from->chi2 > 4.0 * (double)s->out->lines)
        return;
    double *number = s->now.start.stack.number;
    for (size_t i = 0; i < sizeof common / sizeof common[0]; i++)
        number[common[i]] = from->stack.number[common[i]];
    if (from == step) {
        number[PE_COAT_TIME] = step->stack.number[PE_DEPTH];
        number[PE_COAT_STEP] = step->stack.number[PE_STEP_THERE];
    }
}

/* Chi-squared above which a fit is of no interest: its log evidence is below minus half of that. 0: any is.
 * The bare plain wall is, since what it leaves unexplained tells where to begin with the others. */
static double hopeless(const struct search *s)
{
    double misfit = fmax(1.0, 0.5 * s->best_chi2 / (double)s->out->lines);
    if (isinf(s->best) || (s->now.kind == PE_KIND_PLAIN && !s->now.coat))
        return 0.0;
    return 2.0 * (far_behind * misfit + level_moves - s->best);
}

/* Fit from the numbers as they stand, the pulse's shape included. */
static void try_from(struct search *s)
{
    struct pe_explanation_fit *best = &s->out->fit[s->now.kind][s->now.coat], f = s->now.start;
    bool settled = pe_stack_fit_run(s->fit, s->now.free, s->now.prior, hopeless(s), &f);
    s->out->outdone = s->out->outdone || (f.given_up && isinf(best->log_evidence));
    if (!settled || !pe_trial_allows(&s->now, s->prospect, &f))
        return;
    f.log_evidence += pe_trial_log_share(&s->now);
    if (f.log_evidence > best->log_evidence)
        *best = f;
    if (f.log_evidence > s->best) {
        s->best = f.log_evidence;
        s->best_chi2 = f.chi2;
    }
}

/* The same, with each carrier that the pulse may have where its shape is not known yet, or its reverse. */
static void try_carriers(struct search *s, bool reversed)
{
    bool find_shape = !s->prospect->pulse_known && !s->shaped;
    for (int i = 0; i < (find_shape ? s->prospect->phases : 1); i++) {
        if (find_shape)
            s->now.start.shape[0] = s->prospect->phase_rad[i] + (reversed ? PE_PI : 0.0);
        try_from(s);
    }
}

static void try_start(struct search *s)
{
    try_carriers(s, false);
}

/* How far a fit had to go from what was expected: chi-squared of the numbers' own priors. */
static double strain(const struct search *s, const struct pe_explanation_fit *f)
{
    static const int told[] = {PE_JITTER, PE_FRONT, PE_SLOPE, PE_TRANSIT};
    double sum = 0.0;
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        const struct pe_prior *prior = &s->now.prior[told[i]];
        double off = (f->stack.number[told[i]] - prior->mean) / prior->u;
        sum += off * off;
    }
    return sum;
}

/* ---- starts ---- */

static bool fits_well(const struct search *s)
{
    const struct pe_explanation_fit *best = &s->out->fit[s->now.kind][s->now.coat];
    return isfinite(best->log_evidence) && best->chi2 < settles * (double)s->out->lines;
}

/* Half a cycle off, with a pulse that is fitted reversed: such a wall may fit, but for numbers that are hard to
 * believe. */
static void try_half_cycles(struct search *s, double whole_s)
{
    const struct pe_explanation_fit *best = &s->out->fit[s->now.kind][s->now.coat];
    for (int sign = -1; sign <= 1 && strain(s, best) > most_strain; sign += 2) {
        s->now.start.stack.number[PE_TRANSIT] = whole_s + 0.5 * sign / s->prospect->centre_hz;
        try_carriers(s, true);
    }
}

static void try_transits(struct search *s, double whole_s)
{
    static const int cycles[] = {0, -1, 1};
    bool fitted_pulse = !s->prospect->pulse_known && !s->shaped;
    for (size_t i = 0; i < sizeof cycles / sizeof cycles[0]; i++) {
        s->now.start.stack.number[PE_TRANSIT] = whole_s + cycles[i] / s->prospect->centre_hz;
        try_start(s);
        if (!fits_well(s))
            continue;
        /* a wall a whole cycle off cannot fit as well */
        if (fitted_pulse && !s->now.coat)
            try_half_cycles(s, whole_s);
        return;
    }
}

/* Transit of the wall without a coat of this transit. */
static double bare_wall_s(const struct search *s, double coat_s)
{
    return s->prospect->whole_s - (s->prospect->whole_picked ? coat_s : 0.0);
}

/* A coat hides its own echo in the front's: the echo picked may be the coat's, the wall's or a mixture. */
static void try_coats(struct search *s)
{
    static const double thick_s[] = {60e-9, 140e-9, 240e-9, 340e-9, 450e-9};
    for (size_t i = 0; i < sizeof thick_s / sizeof thick_s[0]; i++) {
        s->now.start.stack.number[PE_COAT_TIME] = thick_s[i];
        for (int halves = 0; halves <= 2; halves++) {
            double early = 0.5 * halves * thick_s[i];
            s->now.start.stack.number[PE_START] = halves > 0 ? s->start_s - early : 0.0;
            try_transits(s, bare_wall_s(s, thick_s[i] - early));
        }
    }
}

static void try_wall(struct search *s, enum pe_kind kind, bool coat)
{
    set_up(s, kind, coat);
    if (kind != PE_KIND_PLAIN)
        begin_with_plain(s);
    if (coat && kind == PE_KIND_PLAIN)
        try_coats(s);
    else
        try_transits(s, s->prospect->whole_s);
}

/* A delay at which an echo may be, and the echo's phase there. */
struct echo_place {
    double delay_s, phase_rad, gain;
};

/* Phase that an explanation's echo has: a gap and a step to softer material reflect with the sign of
 * the back wall, a thin film with a quarter turn. */
static double phase_of(enum pe_kind kind, int sign)
{
    if (kind == PE_KIND_GLUE || kind == PE_KIND_WET)
        return -0.5 * PE_PI;
    return kind == PE_KIND_STEP && sign > 0 ? 0.0 : PE_PI;
}

static void try_depth(struct search *s, double depth_s)
{
    double *n = s->now.start.stack.number, coat_s = s->now.coat ? n[PE_COAT_TIME] : 0.0;
    n[PE_DEPTH] = depth_s - coat_s;
    n[PE_TRANSIT] = s->now.kind == PE_KIND_SHADOW ? depth_s - coat_s : bare_wall_s(s, coat_s);
    try_start(s);
}

/* An envelope's peak is good to half a cycle or so; the phase tells where in the cycle, as long as the
 * pulse that it is told against is the one to start from. */
static void try_about(struct search *s, const struct echo_place *place, int sign)
{
    static const double sure_turn = 0.6 * PE_PI;
    double hz = s->prospect->centre_hz;
    if (!s->prospect->pulse_known && !s->shaped) {
        for (int third = -1; third <= 1; third++)
            try_depth(s, place->delay_s + third / (3.0 * hz));
        return;
    }
    double turn = remainder(phase_of(s->now.kind, sign) - place->phase_rad, 2.0 * PE_PI);
    double omega = 2.0 * PE_PI * hz;
    try_depth(s, place->delay_s + turn / omega);
    if (fabs(turn) > sure_turn)
        try_depth(s, place->delay_s + (turn - copysign(2.0 * PE_PI, turn)) / omega);
}

static void try_place(struct search *s, const struct echo_place *place)
{
    if (s->now.kind != PE_KIND_STEP) {
        try_about(s, place, -1);
        return;
    }
    for (int sign = -1; sign <= 1; sign += 2) {
        s->now.start.stack.number[PE_STEP_THERE] = 0.12 * sign;
        try_about(s, place, sign);
    }
}

/* The face of a dry probe reflects with the sign of the reference. */
static void try_dry(struct search *s)
{
    set_up(s, PE_KIND_DRY, false);
    for (int half = -1; half <= 1; half++) {
        s->now.start.stack.number[PE_START] = s->start_s + 0.5 * half / s->prospect->centre_hz;
        try_start(s);
    }
}

/* ---- where an echo inside may be ---- */

/* Add the highest peaks to the places that are already there, if not near one. */
static int add_peaks(const struct pe_stray *stray, int count, double step_s, int most,
                     struct echo_place *at, int found)
{
    static const double apart_steps = 1.5, least_share = 0.05;
    double highest = 0.0;
    for (int n = 0; n < most; n++) {
        int top = -1;
        for (int i = 1; i + 1 < count; i++) {
            bool peak = stray[i].gain >= stray[i - 1].gain && stray[i].gain > stray[i + 1].gain;
            for (int k = 0; k < found; k++)
                peak = peak && fabs(at[k].delay_s - i * step_s) > apart_steps * step_s;
            if (peak && (top < 0 || stray[i].gain > stray[top].gain))
                top = i;
        }
        if (top < 0 || (n > 0 && stray[top].gain < least_share * highest))
            break;
        highest = fmax(highest, stray[top].gain);
        at[found++] = (struct echo_place){top * step_s, carg(stray[top].size), stray[top].gain};
    }
    return found;
}

static double scan(const struct search *s, const struct pe_explanation_fit *fit,
                   bool front_only, struct pe_stray *stray, int *count)
{
    double step = scan_periods / s->prospect->centre_hz;
    *count = (int)fmin(SCAN, s->prospect->transit.mean * 1.05 / step);
    pe_stack_fit_scan(s->fit, fit, front_only, step, *count, stray);
    return step;
}

/* Most that one more echo would take off what a fit leaves unexplained. */
static double left_over(const struct search *s, const struct pe_explanation_fit *fit)
{
    struct pe_stray stray[SCAN];
    double most = 0.0;
    int count;
    scan(s, fit, false, stray, &count);
    for (int i = 0; i < count; i++)
        most = fmax(most, stray[i].gain);
    return most;
}

/* From what the plain wall leaves unexplained, and from what its front alone does. */
static int find_places(const struct search *s, const struct pe_explanation_fit *plain,
                       struct echo_place *at)
{
    struct pe_stray stray[SCAN];
    int count;
    double step = scan(s, plain, false, stray, &count);
    int found = add_peaks(stray, count, step, LEFT_PEAKS, at, 0);
    step = scan(s, plain, true, stray, &count);
    return add_peaks(stray, count, step, FRONT_PEAKS, at, found);
}

/* Delay of a fit's place behind the outer face, as scans count it. */
static double outer_delay(const struct pe_explanation_fit *f)
{
    const double *n = f->stack.number;
    return n[PE_DEPTH] + (f->stack.coat ? n[PE_COAT_TIME] : 0.0);
}

static const struct echo_place *nearest(const struct echo_place *at, int places, double delay_s)
{
    const struct echo_place *best = &at[0];
    for (int i = 1; i < places; i++)
        if (fabs(at[i].delay_s - delay_s) < fabs(best->delay_s - delay_s))
            best = &at[i];
    return best;
}

static void try_kind(struct search *s, enum pe_kind kind, bool coat,
                     const struct echo_place *at, int places)
{
    set_up(s, kind, coat);
    begin_with_plain(s);
    for (int i = 0; i < places; i++)
        try_place(s, &at[i]);
}

/* A gap at an interface: tried where a gap alone fits best, with either step. */
static void try_disbond(struct search *s, bool coat)
{
    const struct pe_explanation_fit *gap = &s->out->fit[PE_KIND_GAP][coat];
    if (!isfinite(gap->log_evidence))
        return;
    for (int sign = -1; sign <= 1; sign += 2) {
        set_up(s, PE_KIND_DISBOND, coat);
        memcpy(s->now.start.stack.number, gap->stack.number, sizeof s->now.start.stack.number);
        memcpy(s->now.start.shape, gap->shape, sizeof s->now.start.shape);
        s->now.start.stack.number[PE_STEP_THERE] = 0.1 * sign;
        try_from(s);
    }
}

/* The echo picked as the back wall's may be a gap's close ahead of it: then the wall ends later, within what
 * the nominal allows. */
static void try_gap_before_back(struct search *s, bool coat)
{
    const struct pe_prospect *p = s->prospect;
    double last = p->transit.mean + 2.0 * p->transit.u, step = 0.4 / p->centre_hz;
    if (!p->nominal_known || !p->whole_picked)
        return;
    set_up(s, PE_KIND_GAP, coat);
    begin_with_plain(s);
    double picked = bare_wall_s(s, coat ? s->now.start.stack.number[PE_COAT_TIME] : 0.0);
    for (double whole = picked + 2.0 * PE_NEAREST_S; whole < last; whole += step) {
        s->now.start.stack.number[PE_DEPTH] = picked;
        s->now.start.stack.number[PE_TRANSIT] = whole;
        s->now.start.stack.number[PE_COVER] = 0.5;
        try_start(s);
    }
}

/* A gap that covers the whole beam is a shadow. */
static void try_shadow_of_gap(struct search *s, bool coat)
{
    static const double nearly_all = 0.8;
    const struct pe_explanation_fit *gap = &s->out->fit[PE_KIND_GAP][coat];
    if (!isfinite(gap->log_evidence) || gap->stack.number[PE_COVER] < nearly_all)
        return;
    set_up(s, PE_KIND_SHADOW, coat);
    memcpy(s->now.start.stack.number, gap->stack.number, sizeof s->now.start.stack.number);
    memcpy(s->now.start.shape, gap->shape, sizeof s->now.start.shape);
    s->now.start.stack.number[PE_TRANSIT] = gap->stack.number[PE_DEPTH];
    try_from(s);
}

/* A lone echo, short of the nominal wall, as it was picked: with the face where it was picked too. */
static void try_lone(struct search *s)
{
    const struct pe_prospect *p = s->prospect;
    set_up(s, PE_KIND_SHADOW, false);
    s->now.start.stack.number[PE_TRANSIT] = p->lone_s;
    for (int i = 0; i < (p->pulse_known ? 1 : p->phases); i++) {
        if (!p->pulse_known)
            s->now.start.shape[0] = p->phase_rad[i];
        try_from(s);
    }
}

/* Where nothing fits: a gap or a shadow at every depth, in steps that no phase can hide. */
static void try_everywhere(struct search *s, bool coat)
{
    static const enum pe_kind kinds[] = {PE_KIND_SHADOW, PE_KIND_GAP};
    double step = 0.4 / s->prospect->centre_hz;
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
        if (kinds[k] == PE_KIND_SHADOW && !s->prospect->nominal_known)
            continue;
        set_up(s, kinds[k], coat);
        double coat_s = coat ? s->now.start.stack.number[PE_COAT_TIME] : 0.0;
        for (double at = 2.0 * PE_NEAREST_S; at < s->prospect->transit.mean; at += step)
            try_depth(s, at + coat_s);
    }
    try_disbond(s, coat);
}

/* Films look like steps and gaps from afar, so they are tried where those fit best. */
static void try_films(struct search *s, bool coat, const struct echo_place *at, int places)
{
    const struct pe_explanation_fit *gap = &s->out->fit[PE_KIND_GAP][coat];
    const struct pe_explanation_fit *step = &s->out->fit[PE_KIND_STEP][coat];
    struct echo_place some[2];
    int count = 0;
    if (isfinite(gap->log_evidence))
        some[count++] = *nearest(at, places, outer_delay(gap));
    if (isfinite(step->log_evidence)) {
        const struct echo_place *there = nearest(at, places, outer_delay(step));
        if (count == 0 || there->delay_s != some[0].delay_s)
            some[count++] = *there;
    }
    if (count == 0 && places > 0)
        some[count++] = at[0];
    try_kind(s, PE_KIND_GLUE, coat, some, count);
    try_kind(s, PE_KIND_WET, coat, some, count);
}

static void try_inside(struct search *s, bool coat)
{
    struct echo_place at[CANDIDATES];
    int places = find_places(s, &s->out->fit[PE_KIND_PLAIN][coat], at);
    try_kind(s, PE_KIND_GAP, coat, at, places);
    try_gap_before_back(s, coat);
    try_kind(s, PE_KIND_STEP, coat, at, places);
    if (s->prospect->nominal_known)
        try_kind(s, PE_KIND_SHADOW, coat, at, places);
    try_films(s, coat, at, places);
    try_disbond(s, coat);
    if (s->prospect->nominal_known)
        try_shadow_of_gap(s, coat);
    if (s->prospect->loss_known)
        try_wall(s, PE_KIND_LOSSY, coat);
}

const struct pe_explanation_fit *pe_stack_best(const struct pe_explained *out)
{
    const struct pe_explanation_fit *best = &out->fit[0][0];
    for (int k = 0; k < PE_KINDS; k++)
        for (int coat = 0; coat < 2; coat++)
            if (out->fit[k][coat].log_evidence > best->log_evidence)
                best = &out->fit[k][coat];
    return best;
}

/* A weak front, or a place close behind it, is what a coat gives. */
static bool may_be_coat(const struct search *s, const struct pe_explanation_fit *best)
{
    const double *n = best->stack.number;
    bool close = best->stack.place && n[PE_DEPTH] < PE_THICKEST_COAT_S;
    return close || n[PE_FRONT] < s->prospect->front.mean - s->prospect->front.u;
}

bool pe_stack_search_holds(const struct pe_prospect *p)
{
    return p->transit.mean * 1.05 * p->centre_hz < SCAN * scan_periods;
}

void pe_stack_search(struct pe_stack_fit *fit, const struct pe_prospect *prospect, bool quick,
                     struct pe_explained *out)
{
    struct search s = {.fit = fit, .prospect = prospect, .best = -INFINITY, .out = out};
    if (prospect->to_beat_known)
        s.best = prospect->to_beat;
    memset(out, 0, sizeof *out);
    out->lines = pe_stack_fit_lines(fit);
    for (int k = 0; k < PE_KINDS; k++)
        out->fit[k][0].log_evidence = out->fit[k][1].log_evidence = -INFINITY;
    if (prospect->pulse_known)
        s.start_s = pe_stack_fit_align(fit, 1.5 * PE_START_U_S);
    try_wall(&s, PE_KIND_PLAIN, false);
    const struct pe_explanation_fit *plain = &out->fit[PE_KIND_PLAIN][0];
    double lines = (double)out->lines;
    bool settled = isfinite(plain->log_evidence);
    s.shaped = settled && plain->chi2 < plain_fits * lines;
    if (settled) {
        out->from_s = PE_NEAREST_S;
        out->to_s = plain->stack.number[PE_TRANSIT] - PE_NEAREST_S;
        out->range_known = pe_stack_fit_visible(fit, s.now.free, s.now.prior, plain, own_share,
                                                &out->from_s, &out->to_s);
    }
    bool strained = settled && strain(&s, plain) > most_strain;
    if (settled)
        out->left_over = left_over(&s, plain);
    if (quick && s.shaped && !strained && out->left_over < quiet)
        return;
    out->thorough = true;
    if (prospect->pulse_known)
        try_dry(&s);
    if (prospect->lone_s > 0.0)
        try_lone(&s);
    if (settled)
        try_inside(&s, false);
    const struct pe_explanation_fit *best = pe_stack_best(out);
    if (settled && best->chi2 < plain_fits * lines && !may_be_coat(&s, best) &&
        left_over(&s, best) < quiet)
        return;
    try_wall(&s, PE_KIND_PLAIN, true);
    if (isfinite(out->fit[PE_KIND_PLAIN][1].log_evidence))
        try_inside(&s, true);
    if (pe_stack_best(out)->chi2 < nothing_fits * lines)
        return;
    try_everywhere(&s, false);
    try_everywhere(&s, true);
}

double pe_stack_misfit(const struct pe_explained *x, const struct pe_explanation_fit *fit)
{
    return 0.5 * fit->chi2 / fmax(1.0, (double)x->lines);
}

bool pe_stack_search_both_ways(struct pe_stack_fit *fit, const struct pe_prospect *prospect,
                               bool quick, struct pe_explained *x)
{
    pe_stack_search(fit, prospect, quick, x);
    const struct pe_explanation_fit *best = pe_stack_best(x);
    double met = best->log_evidence;
    if (!prospect->pulse_known || (isfinite(met) && pe_stack_misfit(x, best) < well_explained))
        return false;
    struct pe_prospect inverted = *prospect;
    struct pe_explained other;
    inverted.to_beat = fmax(inverted.to_beat_known ? inverted.to_beat : -INFINITY,
                            met - log(usually_inverted));
    inverted.to_beat_known = isfinite(inverted.to_beat);
    pe_stack_fit_invert(fit);
    pe_stack_search(fit, &inverted, quick, &other);
    bool reverse = pe_stack_best(&other)->log_evidence + log(usually_inverted) > met;
    if (reverse)
        pe_stack_search(fit, prospect, quick, x); /* its rivals count, too */
    return reverse;
}
