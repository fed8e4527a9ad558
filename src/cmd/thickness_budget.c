#include <config.h>

#include "thickness_budget.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <plyecho/budget.h>

#include "measure.h"

const struct column thickness_budget_columns[BUDGET_COLUMNS] = {
    {.name = "trace", .kind = COLUMN_FILE, .where = COLUMN_NOT_IN_TEXT},
    {.name = "channel", .kind = COLUMN_COUNT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "contribution", .kind = COLUMN_TEXT, .width = 23},
    {.name = "state", .kind = COLUMN_TEXT, .width = 9},
    {.name = "value", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 8, .width = 10},
    {.name = "unit", .kind = COLUMN_TEXT, .width = 7},
    {.name = "u",
     .kind = COLUMN_NUMBER,
     .decimals = 4,
     .least_digits = 2,
     .digits = 4,
     .width = 8},
    {.name = "distribution", .kind = COLUMN_TEXT},
    {.name = "type", .kind = COLUMN_TEXT},
    {.name = "sensitivity_mm", .kind = COLUMN_NUMBER, .decimals = 5, .digits = 6},
    {.name = "contribution_mm",
     .kind = COLUMN_NUMBER,
     .decimals = 5,
     .least_digits = 2,
     .digits = 4},
    {.name = "share_percent", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "freedom", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 6},
    {.name = "coverage_factor", .kind = COLUMN_NUMBER, .where = COLUMN_NOT_IN_TEXT},
    {.name = "expanded_mm", .kind = COLUMN_NUMBER, .digits = 4, .where = COLUMN_NOT_IN_TEXT},
    {.name = "coverage_t", .kind = COLUMN_NUMBER, .digits = 5, .where = COLUMN_NOT_IN_TEXT},
    {.name = "expanded_t_mm", .kind = COLUMN_NUMBER, .digits = 4, .where = COLUMN_NOT_IN_TEXT},
    {.name = "note", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "procedure_digest", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    {.name = "program_version", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
};

/* How a quantity is written, and what is said where it has no number of its own. */
struct shown {
    const char *unit;
    double per_si; /* its unit over that of the library */
    const char *cure;
    const char *without; /* counted elsewhere, or not entering */
};

static const struct shown shown[PLYECHO_QUANTITY_COUNT] = {
    [PLYECHO_QUANTITY_TIME] = {.unit = "us", .per_si = 1e6},
    [PLYECHO_QUANTITY_PLIES] =
        {.unit = "us",
         .per_si = 1e6,
         .cure = "mode 1 times one echo; between two echoes they would show"},
    [PLYECHO_QUANTITY_DISPERSION] = {.unit = "us",
                                     .per_si = 1e6,
                                     .without = "fitted with the time of flight"},
    [PLYECHO_QUANTITY_VELOCITY] = {.unit = "m/s",
                                   .per_si = 1.0,
                                   .cure =
                                       "give velocity_u_m_s under [material], or --velocity-u"},
    [PLYECHO_QUANTITY_ZERO] =
        {.unit = "us",
         .per_si = 1e6,
         .cure = "give zero_us and zero_u_us under [calibration], or --zero and --zero-u",
         .without = "between two echoes of the wall none is taken off"},
    [PLYECHO_QUANTITY_TEMPERATURE] =
        {.unit = "C",
         .per_si = 1.0,
         .cure =
             "give temperature_c, temperature_limit_c and velocity_per_c_m_s under [material], "
             "temperature_c under [calibration], with the velocity of the procedure"},
    [PLYECHO_QUANTITY_COEFFICIENT] =
        {.unit = "m/s/C",
         .per_si = 1.0,
         .cure = "give velocity_per_c_m_s and velocity_per_c_u_m_s under [material]"},
    [PLYECHO_QUANTITY_COUPLANT] = {.unit = "us",
                                   .per_si = 1e6,
                                   .cure = "give couplant_limit_us under [equipment]",
                                   .without = "not on the way between two back-wall echoes"},
    [PLYECHO_QUANTITY_CURVATURE] = {.unit = "mm",
                                    .per_si = 1e3,
                                    .cure =
                                        "give curvature_u_mm under [part]; 0 for a flat part"},
    [PLYECHO_QUANTITY_CLOCK] =
        {.unit = "ppm",
         .per_si = 1e6,
         .cure = "give clock_limit_ppm under [equipment]; 0 where the velocity "
                 "was calibrated with the same recorder"},
    [PLYECHO_QUANTITY_RESOLUTION] =
        {.unit = "us",
         .per_si = 1e6,
         .without = "the recorder's step is in the noise that the time of flight stands on"},
};

static const char *const states[] = {
    [PLYECHO_SHARE_COUNTED] = "counted",
    [PLYECHO_SHARE_NOT_GIVEN] = "not given",
    [PLYECHO_SHARE_ELSEWHERE] = "elsewhere",
    [PLYECHO_SHARE_NONE] = "none",
};

/* What all rows of a budget have. */
struct frame {
    const struct table *table;
    const struct input_trace *input;
    const char *digest;
};

/* cells from `contribution` to `note`; the rest is the same in every row. */
static bool put_row(const struct frame *f, const struct cell middle[BUDGET_COLUMNS - 4])
{
    struct cell cells[BUDGET_COLUMNS];
    cells[0] = cell_text(f->input->name);
    cells[1] = cell_count(f->input->trace.channel);
    memcpy(cells + 2, middle, (BUDGET_COLUMNS - 4) * sizeof *middle);
    cells[BUDGET_COLUMNS - 2] = f->digest[0] != '\0' ? cell_text(f->digest) : cell_unknown();
    cells[BUDGET_COLUMNS - 1] = cell_text(PACKAGE_VERSION);
    return table_row(f->table, cells);
}

static struct cell when(bool known, double number)
{
    return known ? cell_number(number) : cell_unknown();
}

/* NULL: there is nothing to say. */
static const char *note_of(const struct plyecho_contribution *c)
{
    const struct shown *s = &shown[c->quantity];
    if (c->state == PLYECHO_SHARE_NOT_GIVEN)
        return s->cure;
    return c->state == PLYECHO_SHARE_COUNTED ? NULL : s->without;
}

static bool put_contribution(const struct frame *f, const struct plyecho_budget *b,
                             const struct plyecho_contribution *c)
{
    const struct shown *s = &shown[c->quantity];
    bool counted = c->state == PLYECHO_SHARE_COUNTED;
    const char *distribution = c->distribution == PLYECHO_NORMAL ? "normal" : "rectangular";
    const struct cell cells[BUDGET_COLUMNS - 4] = {
        cell_text(plyecho_quantity_word(c->quantity)),
        cell_text(states[c->state]),
        when(counted, c->value * s->per_si),
        counted ? cell_text(s->unit) : cell_unknown(),
        when(counted, c->u * s->per_si),
        counted ? cell_text(distribution) : cell_unknown(),
        counted ? cell_text(c->statistical ? "A" : "B") : cell_unknown(),
        when(counted, c->sensitivity * 1e3 / s->per_si),
        when(counted, c->contribution * 1e3),
        when(counted && b->combined_u.known, 100.0 * c->share),
        when(counted && isfinite(c->freedom), c->freedom),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_text(note_of(c)),
    };
    return put_row(f, cells);
}

static bool put_correlation(const struct frame *f, const struct plyecho_budget *b)
{
    const struct cell cells[BUDGET_COLUMNS - 4] = {
        cell_text("velocity with zero"),
        cell_text(states[PLYECHO_SHARE_COUNTED]),
        cell_number(b->correlation),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        when(b->combined_u.known, 100.0 * b->covariance_share),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        cell_text("their correlation; both come from one line through the steps"),
    };
    return put_row(f, cells);
}

enum { MISSING_ROOM = 400 };

/* "temperature, couplant": what nothing is known of. */
static void list_missing(const struct plyecho_budget *b, char out[MISSING_ROOM])
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t k = 0; k < b->count; k++)
        if (b->item[k].state == PLYECHO_SHARE_NOT_GIVEN)
            used +=
                (size_t)snprintf(out + used, MISSING_ROOM - used, "%s%s", used > 0 ? ", " : "",
                                 plyecho_quantity_word(b->item[k].quantity));
}

/* Where nothing told whether the line through the steps fits, a small uncertainty looks surest. */
static const char *unchecked(const struct setup *setup)
{
    const struct plyecho_known *freedom = &setup->assess.wall.influences.freedom;
    bool none = freedom->known && freedom->value == 0.0;
    return none
               ? "the velocity's uncertainty rests on what was stated of the steps alone: there "
                 "were too few to tell whether it holds"
               : NULL;
}

static bool put_sum(const struct frame *f, const struct setup *setup,
                    const struct plyecho_budget *b, const struct plyecho_thickness *t)
{
    bool known = b->combined_u.known;
    double u = b->combined_u.value * 1e3;
    const char *doubtful = unchecked(setup);
    char missing[MISSING_ROOM], note[2 * MISSING_ROOM];
    list_missing(b, missing);
    snprintf(note, sizeof note, "%s%s%s%s", missing[0] != '\0' ? "without " : "", missing,
             missing[0] != '\0' && doubtful != NULL ? "; " : "",
             doubtful != NULL ? doubtful : "");
    const struct cell cells[BUDGET_COLUMNS - 4] = {
        cell_text("combined"),
        cell_text(states[known ? PLYECHO_SHARE_COUNTED : PLYECHO_SHARE_NOT_GIVEN]),
        cell_thickness(t),
        cell_text("mm"),
        when(known, u),
        cell_unknown(),
        cell_unknown(),
        cell_unknown(),
        when(known, u),
        when(known, 100.0),
        when(known && isfinite(b->freedom), b->freedom),
        when(known, 2.0),
        when(known, 2.0 * u),
        when(known, b->coverage_t),
        when(known, b->coverage_t * u),
        note[0] != '\0' ? cell_text(note) : cell_unknown(),
    };
    return put_row(f, cells);
}

static void print_words(const struct setup *setup, const struct plyecho_budget *b,
                        const struct plyecho_thickness *t)
{
    double u = b->combined_u.value * 1e3;
    if (b->combined_u.known) {
        printf(
            "    Thickness: %.4f mm by mode %d, expanded uncertainty %.4f mm (k = 2, 95 %% of a "
            "normal distribution).\n",
            t->thickness_m * 1e3, (int)t->mode, 2.0 * u);
        if (isfinite(b->freedom))
            printf("    With Student's t for %.1f effective degrees of freedom: %.4f mm (k = "
                   "%.2f).\n",
                   b->freedom, b->coverage_t * u, b->coverage_t);
    } else {
        puts("    No uncertainty of the thickness: that of velocity or zero is not given.");
    }
    if (unchecked(setup) != NULL)
        printf("    Doubtful: %s. Calibrate on 3 steps or more.\n", unchecked(setup));
    if (b->not_given > 0)
        puts("    The budget lacks what nobody stated; the uncertainty is larger by that:");
    for (size_t k = 0; k < b->count; k++)
        if (b->item[k].state == PLYECHO_SHARE_NOT_GIVEN)
            printf("      %s: %s.\n", plyecho_quantity_word(b->item[k].quantity),
                   note_of(&b->item[k]));
    puts("    It holds for the back wall's echo; whether it is one, assess tells.\n");
}

static bool put_refusal(const struct frame *f, const struct plyecho_thickness *t)
{
    struct cell cells[BUDGET_COLUMNS - 4];
    for (size_t k = 0; k < BUDGET_COLUMNS - 4; k++)
        cells[k] = cell_unknown();
    cells[0] = cell_text("combined");
    cells[1] = cell_text("not measured");
    cells[BUDGET_COLUMNS - 5] = cell_text(plyecho_reason_word(t->reason));
    return put_row(f, cells);
}

bool thickness_budget(const struct setup *setup, const struct table *table,
                      const struct input_trace *input, const struct plyecho_thickness *t)
{
    const struct frame f = {table, input, setup->procedure.digest};
    struct plyecho_budget b;
    bool text = table->format == TABLE_TEXT, measured = t->time_s > 0.0;
    if (text)
        printf("%s, channel %zu%s%s%s\n", input->name, input->trace.channel,
               measured ? "" : ": not measured", t->reason != PLYECHO_REASON_NONE ? ": " : "",
               plyecho_reason_word(t->reason));
    if (!measured)
        return put_refusal(&f, t);
    plyecho_budget_of_wall(t, &setup->assess.wall, &b);
    bool going = true;
    for (size_t k = 0; k < b.count && going; k++) {
        going = put_contribution(&f, &b, &b.item[k]);
        if (going && k == b.other && b.correlation != 0.0)
            going = put_correlation(&f, &b);
    }
    going = going && put_sum(&f, setup, &b, t);
    if (text)
        print_words(setup, &b, t);
    return going;
}
