/* An assessment in words: evidence, range, what it does not prove, what to do next. */
#include <plyecho/verdict.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "layers_verdict.h"
#include "units.h"
#include "usual.h"

/* Text that grows into the caller's room and counts on beyond it. */
struct text {
    char *at;
    size_t room, length;
};

static void say(struct text *text, const char *format, ...) PLYECHO_PRINTF(2, 3);

/* One statement, a line of its own. */
static void say(struct text *text, const char *format, ...)
{
    char line[600];
    va_list args;
    va_start(args, format);
    int size = vsnprintf(line, sizeof line, format, args);
    va_end(args);
    if (size < 0)
        return;
    if (text->length > 0)
        size = snprintf(NULL, 0, "\n%s", line);
    if (text->length < text->room)
        snprintf(text->at + text->length, text->room - text->length, "%s%s",
                 text->length > 0 ? "\n" : "", line);
    text->length += (size_t)size;
}

static double mm(double m)
{
    return m * 1e3;
}

/* "3.012 mm, u 0.011 mm"; what is missing is said. */
static const char *wall_words(const struct plyecho_assessment *a, char *out, size_t room)
{
    if (a->thickness.thickness_u.known)
        snprintf(out, room, "%.3f mm (standard uncertainty %.3f mm, mode %d)",
                 mm(a->thickness.thickness_m), mm(a->thickness.thickness_u.value),
                 (int)a->thickness.mode);
    else
        snprintf(
            out, room,
            "%.3f mm (mode %d; no uncertainty, because that of the velocity or the zero was "
            "not stated)",
            mm(a->thickness.thickness_m), (int)a->thickness.mode);
    return out;
}

static void tell_wall(const struct plyecho_assessment *a, struct text *text)
{
    char wall[200];
    if (!a->wall_seen) {
        if (a->verdict != PLYECHO_UNREADABLE)
            say(text, "Wall: not seen, so no thickness is given.");
        return;
    }
    wall_words(a, wall, sizeof wall);
    if (a->nominal_known)
        say(text, "Wall: %s, %+.2f mm from the nominal %.2f mm.", wall,
            mm(a->thickness.thickness_m - a->nominal_m), mm(a->nominal_m));
    else
        say(text,
            "Wall: %s. Without a nominal wall this rests on the trace alone: an echo that "
            "hides the true back wall would look the same.",
            wall);
    if (a->coat_s.known)
        say(text,
            "In front of it lies a coat, %.2f us there and back; it is not counted, and depths "
            "begin under it.",
            1e6 * a->coat_s.value);
    if (a->thickness.reason == PLYECHO_REASON_CYCLE && a->thickness.other_cycle < 0.01)
        say(text,
            "Two ways of measuring this wall's time do not agree; the uncertainty includes the "
            "difference.");
    else if (a->thickness.reason == PLYECHO_REASON_CYCLE)
        say(text,
            "The time may be off by a cycle (chance %.0f %%); the uncertainty includes it.",
            100.0 * a->thickness.other_cycle);
}

static void tell_lone(const struct plyecho_assessment *a, struct text *text)
{
    if (a->lone_m.known && a->nominal_known)
        say(text,
            "An echo that can end the wall lies at %.2f mm, %.2f of the nominal wall of %.2f "
            "mm.",
            mm(a->lone_m.value), a->lone_m.value / a->nominal_m, mm(a->nominal_m));
    if (a->other_wall_m.known)
        say(text,
            "A wall of %.2f mm explains this trace about as well as one of the nominal %.2f mm: "
            "neither is given, and the verdict rests on the nominal.",
            mm(a->other_wall_m.value), mm(a->nominal_m));
}

static bool is_excessive(const struct plyecho_assessment *a)
{
    return a->expectation && a->balance_db > PE_MOST_EXCESS_DB;
}

static void tell_balance(const struct plyecho_assessment *a, struct text *text)
{
    if (a->expectation)
        say(text, "Back wall: %+.1f dB against expectation (standard uncertainty %.1f dB).",
            a->balance_db, a->balance_u_db);
    if (is_excessive(a))
        say(text,
            "No wall sends back so much more than it got: the attenuation stated (dB/mm/MHz, "
            "one way; laminates have 0.05 to 0.3) or the reference's gain cannot be right, and "
            "nothing that rests on levels holds.");
    if (a->expectation)
        return;
    if (a->wall_seen)
        say(text, "Back-wall level not assessed: that needs the material's attenuation, and an "
                  "interface echo or a reference to compare with. Porosity is not ruled out.");
    if (a->usual_balance_db.known && a->wall_seen)
        say(text,
            "Against a usual laminate (0.1 dB/mm/MHz) the back wall would be %+.1f dB (standard "
            "uncertainty %.1f dB).",
            a->usual_balance_db.value, a->balance_u_db);
}

static void tell_echo(const struct plyecho_assessment *a, struct text *text)
{
    if (!a->has_indication) {
        if (a->range_known && a->verdict == PLYECHO_NO_INDICATION && !a->highest_known)
            say(text,
                "Inside: nothing reportable but the coat's own echoes; reported is from %.3f of a "
                "full reflector's strength.",
                a->level);
        else if (a->range_known && a->verdict == PLYECHO_NO_INDICATION)
            say(text,
                "Inside: nothing reportable; the highest echo has %.3f of a full reflector's "
                "strength, reported is from %.3f.",
                a->highest_inner, a->level);
        return;
    }
    char u[40] = "";
    if (a->depth_u.known)
        snprintf(u, sizeof u, " (standard uncertainty %.*f mm)",
                 mm(a->depth_u.value) < 0.02 ? 3 : 2, mm(a->depth_u.value));
    say(text,
        "Inside: an echo at %.2f mm%s, %.1f dB against a full reflector at that depth, %s.",
        mm(a->depth_m), u, pe_decibel(a->strength),
        a->film          ? "with the shape of a thin softer layer, two opposed steps"
        : !a->sign_known ? "its sign not told"
        : a->strength < 0.0
            ? "with the sign of a gap (or of any step to softer material)"
            : "with the sign of a step to harder material, which a gap cannot have");
    if (a->verdict == PLYECHO_DELAMINATION && a->cover < 1.0)
        say(text, "It took about %.0f %% of the sound from the back wall.", 100.0 * a->cover);
    if (a->repeats)
        say(text,
            "It repeats at twice its depth, as the echo of a gap or of a strong step does.");
}

/* Where more than one stands out, all of them; the verdict speaks of one. */
static void tell_inner_echoes(const struct plyecho_assessment *a, struct text *text)
{
    char list[64 * PLYECHO_INNER_ECHOES] = "";
    size_t used = 0;
    for (int k = 0; k < a->inner_count && used < sizeof list; k++) {
        const struct plyecho_inner_echo *in = &a->inner[k];
        int size = snprintf(list + used, sizeof list - used, "%s%.2f mm (%.1f dB%s)",
                            k > 0 ? ", " : "", mm(in->depth_m), pe_decibel(in->strength),
                            in->as_repeat ? ", as a repeat would be" : "");
        used += size > 0 ? (size_t)size : 0;
    }
    if (a->inner_count > 1)
        say(text, "Echoes inside that are reportable: %d, at %s.", a->inner_count, list);
}

static void tell_layers(const struct plyecho_assessment *a, struct text *text)
{
    char line[600];
    for (size_t k = 0; pe_layers_statement(a, k, line, sizeof line); k++)
        if (line[0] != '\0')
            say(text, "%s", line);
}

static void tell_range(const struct plyecho_assessment *a, struct text *text)
{
    if (a->range_known)
        say(text,
            "Inspected: from %.2f to %.2f mm deep; nearer and deeper the front and the back "
            "wall cover an echo.",
            mm(a->from_m), mm(a->to_m));
    else if (a->verdict != PLYECHO_UNREADABLE)
        say(text, "Inspected: no depth; front and back wall cover it all.");
}

static void tell_polarity(const struct plyecho_assessment *a, struct text *text)
{
    if (a->inverted)
        say(text,
            "The trace's polarity is the reverse of the reference pulse's; it was judged as if it "
            "were the same. Check the cable and the recorder's settings.");
    else if (a->front_reflection.known && a->front_reflection.value < 0.0)
        say(text,
            "The interface echo has the sign of a softer wall against the reference pulse: the "
            "polarity of one of the two records is inverted, or there is hardly any coupling. "
            "Signs were compared within the trace alone.");
}

static void tell_lost_sign(const struct plyecho_assessment *a, struct text *text)
{
    if (a->sign_lost)
        say(text,
            "The oscillation is lost (rectified or an envelope): the signs of echoes, which tell a "
            "gap from a step to harder material, were not used, and levels were not held "
            "against the reference pulse.");
}

static void tell_front(const struct plyecho_assessment *a, struct text *text)
{
    if (a->front_unsure)
        say(text,
            "The noise may hide the interface echo: what counts as it may be an echo from inside. Average "
            "more shots, or name a reference with --pulse.");
}

static void tell_odds(const struct plyecho_assessment *a, struct text *text)
{
    if (a->next_best == a->verdict)
        return;
    say(text, "Odds: %.0f to 1 against the next best explanation (%s).", a->evidence_ratio,
        plyecho_verdict_word(a->next_best));
}

static const char *unreadable_words(enum plyecho_reason reason)
{
    switch (reason) {
    case PLYECHO_REASON_NO_ECHO:
        return "no echo stands out of the noise";
    case PLYECHO_REASON_NO_COUPLING:
        return "the probe's face reflects as in air: there is no coupling";
    case PLYECHO_REASON_CLIPPED:
        return "an echo that matters touches the recorder's limit";
    case PLYECHO_REASON_NO_BACK_ECHO:
        return "no back-wall echo, and nothing shows that the probe was coupled";
    case PLYECHO_REASON_OUTSIDE_TIME_BASE:
        return "the record begins behind the interface echo that the reference shows, or ends before "
               "the back wall that nominal and velocity say";
    case PLYECHO_REASON_TOO_NOISY:
        return "the noise would hide what has to be seen";
    case PLYECHO_REASON_DISTORTED:
        return "the highest echo holds a third harmonic: an amplifier ran into its limit, or "
               "interference lies there";
    case PLYECHO_REASON_SAMPLES_LOST:
        return "a block of samples among the echoes has one value: it was lost and filled";
    case PLYECHO_REASON_ONE_SIDED:
        return "the trace is said to be rf but lies on one side of its base line; if it is rectified or "
               "an envelope, set its label signal";
    default:
        return "the trace cannot be judged";
    }
}

static bool is_thick(const struct plyecho_assessment *a)
{
    return a->wall_seen && a->nominal_known && a->thickness.thickness_m > a->nominal_m;
}

static const char *undecided_words(const struct plyecho_assessment *a)
{
    switch (a->reason) {
    case PLYECHO_REASON_NOT_INSPECTED:
        return "The front echo and the back wall's cover the whole depth: nothing could be seen "
               "between them.";
    case PLYECHO_REASON_OFF_NOMINAL:
        return is_thick(a)
                   ? "Front and back-wall echo stand clear, but the wall between them is thicker "
                     "than the nominal allows: check the nominal wall, the velocity and the "
                     "sample rate."
                   : "The back-wall echo is near where it belongs, but the wall measured is off "
                     "the nominal: a thin wall, a wrong cycle, or an echo that hides the back "
                     "wall's.";
    case PLYECHO_REASON_CYCLE:
        return "Two ways of measuring the same wall do not agree: a coat, an echo close to another, "
               "dropped samples or a skipped cycle.";
    case PLYECHO_REASON_DISTURBED:
        return "Echoes stand where the wall can give none: interference, which may stand among the "
               "wall's echoes too.";
    case PLYECHO_REASON_BASE_STEP:
        return "The base line jumps among the echoes, and what the jump leaves there looks like an "
               "echo.";
    case PLYECHO_REASON_SAMPLES_LOST:
        return "The echoes do not follow each other as one wall's do: samples are missing or doubled, "
               "or the echo taken for the back wall's is another's.";
    case PLYECHO_REASON_LINE_REPEATS:
        return "The delay line is so short that its own repeat lies among the echoes of a wall as thick "
               "as the nominal; take a longer one, unless the nominal is wrong.";
    case PLYECHO_REASON_COAT_UNSURE:
        return "A step close behind the face may be a coat's end or a ply's: with a coat taken off the "
               "wall is below the acceptance limit, without one it is not.";
    case PLYECHO_REASON_NO_ZERO:
        return "The first echo comes so early that it may be the wall's in contact, or the end of a delay "
               "line no longer than the wall: state the zero or mode 1 for contact, or give --pulse.";
    case PLYECHO_REASON_NOT_EXPLAINED:
        return a->nominal_known
                   ? "No wall of a few layers with air behind it accounts for this trace: a plug "
                     "or clamp behind the wall, more layers or another wall than the nominal "
                     "says, a thick coat, a curved or rough place, another probe's pulse."
                   : "No wall of a few layers with air behind it accounts for this trace: a plug "
                     "or clamp behind the wall, more layers, a thick coat, a curved or rough "
                     "place, another probe's pulse, or a back wall further on: state the "
                     "nominal.";
    case PLYECHO_REASON_NOT_A_WALL:
        return "An echo lies short of, or beyond, where the back wall belongs: a thin wall, a "
               "disbonded sleeve or layer, a full shadow, or a nominal or a velocity that is wrong; this "
               "trace cannot choose.";
    default:
        return "The trace does not tell a sound wall from one that hides something.";
    }
}

static const char *meaning(const struct plyecho_assessment *a)
{
    switch (a->verdict) {
    case PLYECHO_NO_INDICATION:
        return a->nominal_known
                   ? "The back wall is where it belongs and nothing reportable lies "
                     "in front of it."
                   : "An echo that can be the back wall's, and nothing reportable in "
                     "front of it.";
    case PLYECHO_INNER_ECHO:
        return "An echo inside, and the back wall behind it kept: a bonded interface, a glue "
               "line "
               "or another material. A wet or touching gap, a film or a resin pocket look the "
               "same.";
    case PLYECHO_DELAMINATION:
        return a->cover < 1.0 ? "An echo inside took part of the back wall's sound: a "
                                "delamination under part "
                                "of the beam."
                              : "An echo inside took the back wall's sound: a delamination "
                                "under the beam. A "
                                "wall this much thinner is far less likely.";
    case PLYECHO_THIN:
        return "The wall is below the acceptance limit, and it is the wall: within the "
               "nominal's "
               "tolerance.";
    case PLYECHO_ATTENUATED:
        return "Coupled, no reportable echo inside, but the back wall is far too weak or lost: "
               "porosity, crushing, poor compaction, or a slanted or rough back.";
    case PLYECHO_UNDECIDED:
        return undecided_words(a);
    default:
        return NULL;
    }
}

static void tell_limits(const struct plyecho_assessment *a, struct text *text)
{
    switch (a->verdict) {
    case PLYECHO_UNREADABLE:
        return;
    case PLYECHO_INNER_ECHO:
        say(text,
            "Not proved: that the interface is bonded. A back wall that survives does not "
            "prove a bond.");
        break;
    case PLYECHO_DELAMINATION:
        say(text, "Not proved: its extent beyond the beam, and what lies behind it.");
        break;
    default:
        say(text, "Not proved: the strength of any bond.");
    }
    say(text,
        "Not seen in any case: cracks through the thickness, broken fibres, and what lies "
        "under metal. This reading does not clear the part for use.");
}

/* A record that is not whole is mended at the recorder, not at the part. */
static bool tell_record(enum plyecho_reason reason, struct text *text)
{
    switch (reason) {
    case PLYECHO_REASON_DISTURBED:
    case PLYECHO_REASON_BASE_STEP:
        say(text,
            "Next: look at earth, screening and the supply, average several shots, and measure "
            "again: what moves from shot to shot is no echo.");
        return true;
    case PLYECHO_REASON_SAMPLES_LOST:
    case PLYECHO_REASON_ONE_SIDED:
        say(text,
            "Next: look at how the record was taken and saved, and measure again; a second record "
            "of the same place that agrees decides.");
        return true;
    default:
        return false;
    }
}

/* A set-up that does not hold is mended there, not at the part. */
static bool tell_set_up(const struct plyecho_assessment *a, struct text *text)
{
    bool off =
        a->reason == PLYECHO_REASON_OFF_NOMINAL && (is_thick(a) || a->other_wall_m.known);
    if (a->reason == PLYECHO_REASON_OUTSIDE_TIME_BASE)
        say(text,
            "Next: record from ahead of the interface echo to a pulse length or more behind the "
            "back wall's, or correct the nominal wall or the velocity, and measure again.");
    else if (a->verdict == PLYECHO_UNDECIDED && a->reason == PLYECHO_REASON_LINE_REPEATS)
        say(text,
            "Next: take a longer delay line, or correct the nominal wall or the velocity.");
    else if (a->verdict == PLYECHO_UNDECIDED && a->reason == PLYECHO_REASON_COAT_UNSURE)
        say(text,
            "Next: look whether filler or paint lies there, take it off or measure from the "
            "bore; where the places beside it show no coat, couple and read again.");
    else if (a->verdict == PLYECHO_UNDECIDED && is_excessive(a))
        say(text, "Next: correct the attenuation stated, in dB/mm/MHz one way, or the gain on "
                  "record, and judge the same trace again.");
    else if (a->verdict == PLYECHO_UNDECIDED && off)
        say(text,
            "Next: a micrometer with a ball or pin anvil at the nearest cut end tells which of "
            "nominal and velocity is wrong; if neither is, this is another part or place.");
    else
        return false;
    return true;
}

static void tell_next(enum plyecho_verdict verdict, struct text *text)
{
    switch (verdict) {
    case PLYECHO_NO_INDICATION:
        say(text,
            "Next: go on to the neighbouring position; a micrometer with a ball anvil at a "
            "cut end confirms the velocity.");
        break;
    case PLYECHO_INNER_ECHO:
        say(text,
            "Next: compare with the lay-up. The same depth all round speaks for a bonded "
            "layer; a patch speaks for a flaw. Repeat dry and warm: an echo that grows and a "
            "back wall that falls speak for a wet gap.");
        break;
    case PLYECHO_DELAMINATION:
        say(text,
            "Next: move the probe until the echo falls to half to find the edge (6 dB drop); "
            "tap test; a section through the place decides. A sound ring beside it confirms "
            "the nominal wall; where sound places read the same, the nominal or the velocity is "
            "wrong.");
        break;
    case PLYECHO_THIN:
        say(text, "Next: a micrometer with a ball or pin anvil at the nearest cut end, and the "
                  "neighbouring positions: a gradual change speaks for a thin wall.");
        break;
    case PLYECHO_ATTENUATED:
        say(text,
            "Next: clean and couple again; if it stays, a lower frequency: porosity weakens "
            "a low frequency less. Compare with a sound place of the same part; a section "
            "decides.");
        break;
    case PLYECHO_UNDECIDED:
        say(text,
            "Next: neighbours on the ring (a step speaks for a gap, a gradual change for a "
            "thin wall; where sound places read the same, the nominal or the velocity is wrong), "
            "a micrometer with a ball anvil at the nearest cut end, a reading from the bore, or "
            "a section.");
        break;
    default:
        say(text, "Next: clean the surface, renew the couplant, lower the gain if the echo is "
                  "clipped, and measure again.");
    }
}

size_t plyecho_assessment_words(const struct plyecho_assessment *a, char *out, size_t room)
{
    struct text text = {out, room, 0};
    if (room > 0)
        out[0] = '\0';
    if (a->verdict == PLYECHO_UNREADABLE)
        say(&text, "Unreadable: %s.", unreadable_words(a->reason));
    else
        say(&text, "%s", meaning(a));
    tell_lone(a, &text);
    tell_wall(a, &text);
    tell_echo(a, &text);
    tell_inner_echoes(a, &text);
    tell_layers(a, &text);
    if (a->verdict != PLYECHO_UNREADABLE)
        tell_balance(a, &text);
    tell_range(a, &text);
    tell_polarity(a, &text);
    tell_lost_sign(a, &text);
    tell_front(a, &text);
    tell_odds(a, &text);
    tell_limits(a, &text);
    if (!tell_record(a->reason, &text) && !tell_set_up(a, &text))
        tell_next(a->verdict, &text);
    return text.length;
}
