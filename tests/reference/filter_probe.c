/* filter_probe - the library's filters on raw samples, for the reference tests
 *
 * filter_probe analytic SAMPLES RATE_HZ [LOW_HZ HIGH_HZ]
 *     float32 samples on standard input; in-phase, then quadrature as float32 on standard
 * output filter_probe spectrum SAMPLES RATE_HZ PADDING float32 power, then the measured band as
 * seven lines of text on standard error
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/analytic.h>
#include <plyecho/spectrum.h>

static int complain(const struct plyecho_error *err)
{
    fprintf(stderr, "filter_probe: %s\n", err->text);
    return 2;
}

static int write_all(const float *x, size_t n)
{
    return fwrite(x, sizeof *x, n, stdout) == n ? 0 : 2;
}

static int probe_analytic(size_t n, double rate, const struct plyecho_band *band, float *x)
{
    struct plyecho_analytic *analytic;
    struct plyecho_error err;
    if (plyecho_analytic_new(&analytic, n, rate, band, &err) != PLYECHO_OK)
        return complain(&err);
    float *quadrature = calloc(n, sizeof *quadrature);
    if (quadrature == NULL)
        abort();
    plyecho_analytic_run(analytic, x, x, quadrature);
    int status = write_all(x, n) | write_all(quadrature, n);
    free(quadrature);
    plyecho_analytic_free(analytic);
    return status;
}

static int probe_spectrum(size_t n, double rate, size_t padding, const float *x)
{
    struct plyecho_spectrum *spectrum;
    struct plyecho_spectral_band band;
    struct plyecho_error err;
    if (plyecho_spectrum_new(&spectrum, n, padding, rate, &err) != PLYECHO_OK)
        return complain(&err);
    size_t bins = plyecho_spectrum_bins(spectrum);
    float *power = calloc(bins, sizeof *power);
    if (power == NULL)
        abort();
    plyecho_spectrum_run(spectrum, x, n, PLYECHO_TAPER_NONE, power);
    plyecho_spectral_band_find(power, bins, plyecho_spectrum_bin_hz(spectrum), 0.0, &band);
    fprintf(stderr, "%.9g\n%.9g\n%.9g\n%.9g\n%.9g\n%.9g\n%.9g\n", band.peak_hz, band.lower_hz,
            band.upper_hz, band.centre_hz, band.geometric_centre_hz, band.bandwidth_hz,
            band.relative_bandwidth);
    int status = write_all(power, bins);
    free(power);
    plyecho_spectrum_free(spectrum);
    return status;
}

int main(int argc, char **argv)
{
    if (argc < 4)
        return 2;
    size_t n = strtoul(argv[2], NULL, 10);
    double rate = strtod(argv[3], NULL);
    float *x = calloc(n, sizeof *x);
    if (x == NULL || fread(x, sizeof *x, n, stdin) != n)
        return 2;
    int status = 2;
    if (strcmp(argv[1], "spectrum") == 0 && argc == 5) {
        status = probe_spectrum(n, rate, strtoul(argv[4], NULL, 10), x);
    } else if (strcmp(argv[1], "analytic") == 0 && argc >= 6) {
        struct plyecho_band band = {strtod(argv[4], NULL), strtod(argv[5], NULL)};
        status = probe_analytic(n, rate, &band, x);
    } else if (strcmp(argv[1], "analytic") == 0) {
        status = probe_analytic(n, rate, NULL, x);
    }
    free(x);
    return status;
}
