#include <config.h>

#include "probe.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "plot_data.h"

/* The colours of plot_script.c (Okabe and Ito), each with a dash of its own. */
#define NOW "linewidth 1.6 linecolor rgb '#000000'"
#define ENVELOPE "linewidth 1.6 dashtype (9,4) linecolor rgb '#0072B2'"
#define EARLIER "linewidth 1.6 dashtype (3,3) linecolor rgb '#D55E00'"
#define LEVEL "linewidth 1.4 dashtype (2,5) linecolor rgb '#CC79A7'"

#define MHZ 1e-6
#define US 1e6
#define LEAST_DB (-50.0)

static double time_from_peak_us(const struct plyecho_probe_echo *echo, size_t i)
{
    return (echo->start_s + (double)i / echo->sample_rate_hz - echo->character.time_s) * US;
}

/* Samples over the envelope's peak, as off a reflector of positive sign. */
static void write_samples(FILE *out, const char *name, const struct plyecho_probe_echo *echo,
                          const float *value, bool signed_one)
{
    double scale = 1.0 / echo->character.amplitude;
    if (signed_one && echo->character.reflection < 0.0)
        scale = -scale;
    fprintf(out, "$%s << END\n", name);
    for (size_t i = 0; i < echo->samples; i++)
        fprintf(out, "%.6g %.5g\n", time_from_peak_us(echo, i), scale * (double)value[i]);
    fputs("END\n", out);
}

static void write_spectrum(FILE *out, const char *name, const struct plyecho_probe_echo *echo,
                           double most_hz)
{
    float highest = 0.0f;
    for (size_t k = 1; k < echo->bins; k++)
        highest = fmaxf(highest, echo->power[k]);
    fprintf(out, "$%s << END\n", name);
    for (size_t k = 1; k < echo->bins && (double)k * echo->bin_hz <= most_hz; k++) {
        double db = 10.0 * log10(fmax((double)echo->power[k] / (double)highest, 1e-9));
        fprintf(out, "%.6g %.5g\n", (double)k * echo->bin_hz * MHZ, fmax(db, LEAST_DB));
    }
    fputs("END\n", out);
}

/* In text their lines of characters would hide the curves: there they are left out. */
static void write_levels(FILE *out, const struct plot_view *view, const char *levels)
{
    fprintf(out, "%s\n", view->term == PLOT_TEXT ? "" : levels);
}

static void write_waveform_panel(FILE *out, const struct plyecho_probe_echo *echo,
                                 const struct plot_view *view, bool has_earlier)
{
    fprintf(out,
            "set origin 0,0.46\nset size 1,0.54\nset xlabel 'Time from the envelope''s peak "
            "(µs)'\nset ylabel 'Over the envelope''s peak'\nset xrange [%.6g:%.6g]\nset yrange "
            "[-1.1:1.1]\n",
            time_from_peak_us(echo, 0), time_from_peak_us(echo, echo->samples - 1));
    fputs("plot $waveform using 1:2 with lines " NOW " title 'Waveform', $envelope using 1:2 "
          "with lines " ENVELOPE " title 'Envelope'",
          out);
    if (has_earlier)
        fputs(", $earlier using 1:2 with lines " EARLIER " title 'Earlier'", out);
    write_levels(out, view,
                 ", 0.1 with lines " LEVEL " title '-20 dB', -0.1 with lines " LEVEL
                 " notitle");
}

static void write_spectrum_panel(FILE *out, const struct plyecho_probe_echo *echo,
                                 double most_hz, const struct plot_view *view, bool has_earlier)
{
    const struct plyecho_spectral_band *b = &echo->character.band;
    fprintf(out,
            "unset title\nset origin 0,0\nset size 1,0.46\nset xlabel 'Frequency "
            "(MHz)'\nset ylabel 'Amplitude (dB)'\nset xrange [0:%.6g]\nset yrange [%g:3]\n",
            most_hz * MHZ, LEAST_DB);
    const double edges[] = {b->lower_hz, b->upper_hz};
    for (int i = 0; i < 2; i++)
        fprintf(out,
                "set arrow from first %.6g, graph 0 to first %.6g, graph 1 nohead " LEVEL "\n",
                edges[i] * MHZ, edges[i] * MHZ);
    fputs("plot $spectrum using 1:2 with lines " NOW " title 'Spectrum'", out);
    if (has_earlier)
        fputs(", $earlier_spectrum using 1:2 with lines " EARLIER " title 'Earlier'", out);
    write_levels(out, view, ", -6.0206 with lines " LEVEL " title '-6 dB'");
}

static void write_title(FILE *out, const char *title, const struct plyecho_probe_echo *echo,
                        const struct plot_view *view)
{
    const struct plyecho_probe_character *c = &echo->character;
    char band[160], length[120] = "length at -20 dB unknown";
    if (c->length_20db_s.known)
        snprintf(length, sizeof length, "length at -20 dB %.3f us, %.1f cycles",
                 c->length_20db_s.value * US, c->cycles_20db.value);
    snprintf(band, sizeof band,
             "band at -6 dB %.2f to %.2f MHz, centre %.2f (arithmetic), %.2f (geometric) MHz",
             c->band.lower_hz * MHZ, c->band.upper_hz * MHZ, c->band.centre_hz * MHZ,
             c->band.geometric_centre_hz * MHZ);
    const char *lines[] = {title, band, length};
    fputs("set title ", out);
    for (int i = 0; i < 3; i++) {
        if (i > 0)
            fputs(".\"\\n\".", out);
        plot_quote(out, lines[i], view->term == PLOT_TEXT ? view->width : view->width / 10,
                   view->term == PLOT_SVG);
    }
    fputc('\n', out);
}

enum plyecho_code probe_plot_script(const char *title, const struct plyecho_probe_echo *echo,
                                    const struct plyecho_probe_echo *earlier,
                                    const struct plot_view *view, char **text, size_t *size,
                                    struct plyecho_error *err)
{
    double most_hz = fmin(2.0 * echo->character.band.upper_hz, echo->sample_rate_hz / 2.0);
    *text = NULL;
    FILE *out = open_memstream(text, size);
    if (out == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the picture");
    fputs("reset\nset encoding utf8\n", out);
    plot_terminal(out, view, plot_font(view));
    write_samples(out, "waveform", echo, echo->waveform, true);
    write_samples(out, "envelope", echo, echo->envelope, false);
    write_spectrum(out, "spectrum", echo, most_hz);
    if (earlier != NULL) {
        write_samples(out, "earlier", earlier, earlier->waveform, true);
        write_spectrum(out, "earlier_spectrum", earlier, most_hz);
    }
    fputs(
        "set multiplot\nset border 3\nset xtics nomirror out\nset ytics nomirror out\nset key "
        "inside top right vertical samplen 3\n",
        out);
    if (view->term != PLOT_TEXT)
        fputs("set grid xtics ytics linewidth 0.7 linetype 1 linecolor rgb '#D0D0D0'\n", out);
    write_title(out, title, echo, view);
    write_waveform_panel(out, echo, view, earlier != NULL);
    write_spectrum_panel(out, echo, most_hz, view, earlier != NULL);
    fputs("unset multiplot\n", out);
    bool failed = ferror(out) != 0;
    failed |= fclose(out) != 0;
    if (!failed)
        return PLYECHO_OK;
    free(*text);
    *text = NULL;
    return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the picture");
}
