#include "table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

#include "utf8.h"

static const char *const format_words[] = {
    [TABLE_TEXT] = "text",
    [TABLE_CSV] = "csv",
    [TABLE_JSON] = "json",
    NULL,
};

const struct option table_options[] = {
    {.name = "format",
     .kind = OPTION_WORD,
     .words = format_words,
     .argument = "FORMAT",
     .has_preset = true,
     .preset = TABLE_TEXT,
     .offset = offsetof(struct table_values, format),
     .help = "how to print results: for a person, as CSV, or as JSON Lines with every field"},
    {.name = "no-header",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct table_values, no_header),
     .help = "no header line"},
    {.name = NULL},
};

struct cell cell_text(const char *text)
{
    return (struct cell){.known = text != NULL, .text = text};
}

struct cell cell_number(double number)
{
    return (struct cell){.known = isfinite(number), .number = number};
}

struct cell cell_measured(double number, double u)
{
    return (struct cell){.known = isfinite(number), .number = number, .u = u};
}

struct cell cell_count(size_t count)
{
    return cell_number((double)count);
}

struct cell cell_yes_no(bool yes)
{
    return (struct cell){.known = true, .yes = yes};
}

struct cell cell_unknown(void)
{
    return (struct cell){0};
}

static bool is_text(const struct column *column)
{
    return column->kind == COLUMN_TEXT || column->kind == COLUMN_FILE;
}

static bool is_shown(const struct table *table, const struct column *column)
{
    switch (column->where) {
    case COLUMN_NOT_IN_TEXT:
        return table->format != TABLE_TEXT;
    case COLUMN_ONLY_IN_JSON:
        return table->format == TABLE_JSON;
    case COLUMN_ONLY_IN_CSV:
        return table->format == TABLE_CSV;
    case COLUMN_EVERYWHERE:
        break;
    }
    return true;
}

/* ---- text ---- */

static size_t text_width(const struct column *column)
{
    size_t name = strlen(column->name);
    return name > column->width ? name : column->width;
}

/* `size` bytes that show as `characters`. Padding in front of numbers, behind text; behind the
 * last column there is none. */
static void put_aligned(FILE *to, const char *text, size_t characters,
                        const struct column *column, bool first, bool last)
{
    size_t width = text_width(column);
    int padding = characters < width ? (int)(width - characters) : 0;
    if (!first)
        fputs("  ", to);
    if (!is_text(column) && column->kind != COLUMN_YES_NO)
        fprintf(to, "%*s", padding, "");
    utf8_put(to, text, UTF8_PLAIN);
    if ((is_text(column) || column->kind == COLUMN_YES_NO) && !last)
        fprintf(to, "%*s", padding, "");
}

static int text_places(const struct column *column, double number)
{
    const double most = 9.0;
    if (column->kind == COLUMN_COUNT)
        return 0;
    if (column->least_digits == 0 || number == 0.0)
        return column->decimals;
    double places = column->least_digits - 1 - floor(log10(fabs(number)));
    return (int)fmax(column->decimals, fmin(places, most));
}

static const char *plain_cell(const struct column *column, const struct cell *cell, char *room,
                              size_t size)
{
    if (!cell->known)
        return "-";
    if (is_text(column))
        return cell->text;
    if (column->kind == COLUMN_YES_NO)
        return cell->yes ? "yes" : "no";
    snprintf(room, size, "%.*f", text_places(column, cell->number), cell->number);
    return room;
}

/* cells NULL: the header. */
static void text_line(const struct table *table, const struct cell *cells)
{
    char room[400]; /* the largest double has 309 digits */
    size_t last = table->count;
    while (last > 0 && !is_shown(table, &table->columns[last - 1]))
        last--;
    bool first = true;
    for (size_t i = 0; i < last; i++) {
        const struct column *column = &table->columns[i];
        if (!is_shown(table, column))
            continue;
        const char *text =
            cells == NULL ? column->name : plain_cell(column, &cells[i], room, sizeof room);
        put_aligned(table->to, text, utf8_length(text), column, first, i + 1 == last);
        first = false;
    }
    putc('\n', table->to);
}

/* ---- csv ---- */

/* What a spreadsheet must see in front of a text so as not to take it for a formula. */
static const char *formula_guard(const struct column *column, const char *text)
{
    bool formula = text[0] != '\0' && strchr("=+-@\t\r", text[0]) != NULL;
    double number;
    bool plain = plyecho_number_scan(text, strlen(text), '.', &number) == strlen(text);
    if (!formula || plain || strcmp(text, "-") == 0)
        return "";
    return column->kind == COLUMN_FILE ? "./" : "'";
}

static void csv_text(FILE *to, const char *guard, const char *text)
{
    bool quoted = strpbrk(text, ",\"\r\n") != NULL || text[0] == ' ' ||
                  (text[0] != '\0' && text[strlen(text) - 1] == ' ');
    fputs(quoted ? "\"" : "", to);
    fputs(guard, to);
    utf8_put(to, text, quoted ? UTF8_CSV_QUOTED : UTF8_CSV);
    fputs(quoted ? "\"" : "", to);
}

double decibels(double ratio)
{
    return 20.0 * log10(fmax(fabs(ratio), 1e-6));
}

int table_places(double u)
{
    double places = -round(log10(0.01 * u));
    return (int)fmax(0.0, fmin(places, 15.0));
}

static void put_number(FILE *to, double number)
{
    char out[PLYECHO_NUMBER_ROOM];
    fputs(plyecho_number_format(number, out), to);
}

static void csv_number(FILE *to, const struct cell *cell, int digits)
{
    char rounded[400] = ""; /* the largest double has 309 digits */
    if (cell->u > 0.0)
        snprintf(rounded, sizeof rounded, "%.*f", table_places(cell->u), cell->number);
    else if (digits > 0)
        snprintf(rounded, sizeof rounded, "%.*e", digits - 1, cell->number);
    put_number(to, rounded[0] != '\0' ? strtod(rounded, NULL) : cell->number);
}

static void csv_cell(FILE *to, const struct column *column, const struct cell *cell)
{
    if (!cell->known)
        return;
    if (is_text(column))
        csv_text(to, formula_guard(column, cell->text), cell->text);
    else if (column->kind == COLUMN_YES_NO)
        fputs(cell->yes ? "yes" : "no", to);
    else
        csv_number(to, cell, column->kind == COLUMN_COUNT ? 0 : column->digits);
}

/* cells NULL: the header. */
static void csv_line(const struct table *table, const struct cell *cells)
{
    const char *between = "";
    for (size_t i = 0; i < table->count; i++) {
        if (!is_shown(table, &table->columns[i]))
            continue;
        fputs(between, table->to);
        between = ",";
        if (cells == NULL)
            fputs(table->columns[i].name, table->to);
        else
            csv_cell(table->to, &table->columns[i], &cells[i]);
    }
    putc('\n', table->to);
}

/* ---- json ---- */

static void json_cell(FILE *to, const struct column *column, const struct cell *cell)
{
    if (!cell->known) {
        fputs("null", to);
    } else if (column->kind == COLUMN_JSON) {
        fputs(cell->text, to);
    } else if (is_text(column)) {
        putc('"', to);
        utf8_put(to, cell->text, UTF8_JSON);
        putc('"', to);
    } else if (column->kind == COLUMN_YES_NO) {
        fputs(cell->yes ? "true" : "false", to);
    } else {
        put_number(to, cell->number);
    }
}

static void json_line(const struct table *table, const struct cell *cells)
{
    const char *between = "{";
    for (size_t i = 0; i < table->count; i++) {
        if (!is_shown(table, &table->columns[i]))
            continue;
        fprintf(table->to, "%s\"%s\": ", between, table->columns[i].name);
        between = ", ";
        json_cell(table->to, &table->columns[i], &cells[i]);
    }
    fputs("}\n", table->to);
}

void table_begin(struct table *table, const struct table_values *values,
                 const struct column *columns, size_t count, FILE *to)
{
    *table = (struct table){to, (enum table_format)values->format.index, columns, count};
    if (values->no_header || table->format == TABLE_JSON)
        return;
    if (table->format == TABLE_CSV)
        csv_line(table, NULL);
    else
        text_line(table, NULL);
}

bool table_row(const struct table *table, const struct cell *cells)
{
    if (table->format == TABLE_TEXT)
        text_line(table, cells);
    else if (table->format == TABLE_CSV)
        csv_line(table, cells);
    else
        json_line(table, cells);
    fflush(table->to);
    return !ferror(table->to);
}
