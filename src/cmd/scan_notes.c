#include <config.h>

#include "scan_notes.h"

#include <string.h>

#include <plyecho/procedure_beam.h>

/* As many as anyone reads. */
enum { MOST_TROUBLES = 20, MOST_PLACE_NOTES = 5 };

void scan_notes_before(const struct setup *setup, const struct plyecho_manifest *manifest,
                       const char *name, const struct messages *messages)
{
    const struct plyecho_procedure *p = &setup->procedure;
    bool diameter = p->part.diameter_m.set || p->part.diameter_along_m.count > 0;
    const struct plyecho_wall_options *wall = &setup->assess.wall;
    if (!wall->nominal_m.known && p->part.nominal_along_m.count == 0)
        message_note(
            messages, name,
            "no nominal wall: a delamination all over the part would pass for its wall");
    if (!wall->attenuation.known)
        message_note(
            messages, name,
            "no attenuation: a back wall that is weak all over the part, as by porosity, "
            "is not told");
    if (p->part.zero_mark.value == NULL)
        message_note(messages, name,
                     "no zero_mark under [part]: nobody can find these places again; say there "
                     "where on the part %s",
                     manifest->tube ? "angle 0 and axial 0 are" : "x 0 and y 0 are");
    if (manifest->tube && !p->part.angle_direction.set)
        message_note(messages, name,
                     "no angle_direction under [part]: the ring plot is drawn clockwise");
    if (manifest->tube && !diameter)
        message_note(messages, name,
                     "no diameter_mm under [part]: no arc lengths, areas or coverage");
    if (!plyecho_procedure_beam_m(p).known)
        message_note(messages, name,
                     "no beam_mm under [equipment], nor what it follows from: coverage is not "
                     "known");
}

/* What is told of all shots together. */
struct told {
    size_t troubles, elsewhere, place_notes;
    double rate_hz, other_rate_hz;
    size_t first_elsewhere;
    char last_note[PLACE_NOTE_ROOM];
};

static void tell_shot(struct told *t, const struct plyecho_shot *shot,
                      const struct scan_shot *found, const char *manifest_name,
                      struct messages *messages)
{
    if (!found->judged) {
        t->troubles++;
        if (t->troubles <= MOST_TROUBLES)
            message_trouble(messages, manifest_name, "line %ld: %s: %s", shot->line, shot->file,
                            found->trouble.text);
        return;
    }
    if (t->rate_hz == 0.0)
        t->rate_hz = found->sample_rate_hz;
    if (found->sample_rate_hz != t->rate_hz)
        t->other_rate_hz = found->sample_rate_hz;
    if (found->note[0] == '\0' || strcmp(found->note, t->last_note) == 0)
        return;
    memcpy(t->last_note, found->note, sizeof t->last_note);
    if (++t->place_notes <= MOST_PLACE_NOTES)
        message_note(messages, manifest_name, "line %ld: %s", shot->line, found->note);
}

void scan_notes_after(const struct scan_journal *journal,
                      const struct plyecho_manifest *manifest, const char *manifest_name,
                      struct messages *messages)
{
    struct told t = {0};
    struct scan_shot found;
    for (size_t i = 0; i < manifest->count; i++) {
        if (!scan_journal_get(journal, i, &found))
            continue;
        tell_shot(&t, &manifest->shot[i], &found, manifest_name, messages);
        if (found.labelled_elsewhere && t.elsewhere++ == 0)
            t.first_elsewhere = i;
    }
    if (t.troubles > MOST_TROUBLES)
        message_trouble(messages, manifest_name, "and %zu more traces that could not be judged",
                        t.troubles - MOST_TROUBLES);
    if (t.place_notes > MOST_PLACE_NOTES)
        message_note(messages, manifest_name, "and %zu more notes of this kind",
                     t.place_notes - MOST_PLACE_NOTES);
    if (t.other_rate_hz != 0.0)
        message_note(
            messages, manifest_name,
            "sample rates are mixed, %.6g and %.6g MHz: each trace is read by its own; if "
            "one recorder took them, give --sample-rate",
            t.rate_hz * 1e-6, t.other_rate_hz * 1e-6);
    if (t.elsewhere > 0)
        message_note(messages, manifest_name,
                     "%zu trace%s another place in the labels than here, the first in line "
                     "%ld (%s, channel %zu): the manifest's holds; is it this scan's?",
                     t.elsewhere, t.elsewhere > 1 ? "s have" : " has",
                     manifest->shot[t.first_elsewhere].line,
                     manifest->shot[t.first_elsewhere].file,
                     manifest->shot[t.first_elsewhere].channel);
}
