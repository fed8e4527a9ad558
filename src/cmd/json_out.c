#include <config.h>

#include "json_out.h"

#include <math.h>

#include <plyecho/number.h>

#include "utf8.h"

static void begin_item(struct json_out *j, const char *name)
{
    fputs(j->empty[j->depth] ? "\n" : ",\n", j->out);
    j->empty[j->depth] = false;
    fprintf(j->out, "%*s", 2 * (j->depth + 1), "");
    if (name != NULL)
        fprintf(j->out, "\"%s\": ", name);
}

static void enter(struct json_out *j, char bracket)
{
    putc(bracket, j->out);
    j->closing[j->depth] = bracket == '{' ? '}' : ']';
    j->empty[j->depth] = true;
}

static void leave(struct json_out *j)
{
    if (!j->empty[j->depth])
        fprintf(j->out, "\n%*s", 2 * j->depth, "");
    putc(j->closing[j->depth], j->out);
}

void json_begin(struct json_out *j, FILE *out)
{
    *j = (struct json_out){.out = out};
    enter(j, '{');
}

void json_end(struct json_out *j)
{
    leave(j);
    putc('\n', j->out);
}

void json_open(struct json_out *j, const char *name, char bracket)
{
    begin_item(j, name);
    j->depth++;
    enter(j, bracket);
}

void json_close(struct json_out *j)
{
    leave(j);
    j->depth--;
}

void json_text(struct json_out *j, const char *name, const char *text)
{
    begin_item(j, name);
    if (text == NULL) {
        fputs("null", j->out);
        return;
    }
    putc('"', j->out);
    utf8_put(j->out, text, UTF8_JSON);
    putc('"', j->out);
}

void json_number(struct json_out *j, const char *name, double number)
{
    char text[PLYECHO_NUMBER_ROOM];
    begin_item(j, name);
    fputs(isfinite(number) ? plyecho_number_format(number, text) : "null", j->out);
}

void json_known(struct json_out *j, const char *name, struct plyecho_known number, double scale)
{
    json_number(j, name, number.known ? number.value * scale : NAN);
}
