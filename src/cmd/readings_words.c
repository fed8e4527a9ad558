#include <config.h>

#include <math.h>

#include "readings.h"

static const double per_mm = 1e3;

const char readings_cannot_tell[] =
    "A log of readings has no echo in it. It cannot tell a thin wall from a delamination, or "
    "either from an inner layer, a glue line or a coat: a gauge that takes the first big echo reads "
    "a third of the wall over a delamination, and the whole wall where it takes a later one. It "
    "shows neither whether the probe was coupled nor which velocity and zero the gauge was set to, "
    "so a wrong setting shifts all readings alike and nothing here would show it. What lies "
    "between the places is not known.";

const char readings_cautions[] =
    "That readings look like one wall clears no part: cracks through the thickness, broken fibres, "
    "porosity, weak bonds and what lies under metal are not seen, and a delamination over all of a "
    "part looks like a thinner wall. Acceptance belongs to the part's maker, the governing code "
    "and qualified personnel.";

/* ---- the answer ---- */

static const char *const meanings[PLYECHO_GAUGE_ANSWER_COUNT] = {
    [PLYECHO_GAUGE_TOO_FEW] = "too few places for any statistics; the readings are only listed",
    [PLYECHO_GAUGE_TWO_WALLS] =
        "two levels, each even and by itself in a part of its own, as a bonded sleeve's end or a step "
        "in the wall reads; a delamination that goes all round from an end, or an inner layer whose "
        "interface the gauge takes for the back, reads the same",
    [PLYECHO_GAUGE_MIXED] =
        "it looks like a wall and something inside it mixed: low readings that begin at once, as over "
        "a delamination or an inner layer, where a thin wall would be reached step by step; which of "
        "them it is the readings cannot tell",
    [PLYECHO_GAUGE_LOW_SPOTS] = "one wall, and places that read less than the wall around them",
    [PLYECHO_GAUGE_HIGH_SPOTS] =
        "one wall, and places that read more: a layer, a coat or couplant counted in, or a later echo "
        "taken for the back wall; then that place is not measured at all",
    [PLYECHO_GAUGE_SCATTERED] =
        "the readings scatter more than a gauge does on one wall, or those of one place disagree: "
        "no wall stands out, and any of them may be something inside it",
    [PLYECHO_GAUGE_BEYOND_TOLERANCE] =
        "the readings go with one smooth wall, but it leaves the tolerance: thin or thick there, "
        "another velocity than the gauge was set to, or one inner layer or delamination under all of "
        "it",
    [PLYECHO_GAUGE_UNREAD_PLACES] =
        "one wall where the gauge read one, and places where it showed none: no couplant, or a back "
        "wall that was lost (porosity, crushing, a delamination that took the sound)",
    [PLYECHO_GAUGE_ONE_WALL] =
        "the readings go with one smooth wall and the scatter of a gauge; nothing stands out",
};

static const char *meaning_of(const struct plyecho_gauge_log *log)
{
    if (log->answer == PLYECHO_GAUGE_LOW_SPOTS && log->in_steps == log->low)
        return "one wall, and places that read less, to which the readings around lead step by step: "
               "more like a wall that was filed, worn or laid thinner than like a delamination, "
               "though a log cannot be sure of that";
    if (log->answer == PLYECHO_GAUGE_ONE_WALL && !log->nominal_known)
        return "the readings go with one smooth wall and the scatter of a gauge; without a nominal wall "
               "(--nominal) one that is short all over looks the same";
    return meanings[log->answer];
}

void readings_meaning(const struct plyecho_gauge_log *log, FILE *out)
{
    fputs(meaning_of(log), out);
    if (log->in_patches > 0)
        fprintf(
            out,
            "; and at %zu places next to each other the gauge showed none, where the back wall "
            "may be lost to a delamination, porosity or crushing",
            log->in_patches);
    if (log->beside_unread > 0)
        fprintf(
            out,
            "; %zu of the low places lie%s beside places without a reading, and may be the edge "
            "of what is lost there",
            log->beside_unread, log->beside_unread == 1 ? "s" : "");
}

static const char *const next_steps[PLYECHO_GAUGE_ANSWER_COUNT] = {
    [PLYECHO_GAUGE_TOO_FEW] = "Read 8 places or more, better three rings of 12.",
    [PLYECHO_GAUGE_TWO_WALLS] =
        "Ask what the part should have there (sleeve, plug, step). Save A-scans on both sides and "
        "give them to assess, with the layers declared: a back wall behind the interface says inner "
        "layer, none says delamination. A ball-anvil micrometer at the cut end decides what the "
        "wall is.",
    [PLYECHO_GAUGE_MIXED] =
        "Do not use the part on this. Save A-scans at the low places and beside them and give them "
        "to scan or assess: an echo inside that took the back wall's sound says delamination, a "
        "kept back wall behind it says inner layer, a back wall alone says thin wall. Tap it; measure "
        "the wall at the cut end with a ball-anvil micrometer.",
    [PLYECHO_GAUGE_LOW_SPOTS] =
        "Clean, couple and read those places again, and closer around them: readings that come back "
        "were couplant, readings that lead down step by step say thin wall, a fall at once says "
        "delamination or inner layer. Then save an A-scan there and give it to assess.",
    [PLYECHO_GAUGE_HIGH_SPOTS] =
        "Clean, couple and read those places again; look for filler, paint or a sleeve. A reading of "
        "twice the wall is the second back-wall echo: set the gauge's gain or blanking and repeat.",
    [PLYECHO_GAUGE_SCATTERED] =
        "Check the gauge on a step of this laminate. Read each place three times, coupled anew: if "
        "they agree and the places differ, save A-scans there and give them to scan.",
    [PLYECHO_GAUGE_BEYOND_TOLERANCE] =
        "Check velocity and zero of the gauge on a step of this laminate, and measure the wall at the "
        "cut end with a ball-anvil micrometer: if both agree it is the wall, else save A-scans and "
        "look for an echo behind the one that the gauge takes.",
    [PLYECHO_GAUGE_UNREAD_PLACES] =
        "Clean, couple and read those places again; where none comes back save an A-scan there and "
        "give it to assess.",
    [PLYECHO_GAUGE_ONE_WALL] =
        "Measure the wall at the cut end with a ball-anvil micrometer; if it reads more than the "
        "gauge there, the gauge takes an echo inside the wall. For a verdict save A-scans and scan.",
};

void readings_next_step(const struct plyecho_gauge_log *log, FILE *out)
{
    fputs(next_steps[log->answer], out);
    if (log->in_patches > 0)
        fputs(
            " Take the places next to each other that have no reading for a flaw until an A-scan "
            "says otherwise: clean and couple them again, tap them, and save A-scans there and "
            "beside them.",
            out);
}

/* ---- in numbers ---- */

/* Mean reading of one of the two groups. */
static double mean_of(const struct plyecho_gauge_log *log, bool low)
{
    double sum = 0.0, count = 0.0;
    for (size_t i = 0; i < log->count; i++) {
        const struct plyecho_gauge_place *p = &log->place[i];
        if (p->readings == 0 || (p->low_share.value > 0.5) != low)
            continue;
        sum += p->wall_m;
        count += 1.0;
    }
    return count > 0.0 ? sum / count : NAN;
}

static void say_groups(const struct plyecho_gauge_log *log, FILE *out)
{
    const struct plyecho_clusters *c = &log->clusters;
    double level = log->level_m * per_mm, apart = (c->high.mean - c->low.mean) * per_mm;
    if (log->two)
        fprintf(
            out,
            "two groups: %.1f %% of the places lie %.3f mm below the other %.1f %% (%.0f %% of the "
            "wall), spreads %.3f and %.3f mm; ",
            100.0 * c->low.share, apart, 100.0 * c->high.share, 100.0 * apart / level,
            c->low.spread * per_mm, c->high.spread * per_mm);
    else if (c->criterion_gain > 0.0 && apart > log->counts_m * per_mm)
        fputs("one group, and too little apart from it to be another: ", out);
    else if (c->criterion_gain > 0.0)
        fprintf(
            out,
            "one group whose scatter is no normal one; what parts it in two is only %.3f mm: ",
            apart);
    else
        fputs("one group: ", out);
    fprintf(out, "the information criterion prefers %s by %.1f",
            c->criterion_gain > 0.0 ? "two" : "one", fabs(c->criterion_gain));
    if (c->chance.known)
        fprintf(out, ", as one normal group does by a chance of %s%.2f",
                c->chance.value <= 0.01 ? "at most " : "about ", c->chance.value);
    fputs("\n", out);
    if (log->two && fabs(mean_of(log, false) / mean_of(log, true) - 2.0) < 0.15)
        fputs(
            "the upper group reads about twice the lower one: it may be a later echo of the same "
            "face\n",
            out);
}

static void say_outliers(const struct plyecho_gauge_log *log, FILE *out)
{
    fprintf(
        out,
        "outliers from the smooth wall (Rosner's test, 5 %%): %zu of %zu places; what is off by "
        "%.2f mm or less does not count\n",
        log->outliers, log->read, log->counts_m * per_mm);
}

static void say_falls(const struct plyecho_gauge_log *log, FILE *out)
{
    if (log->low == 0)
        return;
    fprintf(
        out,
        "low places: %zu of %zu; the readings around fall to %zu of them at once, lead to %zu "
        "step by step, and leave %zu open\n",
        log->low, log->read, log->at_once, log->in_steps,
        log->low - log->at_once - log->in_steps);
}

static void say_nominal(const struct readings *r, FILE *out)
{
    const struct plyecho_gauge_log *log = r->log;
    const struct plyecho_setting *least = &r->procedure.acceptance.least_m;
    fprintf(out, "tolerance: %.2f mm about the %s of %.3f mm", log->tolerance_m * per_mm,
            log->nominal_known ? "nominal wall" : "median reading (no nominal wall was given)",
            log->level_m * per_mm);
    if (least->set)
        fprintf(out, ", and %.3f mm at least", least->value * per_mm);
    fprintf(out, "; beyond: %zu of %zu places\n", log->beyond, log->read);
}

static void say_repeats(const struct plyecho_gauge_log *log, FILE *out)
{
    if (!log->repeats_m.known)
        return;
    fprintf(out, "places read more than once: their readings spread by %.3f mm",
            log->repeats_m.value * per_mm);
    if (log->disagreeing > 0)
        fprintf(out, "; at %zu they disagree by more than %.2f mm, and the least was taken",
                log->disagreeing, log->counts_m * per_mm);
    fputs("\n", out);
}

static void say_smooth(const struct plyecho_gauge_log *log, FILE *out)
{
    size_t terms = 0;
    double low = INFINITY, high = -INFINITY;
    for (size_t k = 0; k < PLYECHO_SMOOTH_TERMS; k++)
        terms += log->smooth.used[k];
    for (size_t i = 0; i < log->count; i++)
        if (log->place[i].readings > 0) {
            low = fmin(low, log->place[i].smooth_m);
            high = fmax(high, log->place[i].smooth_m);
        }
    fprintf(
        out, "smooth wall taken out: %.3f to %.3f mm (%zu term%s), through %zu of %zu places\n",
        low * per_mm, high * per_mm, terms, terms > 1 ? "s" : "", log->smooth.kept, log->read);
}

void readings_evidence(const struct readings *r, FILE *out)
{
    const struct plyecho_gauge_log *log = r->log;
    if (log->answer != PLYECHO_GAUGE_TOO_FEW) {
        say_groups(log, out);
        say_falls(log, out);
        say_outliers(log, out);
        say_smooth(log, out);
    }
    say_nominal(r, out);
    say_repeats(log, out);
    if (log->grid == NULL)
        fputs("the places form no grid: who is next to whom is not known\n", out);
}
