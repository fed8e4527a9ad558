/* The declared layers in words. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "layers_verdict.h"
#include "units.h"

static double mm(double m)
{
    return m * 1e3;
}

/* "carbon and glass", with what is thin between them: "carbon and glass (with glue between)". */
static void between(const struct plyecho_layer_reading *r, const struct plyecho_boundary *b,
                    char *text, size_t room)
{
    int used = snprintf(text, room, "%s and %s", r->names[b->above], r->names[b->below]);
    for (size_t k = b->above + 1; k < b->below && used > 0 && (size_t)used < room; k++)
        used += snprintf(text + used, room - (size_t)used, "%s%s%s",
                         k == b->above + 1 ? " (with " : ", ", r->names[k],
                         k + 1 == b->below ? " between)" : "");
}

/* ", -21.3 dB by the impedances" */
static const char *expectation(const struct plyecho_boundary *b, char *text, size_t room)
{
    if (b->expected.known)
        snprintf(text, room, "%.1f dB by the impedances", pe_decibel(b->expected.value));
    else
        snprintf(text, room, "a bond by its strength; without impedances nothing more is told");
    return text;
}

/* An echo stands there. */
static void tell_seen(const struct plyecho_layer_reading *r, const struct plyecho_boundary *b,
                      const char *pair, char *text, size_t room)
{
    char expected[100];
    expectation(b, expected, sizeof expected);
    const char *above = r->names[b->above], *below = r->names[b->below];
    if (b->state == PLYECHO_BOUNDARY_DISBONDED)
        snprintf(text, room, "It lies at the interface of %s: a disbond of %s from %s.", pair,
                 below, above);
    else if (b->state == PLYECHO_BOUNDARY_LONE)
        snprintf(text, room,
                 "It lies at the interface of %s: a disbond of %s from %s, or a place without "
                 "%s.",
                 pair, below, above, below);
    else if (b->state == PLYECHO_BOUNDARY_DECLARED)
        snprintf(text, room, "Interface of %s: seen as declared, %.1f dB (%s).", pair,
                 pe_decibel(b->strength), expected);
    else
        snprintf(text, room,
                 "Interface of %s: an echo there, but not as declared: %.1f dB%s (%s).", pair,
                 pe_decibel(b->strength),
                 b->expected.known ? ", or of the other sign" : ", more than a bond reflects",
                 expected);
}

/* None stands there. */
static void tell_unseen(const struct plyecho_layer_reading *r, const struct plyecho_boundary *b,
                        const char *pair, char *text, size_t room)
{
    char expected[100];
    const char *below = r->names[b->below];
    if (b->state == PLYECHO_BOUNDARY_MISSING)
        snprintf(text, room,
                 "Interface of %s: expected at %.2f mm with %.1f dB, and not seen, although "
                 "%.1f dB would have been: other materials, other thicknesses, or no %s here.",
                 pair, mm(b->declared_m), pe_decibel(b->expected.value),
                 pe_decibel(b->reportable.value), below);
    else if (b->state == PLYECHO_BOUNDARY_QUIET)
        snprintf(text, room,
                 "Interface of %s: expected at %.2f mm, and not seen; like materials show none "
                 "when bonded, and so does a place without %s.",
                 pair, mm(b->declared_m), below);
    else if (b->state == PLYECHO_BOUNDARY_HIDDEN)
        snprintf(
            text, room,
            "Interface of %s: expected at %.2f mm, outside the depths inspected; a disbond "
            "there may pass unseen.",
            pair, mm(b->declared_m));
    else
        snprintf(text, room,
                 "Interface of %s: not seen at %.2f mm; bonded, it is too faint to show (%s).",
                 pair, mm(b->declared_m), expectation(b, expected, sizeof expected));
}

static void tell_boundary(const struct plyecho_layer_reading *r,
                          const struct plyecho_boundary *b, char *text, size_t room)
{
    char pair[320];
    between(r, b, pair, sizeof pair);
    switch (b->state) {
    case PLYECHO_BOUNDARY_DISBONDED:
    case PLYECHO_BOUNDARY_LONE:
    case PLYECHO_BOUNDARY_DECLARED:
    case PLYECHO_BOUNDARY_OTHER:
        tell_seen(r, b, pair, text, room);
        break;
    case PLYECHO_BOUNDARY_HIDDEN:
    case PLYECHO_BOUNDARY_FAINT:
    case PLYECHO_BOUNDARY_QUIET:
    case PLYECHO_BOUNDARY_MISSING:
        tell_unseen(r, b, pair, text, room);
        break;
    }
}

/* Text that is put together piece by piece. */
struct pieces {
    char *text;
    size_t room, used;
};

static void add(struct pieces *p, const char *format, ...) PLYECHO_PRINTF(2, 3);

static void add(struct pieces *p, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (p->used < p->room) {
        int size = vsnprintf(p->text + p->used, p->room - p->used, format, args);
        p->used += size > 0 ? (size_t)size : 0;
    }
    va_end(args);
}

static void add_group(const struct plyecho_layer_reading *r,
                      const struct plyecho_layer_group *g, struct pieces *p)
{
    for (size_t k = g->first; k <= g->last; k++)
        add(p, "%s%s", k > g->first ? " and " : "", r->names[k]);
    if (!g->measured) {
        add(p, " not measured");
        return;
    }
    add(p, " %.3f mm", mm(g->thickness_m));
    if (g->thickness_u.known)
        add(p, " (u %.3f mm)", mm(g->thickness_u.value));
    if (g->last > g->first)
        add(p, ", not parted");
}

static void tell_thickness(const struct plyecho_layer_reading *r, char *text, size_t room)
{
    struct pieces p = {text, room, 0};
    bool thin = false;
    add(&p, "Layers: ");
    for (size_t k = 0; k < r->groups; k++) {
        add(&p, "%s", k > 0 ? "; " : "");
        add_group(r, &r->group[k], &p);
        thin |= !r->group[k].measured && k + 1 < r->groups;
    }
    add(&p, ".");
    if (thin && r->wall_m.known)
        add(&p, " What is not measured counts in the wall as declared.");
}

/* The statements behind those on boundaries; what does not apply leaves text empty. */
static void tell_rest(const struct plyecho_assessment *a, size_t number, char *text,
                      size_t room)
{
    const struct plyecho_layer_reading *r = &a->layers;
    bool inner = a->verdict == PLYECHO_INNER_ECHO;
    text[0] = '\0';
    if (number == 0)
        tell_thickness(r, text, room);
    else if (number == 1 && r->coat_m.known)
        snprintf(
            text, room,
            "Coat of %.2f mm, as declared: not measured and not counted. The interface echo "
            "is taken to come from where it ends; from its face, the wall is %.2f mm less.",
            mm(r->coat_m.value), mm(r->coat_as_wall_m));
    else if (number == 2 && inner && !a->flagged)
        snprintf(text, room, "Not flagged: what is seen inside was declared.");
    else if (number == 2 && inner && r->undeclared)
        snprintf(text, room, "Flagged: an echo inside that no declared interface explains.");
    else if (number == 2 && inner && pe_layers_odds_too_low(a))
        snprintf(text, room,
                 "Flagged: declared, but the odds against a delamination are below %.0f to 1; "
                 "state the layers' impedances, and the strength can speak.",
                 PE_LEAST_BOND_ODDS);
    else if (number == 2 && inner && a->film)
        snprintf(
            text, room,
            "Flagged: the echo has the shape of a thin softer layer, and none was declared "
            "there; a wet gap looks the same.");
}

bool pe_layers_statement(const struct plyecho_assessment *a, size_t number, char *text,
                         size_t room)
{
    const size_t rest = 3;
    const struct plyecho_layer_reading *r = &a->layers;
    if (r->count == 0 || a->verdict == PLYECHO_UNREADABLE || number >= r->boundaries + rest)
        return false;
    if (number < r->boundaries)
        tell_boundary(r, &r->boundary[number], text, room);
    else
        tell_rest(a, number - r->boundaries, text, room);
    return true;
}
