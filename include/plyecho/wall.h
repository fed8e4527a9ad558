/* wall.h - which echo is which, and the wall's thickness by a measuring mode
 *
 * After the principle of ISO 16809: mode 1 from the transmission pulse to the first back-wall
 * echo less a zero offset, mode 2 from the interface echo (end of the delay line, or of the
 * water path) to the first back-wall echo, mode 3 between back-wall echoes.
 */
#ifndef PLYECHO_WALL_H
#define PLYECHO_WALL_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/condition.h>
#include <plyecho/echo.h>
#include <plyecho/error.h>
#include <plyecho/influences.h>
#include <plyecho/known.h>
#include <plyecho/plate_fit.h>
#include <plyecho/trace.h>

enum plyecho_mode {
    PLYECHO_MODE_AUTO = 0, /* the best that the trace allows */
    PLYECHO_MODE_1 = 1,
    PLYECHO_MODE_2 = 2,
    PLYECHO_MODE_3 = 3
};

/* Why a reading was refused, or what makes it doubtful. */
enum plyecho_reason {
    PLYECHO_REASON_NONE,
    PLYECHO_REASON_NO_ECHO,        /* nothing stands out of the noise */
    PLYECHO_REASON_NO_FRONT_ECHO,  /* mode 2 asked for, no interface echo */
    PLYECHO_REASON_NO_BACK_ECHO,   /* no back-wall echo */
    PLYECHO_REASON_NO_SECOND_ECHO, /* mode 3 asked for, no second back-wall echo */
    PLYECHO_REASON_CLIPPED,        /* an echo that matters touches the recorder's limit */
    PLYECHO_REASON_TOO_NOISY,      /* noise hides what would have to be seen */
    PLYECHO_REASON_CYCLE, /* the time may be off by a cycle; its uncertainty holds that */
    PLYECHO_REASON_OUTSIDE_TIME_BASE, /* the echo would lie behind the end of the record */
    PLYECHO_REASON_NO_COUPLING,       /* the probe does not sound the part */
    PLYECHO_REASON_NOT_A_WALL,        /* the echo measured is not the back wall's */
    PLYECHO_REASON_OFF_NOMINAL,       /* measured, but outside the nominal's tolerance */
    PLYECHO_REASON_NO_ZERO,           /* mode 1 without its zero offset */
    PLYECHO_REASON_NO_NOMINAL, /* no nominal wall: that the echo is the back wall's is assumed */
    PLYECHO_REASON_NOT_INSPECTED, /* front and back echo cover the whole depth */
    PLYECHO_REASON_LINE_REPEATS,  /* the delay line's repeat lies where the wall's echoes do */
    PLYECHO_REASON_DISTURBED,     /* echoes where a wall can have none: interference */
    PLYECHO_REASON_BASE_STEP,     /* the base line jumps among the echoes */
    PLYECHO_REASON_SAMPLES_LOST, /* the echoes' spacings show that samples are missing, or a block of
                                    them is filled */
    PLYECHO_REASON_ONE_SIDED, /* said to be rf, but rectified or an envelope */
    PLYECHO_REASON_DISTORTED, /* the highest echo holds a third harmonic: limited before the converter */
    PLYECHO_REASON_SIGN_LOST, /* rectified or an envelope: judged without the signs of echoes */
    PLYECHO_REASON_NOT_EXPLAINED, /* no stack of layers accounts for the trace */
    PLYECHO_REASON_COAT_UNSURE, /* the wall is thin only if a coat lies in front of it, and that is not sure */
    PLYECHO_REASON_SHOTS_DISAGREE, /* one shot at a place finds what the best coupled one does not */
    PLYECHO_REASON_COUNT
};

/* The word for the table's `reason` column, "" for none; never NULL. */
PLYECHO_API const char *plyecho_reason_word(enum plyecho_reason reason);

struct plyecho_wall_options {
    enum plyecho_mode mode;
    double velocity_m_s; /* phase velocity at the pulse's centre frequency; above 0 */
    struct plyecho_known velocity_u;  /* its standard uncertainty, m/s */
    struct plyecho_known zero_s;      /* mode 1: time base reading of the wall's front */
    struct plyecho_known zero_u_s;    /* its standard uncertainty */
    double velocity_zero_correlation; /* of the two, where they come from one line; else 0 */
    struct plyecho_influences influences; /* what else shifts a thickness */
    struct plyecho_known nominal_m;       /* wall expected */
    double tolerance_m;                   /* about the nominal */
    struct plyecho_known
        front_s; /* where the interface echo is expected: the reference's time */
    struct plyecho_known attenuation; /* Np per m and Hz, one way */
    struct plyecho_plate_fit *fit;    /* NULL: none; refines mode 2 by the whole trace */
};

/* All unknown, mode auto, velocity 0: the caller must set one. */
PLYECHO_API struct plyecho_wall_options plyecho_wall_defaults(void);

enum { PLYECHO_PICKED_ECHOES = 32 };

/* Which echo is which. Indices into echoes, -1 where there is none. */
struct plyecho_picks {
    struct plyecho_echo echoes[PLYECHO_PICKED_ECHOES];
    int count;
    double initial_end_s; /* until here the transmission pulse covers everything */
    bool contact;         /* no delay path: the wall begins at the transmission pulse */
    int front;            /* interface echo; -1 in contact */
    int back;             /* first back-wall echo */
    int second;           /* second back-wall echo */
    double pulse_s;       /* pulse length at -20 dB */
    bool
        beyond_nominal; /* front and back wall stand clear, but further apart than the nominal's
                            tolerance allows */
};

/* Tell front, back and second back wall. With a nominal the back wall is looked for within its
 * tolerance first; otherwise, and where nothing is there, it is the highest echo behind the
 * front. Where the nominal leads astray, because front and back wall stand clear elsewhere, those
 * are told.
 */
PLYECHO_API void plyecho_wall_pick(const struct plyecho_conditioned *trace,
                                   const struct plyecho_wall_options *options,
                                   struct plyecho_picks *picks);

struct plyecho_thickness {
    enum plyecho_reason reason; /* none: measured */
    enum plyecho_mode mode;     /* the one used, 1 to 3; 0 where none could be */
    double time_s;              /* time of flight through the wall and back */
    double time_u_s;            /* its standard uncertainty, with these parts of it: */
    double plies_u_s;           /* what echoes of plies do to it */
    double dispersion_u_s;      /* of a time by peaks: what is not known of the dispersion */
    double zero_u_s;            /* mode 1: of the zero */
    double thickness_m;
    struct plyecho_known
        thickness_u; /* combined (JCGM 100, 5.1.2); unknown where a part of it is */
    double ratio;    /* later over earlier echo at the centre frequency, signed; 0 in mode 1 */
    double loss_np_hz;   /* growth of that ratio's loss with frequency */
    double other_cycle;  /* probability that a cycle was skipped */
    bool repeats_agree;  /* the wall's repeats were timed with it, and fit */
    bool modes_disagree; /* modes 2 and 3 measure different walls */
    double bound_s; /* Cramer-Rao bound of time_s for these echoes and this noise; 0: none */
};

/* Thickness from picked echoes. raw is the trace as recorded: clipping is looked for there. */
PLYECHO_API void plyecho_wall_measure(const struct plyecho_conditioned *trace,
                                      const struct plyecho_trace *raw,
                                      const struct plyecho_wall_options *options,
                                      const struct plyecho_picks *picks,
                                      struct plyecho_thickness *thickness);

/* From mode, time_s and time_u_s: thickness_m = v t / 2 and thickness_u, unknown where that of the
 * velocity, or in mode 1 of the zero, is. */
PLYECHO_API void plyecho_wall_thickness(const struct plyecho_wall_options *options,
                                        struct plyecho_thickness *thickness);

/* Is the record clipped within this echo, as a pulse length about its peak? */
PLYECHO_API bool plyecho_echo_clipped(const struct plyecho_trace *raw,
                                      const struct plyecho_picks *picks, int echo);

#endif
