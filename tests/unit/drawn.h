/* drawn.h - a script drawn by gnuplot itself, where it is installed
 */
#ifndef PLYECHO_TESTS_DRAWN_H
#define PLYECHO_TESTS_DRAWN_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "gnuplot.h"

/* False where there is no gnuplot, which is said; whatever it complains of fails the test: its words go where pictures
 * do not, and it fails at the first. */
static inline bool drawn(const char *script, char **picture, size_t *size)
{
    struct plyecho_error err;
    enum plyecho_code code = gnuplot_run(script, strlen(script), 60, picture, size, &err);
    if (code == PLYECHO_IO && strstr(err.text, "not installed") != NULL) {
        print_message("gnuplot is not installed: NOT TESTED with it\n");
        return false;
    }
    if (code != PLYECHO_OK)
        fail_msg("%s", err.text);
    return true;
}

#endif
