/* place_reading.h - what was read at one place of a part, and what its neighbours make of it
 */
#ifndef PLYECHO_PLACE_READING_H
#define PLYECHO_PLACE_READING_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/known.h>
#include <plyecho/profile.h>
#include <plyecho/verdict.h>

/* Where on the part. A tube is unrolled: `across` is the angle in degrees, 0 to below 360, `along` the axial
 * coordinate in m. On a plate they are x and y, both in m. */
struct plyecho_place {
    double across;
    double along;
};

enum { PLYECHO_PLACE_ROOM = 80 };

/* "300 deg, 32 mm" on a tube, "x 70 mm, y 32 mm" on a plate; returns words. */
PLYECHO_API const char *plyecho_place_words(bool tube, const struct plyecho_place *place,
                                            char words[PLYECHO_PLACE_ROOM]);

/* Why the second verdict differs from the raw one, or what else neighbours tell. */
enum plyecho_context {
    PLYECHO_CONTEXT_NONE,
    PLYECHO_CONTEXT_SHADOW, /* the wall or layer around is whole and does not lead here: a full shadow */
    PLYECHO_CONTEXT_THIN, /* the wall around falls to it step by step: a thin wall */
    PLYECHO_CONTEXT_EDGE, /* an indication next to it, at this depth, reaches into the beam */
    PLYECHO_CONTEXT_LAMINATE, /* nothing inside stands higher than at the sound places: the laminate itself */
    PLYECHO_CONTEXT_WEAK, /* the back wall is far weaker than at the sound places */
    PLYECHO_CONTEXT_STEP, /* a layer ends here: the wall beside it has its back at this depth */
    PLYECHO_CONTEXT_AROUND, /* the interface and wall of the neighbours, or of declared places, account for it */
    PLYECHO_CONTEXT_SHORT, /* short of the wall around, but a thin wall as well as a shadow can be so */
    PLYECHO_CONTEXT_ALONE, /* no neighbour shows anything of it: read it again */
    PLYECHO_CONTEXT_COUNT
};

/* The word for tables, "" for none; never NULL. */
PLYECHO_API const char *plyecho_context_word(enum plyecho_context context);

struct plyecho_place_reading {
    struct plyecho_place place;
    bool read;    /* false: no trace of this place could be read; nothing below holds */
    size_t shots; /* readable traces taken here */

    /* The raw verdict, of the best coupled shot. */
    enum plyecho_verdict verdict;
    bool flagged;
    enum plyecho_reason reason;
    double evidence_ratio;
    bool wall_seen; /* the thickness is the wall's */
    double wall_m;
    struct plyecho_known wall_u_m;  /* standard uncertainty, the spread of the shots in it */
    struct plyecho_known coat_m;    /* taken off the wall: its transit, as wall */
    struct plyecho_known nominal_m; /* expected here */
    double tolerance_m;             /* about the nominal, where that is known */
    struct plyecho_known lone_m; /* no wall seen: depth of an echo where no back wall belongs */
    struct plyecho_known lone_u_m; /* its standard uncertainty */

    bool has_indication;
    double depth_m; /* from the wall's front */
    struct plyecho_known depth_u_m;
    double strength; /* of the indication over a full reflector's, signed as in verdict.h */

    bool
        besides; /* flagged for an echo besides those of declared layers, which are as declared */

    bool range_known;
    double level;                       /* the least reportable strength between them */
    struct plyecho_known highest_inner; /* strength of the highest echo inside, 0 to 1 */
    bool expectation; /* the wall's attenuation tells how strong its back wall should be */
    struct plyecho_known
        balance_db; /* back wall against that, else against a usual laminate's */

    struct plyecho_profile profile; /* count 0: not known, as where a scan is read again */

    /* With the neighbours: plyecho_context_judge fills these. */
    enum plyecho_verdict second;
    bool second_flagged;
    enum plyecho_context context;
    double second_depth_m; /* where `second` is inner-echo or delamination: its depth */
    double second_strength;
    struct plyecho_known
        second_wall_m; /* the wall, also where it was a lone echo; not known where none was seen, or the
                          neighbours say that it is none */
    struct plyecho_known second_wall_u_m; /* its standard uncertainty */
};

/* No trace, or none that could be read; its second verdict is filled. */
PLYECHO_API bool plyecho_place_unread(const struct plyecho_place_reading *reading);

/* Is this verdict told from an echo inside, which has a strength and a depth? */
PLYECHO_API bool plyecho_verdict_has_echo(enum plyecho_verdict verdict);

#endif
