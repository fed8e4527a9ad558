/* Whatever the table of steps: rows with sensible numbers, or a refusal in words. */
#include <stdlib.h>

#include <plyecho/step_rows.h>

#include "target.h"

static void check(const struct plyecho_step_row *row)
{
    if (row->file == NULL || row->file[0] == '\0' || !(row->thickness_m > 0.0) ||
        !(row->thickness_u_m > 0.0) || row->thickness_u_m >= row->thickness_m || row->line < 1)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct plyecho_step_rows rows;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    enum plyecho_code code = plyecho_step_rows_read(&rows, bytes, size, &err);
    if (code != PLYECHO_OK && (err.code != code || err.text[0] == '\0' || rows.count != 0))
        abort();
    if (code == PLYECHO_OK && (rows.count == 0 || rows.count > PLYECHO_MOST_STEPS))
        abort();
    for (size_t i = 0; i < rows.count; i++)
        check(&rows.row[i]);
    plyecho_step_rows_clear(&rows);
    return 0;
}
