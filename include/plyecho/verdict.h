/* verdict.h - what a trace most likely means: a comparison of explanations
 *
 * Each explanation of a trace (plain wall, bonded interface, delamination over part of the beam
 * or all of it, attenuated wall, no coupling) predicts how strong an echo is for its depth,
 * with which sign, and what the back wall has lost. They are weighed against what was measured,
 * with a model error, and the best is given with its odds against the next best.
 */
#ifndef PLYECHO_VERDICT_H
#define PLYECHO_VERDICT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/condition.h>
#include <plyecho/error.h>
#include <plyecho/layer_reading.h>
#include <plyecho/layers.h>
#include <plyecho/plate_fit.h>
#include <plyecho/profile.h>
#include <plyecho/stacks.h>
#include <plyecho/trace.h>
#include <plyecho/wall.h>

enum plyecho_verdict {
    PLYECHO_NO_INDICATION,
    PLYECHO_INNER_ECHO,
    PLYECHO_DELAMINATION,
    PLYECHO_THIN,
    PLYECHO_ATTENUATED,
    PLYECHO_UNDECIDED,
    PLYECHO_UNREADABLE,
    PLYECHO_VERDICT_COUNT
};

/* The word of the table, e.g. "no-indication"; never NULL. */
PLYECHO_API const char *plyecho_verdict_word(enum plyecho_verdict verdict);

/* One clean echo of the same probe: the delay line's end in air, or another known reflector. */
struct plyecho_reference {
    double amplitude;  /* envelope peak */
    double time_s;     /* of that peak on its own time base */
    double phase_rad;  /* there */
    double reflection; /* of what it came off: -1 for air */
    double full_scale; /* label of the file, 0 where absent */
    struct plyecho_known gain_db;
    struct plyecho_band band; /* pass band that fits this pulse */
    double pulse_s;           /* its length at -20 dB */
    double third; /* its amplitude at three times the centre frequency, over that there */
    struct plyecho_pulse_shape shape;
};

/* Measure the reference in a trace: its highest echo behind the transmission pulse.
 * PLYECHO_UNSUITABLE where there is none, or it is clipped. */
PLYECHO_API enum plyecho_code plyecho_reference_take(const struct plyecho_conditioned *trace,
                                                     const struct plyecho_trace *raw,
                                                     struct plyecho_reference *reference,
                                                     struct plyecho_error *err);

/* Does one of the trace's high echoes, in the reference's band, have the reference's centre frequency,
 * give or take `share` of it? True as well where there is no echo, or the trace has no oscillation for
 * it to be told from: then the judge says so. */
PLYECHO_API bool plyecho_reference_fits(const struct plyecho_conditioned *trace,
                                        const struct plyecho_trace *raw,
                                        const struct plyecho_reference *reference,
                                        double share);

/* Does a trace, conditioned in its own band, hold echoes as a probe gives them, of whatever frequency:
 * two at least, the highest an oscillation about the base line that stands out of quiet, all of it within the record?
 * False for what is spoilt: an envelope, a steady tone, a step of the base line, a cut record. */
PLYECHO_API bool plyecho_echoes_whole(const struct plyecho_conditioned *trace,
                                      const struct plyecho_trace *raw);

struct plyecho_assess_options {
    struct plyecho_wall_options wall;
    struct plyecho_known least_m; /* acceptance: least wall */
    const struct plyecho_reference
        *reference; /* NULL: none; levels then rest on the trace alone */
    struct plyecho_stacks
        *stacks; /* scratch for the fit of whole stacks; NULL: judged by single echoes */
    bool
        thorough; /* fit every explanation even where the plain wall leaves nothing to explain */
    const struct plyecho_layers *layers; /* expected at this place, completed; NULL: none */
};

enum { PLYECHO_INNER_ECHOES = 8 };

/* An echo inside the wall that stands above the reporting level. */
struct plyecho_inner_echo {
    double delay_s; /* behind the wall's front, there and back */
    double depth_m; /* from the wall's front */
    double
        strength;   /* over a full reflector's at that depth, attenuation taken back; above 0 */
    bool as_repeat; /* where and about as strong as the repeat of another would be */
};

/* What was weighed. Strengths are amplitudes over a full reflector's at that depth, attenuation
 * taken back. */
struct plyecho_assessment {
    enum plyecho_verdict verdict;
    bool flagged; /* all but `no-indication`, and but an `inner-echo` that was declared */
    enum plyecho_reason reason;
    struct plyecho_thickness
        thickness;  /* of the wall; reason set where the wall was not seen */
    bool wall_seen; /* thickness is the wall's */
    bool nominal_known;
    double nominal_m;
    double evidence_ratio; /* odds of the best explanation against the next best; 1 to 1000 */
    enum plyecho_verdict
        next_best; /* the verdict itself, and odds of 1, where none was weighed:
                                       `undecided` and `unreadable` */

    struct plyecho_known
        coat_s; /* a coat that was parted from the wall: its time, there and back */
    struct plyecho_known lone_m; /* depth of an echo that stands where no back wall belongs */
    struct plyecho_known
        other_wall_m; /* a wall that explains the trace about as well as one of the
                                          nominal: then none is told */

    bool has_indication;
    double depth_m;               /* of the strongest reportable echo, from the wall's front */
    struct plyecho_known depth_u; /* its standard uncertainty */
    double strength; /* signed: negative as the back wall (a gap), positive against */
    bool sign_known; /* false: rectified, or the phase lies between */
    bool inverted;   /* the trace's polarity is opposite to the reference's */
    bool
        front_unsure; /* the noise may hide the interface echo, and another echo stand for it */
    bool sign_lost;   /* rectified or an envelope: judged without signs */
    double cover;     /* share of the beam, where the verdict is a delamination */
    bool film;        /* looks like a thin softer layer: glue line, resin film, wet gap */
    bool repeats;     /* its own repeat was seen at twice its depth */

    /* All reportable echoes inside, by depth, where there is an indication; the eight strongest */
    int inner_count;
    struct plyecho_inner_echo inner[PLYECHO_INNER_ECHOES];

    bool range_known;    /* from_m and to_m hold */
    double from_m, to_m; /* depths at which the least reportable echo would have been seen */
    double level;        /* that least strength, in the middle of the range */
    double
        highest_inner;  /* strength of the highest echo inside, reportable or not, at most 1 */
    bool highest_known; /* false: under a coat, whose repeats may be what is highest */

    bool expectation;                      /* the back wall's level could be judged */
    double balance_db;                     /* back wall against expectation */
    double balance_u_db;                   /* its standard uncertainty */
    struct plyecho_known usual_balance_db; /* no expectation: against a usual laminate's */
    struct plyecho_known front_reflection; /* interface echo against the reference */

    struct plyecho_profile profile; /* all that stands at each depth */

    struct plyecho_layer_reading layers; /* count 0 where none are declared */
};

/* Judge one trace. Never fails: what cannot be judged is `unreadable` or `undecided`. */
PLYECHO_API void plyecho_assess(const struct plyecho_conditioned *trace,
                                const struct plyecho_trace *raw,
                                const struct plyecho_assess_options *options,
                                struct plyecho_assessment *assessment);

/* The assessment of a trace in which nothing oscillates at all, so that it could not even be
 * conditioned: unreadable. */
PLYECHO_API struct plyecho_assessment plyecho_assessment_of_silence(void);

/* The assessment in words, one statement a line, '\n' between: evidence, range inspected, what
 * it does not prove, what to do next. At most `room` bytes with the closing NUL are written;
 * returns the length of the whole text. */
PLYECHO_API size_t plyecho_assessment_words(const struct plyecho_assessment *assessment,
                                            char *text, size_t room);

#endif
