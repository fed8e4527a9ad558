/* expected_echo.h - how high one echo of a stack of layers is, from the layer model
 *
 * Two stacks that differ behind one depth give two reflections; their difference is what comes from
 * there. A stack that ends in its own material gives nothing.
 */
#ifndef PLYECHO_EXPECTED_ECHO_H
#define PLYECHO_EXPECTED_ECHO_H

#include <plyecho/error.h>
#include <plyecho/laminate.h>
#include <plyecho/pulse.h>

struct plyecho_expected_echo {
    double level;     /* envelope's peak over that of a full reflector's echo at the face */
    double time_s;    /* of that peak, behind the face */
    double centre_hz; /* mean frequency, weighted with its energy: attenuation draws it down */
};

/* The echo that `with` has over `without`, near time_s behind the face (within a pulse length): both pass
 * plyecho_stack_check. */
PLYECHO_API void plyecho_expected_echo_find(const struct plyecho_pulse *pulse,
                                            const struct plyecho_stack *with,
                                            const struct plyecho_stack *without, double time_s,
                                            struct plyecho_expected_echo *echo);

#endif
