/* effective.h - what holds in the end: options over the procedure file, the table of materials behind
 *
 * All of it is written into the procedure, so that what is read from there is what holds. What is
 * not from the file has line 0.
 */
#ifndef PLYECHO_CMD_EFFECTIVE_H
#define PLYECHO_CMD_EFFECTIVE_H

#include <stdbool.h>

#include <plyecho/media.h>
#include <plyecho/procedure.h>

#include "message.h"
#include "setup.h"

/* Put the options over the file's settings. A value from the command line does not inherit the
 * uncertainty of the one that it replaces. False where what holds contradicts itself, which has been
 * said. */
bool effective_take_options(struct plyecho_procedure *procedure,
                            const struct setup_values *values, struct messages *messages);

/* Fill in velocity (with its uncertainty), attenuation and density from the table where the material is
 * named and they are not set. The medium, NULL where none is named. */
const struct plyecho_medium *effective_take_material(struct plyecho_procedure *procedure);

#endif
