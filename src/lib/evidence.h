/* evidence.h - what a trace shows, before anything is concluded from it
 */
#ifndef PLYECHO_LIB_EVIDENCE_H
#define PLYECHO_LIB_EVIDENCE_H

#include <plyecho/verdict.h>

#include "interface.h"

enum pe_coupling { PE_COUPLING_UNKNOWN, PE_COUPLED, PE_NOT_COUPLED };

/* An echo inside the wall. */
struct pe_inner {
    double delay_s;   /* behind the wall's front */
    double strength;  /* over a full reflector at that depth, attenuation taken back */
    double phase_rad; /* against a gap's echo at that depth: 0 a gap, +-pi a step to harder */
    double noise;     /* noise in units of strength at that depth */
    bool repeats;     /* an echo at twice its delay, as high as a gap's repeat would be */
};

/* What the delay line's repeat of the wall says of the record (line_repeat.h). */
struct pe_line_says {
    bool whole;     /* no time is lost or doubled within the wall */
    double lost_s;  /* time lost between front and back wall; below 0: doubled; 0: none found */
    bool disagrees; /* lost time would explain more of it, but not enough */
};

struct pe_evidence {
    struct plyecho_picks picks;
    struct plyecho_thickness thickness; /* of the echo taken for the back wall's */
    double front_s;                     /* time of the wall's front */
    double loss_np_s;   /* amplitude lost a second of travel, at the centre frequency */
    double loss_u_np_s; /* its standard uncertainty */

    enum pe_coupling coupling;
    struct plyecho_known front_reflection; /* signed; against the reference */

    bool record_short; /* the record ends where the nominal back wall would be */
    bool line_repeats; /* the delay line is so short that it repeats within the nominal wall */
    bool lone; /* no echo where the nominal wall belongs; back is the highest elsewhere */
    bool back_is_repeat; /* the echo at the back wall's place is the repeat of one inside */
    double back_delay_s; /* of the echo taken for the back wall's, behind the front */

    double reference_scale; /* factor from the reference's amplitude to the trace's; 0: none */
    double usual_front;     /* reflection of the wall's face, as far as anything tells of it */
    double
        scale; /* what strengths are over: amplitude of a full reflector at the front face, by the
                               back wall where it stands, else as full_scale */
    double full_scale;      /* amplitude of a full reflector at the front face, from front or */
    double full_scale_u_db; /* reference; its standard uncertainty */
    bool expectation;       /* attenuation is stated, so the back wall's level can be judged */
    double balance_db;      /* back wall over expectation */
    double balance_u_db;

    double from_s, to_s; /* delays between which the least reportable echo would be seen */
    double level;        /* reportable strength in the middle of that range */
    bool has_inner;
    struct pe_inner inner; /* the strongest, relative to the level at its depth */
    double inner_level;    /* reportable strength at its depth */
    double indication_s;   /* delay of the echo that the verdict may speak of */
    struct pe_interface interfaces[PE_INTERFACES]; /* all reportable echoes inside */
    int interface_count;
    double lost_s;  /* time that the record seems to lack within the wall; below 0: has twice */
    bool explained; /* a stack accounts for the whole trace, repeats and all */
    struct pe_line_says line;
};

/* The laminate itself: resin between plies reflects in proportion to frequency; an echo counts
 * from the 0.08 that films of a few micrometres may give at 10 MHz (common practice, no source; the
 * simulated laminates of tests/reference stay below 0.075). */
static const double pe_level_per_hz = 0.08 / 10e6;

/* Measure all of it. */
void pe_evidence_take(const struct plyecho_conditioned *trace, const struct plyecho_trace *raw,
                      const struct plyecho_assess_options *options,
                      struct pe_evidence *evidence);

#endif
