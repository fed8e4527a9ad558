/* thickness_budget.h - the uncertainty budget of a thickness as rows of a table
 */
#ifndef PLYECHO_CMD_THICKNESS_BUDGET_H
#define PLYECHO_CMD_THICKNESS_BUDGET_H

#include <plyecho/wall.h>

#include "inputs.h"
#include "setup.h"
#include "table.h"

enum { BUDGET_COLUMNS = 20 };

extern const struct column thickness_budget_columns[BUDGET_COLUMNS];

/* A row for each contribution and one for all of them; in text with the trace's name ahead and words
 * behind. False where it could not be written. */
bool thickness_budget(const struct setup *setup, const struct table *table,
                      const struct input_trace *input,
                      const struct plyecho_thickness *thickness);

#endif
