/* json_out.h - JSON written out, indented, as it comes
 *
 *     struct json_out json;
 *     json_begin(&json, out);
 *     json_text(&json, "verdict", "accepted");
 *     json_open(&json, "limits", '[');
 *     json_number(&json, NULL, 3.2);
 *     json_close(&json);
 *     json_end(&json);
 *
 * Names are ours; in an array they are NULL. Text is UTF-8 from anywhere, escaped; a number that is not finite, and
 * NULL, are null. Numbers come in their shortest exact form.
 */
#ifndef PLYECHO_CMD_JSON_OUT_H
#define PLYECHO_CMD_JSON_OUT_H

#include <stdbool.h>
#include <stdio.h>

#include <plyecho/known.h>

enum { JSON_DEEPEST = 12 };

struct json_out {
    FILE *out;
    int depth;
    char closing[JSON_DEEPEST];
    bool empty[JSON_DEEPEST];
};

/* The outermost object. */
void json_begin(struct json_out *json, FILE *out);
void json_end(struct json_out *json);

/* An object '{' or an array '['. */
void json_open(struct json_out *json, const char *name, char bracket);
void json_close(struct json_out *json);

void json_text(struct json_out *json, const char *name, const char *text);
void json_number(struct json_out *json, const char *name, double number);
void json_known(struct json_out *json, const char *name, struct plyecho_known number,
                double scale);

#endif
