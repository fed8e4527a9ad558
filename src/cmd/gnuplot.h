/* gnuplot.h - gnuplot as a child process: a script in, a picture out
 *
 * The child is input that can fail: it may be missing, crash, hang, or say nothing. Each of
 * these is an error value; none of them leaves a process, a file or a blocked program behind.
 */
#ifndef PLYECHO_CMD_GNUPLOT_H
#define PLYECHO_CMD_GNUPLOT_H

#include <stddef.h>

#include <plyecho/error.h>

#define GNUPLOT_TIME_LIMIT_S 60.0 /* for one picture; then the child is killed */

/* Run the first `gnuplot` on PATH with its own start-up files left out, feed it the script and take
 * what it writes to its standard output: *output is malloc'ed, empty where it wrote nothing.
 * On failure *output is NULL. PLYECHO_IO: it is not installed, cannot be started, or was not done
 * after time_limit_s, and the next picture will fare no better. PLYECHO_UNSUITABLE: it failed or
 * crashed; the text has its own explanation. PLYECHO_TOO_LARGE: it wrote more than
 * any picture has. */
enum plyecho_code gnuplot_run(const char *script, size_t script_size, double time_limit_s,
                              char **output, size_t *output_size, struct plyecho_error *err);

#endif
