#include <config.h>

#include "histogram_script.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_statistics_double.h>

#include "memory.h"
#include "palette.h"
#include "plot_data.h"
#include "quantile.h"

#define MM 1e3 /* in a metre */
#define LEAST_WIDTH 0.01
#define BAR_COLOUR "#B0B0B0"
#define HEADROOM 1.08
#define ROUNDING 1e-9 /* of a bin */

enum { MOST_BINS = 100, NOTE_ROOM = 160, TICKS = 10 };

/* A level line of the picture. */
struct limit {
    const char *name; /* of its data block */
    const char *words;
    double from_mm, to_mm; /* two of them: equal for one */
    const char *how;       /* colour, dash and width differ: none rests on its colour */
};

struct histogram {
    const struct histogram_picture *picture;
    const struct plot_view *view;
    FILE *out;
    double *wall; /* mm, rising */
    struct histogram_bins bins;
    size_t highest; /* most in one bin */
    double mean, deviation;
    struct limit limit[4];
    size_t limits;
};

/* The shortest interval that holds half of the values: of one population as wide as between its quartiles, of two as
 * wide as the larger's, where quartiles would lie one in each. */
static double half_width(const double *sorted, size_t count)
{
    size_t half = (count + 1) / 2;
    double least = INFINITY;
    for (size_t i = 0; i + half <= count; i++)
        least = fmin(least, sorted[i + half - 1] - sorted[i]);
    return least;
}

struct histogram_bins histogram_bins(const double *sorted, size_t count)
{
    double range = sorted[count - 1] - sorted[0];
    double width = 2 * half_width(sorted, count) / cbrt((double)count);
    width = plot_nice_step(fmax(fmax(width, range / MOST_BINS * 1.02), LEAST_WIDTH), 1);
    double first = floor(sorted[0] / width + ROUNDING) * width;
    size_t bins = (size_t)floor((sorted[count - 1] - first) / width + ROUNDING) + 1;
    return (struct histogram_bins){width, first, bins};
}

static void take_moments(struct histogram *h)
{
    size_t count = h->picture->count;
    h->mean = gsl_stats_mean(h->wall, 1, count);
    h->deviation = count > 1 ? gsl_stats_sd_m(h->wall, 1, count, h->mean) : NAN;
}

static void add_limit(struct histogram *h, const char *name, const char *words, double from_mm,
                      double to_mm, const char *how)
{
    h->limit[h->limits++] = (struct limit){name, words, from_mm, to_mm, how};
}

static void take_limits(struct histogram *h)
{
    const struct histogram_picture *p = h->picture;
    double nominal = p->nominal_m.value * MM, tolerance = p->tolerance_m.value * MM;
    if (p->nominal_m.known)
        add_limit(h, "nominal", p->off_nominal ? "nominal of each place," : "nominal", nominal,
                  nominal, "linewidth 2.5 linecolor rgb '" OKABE_BLUE "'");
    if (p->nominal_m.known && p->tolerance_m.known)
        add_limit(h, "tolerance", "tolerance", nominal - tolerance, nominal + tolerance,
                  "linewidth 2.5 dashtype (9,4) linecolor rgb '" OKABE_BLUE "'");
    if (p->least_m.known && !p->off_nominal)
        add_limit(h, "least", "least allowed", p->least_m.value * MM, p->least_m.value * MM,
                  "linewidth 2.5 dashtype (12,4,3,4) linecolor rgb '" OKABE_VERMILLION "'");
    add_limit(h, "mean", "mean", h->mean, h->mean,
              "linewidth 3 dashtype (2,3) linecolor rgb '" OKABE_BLACK "'");
}

/* ---- the script ---- */

static void write_bins(struct histogram *h)
{
    size_t next = 0;
    fputs("$bins << END\n", h->out);
    for (size_t i = 0; i < h->bins.count; i++) {
        double middle = h->bins.first + ((double)i + 0.5) * h->bins.width;
        /* Rounding must not lose the last value. */
        double edge = i + 1 < h->bins.count
                          ? h->bins.first + (double)(i + 1) * h->bins.width * (1 + 1e-12)
                          : INFINITY;
        size_t count = 0;
        for (; next < h->picture->count && h->wall[next] < edge; next++)
            count++;
        fprintf(h->out, "%.9g %zu\n", middle, count);
        h->highest = count > h->highest ? count : h->highest;
    }
    fputs("END\n", h->out);
}

static void write_limits(struct histogram *h)
{
    for (size_t i = 0; i < h->limits; i++) {
        const struct limit *l = &h->limit[i];
        double top = HEADROOM * (double)h->highest;
        fprintf(h->out, "$%s << END\n%.9g 0\n%.9g %g\n", l->name, l->from_mm, l->from_mm, top);
        if (l->to_mm != l->from_mm)
            fprintf(h->out, "\n%.9g 0\n%.9g %g\n", l->to_mm, l->to_mm, top);
        fputs("END\n", h->out);
    }
}

/* What a limit is for is not to be seen in walls less nominal. */
static void tell_thinnest(const struct histogram_picture *p, char words[NOTE_ROOM])
{
    words[0] = '\0';
    if (!p->off_nominal || !p->thinnest_m.known)
        return;
    int used = snprintf(words, NOTE_ROOM, "thinnest %.3f mm", p->thinnest_m.value * MM);
    if (p->least_m.known)
        snprintf(words + used, NOTE_ROOM - (size_t)used, ", least allowed %.4g mm",
                 p->least_m.value * MM);
}

static void write_title(struct histogram *h)
{
    const struct histogram_picture *p = h->picture;
    bool text = h->view->term == PLOT_TEXT;
    double columns = text ? h->view->width : 0.95 * h->view->width / plot_grid(h->view).column;
    char counts[NOTE_ROOM], moments[NOTE_ROOM], thinnest[NOTE_ROOM];
    snprintf(counts, sizeof counts, "%zu %s of %zu places, bins of %.4g mm", p->count,
             p->plain_readings ? "readings" : "walls", p->places, h->bins.width);
    if (p->count > 1)
        snprintf(moments, sizeof moments,
                 p->off_nominal ? "mean %+.3f mm off the nominal, standard deviation %.3f mm"
                                : "mean %.3f mm, standard deviation %.3f mm",
                 h->mean, h->deviation);
    else
        snprintf(moments, sizeof moments, "%.3f mm", h->mean);
    tell_thinnest(p, thinnest);
    const char *const lines[] = {p->title, counts, moments, thinnest};
    fputs("set title ", h->out);
    for (size_t i = 0; i < (thinnest[0] != '\0' ? 4 : 3); i++) {
        fputs(i > 0 ? ".\"\\n\"." : "", h->out);
        plot_quote(h->out, lines[i], (size_t)fmax(columns, 8), h->view->term == PLOT_SVG);
    }
    fputc('\n', h->out);
}

static const char *quantity_of(const struct histogram_picture *p)
{
    if (p->off_nominal)
        return p->plain_readings ? "Reading less nominal" : "Wall less nominal";
    return p->plain_readings ? "Reading" : "Wall thickness";
}

/* All bars and limits, with some room to both sides. */
static void write_axes(struct histogram *h)
{
    double low = h->bins.first, high = low + (double)h->bins.count * h->bins.width;
    for (size_t i = 0; i < h->limits; i++) {
        low = fmin(low, h->limit[i].from_mm);
        high = fmax(high, h->limit[i].to_mm);
    }
    double room = fmax(0.03 * (high - low), h->bins.width);
    fprintf(h->out,
            "set xrange [%.9g:%.9g]\nset yrange [0:%g]\nset xtics out nomirror %.9g\nset ytics "
            "out nomirror %.9g\nset xlabel '%s (mm)'\nset ylabel 'Places'\nset "
            "border 3\nset boxwidth %.9g\n"
            "set key outside bottom center horizontal height 0.5 samplen 5\n",
            low - room, high + room, HEADROOM * (double)h->highest,
            plot_nice_step(high - low + 2 * room, TICKS),
            fmax(plot_nice_step((double)h->highest, TICKS), 1), quantity_of(h->picture),
            h->bins.width);
}

static void write_plot(struct histogram *h)
{
    bool text = h->view->term == PLOT_TEXT;
    fprintf(h->out, "plot $bins using 1:2 with boxes %s notitle",
            text ? ""
                 : "fillcolor rgb '" BAR_COLOUR "' fillstyle solid 1 border linecolor rgb "
                   "'" OKABE_BLACK "'");
    for (size_t i = 0; i < h->limits; i++) {
        const struct limit *l = &h->limit[i];
        fprintf(h->out, ", $%s using 1:2 with lines %s title '%s ", l->name, l->how, l->words);
        if (l->to_mm != l->from_mm)
            fprintf(h->out, "%.4g to %.4g mm'", l->from_mm, l->to_mm);
        else
            fprintf(h->out, "%.4g mm'", l->from_mm);
    }
    fputc('\n', h->out);
}

static void write_script(struct histogram *h)
{
    const struct histogram_picture *p = h->picture;
    h->wall = memory_take(p->count, sizeof *h->wall);
    for (size_t i = 0; i < p->count; i++)
        h->wall[i] = p->wall_m[i] * MM;
    quantile_sort(h->wall, p->count);
    h->bins = histogram_bins(h->wall, p->count);
    take_moments(h);
    take_limits(h);
    fputs("reset\nset encoding utf8\n", h->out);
    plot_terminal(h->out, h->view, plot_font(h->view));
    write_bins(h);
    write_limits(h);
    write_title(h);
    write_axes(h);
    write_plot(h);
    free(h->wall);
}

enum plyecho_code histogram_script(const struct histogram_picture *picture,
                                   const struct plot_view *view, char **text, size_t *size,
                                   struct plyecho_error *err)
{
    *text = NULL;
    if (picture->count == 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "no wall was seen at any place: there is nothing to count");
    struct histogram h = {.picture = picture, .view = view};
    h.out = memory_stream(text, size);
    write_script(&h);
    memory_stream_end(h.out);
    return PLYECHO_OK;
}
