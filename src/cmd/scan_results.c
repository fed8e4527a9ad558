#include <config.h>

#include "scan_results.h"

#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure_beam.h>
#include <plyecho/shots.h>

#include "memory.h"

/* ---- shots to places ---- */

struct keyed {
    struct plyecho_place place;
    size_t shot;
    size_t first; /* shot of the same place that comes first */
};

static int compare(double a, double b)
{
    return (a > b) - (a < b);
}

static int by_place(const void *a, const void *b)
{
    const struct keyed *one = a, *other = b;
    int order = compare(one->place.along, other->place.along);
    if (order == 0)
        order = compare(one->place.across, other->place.across);
    return order != 0 ? order : (one->shot > other->shot) - (one->shot < other->shot);
}

static int by_first(const void *a, const void *b)
{
    const struct keyed *one = a, *other = b;
    if (one->first != other->first)
        return one->first < other->first ? -1 : 1;
    return (one->shot > other->shot) - (one->shot < other->shot);
}

static bool is_same(const struct plyecho_place *a, const struct plyecho_place *b)
{
    return a->across == b->across && a->along == b->along;
}

static void gather(const struct plyecho_manifest *m, struct scan_places *places)
{
    struct keyed *key = memory_take(m->count, sizeof *key);
    for (size_t i = 0; i < m->count; i++)
        key[i] = (struct keyed){m->shot[i].place, i, i};
    qsort(key, m->count, sizeof *key, by_place);
    for (size_t i = 1; i < m->count; i++)
        if (is_same(&key[i].place, &key[i - 1].place))
            key[i].first = key[i - 1].first;
    qsort(key, m->count, sizeof *key, by_first);
    places->shot = memory_take(m->count, sizeof *places->shot);
    places->first = memory_take(m->count + 1, sizeof *places->first);
    for (size_t i = 0; i < m->count; i++) {
        places->shot[i] = key[i].shot;
        if (key[i].shot == key[i].first)
            places->first[places->count++] = i;
    }
    places->first[places->count] = m->count;
    free(key);
}

/* ---- places to readings ---- */

static void read_place(struct scan_results *r, size_t place)
{
    const size_t *shot = r->places.shot + r->places.first[place];
    size_t count = r->places.first[place + 1] - r->places.first[place];
    struct scan_shot *taken = memory_take(count, sizeof *taken);
    const struct plyecho_assessment **judged = memory_take(count, sizeof(*judged));
    size_t *of = memory_take(count, sizeof *of), n = 0;
    double tolerance_m = 0.0;
    for (size_t k = 0; k < count; k++) {
        if (!scan_journal_get(r->journal, shot[k], &taken[k]) || !taken[k].judged)
            continue;
        tolerance_m = taken[k].tolerance_m;
        of[n] = shot[k];
        judged[n++] = &taken[k].assessment;
    }
    struct plyecho_place_reading *reading = &r->reading[place];
    reading->place = r->manifest->shot[shot[0]].place;
    r->best[place] = shot[0];
    if (n > 0)
        r->best[place] =
            of[plyecho_shots_combine(judged, n, tolerance_m, reading, &r->spread_m[place])];
    free(of);
    free(judged);
    free(taken);
}

static enum plyecho_code make_grid(struct scan_results *r, struct plyecho_error *err)
{
    const struct plyecho_setting *diameter = &r->procedure->part.diameter_m;
    const struct plyecho_along *along = &r->procedure->part.diameter_along_m;
    const struct plyecho_part part = {
        .tube = r->manifest->tube,
        .diameter_m = {diameter->set, diameter->value},
        .diameter = along->count > 0 ? along : NULL,
    };
    struct plyecho_place *places = memory_take(r->places.count, sizeof *places);
    for (size_t i = 0; i < r->places.count; i++)
        places[i] = r->reading[i].place;
    enum plyecho_code code = plyecho_grid_new(&r->grid, places, r->places.count, &part, err);
    free(places);
    return code;
}

static enum plyecho_code find_stretches(struct scan_results *r, struct plyecho_error *err)
{
    size_t count = r->places.count;
    bool *unread = memory_take(count, sizeof *unread);
    size_t *label = memory_take(count, sizeof *label);
    for (size_t i = 0; i < count; i++)
        unread[i] = plyecho_place_unread(&r->reading[i]);
    enum plyecho_code code = plyecho_grid_label(r->grid, unread, label, &r->stretches, err);
    if (code == PLYECHO_OK)
        r->stretch = memory_take(r->stretches, sizeof *r->stretch);
    for (size_t i = 0; i < count && code == PLYECHO_OK; i++)
        if (label[i] > 0 && r->stretch[label[i] - 1].places++ == 0)
            r->stretch[label[i] - 1].first = i;
    free(unread);
    free(label);
    return code;
}

static enum plyecho_code accept(struct scan_results *r, const char *wall_doubts,
                                struct plyecho_error *err)
{
    const struct plyecho_part_reading part = {
        .procedure = r->procedure,
        .grid = r->grid,
        .readings = r->reading,
        .indications = r->indication,
        .count = r->indications,
        .coverage = &r->coverage,
        .sound = &r->sound,
        .wall_doubts = wall_doubts,
        .copies = r->copies.count,
    };
    return plyecho_accept(&part, &r->acceptance, err);
}

enum plyecho_code scan_results_take(struct scan_results *r,
                                    const struct plyecho_manifest *manifest,
                                    const struct setup *setup,
                                    const struct scan_journal *journal,
                                    struct plyecho_error *err)
{
    const struct plyecho_procedure *procedure = &setup->procedure;
    *r =
        (struct scan_results){.manifest = manifest, .procedure = procedure, .journal = journal};
    const struct plyecho_setting *least = &procedure->acceptance.least_m;
    gather(manifest, &r->places);
    size_t count = r->places.count;
    r->reading = memory_take(count, sizeof *r->reading);
    r->spread_m = memory_take(count, sizeof *r->spread_m);
    r->best = memory_take(count, sizeof *r->best);
    r->member = memory_take(count, sizeof *r->member);
    for (size_t i = 0; i < count; i++)
        read_place(r, i);
    r->copies = scan_same_copies(journal, manifest);
    r->beam_m = plyecho_procedure_beam_m(procedure);
    const struct plyecho_context_options options = {{least->set, least->value}, r->beam_m};
    enum plyecho_code code = make_grid(r, err);
    if (code == PLYECHO_OK)
        code = plyecho_context_judge(r->grid, r->reading, &options, &r->sound, err);
    if (code == PLYECHO_OK)
        code = plyecho_indications_find(r->grid, r->reading, r->beam_m, &r->indication,
                                        &r->indications, r->member, err);
    if (code == PLYECHO_OK)
        code = find_stretches(r, err);
    if (code == PLYECHO_OK)
        code = plyecho_coverage_take(r->grid, r->reading, r->beam_m, &r->coverage, err);
    if (code == PLYECHO_OK)
        code = accept(r, setup->wall_doubts, err);
    return code;
}

bool scan_results_flagged(const struct scan_results *r)
{
    enum plyecho_part_verdict part = r->acceptance.verdict;
    bool flagged = part == PLYECHO_PART_REJECTED || part == PLYECHO_PART_UNDECIDED;
    for (size_t i = 0; i < r->places.count && !flagged; i++)
        flagged = !r->reading[i].read || r->reading[i].second_flagged;
    return flagged;
}

void scan_results_clear(struct scan_results *r)
{
    plyecho_grid_free(r->grid);
    free(r->places.shot);
    free(r->places.first);
    free(r->reading);
    free(r->spread_m);
    free(r->best);
    free(r->indication);
    free(r->member);
    free(r->stretch);
    *r = (struct scan_results){.manifest = NULL};
}
