/* compare - scans against each other, and against a truth */
#include "compare.h"

#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "memory.h"

struct compare_values {
    struct option_text truth;
    struct option_number depth_tolerance_mm;
    bool side_by_side;
    struct table_values table;
};

static const struct option options[] = {
    {.name = "truth",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct compare_values, truth),
     .help =
         "CSV table of places measured otherwise: angle_deg and axial_mm (x_mm and y_mm on a "
         "plate), thickness_mm by a micrometer or a cut, indication_depth_mm of a cut: a "
         "depth, or none where it was cut and nothing was found; thickness_u_mm if known"},
    {.name = "depth-tolerance",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct compare_values, depth_tolerance_mm),
     .help = "with --truth: depths agree within this; without it within twice their "
             "uncertainty"},
    {.name = "side-by-side",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct compare_values, side_by_side),
     .help = "a row a scan, even of two scans of parts with one name"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct compare_values, table)},
    {.name = NULL},
};

static bool options_agree(const struct invocation *in)
{
    const struct compare_values *v = in->values;
    if (v->truth.set && in->file_count != 1) {
        message_trouble(in->messages, NULL,
                        "--truth goes with one scan's folder, but %zu are named",
                        in->file_count);
        return false;
    }
    if (!v->truth.set && in->file_count < 2) {
        message_trouble(in->messages, NULL,
                        "nothing to compare with; name two scans' folders or more, or one and "
                        "--truth FILE");
        return false;
    }
    if (v->depth_tolerance_mm.set && !v->truth.set) {
        message_trouble(in->messages, NULL, "--depth-tolerance goes with --truth");
        return false;
    }
    if (v->side_by_side && v->truth.set) {
        message_trouble(in->messages, NULL,
                        "--side-by-side and --truth are two jobs; give one");
        return false;
    }
    return true;
}

/* All are read, so that all trouble is told at once. */
static bool open_all(const struct invocation *in, struct compare_scan *scans)
{
    bool good = true;
    for (size_t i = 0; i < in->file_count; i++)
        good &= compare_open(&scans[i], in->files[i], in->messages);
    return good;
}

/* Nothing has changed since itself: a name was given twice. */
static bool are_different(const struct invocation *in)
{
    struct file_identity one, other;
    for (size_t i = 0; i < in->file_count; i++)
        for (size_t k = i + 1; k < in->file_count; k++)
            if (file_identify(in->files[i], &one) && file_identify(in->files[k], &other) &&
                file_identity_compare(&one, &other) == 0) {
                message_trouble(in->messages, in->files[k],
                                "the same folder as %.60s; name each scan once", in->files[i]);
                return false;
            }
    return true;
}

static bool of_one_part(const struct compare_scan *scans)
{
    const char *a = scans[0].part, *b = scans[1].part;
    return a == NULL || b == NULL || strcmp(a, b) == 0;
}

static bool compare(const struct invocation *in, const struct compare_scan *scans)
{
    const struct compare_values *v = in->values;
    if (v->truth.set)
        return compare_with_truth(scans, v->truth.value,
                                  (struct plyecho_known){v->depth_tolerance_mm.set,
                                                         v->depth_tolerance_mm.value * 1e-3},
                                  &v->table, in->messages);
    bool two = in->file_count == 2;
    if (two && !v->side_by_side && of_one_part(scans))
        return compare_in_time(&scans[0], &scans[1], &v->table, in->messages);
    if (two && !v->side_by_side)
        message_note(in->messages, NULL,
                     "the two are of different parts by their names, so they stand side by "
                     "side; scans of one part in time need the same name under [part]");
    return compare_side_by_side(scans, in->file_count, &v->table);
}

static enum status run(const struct invocation *in)
{
    bool flagged = false;
    if (!options_agree(in) || !are_different(in))
        return verb_status(in->messages, false);
    struct compare_scan *scans = memory_take(in->file_count, sizeof *scans);
    if (open_all(in, scans))
        flagged = compare(in, scans);
    for (size_t i = 0; i < in->file_count; i++)
        compare_close(&scans[i]);
    free(scans);
    return verb_status(in->messages, flagged);
}

const struct verb verb_compare = {
    .name = "compare",
    .group = VERB_MEASURE,
    .help = "what changed between two scans; parts side by side; readings against a truth",
    .operands = "DIR DIR... | --truth FILE DIR",
    .description =
        "Takes folders that scan wrote.\n"
        "Two of one part, the earlier first: what grew, what is new or gone, which walls "
        "changed by more than both scans' uncertainty, and whether the two lie on each other by "
        "their zero mark, which the walls themselves tell. Part name, diameter, zero mark and "
        "angle direction of their procedures must be the same, and most places.\n"
        "Three or more, or two whose parts have different names: a row a scan with verdict, "
        "wall, coverage and indications of each kind.\n"
        "With --truth: bias and limits of agreement (Bland-Altman) of the walls against a "
        "micrometer or cut sections, and which delaminations were found, missed or called where "
        "there is none. A flat anvil over-reads a tube's wall by some tenths of a millimetre: use "
        "a ball or pin.\n"
        "Exit status 0: nothing flagged; 1: something grew, is new, changed or missed, a part is "
        "flagged, or the zero mark is in doubt; 2: trouble.",
    .example = "plyecho compare tube3-spring tube3-autumn\n"
               "plyecho compare tube1 tube2 tube3\n"
               "plyecho compare --truth sections.csv tube3",
    .options = options,
    .values_size = sizeof(struct compare_values),
    .run = run,
};
