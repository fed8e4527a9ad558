#include <config.h>

#include "scan_procedure.h"

#include <plyecho/procedure_keys.h>

#include "procedure_verb.h"

static void write_setting(struct json_out *j, const char *section, const char *key,
                          const char *value, const char *unit, long line)
{
    json_open(j, NULL, '{');
    json_text(j, "section", section);
    json_text(j, "key", key);
    json_text(j, "value", value);
    json_text(j, "unit", unit);
    json_text(j, "from", line > 0 ? "file" : "elsewhere");
    json_close(j);
}

static void write_layers(struct json_out *j, const struct plyecho_layers *layers)
{
    char text[PROCEDURE_LAYER_ROOM];
    for (size_t i = 0; i < layers->count; i++)
        write_setting(j, "layers", layers->items[i].name,
                      procedure_layer_text(&layers->items[i], text), "", layers->items[i].line);
}

/* A text is not cut to the room of a value. */
static const char *whole_value(const struct plyecho_procedure *procedure,
                               const struct plyecho_procedure_key *key, const char *value)
{
    const char *text = plyecho_procedure_text(procedure, key);
    return text != NULL ? text : value;
}

void scan_procedure_write(struct json_out *j, const struct plyecho_procedure *procedure)
{
    const struct plyecho_procedure_key *key;
    char value[PLYECHO_PROCEDURE_VALUE_ROOM];
    long line;
    json_open(j, "settings", '[');
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++)
        if (key->kind == PLYECHO_KEY_LAYER)
            write_layers(j, &procedure->layers);
        else if (plyecho_procedure_value(procedure, key, value, &line))
            write_setting(j, key->section, key->name, whole_value(procedure, key, value),
                          key->unit, line);
    json_close(j);
}
