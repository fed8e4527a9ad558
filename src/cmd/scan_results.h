/* scan_results.h - what a journal comes to: readings, indications, coverage, the verdict of the part
 *
 * A pure reduction of the journal's shots: the same journal gives the same results, however it came about.
 */
#ifndef PLYECHO_CMD_SCAN_RESULTS_H
#define PLYECHO_CMD_SCAN_RESULTS_H

#include <plyecho/acceptance.h>
#include <plyecho/context.h>
#include <plyecho/coverage.h>
#include <plyecho/grid.h>
#include <plyecho/indications.h>
#include <plyecho/manifest.h>
#include <plyecho/place_reading.h>

#include "scan_journal.h"
#include "scan_same.h"
#include "setup.h"

/* Shots by place. */
struct scan_places {
    size_t count;
    size_t *shot; /* all shots, those of one place together, as the manifest has them */
    size_t *
        first; /* [count + 1] where a place's begin in shot; places in the order of their first */
};

/* Neighbours that could not be read, or were unreadable. */
struct scan_stretch {
    size_t places;
    size_t first; /* of them */
};

struct scan_results {
    const struct plyecho_manifest *manifest;
    const struct plyecho_procedure *procedure;
    const struct scan_journal *journal;
    struct scan_places places;
    struct plyecho_place_reading *reading; /* [places.count] */
    struct plyecho_known *spread_m;        /* [places.count] of several shots' walls */
    size_t *best;                          /* [places.count] the shot whose verdict it is */
    struct plyecho_grid *grid;
    struct plyecho_sound_places sound;
    struct plyecho_known beam_m;
    struct plyecho_indication *indication;
    size_t indications;
    size_t *member; /* [places.count] number of its indication, 0: none */
    struct scan_stretch *stretch;
    size_t stretches;
    struct scan_copies copies;
    struct plyecho_coverage coverage;
    struct plyecho_acceptance acceptance;
};

/* All of it. On failure err says why; scan_results_clear is due in any case. */
enum plyecho_code scan_results_take(struct scan_results *results,
                                    const struct plyecho_manifest *manifest,
                                    const struct setup *setup,
                                    const struct scan_journal *journal,
                                    struct plyecho_error *err);

/* Is anything flagged, or does the part not pass? */
bool scan_results_flagged(const struct scan_results *results);

void scan_results_clear(struct scan_results *results);

#endif
