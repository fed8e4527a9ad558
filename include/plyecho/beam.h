/* beam.h - the sound field of a flat circular probe, and how its face lies on a tube
 *
 * A plane piston of the given diameter in one medium. Behind a delay line or a water path the same
 * holds with the path taken into the last medium by plyecho_equivalent_path_m.
 */
#ifndef PLYECHO_BEAM_H
#define PLYECHO_BEAM_H

#include <complex.h>

#include <plyecho/error.h>

/* sin(half angle) over wavelength / diameter, from the piston's directivity 2 J1(x) / x: where a small
 * reflector's echo falls to half (-6 dB, there and back), to a tenth (-20 dB), to nothing. */
#define PLYECHO_BEAM_6DB 0.5145
#define PLYECHO_BEAM_20DB 0.8694
#define PLYECHO_BEAM_EDGE 1.2197

/* Distance of the last maximum on the axis, (D^2 - wavelength^2) / (4 wavelength); 0 where the face is
 * smaller than a wavelength. */
PLYECHO_API double plyecho_near_field_m(double diameter_m, double wavelength_m);

/* Half angle of the beam far behind the near field; a quarter turn where it has no edge there. */
PLYECHO_API double plyecho_beam_half_angle_rad(double diameter_m, double wavelength_m,
                                               double level);

/* Path in `velocity_m_s` that diffracts as a path in another medium does: lengths count with their
 * velocities (Fresnel's approximation: the sum of path times wavelength). */
PLYECHO_API double plyecho_equivalent_path_m(double path_m, double path_velocity_m_s,
                                             double velocity_m_s);

/* Width over which a small reflector at this distance gives at least half of its highest echo (-6 dB,
 * there and back), for a pulse of this relative -6 dB bandwidth (Gaussian, 0.02 to 1.2), its energy
 * counted: Fresnel's integral over the face, summed over the band. Nearer than a twentieth of
 * the near field it is the face's diameter. */
PLYECHO_API double plyecho_beam_diameter_m(double diameter_m, double wavelength_m,
                                           double bandwidth, double distance_m);

/* Mean pressure over a receiver like the sender, opposite at s = distance x wavelength / radius^2 (> 0),
 * over that of a plane wave: Rogers and Van Buren, J. Acoust. Soc. Am. 55 (1974) 724-728. For the
 * echo of a large reflector the distance is there and back. */
PLYECHO_API double complex plyecho_piston_diffraction(double s);

/* Gap between a flat face's edge and a tube that it touches in its middle; the tube's radius where the
 * face is wider than the tube. */
PLYECHO_API double plyecho_contact_gap_m(double face_diameter_m, double tube_diameter_m);

/* Width of the strip along a tube over which that gap stays below gap_m; at most the face's diameter. */
PLYECHO_API double plyecho_contact_width_m(double face_diameter_m, double tube_diameter_m,
                                           double gap_m);

#endif
