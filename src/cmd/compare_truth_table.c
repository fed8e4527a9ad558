/* Readings against a truth as a table: a row a place and value, then what all come to; docs/columns.md. */
#include "compare_truth.h"

#include "scan_axes.h"

static const double per_mm = 1e3;

enum column_index {
    SUBJECT,
    STATE,
    FLAGGED,
    LINE,
    ACROSS,
    ALONG,
    QUANTITY,
    TRUTH,
    READING,
    DIFFERENCE,
    DIFFERENCE_U,
    HITS,
    COUNT,
    LEAST,
    MOST,
    COLUMN_TOTAL
};

static const struct column columns[COLUMN_TOTAL] = {
    [SUBJECT] = {.name = "subject", .kind = COLUMN_TEXT},
    [STATE] = {.name = "state", .kind = COLUMN_TEXT},
    [FLAGGED] = {.name = "flagged", .kind = COLUMN_YES_NO},
    [LINE] = {.name = "line", .kind = COLUMN_COUNT},
    [ACROSS] = {.kind = COLUMN_NUMBER},
    [ALONG] = {.kind = COLUMN_NUMBER},
    [QUANTITY] = {.name = "quantity", .kind = COLUMN_TEXT},
    [TRUTH] = {.name = "truth", .kind = COLUMN_NUMBER, .digits = 6},
    [READING] = {.name = "reading", .kind = COLUMN_NUMBER, .digits = 6},
    [DIFFERENCE] = {.name = "difference", .kind = COLUMN_NUMBER, .digits = 5},
    [DIFFERENCE_U] = {.name = "difference_u", .kind = COLUMN_NUMBER, .digits = 3},
    [HITS] = {.name = "hits", .kind = COLUMN_COUNT},
    [COUNT] = {.name = "count", .kind = COLUMN_COUNT},
    [LEAST] = {.name = "least", .kind = COLUMN_NUMBER, .digits = 5},
    [MOST] = {.name = "most", .kind = COLUMN_NUMBER, .digits = 5},
};

struct writer {
    struct table table;
    struct column columns[COLUMN_TOTAL];
    const struct scan_axes *axes;
    struct cell cells[COLUMN_TOTAL];
};

static void begin(struct writer *w, const char *subject, const char *state, bool flagged)
{
    for (int k = 0; k < COLUMN_TOTAL; k++)
        w->cells[k] = cell_unknown();
    w->cells[SUBJECT] = cell_text(subject);
    w->cells[STATE] = cell_text(state);
    w->cells[FLAGGED] = cell_yes_no(flagged);
}

static struct cell mm(struct plyecho_known m)
{
    return m.known ? cell_number(m.value * per_mm) : cell_unknown();
}

static void put_row(struct writer *w, const struct truth_row *row)
{
    w->cells[LINE] = cell_number((double)row->line);
    w->cells[ACROSS] = cell_number(scan_axis_number(&w->axes->across, row->place.across));
    w->cells[ALONG] = cell_number(scan_axis_number(&w->axes->along, row->place.along));
}

static void wall_row(struct writer *w, const struct truth *t, const struct truth_row *row)
{
    const char *state = row->at == PLYECHO_NO_PLACE  ? "not scanned"
                        : !row->difference_m.known   ? "no wall told"
                        : !row->difference_u_m.known ? "not judged"
                        : truth_wall_agrees(row)     ? "within"
                                                     : "off";
    begin(w, "wall", state, truth_wall_far_off(t, row));
    put_row(w, row);
    w->cells[QUANTITY] = cell_text("thickness_mm");
    w->cells[TRUTH] = mm(row->thickness_m);
    if (row->difference_m.known)
        w->cells[READING] = mm(t->scan->results.reading[row->at].second_wall_m);
    w->cells[DIFFERENCE] = mm(row->difference_m);
    w->cells[DIFFERENCE_U] = mm(row->difference_u_m);
    table_row(&w->table, w->cells);
}

static void cut_row(struct writer *w, const struct truth_row *row)
{
    const char *state = row->at == PLYECHO_NO_PLACE     ? "not scanned"
                        : row->call == TRUTH_NOT_CALLED ? "not read"
                        : truth_depth_agrees(row)       ? truth_call_word(row->call)
                                                        : "at another depth";
    begin(w, "cut", state, truth_cut_flagged(row));
    put_row(w, row);
    w->cells[QUANTITY] = cell_text("indication_depth_mm");
    if (row->cut == TRUTH_DELAMINATION)
        w->cells[TRUTH] = cell_number(row->depth_m * per_mm);
    if (row->depth_difference_m.known)
        w->cells[READING] =
            cell_number((row->depth_m + row->depth_difference_m.value) * per_mm);
    w->cells[DIFFERENCE] = mm(row->depth_difference_m);
    if (row->depth_limit_m.known) {
        w->cells[LEAST] = cell_number(-row->depth_limit_m.value * per_mm);
        w->cells[MOST] = cell_number(row->depth_limit_m.value * per_mm);
    }
    table_row(&w->table, w->cells);
}

static void summary_row(struct writer *w, const char *subject, const char *quantity,
                        double difference, const struct plyecho_interval *interval,
                        size_t count)
{
    begin(w, subject, "", false);
    w->cells[QUANTITY] = cell_text(quantity);
    w->cells[DIFFERENCE] = cell_number(difference * per_mm);
    w->cells[COUNT] = cell_count(count);
    if (interval != NULL) {
        w->cells[LEAST] = cell_number(interval->least * per_mm);
        w->cells[MOST] = cell_number(interval->most * per_mm);
    }
    table_row(&w->table, w->cells);
}

static void agreement_rows(struct writer *w, const char *quantity,
                           const struct plyecho_agreement *a)
{
    if (a->count == 0)
        return;
    summary_row(w, "bias", quantity, a->bias, a->spread_known ? &a->bias_95 : NULL, a->count);
    if (!a->spread_known)
        return;
    summary_row(w, "spread", quantity, a->spread, NULL, a->count);
    summary_row(w, "lower-limit", quantity, a->lower, &a->lower_95, a->count);
    summary_row(w, "upper-limit", quantity, a->upper, &a->upper_95, a->count);
}

static void share_row(struct writer *w, const char *subject, const char *quantity,
                      const struct plyecho_share *s, bool flagged)
{
    if (s->count == 0)
        return;
    begin(w, subject, "", flagged);
    w->cells[QUANTITY] = cell_text(quantity);
    w->cells[HITS] = cell_count(s->hits);
    w->cells[COUNT] = cell_count(s->count);
    w->cells[LEAST] = cell_number(s->interval_95.least);
    w->cells[MOST] = cell_number(s->interval_95.most);
    table_row(&w->table, w->cells);
}

void truth_table(const struct truth *t, const struct table_values *values)
{
    struct writer w = {.axes = scan_axes_of(t->scan->results.tube)};
    for (int k = 0; k < COLUMN_TOTAL; k++)
        w.columns[k] = columns[k];
    w.columns[ACROSS].name = w.axes->across.name;
    w.columns[ALONG].name = w.axes->along.name;
    table_begin(&w.table, values, w.columns, COLUMN_TOTAL, stdout);
    for (size_t i = 0; i < t->count; i++) {
        if (t->row[i].thickness_m.known)
            wall_row(&w, t, &t->row[i]);
        if (t->row[i].cut != TRUTH_NOT_CUT)
            cut_row(&w, &t->row[i]);
    }
    agreement_rows(&w, "thickness_mm", &t->wall);
    share_row(&w, "within", "thickness_mm", &t->wall_within, truth_walls_flagged(t));
    agreement_rows(&w, "indication_depth_mm", &t->depth);
    share_row(&w, "within", "indication_depth_mm", &t->depth_within,
              t->depth_within.hits < t->depth_within.count);
    share_row(&w, "found", "delamination", &t->found, t->found.hits < t->found.count);
    share_row(&w, "false-calls", "delamination", &t->false_calls, t->false_calls.hits > 0);
}
