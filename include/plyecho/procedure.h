/* procedure.h - the procedure file: what part, material, settings and limits a reading stands
 * on
 *
 * An INI file; docs/procedure.md documents every key with its unit and default. In the file a
 * key carries the unit that people use (nominal_mm), here the field carries the SI unit it was
 * turned into (nominal_m). Nothing is filled in: a setting that the file lacks has `set` false,
 * and who uses it applies the default. An option on the command line wins by writing its value
 * here.
 */
#ifndef PLYECHO_PROCEDURE_H
#define PLYECHO_PROCEDURE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/along.h>
#include <plyecho/analytic.h>
#include <plyecho/digest.h>
#include <plyecho/error.h>
#include <plyecho/layers.h>

/* A number of the file. line is where it stands (from 1), 0 where it is not from a file. */
struct plyecho_setting {
    bool set;
    double value;
    long line;
};

struct plyecho_band_setting {
    bool set;
    struct plyecho_band value;
    long line;
};

/* value is NULL where it is not set, else UTF-8 text on one line. */
struct plyecho_text_setting {
    char *value;
    long line;
};

/* Of the micrometer that measured the steps. */
enum plyecho_anvil {
    PLYECHO_ANVIL_BALL,
    PLYECHO_ANVIL_PIN,
    PLYECHO_ANVIL_FLAT,
    PLYECHO_ANVIL_NONE /* they were measured in another way */
};

/* Which way a tube's angles count, looking along rising axial coordinates. */
enum plyecho_angle_direction { PLYECHO_ANGLE_CLOCKWISE, PLYECHO_ANGLE_COUNTERCLOCKWISE };

struct plyecho_procedure {
    struct {
        struct plyecho_text_setting name;
        struct plyecho_text_setting zero_mark;      /* where angle 0 and axial 0 are */
        struct plyecho_setting angle_direction;     /* an enum plyecho_angle_direction */
        struct plyecho_setting nominal_m;           /* wall, above 0 */
        struct plyecho_setting nominal_tolerance_m; /* either way, above 0, below nominal */
        struct plyecho_setting diameter_m;          /* outer diameter of a tube */
        struct plyecho_along nominal_along_m;  /* where it changes along the part, in the */
        struct plyecho_along diameter_along_m; /* place of the one number */
        struct plyecho_setting curvature_u_m;  /* of a thickness, by the curved surface */
    } part;
    struct {
        struct plyecho_text_setting date; /* as date.h says */
        struct plyecho_text_setting operator, operator_certificate, operator_level;
        struct plyecho_text_setting place;   /* where it was done */
        struct plyecho_text_setting surface; /* cleaned, paint left or taken off */
        struct plyecho_text_setting reason;  /* what the part went through */
    } inspection;
    struct {
        struct plyecho_text_setting instrument, recorder, probe, couplant;
        struct plyecho_text_setting shoe;        /* what holds the probe on the part */
        struct plyecho_setting clock_limit;      /* half width, a share: 50 ppm is 5e-5 */
        struct plyecho_setting couplant_limit_s; /* half width */
        struct plyecho_setting probe_frequency_hz;
        struct plyecho_setting probe_bandwidth; /* -6 dB band over the centre frequency */
        struct plyecho_setting probe_diameter_m;
        struct plyecho_text_setting delay_line_material; /* a name of media.h */
        struct plyecho_setting delay_line_m;
        struct plyecho_setting beam_m; /* measured -6 dB width in the wall */
    } equipment;
    struct {
        struct plyecho_text_setting material;       /* a name of media.h */
        struct plyecho_setting velocity_m_s;        /* phase velocity at the pulse's centre */
        struct plyecho_setting velocity_u_m_s;      /* its standard uncertainty, 0 is exact */
        struct plyecho_setting velocity_per_k;      /* m/s for each K */
        struct plyecho_setting velocity_per_k_u;    /* its standard uncertainty */
        struct plyecho_setting attenuation_np_m_hz; /* one way, Np/m for each Hz */
        struct plyecho_setting density_kg_m3;
        struct plyecho_setting temperature_c;       /* of the part */
        struct plyecho_setting temperature_limit_k; /* half width, of part less steps */
    } material;
    struct {
        struct plyecho_setting mode; /* measuring mode 1, 2 or 3 (ISO 16809); 0 is auto */
        struct plyecho_band_setting band_hz;
        struct plyecho_text_setting
            pulse; /* a file's name, relative to the procedure's folder */
    } signal;
    struct {
        struct plyecho_setting zero_s;                    /* taken off every time of flight */
        struct plyecho_setting zero_u_s;                  /* its standard uncertainty */
        struct plyecho_setting velocity_zero_correlation; /* -1 to 1 */
        struct plyecho_text_setting date;                 /* as date.h says */
        struct plyecho_setting valid_days;                /* after the date */
        struct plyecho_text_setting operator, operator_certificate;
        struct plyecho_setting temperature_c; /* of the steps */
        struct plyecho_setting anvil;         /* an enum plyecho_anvil */
        struct plyecho_setting steps;         /* how many */
        struct plyecho_setting freedom;       /* degrees of freedom of velocity and zero */
        struct plyecho_setting steps_least_m, steps_most_m; /* thinnest and thickest */
        struct plyecho_text_setting steps_digest;
        struct plyecho_text_setting reference;       /* a kept trace, as signal.pulse */
        struct plyecho_setting check_velocity_limit; /* a share: 0.5 % is 0.005 */
        struct plyecho_setting check_zero_limit_s;
        struct plyecho_setting check_sensitivity_limit_db;
        struct plyecho_setting check_shape_limit;   /* 1 less the largest correlation */
        struct plyecho_setting recording_level_db;  /* against a full reflector at the depth */
        struct plyecho_setting evaluation_level_db; /* not below the recording level */
        struct plyecho_setting reference_gain_db;
    } calibration;
    struct {
        struct plyecho_setting least_m;              /* a wall below it is rejected */
        struct plyecho_setting most_spread_m;        /* standard deviation of the wall */
        struct plyecho_setting most_delamination_m;  /* arc or axial extent of one */
        struct plyecho_setting most_delamination_m2; /* area of one */
        struct plyecho_setting most_inner_echo_m2;   /* area of one that is not declared */
        struct plyecho_setting most_attenuated_m2;   /* area of one */
        struct plyecho_setting least_distance_m;     /* from one indication to the next */
        struct plyecho_setting least_coverage;       /* a share: 95 % is 0.95 */
        struct plyecho_setting most_unseen_m;        /* diameter of a flaw that no beam sees */
    } acceptance;
    struct plyecho_layers layers;     /* what is expected in the wall */
    char digest[PLYECHO_DIGEST_ROOM]; /* of the file's bytes */
};

/* What a wall of this trade can be: below the first it was most likely given in metres. */
#define PLYECHO_WALL_LEAST_MM 0.05
#define PLYECHO_WALL_MOST_MM 1000.0

/* Tolerance where a nominal wall is given without one, as a share of the nominal. */
#define PLYECHO_NOMINAL_TOLERANCE_SHARE 0.1

/* Read a procedure file from memory; *procedure is overwritten. CRLF line ends and a byte-order
 * mark are taken as they are. On failure *procedure is left zeroed, and err has the line and
 * what mends it: PLYECHO_BAD_NUMBER for text in a number's place, PLYECHO_BAD_ARGUMENT for a
 * value out of its range, PLYECHO_TOO_LARGE beyond 1 MiB, PLYECHO_BAD_FILE for everything else.
 */
PLYECHO_API enum plyecho_code plyecho_procedure_read(struct plyecho_procedure *procedure,
                                                     const void *bytes, size_t size,
                                                     struct plyecho_error *err);

/* The same, but it reads on behind each fault: up to most of them (at least 1) go to faults, in the
 * order of the lines, contradictions last. Returns how many, 0: *procedure holds the file. */
PLYECHO_API size_t plyecho_procedure_faults(struct plyecho_procedure *procedure,
                                            const void *bytes, size_t size,
                                            struct plyecho_error *faults, size_t most);

/* What no setting can tell alone, such as an acceptance limit above the nominal wall: each is
 * PLYECHO_BAD_ARGUMENT with the line of the setting to mend, 0 where that is not from a file.
 * Returns how many, at most `most`. plyecho_procedure_read looks for them; who puts options over a
 * procedure does so again. */
PLYECHO_API size_t plyecho_procedure_contradictions(const struct plyecho_procedure *procedure,
                                                    struct plyecho_error *faults, size_t most);

/* Free what it owns and zero it; a zeroed one is fine. */
PLYECHO_API void plyecho_procedure_clear(struct plyecho_procedure *procedure);

#endif
