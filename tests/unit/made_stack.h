/* made_stack.h - traces made from the model of stack_model.h, for the tests of its fit
 *
 * Stack, pulse and white noise are all there is: nothing is conditioned, so that what a fit finds can
 * be told to the last digit.
 */
#ifndef PLYECHO_TESTS_MADE_STACK_H
#define PLYECHO_TESTS_MADE_STACK_H

#include <complex.h>
#include <stdbool.h>

#include <plyecho/pulse.h>

#include "stack_fit.h"

enum { MADE_STACK_SAMPLES = 2048, MADE_TASKS = 6 };
#define MADE_STACK_RATE_HZ 100e6
#define MADE_STACK_CENTRE_HZ 5e6
#define MADE_STACK_ORIGIN_S 2e-6 /* of the gate, and of the stack's PE_START */

/* The trace's in_phase is the record's own: to copy a record, point it anew. */
struct made_record {
    float in_phase[MADE_STACK_SAMPLES];
    struct plyecho_conditioned trace;
};

/* One more echo, over the pulse. */
struct made_extra {
    double delay_s;
    double complex size;
};

struct plyecho_pulse made_gaussian(double hz, double bandwidth, double phase);

/* extra may be NULL. */
void made_echoes(const struct pe_stack *stack, const struct plyecho_pulse *pulse,
                 const struct made_extra *extra, struct made_record *record);

/* White noise; the trace says what of it lies in its band. */
void made_white(struct made_record *record, double deviation, unsigned long seed);

/* full_scale next to nothing: no variance for what the model leaves out, white noise alone. */
struct pe_stack_gate made_gate(double full_scale);

/* pulse NULL: not known. Free with pe_stack_fit_free. */
struct pe_stack_fit *made_fit(const struct plyecho_pulse *pulse);

/* Take a record within made_gate(), or fail the test. */
void made_taken(struct pe_stack_fit *fit, const struct made_record *record, double full_scale);

/* A stack, which of its numbers a fit is to find, and what it knows of them: nothing. */
struct made_task {
    const char *name;
    struct pe_stack truth;
    bool free[PE_FIT_NUMBERS];
    struct pe_prior prior[PE_FIT_NUMBERS];
};

void made_set(struct made_task *task, int number, double value);
struct made_task made_plain(void);
struct made_task made_place(const char *name, double depth_s);

/* Plain, step, gap, glue, coat, coated gap. */
void made_tasks(struct made_task tasks[MADE_TASKS]);

/* About what one number's own scale is: what moves a line by a radian or by itself. */
double made_scale(int number);

/* To begin with: aside of the truth, in its numbers' scales, alternately above and below. */
struct pe_explanation_fit made_start(const struct made_task *task, double aside);

#endif
