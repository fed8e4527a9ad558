#include <config.h>

#include "html_out.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "utf8.h"

void html_text(FILE *out, const char *text)
{
    if (text != NULL)
        utf8_put(out, text, UTF8_HTML);
}

void html_format(FILE *out, const char *format, ...)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = memory_stream(&text, &size);
    va_list arguments;
    va_start(arguments, format);
    vfprintf(memory, format, arguments);
    va_end(arguments);
    memory_stream_end(memory);
    html_text(out, text);
    free(text);
}

void html_element(FILE *out, const char *tag, const char *text)
{
    fprintf(out, "<%s>", tag);
    html_text(out, text);
    fprintf(out, "</%s>\n", tag);
}

void html_term(FILE *out, const char *term)
{
    fputs("<dt>", out);
    html_text(out, term);
    fputs("</dt><dd>", out);
}

void html_heading(FILE *out, int level, const char *id, const char *text)
{
    fprintf(out, "<h%d id=\"%s\">", level, id);
    html_text(out, text);
    fprintf(out, "</h%d>\n", level);
}

void html_lines(FILE *out, const char *class, const char *lines)
{
    if (lines == NULL || lines[0] == '\0')
        return;
    fputs("<ul", out);
    if (class != NULL)
        fprintf(out, " class=\"%s\"", class);
    fputs(">\n", out);
    char *copy = memory_text(lines), *rest = copy;
    while (rest != NULL && *rest != '\0') {
        char *line = rest;
        rest = strchr(line, '\n');
        if (rest != NULL)
            *rest++ = '\0';
        html_element(out, "li", line);
    }
    free(copy);
    fputs("</ul>\n", out);
}

void html_row(FILE *out, const char *name, const char *value)
{
    fputs("<tr><th scope=\"row\">", out);
    html_text(out, name);
    fputs(value != NULL ? "</th><td class=\"value\">" : "</th><td class=\"missing\">", out);
    html_text(out, value != NULL ? value : "not recorded");
    fputs("</td></tr>\n", out);
}

void html_table_begin(FILE *out, const char *caption)
{
    fputs("<div class=\"wide\"><table><caption>", out);
    html_text(out, caption);
    fputs("</caption><tbody>\n", out);
}

void html_table_end(FILE *out)
{
    fputs("</tbody></table></div>\n", out);
}
