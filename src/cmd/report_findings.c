/* What was seen with the eyes: notes and photographs, or room for them. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "html_out.h"
#include "memory.h"
#include "report.h"

/* Paragraphs are parted by empty lines; line ends within them stay (white-space: pre-line). */
static void write_notes(const char *notes, FILE *out)
{
    char *copy = memory_text(notes), *next = copy;
    while (*next != '\0') {
        char *end = strstr(next, "\n\n");
        if (end != NULL)
            *end = '\0';
        if (next[strspn(next, " \t\r\n")] != '\0') {
            fputs("<p class=\"notes\">", out);
            html_text(out, next);
            fputs("</p>\n", out);
        }
        next = end != NULL ? end + 2 : next + strlen(next);
    }
    free(copy);
}

static void write_room(const char *text, FILE *out)
{
    fputs("<div class=\"room\"><p>", out);
    html_text(out, text);
    fputs("</p></div>\n", out);
}

void report_findings(const struct report *report, FILE *out)
{
    fputs("<section aria-labelledby=\"findings\">\n", out);
    html_heading(out, 2, "findings", "What was seen with the eyes");
    if (report->notes != NULL)
        write_notes(report->notes, out);
    else
        write_room("Visual findings: dents, cracked paint, repairs, marks of clamps", out);
    html_heading(out, 3, "photographs", "Photographs");
    for (size_t k = 0; k < report->photos; k++)
        report_photo(&report->photo[k], k + 1, out);
    if (report->photos == 0) {
        write_room("Photograph: the part, with its zero mark in sight", out);
        write_room("Photograph: the worst spot, marked on the part", out);
    }
    fputs("</section>\n", out);
}
