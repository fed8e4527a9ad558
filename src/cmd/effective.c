#include <config.h>

#include "effective.h"

#include <stdlib.h>

#include <plyecho/laminate.h>

#include "memory.h"

/* scale brings the option's unit to SI. */
static void over(struct plyecho_setting *setting, const struct option_number *option,
                 double scale)
{
    if (option->set)
        *setting = (struct plyecho_setting){true, option->value * scale, 0};
}

static void text_over(struct plyecho_text_setting *setting, const struct option_text *option)
{
    if (!option->set)
        return;
    free(setting->value);
    *setting = (struct plyecho_text_setting){memory_text(option->value), 0};
}

static void numbers_over(struct plyecho_procedure *p, const struct setup_values *v)
{
    if (v->velocity_m_s.set)
        p->material.velocity_u_m_s.set = false;
    if (v->zero_us.set)
        p->calibration.zero_u_s.set = false;
    over(&p->material.velocity_m_s, &v->velocity_m_s, 1.0);
    over(&p->material.velocity_u_m_s, &v->velocity_u_m_s, 1.0);
    over(&p->part.nominal_m, &v->nominal_mm, 1e-3);
    if (v->nominal_mm.set)
        p->part.nominal_along_m.count = 0;
    over(&p->material.attenuation_np_m_hz, &v->attenuation_db_mm_mhz,
         plyecho_attenuation_from_db_mm_mhz(1.0));
    over(&p->calibration.zero_s, &v->zero_us, 1e-6);
    over(&p->calibration.zero_u_s, &v->zero_u_us, 1e-6);
}

static bool layers_over(struct plyecho_procedure *p, const struct option_text *layers,
                        struct messages *messages)
{
    struct plyecho_error err;
    if (!layers->set || plyecho_layers_read(&p->layers, layers->value, &err) == PLYECHO_OK)
        return true;
    message_trouble(messages, NULL, "--layers: %s", err.text);
    return false;
}

bool effective_take_options(struct plyecho_procedure *procedure, const struct setup_values *v,
                            struct messages *messages)
{
    struct plyecho_error fault;
    struct plyecho_procedure judged;
    numbers_over(procedure, v);
    if (v->mode.set)
        procedure->signal.mode = (struct plyecho_setting){true, (double)v->mode.index, 0};
    if (v->band.hz.set)
        procedure->signal.band_hz =
            (struct plyecho_band_setting){true, {v->band.hz.low, v->band.hz.high}, 0};
    text_over(&procedure->signal.pulse, &v->pulse);
    if (!layers_over(procedure, &v->layers, messages))
        return false;
    judged = *procedure;
    if (v->nominal_mm.set)
        judged.acceptance.least_m.set = false; /* no option mends it: setup_open says it */
    if (plyecho_procedure_contradictions(&judged, &fault, 1) == 0)
        return true;
    message_error(messages, fault.line > 0 ? v->procedure.value : NULL, &fault);
    return false;
}

static bool fill(struct plyecho_setting *setting, double value)
{
    bool fills = !setting->set;
    if (fills)
        *setting = (struct plyecho_setting){true, value, 0};
    return fills;
}

const struct plyecho_medium *effective_take_material(struct plyecho_procedure *procedure)
{
    const char *name = procedure->material.material.value;
    const struct plyecho_medium *medium = name != NULL ? plyecho_medium_find(name) : NULL;
    if (medium == NULL)
        return NULL;
    if (fill(&procedure->material.velocity_m_s, medium->velocity_m_s))
        fill(&procedure->material.velocity_u_m_s, medium->velocity_u_m_s);
    fill(&procedure->material.attenuation_np_m_hz,
         plyecho_attenuation_from_db_mm_mhz(medium->attenuation_db_mm_mhz));
    fill(&procedure->material.density_kg_m3, medium->density_kg_m3);
    return medium;
}
