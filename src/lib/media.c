#include <plyecho/media.h>

#include <string.h>

#define CRC "CRC Handbook of Chemistry and Physics, Speed of Sound in Various Media"

static const struct plyecho_medium media[] = {
    {"carbon", 1576.0, 2950.0, 0.10, "carbon fibre laminate: memory"},
    {"glass", 1900.0, 2790.0, 0.10, "glass fibre laminate: memory"},
    {"epoxy", 1140.0, 2770.0, 0.30, "Sci. Rep. 14 (2024), s41598-024-62268-9, Table 1"},
    {"filler", 1500.0, 2400.0, 0.40, "polyester filler: memory"},
    {"pmma", 1180.0, 2680.0, 0.10, CRC},
    {"polystyrene", 1060.0, 2350.0, 0.03, CRC},
    {"water", 998.2, 1482.38, 0.0, "Marczak, J. Acoust. Soc. Am. 102 (1997) 2776, at 20 C"},
    {"steel", 7850.0, 5960.0, 0.003, "mild steel: " CRC},
    {"air", 1.2041, 343.2, 0.0, "at 20 C: memory"},
};

const struct plyecho_medium *plyecho_medium_at(size_t index)
{
    return index < sizeof media / sizeof media[0] ? &media[index] : NULL;
}

const struct plyecho_medium *plyecho_medium_find(const char *name)
{
    for (size_t i = 0; i < sizeof media / sizeof media[0]; i++)
        if (strcmp(media[i].name, name) == 0)
            return &media[i];
    return NULL;
}

struct plyecho_layer plyecho_medium_layer(const struct plyecho_medium *medium,
                                          double thickness_m)
{
    return (struct plyecho_layer){
        .impedance_rayl = medium->density_kg_m3 * medium->velocity_m_s,
        .velocity_m_s = medium->velocity_m_s,
        .attenuation_np_m_hz =
            plyecho_attenuation_from_db_mm_mhz(medium->attenuation_db_mm_mhz),
        .thickness_m = thickness_m,
    };
}
