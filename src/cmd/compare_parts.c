/* Several parts side by side: what a workshop asks of a row of tubes. */
#include "compare.h"

#include <math.h>
#include <string.h>

#include <plyecho/acceptance.h>
#include <plyecho/walls.h>

static const double per_mm = 1e3;

enum column_index {
    SCAN,
    VERDICT,
    FLAGGED,
    PLACES,
    UNREAD,
    MEAN,
    SPREAD,
    OFF_NOMINAL,
    SPREAD_ABOUT,
    LEAST,
    LEAST_U,
    LEAST_AT,
    COVERAGE,
    UNSEEN,
    DELAMINATIONS,
    INNER_ECHOES,
    THIN,
    ATTENUATED,
    UNDECIDED,
    INDICATIONS,
    PART,
    COLUMN_TOTAL
};

static const struct column columns[COLUMN_TOTAL] = {
    [SCAN] = {.name = "scan", .kind = COLUMN_FILE, .width = 12},
    [VERDICT] = {.name = "verdict", .kind = COLUMN_TEXT, .width = 13},
    [FLAGGED] = {.name = "flagged", .kind = COLUMN_YES_NO, .where = COLUMN_NOT_IN_TEXT},
    [PLACES] = {.name = "places", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    [UNREAD] = {.name = "unread", .kind = COLUMN_COUNT},
    [MEAN] = {.name = "mean_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    [SPREAD] = {.name = "spread_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 4},
    [OFF_NOMINAL] = {.name = "mean_off_nominal_mm",
                     .kind = COLUMN_NUMBER,
                     .digits = 4,
                     .where = COLUMN_NOT_IN_TEXT},
    [SPREAD_ABOUT] = {.name = "spread_about_nominal_mm",
                      .kind = COLUMN_NUMBER,
                      .digits = 4,
                      .where = COLUMN_NOT_IN_TEXT},
    [LEAST] = {.name = "least_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    [LEAST_U] = {.name = "least_u_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    [LEAST_AT] = {.name = "least_at", .kind = COLUMN_TEXT, .width = 14},
    [COVERAGE] = {.name = "seen_percent", .kind = COLUMN_NUMBER, .digits = 4},
    [UNSEEN] = {.name = "largest_unseen_mm",
                .kind = COLUMN_NUMBER,
                .digits = 4,
                .where = COLUMN_NOT_IN_TEXT},
    [DELAMINATIONS] = {.name = "delamination",
                       .kind = COLUMN_COUNT,
                       .where = COLUMN_NOT_IN_TEXT},
    [INNER_ECHOES] = {.name = "inner_echo", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    [THIN] = {.name = "thin", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    [ATTENUATED] = {.name = "attenuated", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    [UNDECIDED] = {.name = "undecided", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    [INDICATIONS] = {.name = "indications", .kind = COLUMN_TEXT},
    [PART] = {.name = "part", .kind = COLUMN_TEXT, .width = 12, .where = COLUMN_NOT_IN_TEXT},
};

enum { WORDS_ROOM = 200 };

static struct cell known(struct plyecho_known x, double scale)
{
    return x.known ? cell_number(x.value * scale) : cell_unknown();
}

/* Indications of a kind; layers that the procedure expects are none. */
static size_t count_kind(const struct results *r, enum plyecho_verdict kind)
{
    size_t count = 0;
    for (size_t i = 0; i < r->indications; i++)
        count += r->indication[i].kind == kind && !r->indication[i].declared;
    return count;
}

/* "1 delamination, 2 thin", or "none". */
static const char *count_words(const struct results *r, char words[WORDS_ROOM])
{
    size_t used = 0;
    snprintf(words, WORDS_ROOM, "none");
    for (int kind = 0; kind < PLYECHO_VERDICT_COUNT; kind++) {
        size_t count = count_kind(r, (enum plyecho_verdict)kind);
        if (count > 0 && used < WORDS_ROOM)
            used += (size_t)snprintf(words + used, WORDS_ROOM - used, "%s%zu %s",
                                     used > 0 ? ", " : "", count,
                                     plyecho_verdict_word((enum plyecho_verdict)kind));
    }
    return words;
}

static size_t count_unread(const struct results *r)
{
    size_t count = 0;
    for (size_t i = 0; i < r->places; i++)
        count += plyecho_place_unread(&r->reading[i]);
    return count;
}

/* As scan's own exit status: rejected, undecided, or a place that is flagged. */
static bool is_flagged(const struct results *r)
{
    const char *verdict = results_text(r, "part_verdict");
    bool flagged = verdict == NULL ||
                   strcmp(verdict, plyecho_part_verdict_word(PLYECHO_PART_REJECTED)) == 0 ||
                   strcmp(verdict, plyecho_part_verdict_word(PLYECHO_PART_UNDECIDED)) == 0;
    for (size_t i = 0; i < r->places && !flagged; i++)
        flagged = !r->reading[i].read || r->reading[i].second_flagged;
    return flagged;
}

static void wall_cells(const struct results *r, char place[PLYECHO_PLACE_ROOM],
                       struct cell *cells)
{
    struct plyecho_walls w = plyecho_walls_take(r->reading, r->places);
    const struct plyecho_place_reading *least = &r->reading[w.least];
    for (int k = MEAN; k <= LEAST_AT; k++)
        cells[k] = cell_unknown();
    if (w.count == 0)
        return;
    cells[MEAN] = cell_number(w.mean_m * per_mm);
    cells[SPREAD] = known(w.spread_m, per_mm);
    if (w.about_nominal)
        cells[OFF_NOMINAL] = cell_number(w.mean_off_m * per_mm);
    cells[SPREAD_ABOUT] = known(w.spread_about_m, per_mm);
    cells[LEAST] = known(least->second_wall_m, per_mm);
    cells[LEAST_U] = known(least->second_wall_u_m, per_mm);
    cells[LEAST_AT] = cell_text(plyecho_place_words(r->tube, &least->place, place));
}

static bool print_row(const struct table *table, const struct compare_scan *scan)
{
    const struct results *r = &scan->results;
    bool flagged = is_flagged(r);
    char place[PLYECHO_PLACE_ROOM], words[WORDS_ROOM];
    struct cell cells[COLUMN_TOTAL];
    cells[SCAN] = cell_text(scan->folder);
    cells[VERDICT] = cell_text(results_text(r, "part_verdict"));
    cells[FLAGGED] = cell_yes_no(flagged);
    cells[PLACES] = cell_count(r->places);
    cells[UNREAD] = cell_count(count_unread(r));
    wall_cells(r, place, cells);
    cells[COVERAGE] = known(results_number(r, "coverage.seen_percent"), 1.0);
    cells[UNSEEN] = known(results_number(r, "coverage.largest_unseen_mm"), 1.0);
    cells[DELAMINATIONS] = cell_count(count_kind(r, PLYECHO_DELAMINATION));
    cells[INNER_ECHOES] = cell_count(count_kind(r, PLYECHO_INNER_ECHO));
    cells[THIN] = cell_count(count_kind(r, PLYECHO_THIN));
    cells[ATTENUATED] = cell_count(count_kind(r, PLYECHO_ATTENUATED));
    cells[UNDECIDED] = cell_count(count_kind(r, PLYECHO_UNDECIDED));
    cells[INDICATIONS] = cell_text(count_words(r, words));
    cells[PART] = cell_text(scan->part);
    table_row(table, cells);
    return flagged;
}

bool compare_side_by_side(const struct compare_scan *scans, size_t count,
                          const struct table_values *values)
{
    struct table table;
    bool flagged = false;
    table_begin(&table, values, columns, COLUMN_TOTAL, stdout);
    for (size_t i = 0; i < count; i++)
        flagged |= print_row(&table, &scans[i]);
    if (values->format.index == TABLE_TEXT)
        printf("%s\n", compare_cautions);
    return flagged;
}
