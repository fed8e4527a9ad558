#include <plyecho/expected_echo.h>

#include <math.h>

#include "pi.h"

/* Lines of the spectrum: to three times the centre frequency, so fine that 200 cycles fit between an echo
 * and its first image. */
enum { LINES = 600, LINES_A_CENTRE = 200 };

struct moment {
    double complex value, slope; /* of the analytic signal */
};

/* Twice the sum over positive frequencies. */
static struct moment signal_at(const double complex *line, double step_hz, double time_s)
{
    double complex turn = cexp(I * (2.0 * PE_PI * step_hz * time_s)), at = 2.0 * step_hz;
    struct moment m = {0.0, 0.0};
    for (int k = 0; k < LINES; k++) {
        at *= turn;
        m.value += line[k] * at;
        m.slope += line[k] * at * (I * (2.0 * PE_PI * step_hz * (k + 1)));
    }
    return m;
}

void plyecho_expected_echo_find(const struct plyecho_pulse *pulse,
                                const struct plyecho_stack *with,
                                const struct plyecho_stack *without, double time_s,
                                struct plyecho_expected_echo *echo)
{
    enum { STEPS = 200 };
    double step_hz = pulse->centre_hz / LINES_A_CENTRE, before_s, after_s;
    double complex line[LINES];
    double energy = 0.0, turned = 0.0;
    for (int k = 0; k < LINES; k++) {
        double hz = step_hz * (k + 1);
        double complex s = I * (2.0 * PE_PI * hz);
        line[k] = plyecho_pulse_spectrum(pulse, hz) *
                  (plyecho_stack_reflection(with, s) - plyecho_stack_reflection(without, s));
    }
    plyecho_pulse_extent(pulse, 0.3, &before_s, &after_s);
    *echo = (struct plyecho_expected_echo){.time_s = time_s};
    /* the mean over this stretch alone, so that repeats behind it do not count */
    for (int i = 0; i <= STEPS; i++) {
        double t = time_s - before_s + (before_s + after_s) * i / STEPS;
        struct moment m = signal_at(line, step_hz, t);
        double level = cabs(m.value);
        energy += level * level;
        turned += cimag(conj(m.value) * m.slope);
        if (level > echo->level) {
            echo->level = level;
            echo->time_s = t;
        }
    }
    echo->centre_hz = energy > 0.0 ? turned / energy / (2.0 * PE_PI) : 0.0;
}
