/* csv_heading.h - what the heading of a column says: which quantity, in which unit
 */
#ifndef PLYECHO_LIB_CSV_HEADING_H
#define PLYECHO_LIB_CSV_HEADING_H

#include <stdbool.h>

#include "csv_text.h"

enum pe_csv_role {
    PE_CSV_UNKNOWN,
    PE_CSV_TIME,
    PE_CSV_DISTANCE,
    PE_CSV_INDEX, /* counts the samples */
    PE_CSV_AMPLITUDE
};

struct pe_csv_unit {
    const char *word;      /* as it stands in headings; NULL: none given */
    enum pe_csv_role role; /* the quantity it measures */
    const char *label;     /* value of the label `unit`, for amplitudes */
    int power;             /* the unit is factor x 10^power in SI */
    double factor;
};

struct pe_csv_heading {
    enum pe_csv_role role;
    struct pe_csv_unit unit;
};

struct pe_csv_heading pe_csv_heading_of(struct pe_span cell);

/* The unit that a word names; unit.word is NULL where it names none. */
struct pe_csv_unit pe_csv_unit_of(const char *word);

/* The heading says no more than "amplitude (mV)", "channel 17" or "ch17" do. */
bool pe_csv_is_plain_name(struct pe_span cell);

/* Every cell is a unit or empty, as in a row of units under the row of names. */
bool pe_csv_is_units_row(const struct pe_span *cells, size_t count);

#endif
