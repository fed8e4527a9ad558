/* A comparison in time as a table: what is compared, in rows; docs/columns.md. */
#include "compare_time.h"

#include <math.h>

#include "scan_axes.h"

static const double per_mm = 1e3, per_mm2 = 1e6, coverage_factor = 2.0;

enum column_index {
    SUBJECT,
    STATE,
    FLAGGED,
    KIND,
    NUMBER_BEFORE,
    NUMBER_AFTER,
    ACROSS,
    ALONG,
    QUANTITY,
    BEFORE,
    AFTER,
    DIFFERENCE,
    U,
    LIMIT,
    WORDS,
    COLUMN_TOTAL
};

static const struct column columns[COLUMN_TOTAL] = {
    [SUBJECT] = {.name = "subject", .kind = COLUMN_TEXT},
    [STATE] = {.name = "state", .kind = COLUMN_TEXT},
    [FLAGGED] = {.name = "flagged", .kind = COLUMN_YES_NO},
    [KIND] = {.name = "kind", .kind = COLUMN_TEXT},
    [NUMBER_BEFORE] = {.name = "number_before", .kind = COLUMN_COUNT},
    [NUMBER_AFTER] = {.name = "number_after", .kind = COLUMN_COUNT},
    [ACROSS] = {.kind = COLUMN_NUMBER},
    [ALONG] = {.kind = COLUMN_NUMBER},
    [QUANTITY] = {.name = "quantity", .kind = COLUMN_TEXT},
    [BEFORE] = {.name = "before", .kind = COLUMN_NUMBER, .digits = 6},
    [AFTER] = {.name = "after", .kind = COLUMN_NUMBER, .digits = 6},
    [DIFFERENCE] = {.name = "difference", .kind = COLUMN_NUMBER, .digits = 4},
    [U] = {.name = "difference_u", .kind = COLUMN_NUMBER, .digits = 3},
    [LIMIT] = {.name = "limit", .kind = COLUMN_NUMBER, .digits = 4},
    [WORDS] = {.name = "words", .kind = COLUMN_TEXT},
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

static void put_place(struct writer *w, const struct plyecho_place *place)
{
    w->cells[ACROSS] = cell_number(scan_axis_number(&w->axes->across, place->across));
    w->cells[ALONG] = cell_number(scan_axis_number(&w->axes->along, place->along));
}

static struct cell known(struct plyecho_known x, double scale)
{
    return x.known ? cell_number(x.value * scale) : cell_unknown();
}

static void part_row(struct writer *w, const struct compare_time *c)
{
    char words[COMPARE_WORDS_ROOM];
    const char *before = results_text(&c->before->results, "part_verdict");
    const char *after = results_text(&c->after->results, "part_verdict");
    bool flagged = compare_time_flagged(c);
    begin(w, "part", flagged ? "changed or in doubt" : "no change seen", flagged);
    snprintf(words, sizeof words, "%.60s before, %.60s after",
             before != NULL ? before : "no verdict", after != NULL ? after : "no verdict");
    w->cells[QUANTITY] = cell_text("places");
    w->cells[BEFORE] = cell_count(c->before->results.places);
    w->cells[AFTER] = cell_count(c->after->results.places);
    w->cells[WORDS] = cell_text(words);
    table_row(&w->table, w->cells);
}

/* The correlation as the scans lie, and at the position that fits best. */
static void alignment_row(struct writer *w, const struct compare_time *c)
{
    char words[COMPARE_WORDS_ROOM];
    const struct plyecho_alignment *a = &c->alignment;
    begin(w, "zero-mark", plyecho_alignment_word(a->state), compare_time_alignment_flagged(c));
    put_place(w, &(struct plyecho_place){a->best.across, a->best.along_m});
    w->cells[QUANTITY] = cell_text("correlation");
    w->cells[BEFORE] = cell_number(a->zero.correlation);
    w->cells[AFTER] = cell_number(a->best.correlation);
    w->cells[WORDS] = cell_text(compare_time_alignment_words(c, words));
    table_row(&w->table, w->cells);
}

static void shift_row(struct writer *w, const struct plyecho_wall_changes *s)
{
    bool judged = s->shift_u_m.known;
    begin(w, "walls-together",
          !s->median_m.known ? "not compared"
          : !judged          ? "not judged"
          : s->shifted       ? "shifted"
                             : "same",
          s->shifted || (s->median_m.known && !judged));
    w->cells[QUANTITY] = cell_text("thickness_mm");
    w->cells[DIFFERENCE] = known(s->median_m, per_mm);
    w->cells[U] = known(s->shift_u_m, per_mm);
    w->cells[LIMIT] = known(s->shift_u_m, coverage_factor * per_mm);
    table_row(&w->table, w->cells);
}

/* Of one; several have none in common. */
static struct cell area(const struct compare_scan *scan, size_t indication, size_t count)
{
    return count == 1 ? cell_number(scan->results.indication[indication].area_m2 * per_mm2)
                      : cell_unknown();
}

static void indication_row(struct writer *w, const struct compare_time *c,
                           const struct plyecho_indication_change *change)
{
    char words[COMPARE_WORDS_ROOM];
    const struct plyecho_indication *n = compare_time_shown(c, change);
    const struct compare_scan *in =
        change->after != PLYECHO_NO_INDICATION_INDEX ? c->after : c->before;
    begin(w, "indication", plyecho_indication_state_word(change->state),
          compare_time_indication_flagged(c, change));
    put_place(w, &in->results.reading[n->worst].place);
    w->cells[KIND] = cell_text(plyecho_verdict_word(n->kind));
    w->cells[QUANTITY] = cell_text("area_mm2");
    if (change->before != PLYECHO_NO_INDICATION_INDEX) {
        w->cells[NUMBER_BEFORE] = cell_count(change->before + 1);
        w->cells[BEFORE] = area(c->before, change->before, change->before_count);
    }
    if (change->after != PLYECHO_NO_INDICATION_INDEX) {
        w->cells[NUMBER_AFTER] = cell_count(change->after + 1);
        w->cells[AFTER] = area(c->after, change->after, change->after_count);
    }
    w->cells[DIFFERENCE] = known(change->area_m2, per_mm2);
    w->cells[U] = known(change->area_u_m2, per_mm2);
    w->cells[LIMIT] = known(change->area_u_m2, coverage_factor * per_mm2);
    w->cells[WORDS] = cell_text(compare_time_indication_words(c, change, words));
    table_row(&w->table, w->cells);
}

static void wall_row(struct writer *w, const struct compare_time *c, size_t i)
{
    const struct plyecho_wall_change *change = &c->wall[i];
    const struct plyecho_place_reading *a = &c->before->results.reading[i],
                                       *b = &c->after->results.reading[c->after_of[i]];
    begin(w, "wall", plyecho_wall_change_word(change->state),
          compare_time_wall_flagged(change));
    put_place(w, &a->place);
    w->cells[QUANTITY] = cell_text("thickness_mm");
    w->cells[BEFORE] = known(a->second_wall_m, per_mm);
    w->cells[AFTER] = known(b->second_wall_m, per_mm);
    w->cells[DIFFERENCE] = cell_number(change->difference_m * per_mm);
    w->cells[U] = known(change->u_m, per_mm);
    w->cells[LIMIT] = known(change->u_m, c->walls.factor * per_mm);
    table_row(&w->table, w->cells);
}

void compare_time_table(const struct compare_time *c, const struct table_values *values)
{
    struct writer w = {.axes = scan_axes_of(c->before->results.tube)};
    for (int k = 0; k < COLUMN_TOTAL; k++)
        w.columns[k] = columns[k];
    w.columns[ACROSS].name = w.axes->across.name;
    w.columns[ALONG].name = w.axes->along.name;
    table_begin(&w.table, values, w.columns, COLUMN_TOTAL, stdout);
    part_row(&w, c);
    alignment_row(&w, c);
    for (size_t i = 0; i < c->indications; i++)
        indication_row(&w, c, &c->indication[i]);
    shift_row(&w, &c->walls);
    for (size_t i = 0; i < c->before->results.places; i++)
        if (c->wall[i].state != PLYECHO_WALL_NOT_COMPARED)
            wall_row(&w, c, i);
}
