/* assess_cells.h - an assessment as cells of a table, and its columns
 *
 * The first fifteen are fixed (docs/columns.md); more may follow.
 */
#ifndef PLYECHO_CMD_ASSESS_CELLS_H
#define PLYECHO_CMD_ASSESS_CELLS_H

#include <plyecho/number.h>
#include <plyecho/verdict.h>

#include "layer_cells.h"
#include "table.h"

enum {
    ASSESS_COLUMNS = 31,
    ASSESS_REASON = 14, /* which column it is */
    ASSESS_WORDS_ROOM = 4096,
    ASSESS_INNER_ROOM = PLYECHO_INNER_ECHOES * (2 * PLYECHO_NUMBER_ROOM + 64) + 3
};

extern const struct column assess_columns[ASSESS_COLUMNS];

/* What a row is of, and what it stands on. Texts may be NULL where they are not known. */
struct assess_row {
    const char *file;
    size_t channel;
    const struct plyecho_assessment *assessment;
    const char *procedure_digest; /* or "" */
    const char *doubts;           /* that the procedure leaves */
};

/* Texts that the cells point to; the caller's, as long as the cells are used. */
struct assess_texts {
    char words[ASSESS_WORDS_ROOM];
    char inner[ASSESS_INNER_ROOM];
    struct layer_cells layers;
};

void assess_cells(const struct assess_row *row, struct assess_texts *texts,
                  struct cell cells[ASSESS_COLUMNS]);

#endif
