/* calibrate_levels.h - sensitivity: from which level an echo inside is recorded, and evaluated
 */
#ifndef PLYECHO_CMD_CALIBRATE_LEVELS_H
#define PLYECHO_CMD_CALIBRATE_LEVELS_H

#include "calibrate.h"

/* Judge the traces of --sound and --artificial with the set-up, print the levels that follow and put them
 * into the procedure of --into. */
enum status calibrate_levels(const struct calibrate_values *values, struct setup *setup,
                             struct messages *messages);

#endif
