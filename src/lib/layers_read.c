/* A layer's line: NAME = ITEM, ITEM... */
#include <plyecho/layers.h>

#include <string.h>

#include <plyecho/laminate.h>
#include <plyecho/number.h>

#include "span.h"

/* What an item is, by its unit. */
enum quantity {
    THICKNESS,
    THICKNESS_U,
    VELOCITY,
    VELOCITY_U,
    IMPEDANCE,
    ATTENUATION,
    ROUND,
    ALONG,
    COAT,
    QUANTITIES
};

/* least and most in the file's unit, both allowed; wide, to catch a slip of unit. */
static const struct rule {
    const char *what;
    double least, most;
    const char *hint; /* what a value out of range most likely is */
} rules[QUANTITIES] = {
    [THICKNESS] = {"the thickness", 1e-6, 1000, ""},
    [THICKNESS_U] = {"the thickness' uncertainty", 0, 1000, ""},
    [VELOCITY] = {"the velocity", 100, 20000, "; 2.95 mm/us is written 2950 m/s"},
    [VELOCITY_U] = {"the velocity's uncertainty", 0, 20000, ""},
    [IMPEDANCE] = {"the impedance", 1e-6, 100, "; 4.65e6 kg/(m2 s) is written 4.65 MRayl"},
    [ATTENUATION] = {"the attenuation", 0, 100, ""},
    [ROUND] = {"the extent round the part", 0, 360, ""},
    [ALONG] = {"the extent along the part", -1e6, 1e6, ""},
    [COAT] = {"'coat'", 0, 0, ""},
};

static const char units[] = "mm, m/s, MRayl, dB/mm/MHz, or deg";

/* A line while it is read. */
struct line {
    struct plyecho_declared_layer layer;
    bool seen[QUANTITIES];
    struct plyecho_error *err;
};

/* "'TEXT' of NAME" */
#define SHOWN(span) pe_span_shown(span), (span).text

static enum plyecho_code no_number(struct line *line, struct pe_span item)
{
    return plyecho_fail_line(
        line->err, PLYECHO_BAD_NUMBER, line->layer.line,
        "'%.*s' of layer %s is no number with its unit; write it as 2.1 mm "
        "or u 10 m/s, with a decimal point, a comma only between two items",
        SHOWN(item), line->layer.name);
}

/* Take a number off the front, and the white space behind it. */
static bool take_number(struct pe_span *rest, double *value)
{
    size_t used = plyecho_number_scan(rest->text, rest->size, '.', value);
    *rest = pe_span_trim(pe_span_from(*rest, used));
    return used > 0;
}

/* Take a word and the white space behind it off the front. */
static bool take_word(struct pe_span *rest, const char *word)
{
    size_t size = strlen(word);
    if (rest->size <= size || memcmp(rest->text, word, size) != 0 ||
        !pe_is_blank(rest->text[size]))
        return false;
    *rest = pe_span_trim(pe_span_from(*rest, size));
    return true;
}

/* The quantity of a unit; QUANTITIES where there is none of that kind. */
static enum quantity of_unit(struct pe_span unit, bool uncertainty, bool range)
{
    if (uncertainty && range)
        return QUANTITIES;
    if (pe_span_is(unit, "mm"))
        return range ? ALONG : uncertainty ? THICKNESS_U : THICKNESS;
    if (pe_span_is(unit, "m/s") && !range)
        return uncertainty ? VELOCITY_U : VELOCITY;
    if (pe_span_is(unit, "deg") && range)
        return ROUND;
    if (uncertainty || range)
        return QUANTITIES;
    if (pe_span_is(unit, "MRayl"))
        return IMPEDANCE;
    return pe_span_is(unit, "dB/mm/MHz") ? ATTENUATION : QUANTITIES;
}

static enum plyecho_code wrong_unit(struct line *line, struct pe_span item, struct pe_span unit,
                                    bool uncertainty, bool range)
{
    const char *cure = range         ? "an extent is in deg round the part or in mm along it"
                       : uncertainty ? "an uncertainty is stated of mm or m/s"
                                     : NULL;
    if (pe_span_is(unit, "deg") && !range)
        cure = "an extent has two ends, as 0 to 90 deg";
    if (range && uncertainty)
        cure = "an extent has no uncertainty; take out the u";
    if (unit.size == 0 && cure == NULL)
        return plyecho_fail_line(line->err, PLYECHO_BAD_NUMBER, line->layer.line,
                                 "'%.*s' of layer %s has no unit; write %s behind the number",
                                 SHOWN(item), line->layer.name, units);
    if (cure != NULL)
        return plyecho_fail_line(line->err, PLYECHO_BAD_NUMBER, line->layer.line,
                                 "'%.*s' of layer %s: %s", SHOWN(item), line->layer.name, cure);
    return plyecho_fail_line(line->err, PLYECHO_BAD_NUMBER, line->layer.line,
                             "'%.*s' of layer %s: unknown unit '%.*s'; write %s", SHOWN(item),
                             line->layer.name, SHOWN(unit), units);
}

static struct plyecho_known known(double value)
{
    return (struct plyecho_known){true, value};
}

static void keep(struct plyecho_declared_layer *layer, enum quantity q, double value, double to)
{
    switch (q) {
    case THICKNESS:
        layer->thickness_m = value * 1e-3;
        break;
    case THICKNESS_U:
        layer->thickness_u_m = known(value * 1e-3);
        break;
    case VELOCITY:
        layer->velocity_m_s = known(value);
        break;
    case VELOCITY_U:
        layer->velocity_u_m_s = known(value);
        break;
    case IMPEDANCE:
        layer->impedance_rayl = known(value * 1e6);
        break;
    case ATTENUATION:
        layer->attenuation_np_m_hz = known(plyecho_attenuation_from_db_mm_mhz(value));
        break;
    case ROUND:
        layer->round_deg = (struct plyecho_extent){true, value, to};
        break;
    case ALONG:
        layer->along_m = (struct plyecho_extent){true, value * 1e-3, to * 1e-3};
        break;
    case COAT:
        layer->coat = true;
        break;
    case QUANTITIES:
        break;
    }
}

static enum plyecho_code once(struct line *line, enum quantity q, struct pe_span item)
{
    if (line->seen[q])
        return plyecho_fail_line(
            line->err, PLYECHO_BAD_FILE, line->layer.line,
            "'%.*s' of layer %s: %s is stated already; keep one of the two", SHOWN(item),
            line->layer.name, rules[q].what);
    line->seen[q] = true;
    return PLYECHO_OK;
}

static enum plyecho_code check(struct line *line, enum quantity q, struct pe_span item,
                               double value, double to)
{
    const struct rule *rule = &rules[q];
    if (!(value >= rule->least && value <= rule->most && to >= rule->least && to <= rule->most))
        return plyecho_fail_line(line->err, PLYECHO_BAD_ARGUMENT, line->layer.line,
                                 "'%.*s' of layer %s: %s must be from %g to %g%s", SHOWN(item),
                                 line->layer.name, rule->what, rule->least, rule->most,
                                 rule->hint);
    if (q == ALONG && !(value < to))
        return plyecho_fail_line(line->err, PLYECHO_BAD_ARGUMENT, line->layer.line,
                                 "'%.*s' of layer %s: the lower end comes first", SHOWN(item),
                                 line->layer.name);
    if (q == ROUND && value == to)
        return plyecho_fail_line(line->err, PLYECHO_BAD_ARGUMENT, line->layer.line,
                                 "'%.*s' of layer %s has no extent; all round is 0 to 360 deg",
                                 SHOWN(item), line->layer.name);
    return PLYECHO_OK;
}

static enum plyecho_code read_item(struct line *line, struct pe_span item)
{
    struct pe_span rest = item;
    if (pe_span_is(item, "coat")) {
        keep(&line->layer, COAT, 0, 0);
        return once(line, COAT, item);
    }
    double value = 0, to = 0;
    bool uncertainty = take_word(&rest, "u");
    if (!take_number(&rest, &value))
        return no_number(line, item);
    bool range = take_word(&rest, "to");
    if (range && !take_number(&rest, &to))
        return no_number(line, item);
    enum quantity q = of_unit(rest, uncertainty, range);
    if (q == QUANTITIES)
        return wrong_unit(line, item, rest, uncertainty, range);
    enum plyecho_code code = once(line, q, item);
    if (code == PLYECHO_OK)
        code = check(line, q, item, value, range ? to : value);
    if (code == PLYECHO_OK)
        keep(&line->layer, q, value, to);
    return code;
}

static enum plyecho_code read_items(struct line *line, struct pe_span text)
{
    for (;;) {
        const char *comma = memchr(text.text, ',', text.size);
        size_t size = comma != NULL ? (size_t)(comma - text.text) : text.size;
        struct pe_span item = pe_span_trim((struct pe_span){text.text, size});
        if (item.size == 0)
            return plyecho_fail_line(line->err, PLYECHO_BAD_FILE, line->layer.line,
                                     "layer %s has an empty item; take out the comma that is "
                                     "too many, or write the layer as NAME = 2.1 mm, 2950 m/s",
                                     line->layer.name);
        enum plyecho_code code = read_item(line, item);
        if (code != PLYECHO_OK || comma == NULL)
            return code;
        text = pe_span_from(text, size + 1);
    }
}

static enum plyecho_code take_name(struct line *line, struct pe_span name)
{
    if (name.size == 0 || name.size >= sizeof line->layer.name)
        return plyecho_fail_line(
            line->err, PLYECHO_BAD_FILE, line->layer.line,
            "a layer's name has 1 to %zu bytes; give it a short one, as glass-sleeve",
            sizeof line->layer.name - 1);
    for (size_t i = 0; i < name.size; i++)
        if ((unsigned char)name.text[i] < 0x20 || strchr(",;=\"", name.text[i]) != NULL)
            return plyecho_fail_line(line->err, PLYECHO_BAD_FILE, line->layer.line,
                                     "the layer's name '%.*s' holds one of , ; = \"; take it "
                                     "out, a layer is written as NAME = 2.1 mm, 2950 m/s",
                                     SHOWN(name));
    memcpy(line->layer.name, name.text, name.size);
    return PLYECHO_OK;
}

/* What the items say only together. */
static enum plyecho_code check_layer(const struct line *line)
{
    const struct plyecho_declared_layer *l = &line->layer;
    if (!line->seen[THICKNESS])
        return plyecho_fail_line(line->err, PLYECHO_BAD_FILE, l->line,
                                 "layer %s has no thickness; write it in mm, as 2.1 mm",
                                 l->name);
    if (l->thickness_u_m.known && l->thickness_u_m.value >= l->thickness_m)
        return plyecho_fail_line(line->err, PLYECHO_BAD_ARGUMENT, l->line,
                                 "layer %s: the thickness' uncertainty must be below the "
                                 "thickness",
                                 l->name);
    if (l->velocity_u_m_s.known && !l->velocity_m_s.known)
        return plyecho_fail_line(
            line->err, PLYECHO_BAD_FILE, l->line,
            "layer %s has an uncertainty of the velocity, but no velocity; "
            "write both",
            l->name);
    if (l->velocity_u_m_s.known && l->velocity_u_m_s.value >= l->velocity_m_s.value)
        return plyecho_fail_line(line->err, PLYECHO_BAD_ARGUMENT, l->line,
                                 "layer %s: the velocity's uncertainty must be below the "
                                 "velocity",
                                 l->name);
    return PLYECHO_OK;
}

/* What the layer says only with those before it. */
static enum plyecho_code check_order(const struct plyecho_layers *layers,
                                     const struct plyecho_declared_layer *l,
                                     struct plyecho_error *err)
{
    for (size_t k = 0; k < layers->count; k++)
        if (strcmp(layers->items[k].name, l->name) == 0)
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, l->line,
                                     "there is a layer %s already; give each a name of its own",
                                     l->name);
    if (layers->count > 0 && l->coat && !layers->items[layers->count - 1].coat)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, l->line,
                                 "the coat %s stands behind %s; coats come first, from outside "
                                 "in; take out 'coat' for a layer inside",
                                 l->name, layers->items[layers->count - 1].name);
    if (layers->count == PLYECHO_LAYERS_MOST)
        return plyecho_fail_line(
            err, PLYECHO_TOO_LARGE, l->line,
            "layer %s is one too many; at most %d are told apart, plies of "
            "one laminate are one layer",
            l->name, (int)PLYECHO_LAYERS_MOST);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_layers_add(struct plyecho_layers *layers, const char *name,
                                     size_t name_size, const char *text, size_t text_size,
                                     long at, struct plyecho_error *err)
{
    struct line line = {.layer = {.line = at}, .err = err};
    enum plyecho_code code = take_name(&line, (struct pe_span){name, name_size});
    if (code == PLYECHO_OK)
        code = read_items(&line, (struct pe_span){text, text_size});
    if (code == PLYECHO_OK)
        code = check_layer(&line);
    if (code == PLYECHO_OK)
        code = check_order(layers, &line.layer, err);
    if (code == PLYECHO_OK)
        layers->items[layers->count++] = line.layer;
    return code;
}

static enum plyecho_code read_one(struct plyecho_layers *layers, struct pe_span one,
                                  struct plyecho_error *err)
{
    const char *equals = memchr(one.text, '=', one.size);
    if (equals == NULL)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "'%.*s' is no layer; write NAME = 2.1 mm, 2950 m/s, and ; between "
                            "two layers",
                            SHOWN(one));
    size_t size = (size_t)(equals - one.text);
    struct pe_span name = pe_span_trim((struct pe_span){one.text, size});
    struct pe_span items = pe_span_trim(pe_span_from(one, size + 1));
    return plyecho_layers_add(layers, name.text, name.size, items.text, items.size, 0, err);
}

enum plyecho_code plyecho_layers_read(struct plyecho_layers *layers, const char *text,
                                      struct plyecho_error *err)
{
    struct pe_span rest = pe_span_trim((struct pe_span){text, strlen(text)});
    memset(layers, 0, sizeof *layers);
    for (;;) {
        const char *end = memchr(rest.text, ';', rest.size);
        size_t size = end != NULL ? (size_t)(end - rest.text) : rest.size;
        enum plyecho_code code =
            read_one(layers, pe_span_trim((struct pe_span){rest.text, size}), err);
        if (code != PLYECHO_OK) {
            memset(layers, 0, sizeof *layers);
            return code;
        }
        if (end == NULL)
            return PLYECHO_OK;
        rest = pe_span_from(rest, size + 1);
        if (pe_span_trim(rest).size == 0)
            return PLYECHO_OK; /* a ; behind the last */
    }
}
