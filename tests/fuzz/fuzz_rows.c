/* Whatever the table: each cell is a text, each number a number or refused with its line. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/rows.h>

#include "target.h"

static size_t total;

static void check_cell(const struct plyecho_rows *rows, size_t row, size_t column)
{
    struct plyecho_known number;
    struct plyecho_error err = {.code = PLYECHO_OK};
    enum plyecho_code code = plyecho_rows_number(rows, row, column, &number, &err);
    total += strlen(plyecho_rows_text(rows, row, column));
    if (code != PLYECHO_OK && (number.known || err.line != plyecho_rows_line(rows, row)))
        abort();
    if (!isfinite(number.value))
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct plyecho_rows *rows;
    struct plyecho_error err = {.code = PLYECHO_OK};
    enum plyecho_code code = plyecho_rows_read(&rows, bytes, size, &err);
    if ((code == PLYECHO_OK) != (rows != NULL) || (rows == NULL && err.text[0] == '\0'))
        abort();
    if (rows == NULL)
        return 0;
    total = 0;
    for (size_t i = 0; i < plyecho_rows_count(rows); i++)
        for (size_t k = 0; k < PLYECHO_ROWS_MOST_COLUMNS; k++)
            check_cell(rows, i, k);
    if (total > size)
        abort();
    plyecho_rows_free(rows);
    return 0;
}
