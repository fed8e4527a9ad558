#include <plyecho/media.h>

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define CRC "CRC Handbook of Chemistry and Physics, Speed of Sound in Various Media"
#define MEMORY(what) what ": memory"
#define LAMINATE "memory; 0 to 0.2 dB/mm/MHz with lay-up and porosity"

#define ROOT_3 1.7320508075688772

/* Standard uncertainty of a rectangle with this half width as a share of the value. */
#define SPREAD(value, share) ((value) * (share) / ROOT_3)

static const struct plyecho_medium media[] = {
    {"carbon", 1576.0, 2950.0, SPREAD(2950.0, 0.1), 0.1, 0.06, MEMORY("carbon fibre laminate"),
     LAMINATE},
    {"glass", 1900.0, 2790.0, SPREAD(2790.0, 0.1), 0.1, 0.06, MEMORY("glass fibre laminate"),
     LAMINATE},
    {"cfrp-quasi-isotropic", 1576.0, 2950.0, SPREAD(2950.0, 0.1), 0.1, 0.06,
     MEMORY("carbon fibre laminate"), LAMINATE},
    {"cfrp-unidirectional", 1576.0, 2950.0, SPREAD(2950.0, 0.1), 0.06, 0.04,
     MEMORY("carbon fibre laminate"),
     "less than in crossed plies: Ono, J. Compos. Sci. 7 (2023) 479, abstract; value: memory"},
    {"gfrp", 1900.0, 2790.0, SPREAD(2790.0, 0.1), 0.1, 0.06, MEMORY("glass fibre laminate"),
     LAMINATE},
    {"epoxy", 1140.0, 2770.0, SPREAD(2770.0, 0.1), 0.3, 0.17,
     "Sci. Rep. 14 (2024), s41598-024-62268-9, Table 1", "memory"},
    {"filler", 1500.0, 2400.0, SPREAD(2400.0, 0.1), 0.4, 0.23, MEMORY("polyester filler"),
     "memory"},
    {"pmma", 1180.0, 2680.0, SPREAD(2680.0, 0.05), 0.1, 0.04, CRC, "memory"},
    {"polystyrene", 1060.0, 2350.0, SPREAD(2350.0, 0.05), 0.03, 0.02, CRC, "memory"},
    {"nylon", 1110.0, 2620.0, SPREAD(2620.0, 0.05), 0.06, 0.04, "nylon 6-6: " CRC, "memory"},
    {"aluminium", 2700.0, 6420.0, SPREAD(6420.0, 0.03), 0.002, 0.002, "rolled: " CRC, "memory"},
    {"steel", 7850.0, 5960.0, SPREAD(5960.0, 0.03), 0.003, 0.003, "mild steel: " CRC, "memory"},
    {"stainless-steel", 7900.0, 5790.0, SPREAD(5790.0, 0.03), 0.01, 0.01, "347: " CRC,
     "memory"},
    {"fused-silica", 2200.0, 5968.0, SPREAD(5968.0, 0.03), 0.0, 0.001, CRC, "memory"},
    {"borosilicate", 2320.0, 5640.0, SPREAD(5640.0, 0.03), 0.002, 0.002, "glass: " CRC,
     "memory"},
    {"water", 998.2, 1482.38, 2.0 * 3.071 / ROOT_3, 0.0, 0.0,
     "Marczak, J. Acoust. Soc. Am. 102 (1997) 2776, at 20 C; u: 2 K either way",
     "grows with frequency squared, 0.02 dB/mm at 10 MHz: Pinkerton 1949, from memory"},
    {"air", 1.2041, 343.2, 2.0 * 0.6 / ROOT_3, 0.0, 0.0, MEMORY("at 20 C"), "not considered"},
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

void plyecho_medium_velocity_range(const struct plyecho_medium *medium, double *low_m_s,
                                   double *high_m_s)
{
    double half_width = ROOT_3 * medium->velocity_u_m_s;
    *low_m_s = medium->velocity_m_s - half_width;
    *high_m_s = medium->velocity_m_s + half_width;
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

/* By powers of the temperature in C, from the constant on; m/s. */
static const double marczak[] = {1.402385e3,  5.038813,     -5.799136e-2,
                                 3.287156e-4, -1.398845e-6, 2.787860e-9};

enum { TERMS = sizeof marczak / sizeof marczak[0] };

static bool in_range(double temperature_c)
{
    return temperature_c >= PLYECHO_WATER_LEAST_C && temperature_c <= PLYECHO_WATER_MOST_C;
}

double plyecho_water_velocity(double temperature_c)
{
    double sum = 0.0;
    for (int k = TERMS - 1; k >= 0; k--)
        sum = sum * temperature_c + marczak[k];
    return in_range(temperature_c) ? sum : NAN;
}
