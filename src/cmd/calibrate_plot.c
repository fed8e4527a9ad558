/* A picture of a calibration: thickness against time with the line, and the residuals below. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "calibrate.h"
#include "file.h"
#include "gnuplot.h"
#include "plot_output.h"

/* Of the Okabe-Ito set; points and line also differ in kind. */
#define COLOUR_LINE "#0072B2"
#define COLOUR_STEPS "#D55E00"

static void write_steps(FILE *to, const struct calibrated *c)
{
    fputs("$steps << EOD\n", to);
    for (size_t i = 0; i < c->steps.count; i++)
        fprintf(to, "%.9g %.9g %.9g %.9g %.9g\n", c->steps.step[i].time_s * 1e6,
                c->steps.step[i].thickness_m * 1e3, c->steps.step[i].thickness_u_m * 1e3,
                c->residuals[i].thickness_m * 1e6, c->residuals[i].u_m * 1e6);
    fputs("EOD\n", to);
}

/* The line in the steps' own times: by peaks in mode 1, whose velocity differs a little from the one told. */
static void write_line(FILE *to, const struct calibrated *c)
{
    const struct plyecho_step *first = &c->steps.step[0], *last = first;
    double d[2], t[2];
    for (size_t i = 0; i < c->steps.count; i++) {
        first = c->steps.step[i].time_s < first->time_s ? &c->steps.step[i] : first;
        last = c->steps.step[i].time_s > last->time_s ? &c->steps.step[i] : last;
    }
    t[0] = first->time_s;
    t[1] = last->time_s;
    d[0] = first->thickness_m - c->residuals[first - c->steps.step].thickness_m;
    d[1] = last->thickness_m - c->residuals[last - c->steps.step].thickness_m;
    if (c->steps.count == 1) {
        t[0] = c->line.zero_s;
        d[0] = 0.0;
    }
    fputs("$line << EOD\n", to);
    for (int k = 0; k < 2; k++)
        fprintf(to, "%.9g %.9g\n", t[k] * 1e6, d[k] * 1e3);
    fputs("EOD\n", to);
}

static void write_title(FILE *to, const struct calibrated *c)
{
    const struct plyecho_calibration *l = &c->line;
    fprintf(to, "set title 'Velocity %.1f m/s (u %.1f m/s), zero ", l->velocity_m_s,
            l->velocity_u_m_s);
    if (l->zero_u_s > 0.0)
        fprintf(to, "%.4f µs (u %.4f µs)", l->zero_s * 1e6, l->zero_u_s * 1e6);
    else
        fprintf(to, "held at %.4f µs", l->zero_s * 1e6);
    fprintf(to, ", %zu steps%s'\n", c->steps.count,
            c->warning_count > 0 ? ", with warnings" : "");
}

static void write_script(FILE *to, const struct calibrated *c, enum plot_term term)
{
    const struct plot_view view = {term, 900, 750, 0};
    fputs("reset\nset encoding utf8\n", to);
    plot_terminal(to, &view, plot_font(&view));
    write_steps(to, c);
    write_line(to, c);
    fputs(
        "set multiplot layout 2,1\nset lmargin 9\nset grid\nset offsets graph 0.05,0.05,0.1,0.1\n"
        "set xlabel 'Time (µs)'\nset ylabel 'Thickness (mm)'\nset key left top\n",
        to);
    write_title(to, c);
    fputs("plot $line using 1:2 with lines lw 2 lc rgb '" COLOUR_LINE "' title 'line', "
          "$steps using 1:2:3 with yerrorbars pt 7 lc rgb '" COLOUR_STEPS
          "' title 'steps (bars: 1 u)'\n"
          "unset title\nset ylabel 'Residual (µm)'\n"
          "plot 0 with lines lw 2 lc rgb '" COLOUR_LINE "' notitle, "
          "$steps using 1:4:5 with yerrorbars pt 7 lc rgb '" COLOUR_STEPS
          "' title 'bars: 1 u'\nunset multiplot\n",
          to);
}

/* Allocated, NULL without memory. */
static char *script_text(const struct calibrated *c, enum plot_term term, size_t *size)
{
    char *script = NULL;
    FILE *to = open_memstream(&script, size);
    if (to == NULL)
        return NULL;
    write_script(to, c, term);
    bool failed = ferror(to) != 0;
    failed |= fclose(to) != 0;
    if (!failed)
        return script;
    free(script);
    return NULL;
}

static enum plyecho_code draw(const struct calibrated *c, const char *name, enum plot_term term,
                              struct plyecho_error *err)
{
    char *picture = NULL;
    size_t script_size = 0, size = 0;
    char *script = script_text(c, term, &script_size);
    if (script == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the picture");
    enum plyecho_code code =
        gnuplot_run(script, script_size, GNUPLOT_TIME_LIMIT_S, &picture, &size, err);
    if (code == PLYECHO_OK && size == 0)
        code = plyecho_fail(err, PLYECHO_UNSUITABLE, "gnuplot ended without a picture");
    if (code == PLYECHO_OK)
        code = file_write(name, picture, size, err);
    free(script);
    free(picture);
    return code;
}

bool calibrate_plot_kind(const char *name, enum plot_term *term, struct messages *messages)
{
    enum plot_term kind;
    if (plot_output_kind_of(name, &kind) && kind != PLOT_TEXT) {
        if (term != NULL)
            *term = kind;
        return true;
    }
    message_trouble(messages, name,
                    "the ending does not say the kind of picture; take .png, .svg or .pdf");
    return false;
}

bool calibrate_plot(const struct calibrated *c, const struct calibrate_values *v,
                    struct messages *messages)
{
    enum plot_term term;
    struct plyecho_error err;
    const char *name = v->plot.value;
    if (!calibrate_plot_kind(name, &term, messages))
        return false;
    if (draw(c, name, term, &err) == PLYECHO_OK)
        return true;
    message_error(messages, name, &err);
    return false;
}
