/* The page: its head, its looks, its sections in order. */
#include <config.h>

#include <string.h>

#include "html_out.h"
#include "report.h"

/* Nothing is fetched and nothing runs: no script, no font, no picture from elsewhere. */
static const char policy[] =
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
    "style-src 'unsafe-inline'\">\n";

/* Black on white, states told by words and marks first: it must do without colour. */
static const char style[] =
    "<style>\n"
    "html { font: 100%/1.5 system-ui, sans-serif; color: #111; background: #fff; }\n"
    "body { margin: 0 auto; max-width: 54rem; padding: 0 1rem 3rem; overflow-wrap: break-word; }\n"
    "h1 { font-size: 1.5rem; line-height: 1.25; margin: 0.2rem 0 0.8rem; }\n"
    "h2 { font-size: 1.25rem; margin: 2.2rem 0 0.6rem; }\n"
    "h3 { font-size: 1.05rem; margin: 1.6rem 0 0.5rem; }\n"
    "p { margin: 0.5rem 0; }\n"
    "a { color: #00457a; }\n"
    ".about { margin: 1rem 0 0; color: #444; }\n"
    ".verdict { border: 2px solid #111; border-left-width: 0.8rem; padding: 0 1rem 0.5rem; }\n"
    ".verdict h2 { font-size: 1.6rem; margin: 0.6rem 0 0.2rem; }\n"
    ".passes { border-color: #00694f; }\n"
    ".fails { border-color: #a33c00; }\n"
    ".open { border-color: #111; border-style: dashed; border-left-style: solid; }\n"
    ".plain { font-weight: 600; }\n"
    "dl { margin: 0.6rem 0; }\n"
    "dt { font-weight: 600; margin-top: 0.5rem; }\n"
    "dd { margin: 0; }\n"
    ".value { overflow-wrap: anywhere; }\n"
    ".state { white-space: nowrap; }\n"
    ".wide { overflow-x: auto; }\n"
    "table { border-collapse: collapse; width: 100%; margin: 0.6rem 0; }\n"
    "caption { text-align: left; font-weight: 600; padding: 0.3rem 0; }\n"
    "th, td { border: 1px solid #767676; padding: 0.25rem 0.5rem; text-align: left; "
    "vertical-align: top; }\n"
    "tbody th { font-weight: 500; width: 38%; }\n"
    "thead ~ tbody th { width: auto; }\n"
    ".missing { color: #555; font-style: italic; }\n"
    "figure { margin: 1rem 0; }\n"
    "img { max-width: 100%; height: auto; }\n"
    "figcaption { color: #333; }\n"
    "article { border-top: 1px solid #767676; margin-top: 1.2rem; }\n"
    "pre { white-space: pre-wrap; border: 1px solid #767676; padding: 0.5rem; }\n"
    ".notes { white-space: pre-line; }\n"
    ".room { border: 1px dashed #767676; min-height: 9rem; padding: 0 0.6rem; margin: 0.6rem 0; "
    "color: #444; }\n"
    ".signatures td { height: 2.6rem; min-width: 5rem; }\n"
    "@media print {\n"
    "  @page { margin: 15mm; }\n"
    "  html { font-size: 10pt; }\n"
    "  body { max-width: none; padding: 0; }\n"
    "  h2, h3, caption { break-after: avoid; }\n"
    "  figure, table, tr, .room, .verdict { break-inside: avoid; }\n"
    "  img { max-height: 110mm; }\n"
    "  article img { max-height: 75mm; }\n"
    "  a { color: inherit; text-decoration: none; }\n"
    "  .long { break-inside: auto; }\n"
    "  .wide { overflow: visible; padding-right: 1px; }\n" /* else the last border is cut off */
    "}\n"
    "</style>\n";

static const char *name_of(const struct report *report)
{
    const char *name = report_value(report, "part", "name");
    return name != NULL ? name : "Part without a name";
}

static void write_head(const struct report *report, FILE *out)
{
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n", out);
    fputs(policy, out);
    fputs("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>",
          out);
    html_format(out, "%s: %s", name_of(report), report_verdict(report));
    fputs("</title>\n", out);
    fputs(style, out);
    fputs("</head>\n", out);
}

static void write_title(const struct report *report, FILE *out)
{
    const char *date = report_value(report, "inspection", "date");
    const char *operator= report_value(report, "inspection", "operator");
    fputs("<header>\n<p class=\"about\">", out);
    html_text(out, "Ultrasonic inspection of a composite wall");
    if (date != NULL)
        html_format(out, ", %s", date);
    if (operator!= NULL)
        html_format(out, ", read by %s", operator);
    fputs("</p>\n", out);
    html_element(out, "h1", name_of(report));
    fputs("</header>\n", out);
}

void report_page(const struct report *report, FILE *out)
{
    write_head(report, out);
    fputs("<body>\n", out);
    write_title(report, out);
    fputs("<main>\n", out);
    report_result(report, out);
    report_limits(report, out);
    report_maps(report, out);
    report_indications(report, out);
    report_how(report, out);
    report_trust(report, out);
    report_findings(report, out);
    report_repeat(report, out);
    fputs("</main>\n</body>\n</html>\n", out);
}
