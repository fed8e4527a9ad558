/* measure.h - the frame of every verb that measures each trace by a set-up and prints a row for it
 */
#ifndef PLYECHO_CMD_MEASURE_H
#define PLYECHO_CMD_MEASURE_H

#include "setup.h"
#include "table.h"

/* Options common to them. A verb without options of its own uses this struct and table. */
struct measure_values {
    struct setup_values setup;
    struct table_values table;
    struct inputs_values inputs;
};

extern const struct option measure_options[];

/* What a verb makes of one trace. */
struct measured {
    bool going;     /* false: the row could not be written */
    bool flagged;   /* the exit status will say so */
    unsigned lacks; /* what its uncertainty lacks: a bit for each enum plyecho_quantity */
};

/* conditioned is NULL where nothing in the trace oscillates: such a trace gets its row too. */
typedef struct measured measure_function(const struct setup *setup, const struct table *table,
                                         const struct input_trace *input,
                                         const struct plyecho_conditioned *conditioned);

/* A wall in millimetres with its standard uncertainty; where that is not known, with the time's share of it. */
struct cell cell_thickness(const struct plyecho_thickness *thickness);

/* What the uncertainty of a thickness lacks since nobody stated it, as in struct measured; 0 without one. */
unsigned measure_lacks(const struct setup *setup, const struct plyecho_thickness *thickness);

/* Open the set-up, print the header, measure trace after trace. */
enum status measure_each(const struct invocation *invocation, const struct column *columns,
                         size_t count, measure_function *measure);

#endif
