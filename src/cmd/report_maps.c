/* The scan's pictures, each with its words for whoever cannot see it. */
#include <config.h>

#include <string.h>

#include "html_out.h"
#include "memory.h"
#include "report.h"

/* "thickness-map.svg" is the picture "thickness-map". */
static const struct report_image *find(const struct report *report, const char *stem)
{
    size_t size = strlen(stem);
    for (size_t k = 0; k < report->pictures; k++)
        if (strncmp(report->picture[k].name, stem, size) == 0 &&
            report->picture[k].name[size] == '.')
            return &report->picture[k];
    return NULL;
}

static void write_image(const struct report_image *image, FILE *out)
{
    fputs("<img src=\"", out);
    data_image_write(out, image->kind, image->bytes, image->size);
    fputs("\" alt=\"", out);
}

/* ---- what the pictures show, in words ---- */

static void tell_range(const struct results *r, FILE *out)
{
    double least = r->reading[0].place.along, most = least;
    for (size_t i = 1; i < r->places; i++) {
        double along = r->reading[i].place.along;
        least = along < least ? along : least;
        most = along > most ? along : most;
    }
    html_format(out, "%zu places from %.10g to %.10g mm along the part", r->places, least * 1e3,
                most * 1e3);
}

static void tell_walls(const struct results *r, FILE *out)
{
    struct plyecho_known mean = results_number(r, "wall.mean_mm");
    struct plyecho_known least = results_number(r, "wall.least_mm");
    if (mean.known && least.known)
        html_format(out, "; the wall is %.2f mm on average and %.2f mm at the least",
                    mean.value, least.value);
}

static void tell_indications(const struct results *r, FILE *out)
{
    enum { MOST = 12 };
    char words[REPORT_WORDS_ROOM];
    for (size_t i = 0; i < r->indications && i < MOST; i++) {
        const struct plyecho_indication *n = &r->indication[i];
        html_format(out, "; %zu: %s around %s", i + 1, plyecho_verdict_word(n->kind),
                    report_place(r, &r->reading[n->worst].place, words));
    }
    html_text(out, r->indications > MOST ? "; and more." : ".");
}

static const struct {
    const char *stem, *caption, *alt;
    bool walls, indications;
} maps[] = {
    {"thickness-map",
     "The wall, laid flat; where nominal walls differ, what it is off them. Hatched: no wall was "
     "seen there. Framed: the indications, at the edges that are stated; thin lines go round "
     "their places.",
     "Map of the wall thickness: ", true, true},
    {"ring-plot", "The same, seen along the tube: the first ring is the innermost.",
     "Ring plot of the wall thickness: ", true, true},
    {"level-map",
     "The back wall's echo against the sound places of this part, in decibels: pores and the "
     "edges of a delamination show here.",
     "Map of the back wall's level: ", false, true},
    {"b-scan", "A section through the wall: depth downwards.",
     "B-scan, a section through the wall through the worst indication, or the thinnest place: ",
     false, false},
    {"histogram",
     "How often which wall was read; where nominal walls differ, how often which distance from "
     "them.",
     "Histogram of the wall: ", true, false},
};

static void write_map(const struct report *report, size_t k, const struct report_image *image,
                      FILE *out)
{
    const struct results *r = &report->results;
    fputs("<figure>", out);
    write_image(image, out);
    html_text(out, maps[k].alt);
    tell_range(r, out);
    if (maps[k].walls)
        tell_walls(r, out);
    if (maps[k].indications)
        tell_indications(r, out);
    fputs("\"><figcaption>", out);
    html_text(out, maps[k].caption);
    fputs("</figcaption></figure>\n", out);
}

void report_maps(const struct report *report, FILE *out)
{
    if (report->pictures == 0)
        return;
    fputs("<section aria-labelledby=\"maps\">\n", out);
    html_heading(out, 2, "maps", "Where it is");
    for (size_t k = 0; k < sizeof maps / sizeof maps[0]; k++) {
        const struct report_image *image = find(report, maps[k].stem);
        if (image != NULL)
            write_map(report, k, image, out);
    }
    fputs("</section>\n", out);
}

/* ---- the A-scan of one indication ---- */

void report_a_scan(const struct report *report, size_t indication, FILE *out)
{
    const struct results *r = &report->results;
    const struct plyecho_indication *n = &r->indication[indication];
    char stem[32], words[REPORT_WORDS_ROOM];
    snprintf(stem, sizeof stem, "a-scan-%zu", indication + 1);
    const struct report_image *image = find(report, stem);
    if (image == NULL)
        return;
    fputs("<figure>", out);
    write_image(image, out);
    html_format(out,
                "A-scan, amplitude against time, of indication %zu's worst place, %s. What it "
                "shows stands in words beside it.",
                indication + 1, report_place(r, &r->reading[n->worst].place, words));
    fputs("\"><figcaption>", out);
    html_format(out, "The trace at %s, where indication %zu shows most.", words,
                indication + 1);
    fputs("</figcaption></figure>\n", out);
}

/* ---- photographs ---- */

void report_photo(const struct report_image *photo, size_t number, FILE *out)
{
    fputs("<figure>", out);
    write_image(photo, out);
    html_format(out, "Photograph %zu: %s", number, photo->name);
    fputs("\"><figcaption>", out);
    html_format(out, "Photograph %zu: %s", number, photo->name);
    fputs("</figcaption></figure>\n", out);
}
