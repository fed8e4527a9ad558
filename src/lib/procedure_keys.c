#include <plyecho/procedure_keys.h>

#include <stdio.h>
#include <string.h>

#include <plyecho/number.h>

#include "units.h"

#define AT(member) .offset = offsetof(struct plyecho_procedure, member)
#define ALONG(member) .along = offsetof(struct plyecho_procedure, member)

static const char *const modes[] = {"auto", "1", "2", "3", NULL};
static const char *const anvils[] = {"ball", "pin", "flat", "none", NULL};
static const char *const directions[] = {"clockwise", "counterclockwise", NULL};

/* The ranges are wide: they are there to catch a slip of unit. */
/* clang-format off */
static const struct plyecho_procedure_key keys[] = {
    {.section = "part", .name = "name", .kind = PLYECHO_KEY_TEXT, AT(part.name),
     .scale = 1, .unit = "", .hint = "",
     .absent = "for the reader of the file", .example = "Tricycle 12, steerer tube",
     .help = "what is measured"},
    {.section = "part", .name = "nominal_mm", .kind = PLYECHO_KEY_NUMBER, AT(part.nominal_m), ALONG(part.nominal_along_m),
     .scale = 1e-3, .least = PLYECHO_WALL_LEAST_MM, .most = PLYECHO_WALL_MOST_MM, .unit = "mm", .hint = "; 0.0032 m is written 3.2",
     .absent = "the verdict rests on the trace alone and says so", .example = "3.2",
     .help = "wall thickness that the part should have; of a tapered part at several axial_mm: "
             "3.2 at 0, 2.8 at 120"},
    {.section = "part", .name = "nominal_tolerance_mm", .kind = PLYECHO_KEY_NUMBER, AT(part.nominal_tolerance_m),
     .scale = 1e-3, .least = 0.001, .most = 1000, .unit = "mm", .hint = "; 0.00032 m is written 0.32",
     .absent = "10 % of nominal_mm", .example = "0.32",
     .help = "how far a sound wall may be off, either way"},
    {.section = "part", .name = "diameter_mm", .kind = PLYECHO_KEY_NUMBER, AT(part.diameter_m), ALONG(part.diameter_along_m),
     .scale = 1e-3, .least = 1, .most = 100000, .unit = "mm", .hint = "; 0.0286 m is written 28.6",
     .absent = "a flat part", .example = "28.6",
     .help = "outer diameter of a tube; of a tapered one as nominal_mm: 28.6 at 0, 31.8 at 120"},
    {.section = "part", .name = "zero_mark", .kind = PLYECHO_KEY_TEXT, AT(part.zero_mark),
     .scale = 1, .unit = "", .hint = "",
     .absent = "nobody can find a place of a scan on the part again, and scan says so", .example = "saw cut at the crown end, opposite the brake hole",
     .help = "where on the part the angle and the axial coordinate are 0; of a plate x and y"},
    {.section = "part", .name = "angle_direction", .kind = PLYECHO_KEY_WORD, AT(part.angle_direction),
     .scale = 1, .words = directions, .unit = "", .hint = "",
     .absent = "not recorded: an angle may then lie on the other side", .example = "clockwise",
     .help = "which way the angle rises, looking along the part in the direction of rising axial_mm: clockwise or counterclockwise"},
    {.section = "part", .name = "curvature_u_mm", .kind = PLYECHO_KEY_NUMBER, AT(part.curvature_u_m),
     .scale = 1e-3, .least = 0, .most = 1000, .unit = "mm", .hint = "",
     .absent = "the uncertainty budget lacks it and says so", .example = "0.005",
     .help = "standard uncertainty of a thickness by the curved surface, from readings of a step of the same curvature; 0: a flat part, or steps as curved as the part"},
    {.section = "inspection", .name = "date", .kind = PLYECHO_KEY_DATE, AT(inspection.date),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "2026-11-28",
     .help = "when the part was read; a time may follow: 2026-11-28T14:30"},
    {.section = "inspection", .name = "operator", .kind = PLYECHO_KEY_TEXT, AT(inspection.operator),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "A. Rider",
     .help = "who read it"},
    {.section = "inspection", .name = "operator_certificate", .kind = PLYECHO_KEY_TEXT, AT(inspection.operator_certificate),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "UT 1234, valid to 2028-03",
     .help = "their certificate"},
    {.section = "inspection", .name = "operator_level", .kind = PLYECHO_KEY_TEXT, AT(inspection.operator_level),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "2",
     .help = "level of the certificate, as ISO 9712 has it"},
    {.section = "inspection", .name = "place", .kind = PLYECHO_KEY_TEXT, AT(inspection.place),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "workshop, bench 2",
     .help = "where it was done"},
    {.section = "inspection", .name = "surface", .kind = PLYECHO_KEY_TEXT, AT(inspection.surface),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "cleaned, clear coat left on",
     .help = "state of the surface: cleaned or not, paint or filler left on or taken off"},
    {.section = "inspection", .name = "reason", .kind = PLYECHO_KEY_TEXT, AT(inspection.reason),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "fall at walking pace, on the left",
     .help = "why the part was read, and what it went through"},
    {.section = "equipment", .name = "instrument", .kind = PLYECHO_KEY_TEXT, AT(equipment.instrument),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "bench pulser, number 2",
     .help = "pulser and receiver, with its serial number"},
    {.section = "equipment", .name = "recorder", .kind = PLYECHO_KEY_TEXT, AT(equipment.recorder),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "12-bit digitiser, 100 MS/s",
     .help = "what records the traces"},
    {.section = "equipment", .name = "clock_limit_ppm", .kind = PLYECHO_KEY_NUMBER, AT(equipment.clock_limit),
     .scale = 1e-6, .least = 0, .most = 100000, .unit = "ppm", .hint = "",
     .absent = "the uncertainty budget lacks it and says so", .example = "50",
     .help = "how far the sampling rate may be off, either way; 0 where the velocity was calibrated with the same recorder"},
    {.section = "equipment", .name = "probe", .kind = PLYECHO_KEY_TEXT, AT(equipment.probe),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "10 MHz, 6 mm, number 4",
     .help = "the probe, with its serial number"},
    {.section = "equipment", .name = "probe_frequency_hz", .kind = PLYECHO_KEY_FREQUENCY, AT(equipment.probe_frequency_hz),
     .scale = 1, .least = 1e4, .most = 1e9, .unit = "Hz", .hint = "; 10 MHz is written 10M",
     .absent = "not recorded", .example = "10M",
     .help = "centre frequency of the probe"},
    {.section = "equipment", .name = "probe_bandwidth", .kind = PLYECHO_KEY_NUMBER, AT(equipment.probe_bandwidth),
     .scale = 1, .least = 0.01, .most = 2, .unit = "", .hint = "; 60 % is written 0.6",
     .absent = "not recorded", .example = "0.6",
     .help = "its -6 dB bandwidth over the centre frequency"},
    {.section = "equipment", .name = "probe_diameter_mm", .kind = PLYECHO_KEY_NUMBER, AT(equipment.probe_diameter_m),
     .scale = 1e-3, .least = 0.1, .most = 1000, .unit = "mm", .hint = "; 0.006 m is written 6",
     .absent = "not recorded", .example = "6",
     .help = "diameter of its active element"},
    {.section = "equipment", .name = "delay_line_material", .kind = PLYECHO_KEY_MEDIUM, AT(equipment.delay_line_material),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "polystyrene",
     .help = "material of the delay line, by its name in the table of materials"},
    {.section = "equipment", .name = "delay_line_mm", .kind = PLYECHO_KEY_NUMBER, AT(equipment.delay_line_m),
     .scale = 1e-3, .least = 0.1, .most = 1000, .unit = "mm", .hint = "; 0.01 m is written 10",
     .absent = "not recorded", .example = "10",
     .help = "length of the delay line"},
    {.section = "equipment", .name = "beam_mm", .kind = PLYECHO_KEY_NUMBER, AT(equipment.beam_m),
     .scale = 1e-3, .least = 0.1, .most = 1000, .unit = "mm", .hint = "; 0.003 m is written 3",
     .absent = "worked out for a flat part from the probe's frequency and diameter, the delay line, velocity and nominal wall; not known where one of them is missing", .example = "3.1",
     .help = "width of the beam in the wall, measured over a small reflector between the places where its echo falls by 6 dB"},
    {.section = "equipment", .name = "shoe", .kind = PLYECHO_KEY_TEXT, AT(equipment.shoe),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "28.6 mm shoe of nylon",
     .help = "what holds the probe square on a curved part"},
    {.section = "equipment", .name = "couplant", .kind = PLYECHO_KEY_TEXT, AT(equipment.couplant),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "ultrasonic gel",
     .help = "what couples the probe"},
    {.section = "equipment", .name = "couplant_limit_us", .kind = PLYECHO_KEY_NUMBER, AT(equipment.couplant_limit_s),
     .scale = 1e-6, .least = 0, .most = 100, .unit = "us", .hint = "",
     .absent = "the uncertainty budget lacks it and says so", .example = "0.005",
     .help = "how much longer or shorter the couplant's layer may take than on the steps, there and back: 0.005 mm of gel are 0.007 us"},
    {.section = "material", .name = "material", .kind = PLYECHO_KEY_MEDIUM, AT(material.material),
     .scale = 1, .unit = "", .hint = "",
     .absent = "nothing is taken from the table", .example = "cfrp-quasi-isotropic",
     .help = "material of the wall by its name in the table: gives velocity, its uncertainty "
             "and attenuation where the file has none; starting values, to be calibrated "
             "on the same lay-up"},
    {.section = "material", .name = "velocity_m_s", .kind = PLYECHO_KEY_NUMBER, AT(material.velocity_m_s),
     .scale = 1, .least = 100, .most = 20000, .unit = "m/s", .hint = "; 2.95 mm/us is written 2950",
     .absent = "that of the material, else times only, no thickness", .example = "2950",
     .help = "phase velocity at the pulse's centre frequency, across the plies"},
    {.section = "material", .name = "velocity_u_m_s", .kind = PLYECHO_KEY_NUMBER, AT(material.velocity_u_m_s),
     .scale = 1, .least = 0, .most = 20000, .unit = "m/s", .hint = "",
     .absent = "no uncertainty of a thickness", .example = "10",
     .help = "its standard uncertainty; 0 says that it is exact"},
    {.section = "material", .name = "velocity_per_c_m_s", .kind = PLYECHO_KEY_NUMBER, AT(material.velocity_per_k),
     .scale = 1, .least = -1000, .most = 1000, .unit = "m/s/C", .hint = "",
     .absent = "no correction for temperature, and the uncertainty budget lacks it and says so", .example = "-1.5",
     .help = "change of the velocity with temperature; velocity_m_s holds at the steps' temperature and is corrected to the part's where both are given"},
    {.section = "material", .name = "velocity_per_c_u_m_s", .kind = PLYECHO_KEY_NUMBER, AT(material.velocity_per_k_u),
     .scale = 1, .least = 0, .most = 1000, .unit = "m/s/C", .hint = "",
     .absent = "the uncertainty budget lacks it and says so, unless part and steps are equally warm", .example = "0.5",
     .help = "its standard uncertainty"},
    {.section = "material", .name = "attenuation_db_mm_mhz", .kind = PLYECHO_KEY_NUMBER, AT(material.attenuation_np_m_hz),
     .scale = PE_NP_M_HZ_PER_DB_MM_MHZ, .least = 0, .most = 100, .unit = "dB/mm/MHz", .hint = "",
     .absent = "that of the material, else the back wall's level is not assessed and porosity not ruled out", .example = "0.1",
     .help = "attenuation, one way"},
    {.section = "material", .name = "density_kg_m3", .kind = PLYECHO_KEY_NUMBER, AT(material.density_kg_m3),
     .scale = 1, .least = 10, .most = 25000, .unit = "kg/m3", .hint = "; 1.55 g/cm3 is written 1550",
     .absent = "not recorded", .example = "1576",
     .help = "density"},
    {.section = "material", .name = "temperature_c", .kind = PLYECHO_KEY_NUMBER, AT(material.temperature_c),
     .scale = 1, .least = -60, .most = 200, .unit = "C", .hint = "",
     .absent = "not recorded", .example = "20",
     .help = "temperature of the part when it is read"},
    {.section = "material", .name = "temperature_limit_c", .kind = PLYECHO_KEY_NUMBER, AT(material.temperature_limit_k),
     .scale = 1, .least = 0, .most = 200, .unit = "C", .hint = "",
     .absent = "the uncertainty budget lacks it and says so", .example = "2",
     .help = "how far the difference of the part's and the steps' temperature may be off, either way"},
    {.section = "signal", .name = "mode", .kind = PLYECHO_KEY_WORD, AT(signal.mode),
     .scale = 1, .words = modes, .unit = "", .hint = "", .preset = "auto",
     .absent = "the best mode that the trace allows", .example = "auto",
     .help = "measuring mode after ISO 16809: 1 transmission pulse to first echo, 2 "
             "interface echo to back wall, 3 between back-wall echoes, or auto"},
    {.section = "signal", .name = "band_hz", .kind = PLYECHO_KEY_BAND, AT(signal.band_hz),
     .scale = 1, .least = 0, .most = 1e9, .unit = "Hz", .hint = "",
     .absent = "the band of the reference pulse, else of each trace's own echoes", .example = "4M:16M",
     .help = "pass band, low end first"},
    {.section = "signal", .name = "pulse", .kind = PLYECHO_KEY_FILE, AT(signal.pulse),
     .scale = 1, .unit = "", .hint = "",
     .absent = "the pulse comes from the trace itself", .example = "reference.wav",
     .help = "trace with one clean echo of the same probe and settings"},
    {.section = "calibration", .name = "zero_us", .kind = PLYECHO_KEY_NUMBER, AT(calibration.zero_s),
     .scale = 1e-6, .least = -10000, .most = 10000, .unit = "us", .hint = "", .preset = "0",
     .absent = "0", .example = "0",
     .help = "what the time base reads at the wall's front; mode 1 takes it off"},
    {.section = "calibration", .name = "zero_u_us", .kind = PLYECHO_KEY_NUMBER, AT(calibration.zero_u_s),
     .scale = 1e-6, .least = 0, .most = 10000, .unit = "us", .hint = "",
     .absent = "no uncertainty of a thickness in mode 1", .example = "0.002",
     .help = "its standard uncertainty"},
    {.section = "calibration", .name = "velocity_zero_correlation", .kind = PLYECHO_KEY_NUMBER, AT(calibration.velocity_zero_correlation),
     .scale = 1, .least = -1, .most = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "0.8",
     .help = "correlation of velocity and zero, which come from the same steps"},
    {.section = "calibration", .name = "date", .kind = PLYECHO_KEY_DATE, AT(calibration.date),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "2026-11-28",
     .help = "when it was calibrated"},
    {.section = "calibration", .name = "valid_days", .kind = PLYECHO_KEY_COUNT, AT(calibration.valid_days),
     .scale = 1, .least = 1, .most = 3660, .unit = "d", .hint = "",
     .absent = "no end is stated", .example = "365",
     .help = "days after the date for which the calibration holds; plyecho procedure check tells when they are over"},
    {.section = "calibration", .name = "operator", .kind = PLYECHO_KEY_TEXT, AT(calibration.operator),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "A. Rider",
     .help = "who calibrated"},
    {.section = "calibration", .name = "operator_certificate", .kind = PLYECHO_KEY_TEXT, AT(calibration.operator_certificate),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "UT level 2",
     .help = "the operator's certificate"},
    {.section = "calibration", .name = "temperature_c", .kind = PLYECHO_KEY_NUMBER, AT(calibration.temperature_c),
     .scale = 1, .least = -60, .most = 200, .unit = "C", .hint = "",
     .absent = "not recorded", .example = "20",
     .help = "temperature of the steps then"},
    {.section = "calibration", .name = "anvil", .kind = PLYECHO_KEY_WORD, AT(calibration.anvil),
     .scale = 1, .words = anvils, .unit = "", .hint = "",
     .absent = "not recorded", .example = "ball",
     .help = "anvil of the micrometer that measured the steps; a flat one over-reads a "
             "tube's wall by some tenths of a millimetre"},
    {.section = "calibration", .name = "steps", .kind = PLYECHO_KEY_COUNT, AT(calibration.steps),
     .scale = 1, .least = 1, .most = 1000, .unit = "", .hint = "",
     .absent = "not recorded", .example = "5",
     .help = "number of steps measured"},
    {.section = "calibration", .name = "freedom", .kind = PLYECHO_KEY_COUNT, AT(calibration.freedom),
     .scale = 1, .least = 0, .most = 1000, .unit = "", .hint = "",
     .absent = "the uncertainty budget takes velocity and zero for as sure as their uncertainties say", .example = "3",
     .help = "degrees of freedom of the line through the steps, behind the uncertainties of velocity and zero; 0: nothing told whether it fits"},
    {.section = "calibration", .name = "steps_least_mm", .kind = PLYECHO_KEY_NUMBER, AT(calibration.steps_least_m),
     .scale = 1e-3, .least = PLYECHO_WALL_LEAST_MM, .most = PLYECHO_WALL_MOST_MM, .unit = "mm", .hint = "; 0.002 m is written 2",
     .absent = "not recorded", .example = "2",
     .help = "thinnest step"},
    {.section = "calibration", .name = "steps_most_mm", .kind = PLYECHO_KEY_NUMBER, AT(calibration.steps_most_m),
     .scale = 1e-3, .least = PLYECHO_WALL_LEAST_MM, .most = PLYECHO_WALL_MOST_MM, .unit = "mm", .hint = "; 0.005 m is written 5",
     .absent = "not recorded", .example = "5",
     .help = "thickest step; thinnest and thickest should span the wall"},
    {.section = "calibration", .name = "steps_digest", .kind = PLYECHO_KEY_TEXT, AT(calibration.steps_digest),
     .scale = 1, .unit = "", .hint = "",
     .absent = "not recorded", .example = "2c26b46b68ffc68ff99b453c1d304134",
     .help = "digest of the traces used"},
    {.section = "calibration", .name = "reference", .kind = PLYECHO_KEY_FILE, AT(calibration.reference),
     .scale = 1, .unit = "", .hint = "",
     .absent = "no check against a kept trace", .example = "kept.wav",
     .help = "trace that is kept to check the set-up against"},
    {.section = "calibration", .name = "check_velocity_limit_percent", .kind = PLYECHO_KEY_NUMBER, AT(calibration.check_velocity_limit),
     .scale = 1e-2, .least = 1e-6, .most = 50, .unit = "%", .hint = "",
     .absent = "no limit stated", .example = "0.5",
     .help = "most that the velocity may have drifted"},
    {.section = "calibration", .name = "check_zero_limit_us", .kind = PLYECHO_KEY_NUMBER, AT(calibration.check_zero_limit_s),
     .scale = 1e-6, .least = 1e-9, .most = 10000, .unit = "us", .hint = "",
     .absent = "no limit stated", .example = "0.01",
     .help = "most that the zero may have drifted"},
    {.section = "calibration", .name = "check_sensitivity_limit_db", .kind = PLYECHO_KEY_NUMBER, AT(calibration.check_sensitivity_limit_db),
     .scale = 1, .least = 1e-6, .most = 60, .unit = "dB", .hint = "",
     .absent = "no limit stated", .example = "2",
     .help = "most that the echo's level may have drifted"},
    {.section = "calibration", .name = "check_shape_limit", .kind = PLYECHO_KEY_NUMBER, AT(calibration.check_shape_limit),
     .scale = 1, .least = 1e-6, .most = 1, .unit = "", .hint = "",
     .absent = "no limit stated", .example = "0.05",
     .help = "most that the pulse's shape may have changed: 1 less the largest correlation "
             "with the kept one"},
    {.section = "calibration", .name = "recording_level_db", .kind = PLYECHO_KEY_NUMBER, AT(calibration.recording_level_db),
     .scale = 1, .least = -120, .most = 60, .unit = "dB", .hint = "",
     .absent = "not recorded", .example = "-20",
     .help = "level of an indication from which it is recorded, against a full reflector at "
             "its depth; kept for the report: assess has a level of its own and does not use it yet"},
    {.section = "calibration", .name = "evaluation_level_db", .kind = PLYECHO_KEY_NUMBER, AT(calibration.evaluation_level_db),
     .scale = 1, .least = -120, .most = 60, .unit = "dB", .hint = "",
     .absent = "not recorded", .example = "-14",
     .help = "level from which it is evaluated, not below the recording level; kept for the report as that is"},
    {.section = "calibration", .name = "reference_gain_db", .kind = PLYECHO_KEY_NUMBER, AT(calibration.reference_gain_db),
     .scale = 1, .least = -200, .most = 200, .unit = "dB", .hint = "",
     .absent = "not recorded", .example = "32",
     .help = "receiver gain at which the levels were set"},
    {.section = "acceptance", .name = "least_mm", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.least_m),
     .scale = 1e-3, .least = PLYECHO_WALL_LEAST_MM, .most = PLYECHO_WALL_MOST_MM, .unit = "mm", .hint = "; 0.003 m is written 3",
     .absent = "no limit; with no limit at all in this section the part is 'not evaluated', never accepted", .example = "3.0",
     .help = "a wall below it is rejected"},
    {.section = "acceptance", .name = "most_spread_mm", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_spread_m),
     .scale = 1e-3, .least = 0.001, .most = 100, .unit = "mm", .hint = "",
     .absent = "no limit", .example = "0.1",
     .help = "most that the standard deviation of the wall over all its places may be"},
    {.section = "acceptance", .name = "most_delamination_mm", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_delamination_m),
     .scale = 1e-3, .least = 0, .most = 100000, .unit = "mm", .hint = "; 0.006 m is written 6",
     .absent = "no delamination is allowed, unless most_delamination_mm2 is there", .example = "6",
     .help = "largest extent that one delamination may have, arc or axial; its uncertainty must have room below; 0: none is allowed"},
    {.section = "acceptance", .name = "most_delamination_mm2", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_delamination_m2),
     .scale = 1e-6, .least = 0, .most = 1e8, .unit = "mm2", .hint = "",
     .absent = "no delamination is allowed, unless most_delamination_mm is there", .example = "30",
     .help = "largest area that one delamination may have; where both limits are there both must hold"},
    {.section = "acceptance", .name = "most_inner_echo_mm2", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_inner_echo_m2),
     .scale = 1e-6, .least = 0, .most = 1e8, .unit = "mm2", .hint = "",
     .absent = "one that [layers] does not declare leaves the part undecided", .example = "50",
     .help = "largest area that one inner echo may have which [layers] does not declare"},
    {.section = "acceptance", .name = "most_attenuated_mm2", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_attenuated_m2),
     .scale = 1e-6, .least = 0, .most = 1e8, .unit = "mm2", .hint = "",
     .absent = "one leaves the part undecided", .example = "100",
     .help = "largest area over which the back wall may be too weak, as pores make it"},
    {.section = "acceptance", .name = "least_distance_mm", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.least_distance_m),
     .scale = 1e-3, .least = 0.1, .most = 100000, .unit = "mm", .hint = "",
     .absent = "no limit", .example = "20",
     .help = "least distance from one indication to the next"},
    {.section = "acceptance", .name = "least_coverage_percent", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.least_coverage),
     .scale = 1e-2, .least = 1, .most = 100, .unit = "%", .hint = "; 0.95 is written 95",
     .absent = "no limit; without most_unseen_mm too, a part not seen all over stays undecided",
     .example = "95",
     .help = "least share of the part's surface that must have been under the beam; needs the beam's width"},
    {.section = "acceptance", .name = "most_unseen_mm", .kind = PLYECHO_KEY_NUMBER, AT(acceptance.most_unseen_m),
     .scale = 1e-3, .least = 0.01, .most = 1000, .unit = "mm", .hint = "; 0.005 m is written 5",
     .absent = "no limit; without least_coverage_percent too, a part not seen all over stays undecided",
     .example = "5",
     .help = "diameter of the largest flaw that may lie unseen between the places; needs the beam's width"},
    {.section = "layers", .name = "", .kind = PLYECHO_KEY_LAYER, AT(layers),
     .scale = 1, .unit = "", .hint = "",
     .absent = "one material", .example = "carbon = 3.2 mm, u 0.05 mm",
     .help = "what is expected in the wall, from outside in, one line a layer: NAME = "
             "THICKNESS mm, u ... mm, ... m/s, ... MRayl, ... dB/mm/MHz, FROM to TO deg, "
             "FROM to TO mm, coat"},
};
/* clang-format on */

const struct plyecho_procedure_key *plyecho_procedure_key_at(size_t index)
{
    return index < sizeof keys / sizeof keys[0] ? &keys[index] : NULL;
}

static const struct {
    const char *section, *help;
} sections[] = {
    {"part", "what is measured"},
    {"inspection", "when, where and by whom it is read, for the report"},
    {"equipment", "what it is measured with, so that somebody else can repeat it"},
    {"material", "what the wall is made of"},
    {"signal", "how traces are read"},
    {"calibration", "what steps and reference blocks told, and by whom and when"},
    {"acceptance", "when a wall or a part is rejected"},
    {"layers", "what is expected in the wall; any name is a key here"},
};

const char *plyecho_procedure_section_help(const char *section)
{
    for (size_t i = 0; i < sizeof sections / sizeof sections[0]; i++)
        if (strcmp(sections[i].section, section) == 0)
            return sections[i].help;
    return NULL;
}

/* As people write it. */
static const char *frequency_text(double hz, char out[PLYECHO_NUMBER_ROOM])
{
    if (hz >= 1e6)
        snprintf(out, PLYECHO_NUMBER_ROOM, "%.14gM", hz * 1e-6);
    else
        snprintf(out, PLYECHO_NUMBER_ROOM, "%.14g", hz);
    return out;
}

static bool band_text(const struct plyecho_band_setting *band, char *out, size_t room)
{
    char low[PLYECHO_NUMBER_ROOM], high[PLYECHO_NUMBER_ROOM];
    if (band->set)
        snprintf(out, room, "%s:%s", frequency_text(band->value.low_hz, low),
                 frequency_text(band->value.high_hz, high));
    return band->set;
}

static bool text_text(const struct plyecho_text_setting *text, char *out, size_t room)
{
    if (text->value != NULL)
        snprintf(out, room, "%s", text->value);
    return text->value != NULL;
}

/* Fifteen digits: what unit and back again did to the last bits does not show. */
static bool number_text(const struct plyecho_procedure_key *key,
                        const struct plyecho_setting *setting, char *out, size_t room)
{
    if (setting->set && key->kind == PLYECHO_KEY_WORD)
        snprintf(out, room, "%s", key->words[(size_t)setting->value]);
    else if (setting->set && key->kind == PLYECHO_KEY_FREQUENCY)
        frequency_text(setting->value, out);
    else if (setting->set)
        snprintf(out, room, "%.14g", setting->value / key->scale);
    return setting->set;
}

bool plyecho_procedure_value(const struct plyecho_procedure *procedure,
                             const struct plyecho_procedure_key *key,
                             char out[PLYECHO_PROCEDURE_VALUE_ROOM], long *line)
{
    const void *field = (const char *)procedure + key->offset;
    const size_t room = PLYECHO_PROCEDURE_VALUE_ROOM;
    const struct plyecho_along *along =
        key->along != 0 ? (const void *)((const char *)procedure + key->along) : NULL;
    out[0] = '\0';
    if (along != NULL && along->count > 0) {
        *line = along->line;
        plyecho_along_text(along, key->scale, out);
        return true;
    }
    switch (key->kind) {
    case PLYECHO_KEY_BAND:
        *line = ((const struct plyecho_band_setting *)field)->line;
        return band_text(field, out, room);
    case PLYECHO_KEY_TEXT:
    case PLYECHO_KEY_FILE:
    case PLYECHO_KEY_MEDIUM:
    case PLYECHO_KEY_DATE:
        *line = ((const struct plyecho_text_setting *)field)->line;
        return text_text(field, out, room);
    case PLYECHO_KEY_LAYER:
        *line = 0;
        return false;
    case PLYECHO_KEY_NUMBER:
    case PLYECHO_KEY_COUNT:
    case PLYECHO_KEY_FREQUENCY:
    case PLYECHO_KEY_WORD:
        break;
    }
    *line = ((const struct plyecho_setting *)field)->line;
    return number_text(key, field, out, room);
}

const char *plyecho_procedure_text(const struct plyecho_procedure *procedure,
                                   const struct plyecho_procedure_key *key)
{
    bool text = key->kind == PLYECHO_KEY_TEXT || key->kind == PLYECHO_KEY_FILE ||
                key->kind == PLYECHO_KEY_MEDIUM || key->kind == PLYECHO_KEY_DATE;
    const struct plyecho_text_setting *setting =
        (const void *)((const char *)procedure + key->offset);
    return text ? setting->value : NULL;
}
