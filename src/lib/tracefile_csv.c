#include "formats.h"

#include <math.h>
#include <string.h>

#include "csv_columns.h"
#include "csv_preamble.h"
#include "csv_signal.h"
#include "csv_timebase.h"

enum { LOOKED_AT = 4096, CONTROLS_ALLOWED = 2, ONE_IN = 50 };

bool pe_csv_known(const char *text, size_t size)
{
    size_t looked = size < LOOKED_AT ? size : LOOKED_AT, controls = 0;
    for (size_t i = 0; i < looked; i++) {
        unsigned char c = (unsigned char)text[i];
        controls += (c < 0x20 && !(c >= '\t' && c <= '\r')) || c == 0x7f;
    }
    return controls <= CONTROLS_ALLOWED + looked / ONE_IN;
}

/* A zero byte may stand where no number is scanned, in the preamble. */
static enum plyecho_code check_zero_bytes(const char *text, size_t size,
                                          struct plyecho_error *err)
{
    const char *zero = memchr(text, '\0', size);
    if (zero == NULL)
        return PLYECHO_OK;
    long line = 1;
    for (const char *p = text; p < zero; p++)
        line += *p == '\n';
    return plyecho_fail_line(
        err, PLYECHO_BAD_FILE, line,
        "a zero byte in the text; the file is damaged, so copy or export it "
        "again");
}

/* The signal's state and levels, as far as column headings and samples tell them. */
static enum plyecho_code find_state(const struct pe_csv_columns *columns,
                                    const struct pe_csv_settings *settings, bool whole_numbers,
                                    struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct pe_csv_unit unit = columns->amplitude.unit;
    if (unit.word == NULL || unit.role != PE_CSV_AMPLITUDE)
        unit = settings->amplitude_unit;
    const char *name = plyecho_labels_get(&traces->labels, "unit", 0);
    enum plyecho_code code = PLYECHO_OK;
    if (name == NULL && unit.word != NULL) {
        name = unit.label;
        code = plyecho_labels_set(&traces->labels, "unit", 0, name, err);
    }
    if (plyecho_labels_get(&traces->labels, "signal", 0) != NULL)
        return code; /* a file that says this says its levels too, where they are known */
    if (whole_numbers)
        traces->step = 1.0;
    if (name != NULL && strcmp(name, "percent") == 0)
        traces->full_scale = 100.0;
    if (name != NULL && strcmp(name, "dB") == 0) {
        traces->signal = PLYECHO_SIGNAL_LOG;
        return code;
    }
    traces->signal = pe_csv_signal_of(traces);
    if (traces->signal != PLYECHO_SIGNAL_RF)
        pe_csv_note(traces,
                    "no negative samples: taken as signal %s; a line '# signal: rf' says "
                    "otherwise",
                    plyecho_signal_word(traces->signal));
    return code;
}

/* The axis column as printed; no rows where there is none. */
static struct pe_csv_axis axis_of(const struct pe_csv_rows *rows, bool has_axis,
                                  const struct plyecho_traces *traces)
{
    struct pe_csv_axis axis = {.value = rows->axis};
    if (!has_axis)
        return axis;
    axis.count = traces->samples;
    axis.finest = rows->finest < -400 ? -400 : rows->finest > 400 ? 400 : (int)rows->finest;
    for (uint64_t digits = rows->most_digits; digits > 0; digits /= 10)
        axis.significant++;
    return axis;
}

static void note_layout(const struct pe_csv_layout *layout, struct plyecho_traces *traces)
{
    if (layout->bare_commas)
        pe_csv_note(traces, layout->delimiter == ','
                                ? "commas taken as delimiters of two columns"
                                : "commas taken as decimal signs of one column");
    if (layout->left_out > 0)
        pe_csv_note(traces, "line %ld ahead of the rows left out", layout->left_out);
}

/* All that follows once labels and settings are known. Moves *labels into traces. */
static enum plyecho_code read_table(const struct pe_csv_layout *layout, const char *end,
                                    const struct pe_csv_settings *settings,
                                    const struct plyecho_read_options *options,
                                    struct pe_csv_rows *rows, struct plyecho_labels *labels,
                                    struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct pe_csv_columns columns;
    enum plyecho_code code = pe_csv_columns_find(layout, end, &columns, rows, err);
    if (code == PLYECHO_OK)
        code = pe_csv_rows_read(layout, end, columns.channels, rows, traces, err);
    traces->labels = *labels;
    *labels = (struct plyecho_labels){0};
    if (code != PLYECHO_OK)
        return code;
    traces->container = PLYECHO_CONTAINER_CSV;
    note_layout(layout, traces);
    struct pe_csv_time_sources sources = {.options = options,
                                          .labels = &traces->labels,
                                          .settings = settings,
                                          .columns = &columns,
                                          .axis = axis_of(rows, columns.has_axis, traces)};
    size_t bad_row = 0;
    code = pe_csv_timebase_find(&sources, traces, &bad_row, err);
    if (code != PLYECHO_OK && bad_row > 0 && err != NULL)
        err->line = pe_csv_rows_line(layout, end, bad_row);
    if (code == PLYECHO_OK)
        code = pe_csv_columns_label(layout, rows, &traces->labels, err);
    return code == PLYECHO_OK ? find_state(&columns, settings, rows->whole_numbers, traces, err)
                              : code;
}

enum plyecho_code pe_csv_read(const char *text, size_t size,
                              const struct plyecho_read_options *options,
                              struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct pe_csv_layout layout;
    struct pe_csv_settings settings;
    struct pe_csv_rows rows = {.axis = NULL};
    struct plyecho_labels labels = {0};
    const char *const end = text + size;
    const struct pe_span unmarked = pe_span_unmarked(text, size);
    text = unmarked.text;
    size = unmarked.size;
    enum plyecho_code code = check_zero_bytes(text, size, err);
    if (code == PLYECHO_OK)
        code = pe_csv_layout_find(text, size, &layout, err);
    if (code == PLYECHO_OK)
        code = pe_csv_preamble_read(&layout, &labels, &settings, err);
    if (code == PLYECHO_OK)
        code = read_table(&layout, end, &settings, options, &rows, &labels, traces, err);
    plyecho_labels_clear(&labels);
    pe_csv_rows_clear(&rows);
    return code;
}
