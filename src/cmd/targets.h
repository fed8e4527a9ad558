/* targets.h - names of output files that may be written without loss
 *
 * Raw measurements cannot be made again, and two results under one name are one lost: each name is
 * checked here before anything is written to it.
 */
#ifndef PLYECHO_CMD_TARGETS_H
#define PLYECHO_CMD_TARGETS_H

#include <plyecho/error.h>

#include "verb.h"

struct targets;

/* The files of the command line are the inputs. Never NULL. */
struct targets *targets_new(const struct invocation *invocation);

/* May what came from `input` ("-": standard input or none) be written to `name`? Refused where
 * another output of this call went there, and where it leads to an input of the command line or to
 * `input`, whatever its name. The name counts as used from now on. */
enum plyecho_code targets_check(struct targets *targets, const char *input, const char *name,
                                struct plyecho_error *err);

/* NULL is fine. */
void targets_free(struct targets *targets);

#endif
