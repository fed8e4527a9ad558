#include <config.h>

#include "assess_cells.h"

#include <stdio.h>
#include <string.h>

#include "measure.h"

const struct column assess_columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "verdict", .kind = COLUMN_TEXT, .width = 13},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "thickness_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    {.name = "thickness_u_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "mode", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 1},
    {.name = "indication_depth_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 4},
    {.name = "indication_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 3},
    {.name = "evidence_ratio", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 3},
    {.name = "from_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "to_mm", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 3},
    {.name = "tof_us", .kind = COLUMN_NUMBER, .digits = 7, .where = COLUMN_NOT_IN_TEXT},
    {.name = "tof_u_us", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "reason", .kind = COLUMN_TEXT, .width = 17},
    {.name = "next_best", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "indication_depth_u_mm",
     .kind = COLUMN_NUMBER,
     .digits = 3,
     .where = COLUMN_NOT_IN_TEXT},
    {.name = "cover", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "balance_db", .kind = COLUMN_NUMBER, .digits = 3, .where = COLUMN_NOT_IN_TEXT},
    {.name = "highest_inner", .kind = COLUMN_NUMBER, .digits = 2, .where = COLUMN_NOT_IN_TEXT},
    {.name = "reportable_level",
     .kind = COLUMN_NUMBER,
     .digits = 2,
     .where = COLUMN_NOT_IN_TEXT},
    {.name = "tof_bound_us", .kind = COLUMN_NUMBER, .where = COLUMN_ONLY_IN_JSON},
    {.name = "words", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "procedure_doubts", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "inner_echoes", .kind = COLUMN_JSON, .where = COLUMN_ONLY_IN_JSON},
    {.name = "layers", .kind = COLUMN_JSON, .where = COLUMN_ONLY_IN_JSON},
    {.name = "layer_names", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
    {.name = "layer_mm", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
    {.name = "layer_u_mm", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_CSV},
};

static struct cell when(bool known, double number)
{
    return known ? cell_number(number) : cell_unknown();
}

/* The reportable echoes inside as a JSON array. */
static const char *inner_echoes(const struct plyecho_assessment *a,
                                char room[ASSESS_INNER_ROOM])
{
    size_t used = (size_t)snprintf(room, ASSESS_INNER_ROOM, "[");
    for (int k = 0; k < a->inner_count; k++) {
        const struct plyecho_inner_echo *in = &a->inner[k];
        char depth[PLYECHO_NUMBER_ROOM], level[PLYECHO_NUMBER_ROOM];
        plyecho_number_format(in->depth_m * 1e3, depth);
        plyecho_number_format(decibels(in->strength), level);
        used +=
            (size_t)snprintf(room + used, ASSESS_INNER_ROOM - used,
                             "%s{\"depth_mm\": %s, \"strength_db\": %s, \"as_repeat\": %s}",
                             k > 0 ? ", " : "", depth, level, in->as_repeat ? "true" : "false");
    }
    snprintf(room + used, ASSESS_INNER_ROOM - used, "]");
    return room;
}

void assess_cells(const struct assess_row *row, struct assess_texts *texts,
                  struct cell cells[ASSESS_COLUMNS])
{
    const struct plyecho_assessment *a = row->assessment;
    const char *digest = row->procedure_digest[0] != '\0' ? row->procedure_digest : NULL;
    const struct plyecho_thickness *t = &a->thickness;
    bool wall = a->wall_seen;
    layer_cells_fill(&texts->layers, &a->layers);
    plyecho_assessment_words(a, texts->words, sizeof texts->words);
    const struct cell filled[ASSESS_COLUMNS] = {
        cell_text(row->file),
        cell_count(row->channel),
        cell_text(plyecho_verdict_word(a->verdict)),
        cell_yes_no(a->flagged),
        wall ? cell_thickness(t) : cell_unknown(),
        when(wall && t->thickness_u.known, t->thickness_u.value * 1e3),
        when(wall, t->mode),
        when(a->has_indication, a->depth_m * 1e3),
        when(a->has_indication, decibels(a->strength)),
        when(a->next_best != a->verdict, a->evidence_ratio),
        when(a->range_known, a->from_m * 1e3),
        when(a->range_known, a->to_m * 1e3),
        wall ? cell_measured(t->time_s * 1e6, t->time_u_s * 1e6) : cell_unknown(),
        when(wall, t->time_u_s * 1e6),
        cell_text(plyecho_reason_word(a->reason)),
        a->next_best != a->verdict ? cell_text(plyecho_verdict_word(a->next_best))
                                   : cell_unknown(),
        when(a->has_indication && a->depth_u.known, a->depth_u.value * 1e3),
        when(a->verdict == PLYECHO_DELAMINATION, a->cover),
        when(a->expectation, a->balance_db),
        when(a->range_known && a->highest_known, a->highest_inner),
        when(a->range_known, a->level),
        when(wall && t->bound_s > 0.0, t->bound_s * 1e6),
        cell_text(texts->words),
        cell_text(digest),
        cell_text(row->doubts),
        cell_text(PACKAGE_VERSION),
        cell_text(inner_echoes(a, texts->inner)),
        layer_cell(&texts->layers, texts->layers.json),
        layer_cell(&texts->layers, texts->layers.names),
        layer_cell(&texts->layers, texts->layers.mm),
        layer_cell(&texts->layers, texts->layers.u_mm),
    };
    memcpy(cells, filled, sizeof filled);
}
