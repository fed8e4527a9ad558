/* A calibration into a procedure file. */
#include <config.h>

#include <stdio.h>

#include <plyecho/number.h>

#include "calibrate.h"
#include "procedure_file.h"

/* Rounded to about a hundredth of its uncertainty. */
static const char *rounded(double value, double u, char out[PLYECHO_NUMBER_ROOM])
{
    if (u > 0.0)
        snprintf(out, PLYECHO_NUMBER_ROOM, "%.*f", table_places(u), value);
    else
        plyecho_number_format(value, out);
    return out;
}

bool calibrate_into(const struct calibrated *c, const struct calibrate_values *v,
                    struct messages *messages)
{
    const struct plyecho_calibration *l = &c->line;
    char text[4][PLYECHO_NUMBER_ROOM];
    if (c->spoilt) {
        message_trouble(messages, v->into.value,
                        "nothing written: the calibration is not to be trusted (%s)",
                        c->warnings[0]);
        return false;
    }
    const struct plyecho_procedure_change changes[] = {
        {"material", "velocity_m_s", rounded(l->velocity_m_s, l->velocity_u_m_s, text[0])},
        {"material", "velocity_u_m_s", rounded(l->velocity_u_m_s, l->velocity_u_m_s, text[1])},
        {"calibration", "zero_us", rounded(l->zero_s * 1e6, l->zero_u_s * 1e6, text[2])},
        {"calibration", "zero_u_us", rounded(l->zero_u_s * 1e6, l->zero_u_s * 1e6, text[3])},
    };
    /* modes 2 and 3 take no zero off, and one that mode 1 was given stays */
    size_t count = c->steps.mode == PLYECHO_MODE_1 ? 4 : 2;
    return procedure_file_change(v->into.value, changes, count, messages);
}
