/* scan_procedure.h - the procedure that a scan was made by, in its summary
 */
#ifndef PLYECHO_CMD_SCAN_PROCEDURE_H
#define PLYECHO_CMD_SCAN_PROCEDURE_H

#include <plyecho/procedure.h>

#include "json_out.h"

/* An array "settings": each key of the procedure that holds, with section, key, its plain value in the unit of a
 * procedure file, that unit, and where it is from: "file", or "elsewhere" for an option or the table of
 * materials. Whoever has it can write the procedure again: plyecho_procedure_quote makes a value of it. */
void scan_procedure_write(struct json_out *json, const struct plyecho_procedure *procedure);

#endif
