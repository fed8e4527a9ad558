/* How far the page can be trusted: uncertainty, what was not tested, what the method cannot see. */
#include <config.h>

#include <string.h>

#include "html_out.h"
#include "report.h"

static void item(FILE *out, const char *text)
{
    html_element(out, "li", text);
}

static void write_uncertainty(const struct report *report, FILE *out)
{
    const char *velocity_u = report_value(report, "material", "velocity_u_m_s");
    html_heading(out, 3, "uncertainty", "Uncertainty");
    html_element(out, "p",
                 "u is a combined standard uncertainty (JCGM 100): the time of the echoes, "
                 "velocity and zero of the calibration, and the spread of several shots where "
                 "there were some. \302\261 with k = 2 covers about 95 of 100 such readings.");
    html_element(
        out, "p",
        velocity_u == NULL
            ? "The velocity has no uncertainty on record, so no wall on this page has one."
            : "A velocity of another lay-up moves all walls together, and the map looks "
              "as smooth as a right one: only a micrometer on the part itself shows that. "
              "Take a ball or pin anvil; a flat one over-reads a tube's wall.");
    html_element(
        out, "p",
        "Edges are where an echo has fallen to half (6 dB drop), between places that are "
        "as far apart as told above. Odds compare the explanations that were tried, on "
        "simulated cases; they are no proof.");
}

const char *report_unlooked(const struct report *report, size_t index)
{
    const struct {
        bool holds;
        const char *words;
    } all[] = {
        {report_value(report, "material", "attenuation_db_mm_mhz") == NULL,
         "Porosity all over the part: the material's attenuation is not known, so only places that "
         "are weaker than the others are told."},
        {report_value(report, "part", "nominal_mm") == NULL && !report_has_layers(report),
         "A delamination all over the part, at one depth: no nominal wall is stated, and it would "
         "pass for the wall."},
    };
    for (size_t k = 0; k < sizeof all / sizeof all[0]; k++)
        if (all[k].holds && index-- == 0)
            return all[k].words;
    return NULL;
}

static void write_untested(const struct report *report, FILE *out)
{
    const struct results *r = &report->results;
    size_t unread = 0;
    char words[REPORT_WORDS_ROOM];
    html_heading(out, 3, "untested", "What was not tested");
    fputs("<ul>\n", out);
    for (size_t i = 0; i < r->places; i++)
        unread += plyecho_place_unread(&r->reading[i]);
    if (unread > 0) {
        fputs("<li>", out);
        html_format(out, "%zu place%s without a reading:", unread, unread > 1 ? "s" : "");
        size_t told = 0;
        for (size_t i = 0; i < r->places && told < 20; i++)
            if (plyecho_place_unread(&r->reading[i]))
                html_format(out, "%s %s", told++ > 0 ? ";" : "",
                            report_place(r, &r->reading[i].place, words));
        html_text(out, told < unread ? "; and more." : ".");
        fputs("</li>\n", out);
    }
    for (size_t k = 0; report_unlooked(report, k) != NULL; k++)
        item(out, report_unlooked(report, k));
    item(out, "What lies beyond the first and the last place, and between places where no beam "
              "went.");
    item(out, "What is nearer to the front or to the back wall than each place's range "
              "(from_mm to to_mm in readings.csv).");
    item(out, "What lies behind a delamination: it hides what is deeper.");
    fputs("</ul>\n", out);
}

static void write_limits_of_method(FILE *out)
{
    html_heading(out, 3, "blind", "What this method does not see");
    fputs("<ul>\n", out);
    item(out, "Cracks through the thickness, and broken fibres.");
    item(out, "What lies under metal: a stem clamp, a crown race, a bonded plug.");
    item(out,
         "Whether a bond holds. A back wall seen through an interface does not prove it; a "
         "wet or touching gap can look the same.");
    item(out,
         "Walls like these lie within the probe's near field and outside the scope of the "
         "standards for flat panels and thick sections: this was done after their principle, "
         "and conforms to none of them.");
    fputs("</ul>\n", out);
}

void report_trust(const struct report *report, FILE *out)
{
    fputs("<section aria-labelledby=\"trust\">\n", out);
    html_heading(out, 2, "trust", "How far this can be trusted");
    write_uncertainty(report, out);
    write_untested(report, out);
    write_limits_of_method(out);
    html_heading(out, 3, "caution", "Caution");
    html_element(out, "p", results_text(&report->results, "cautions"));
    fputs("</section>\n", out);
}
