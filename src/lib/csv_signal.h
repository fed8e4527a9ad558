/* csv_signal.h - what kind of signal samples look like, where no label says it
 */
#ifndef PLYECHO_LIB_CSV_SIGNAL_H
#define PLYECHO_LIB_CSV_SIGNAL_H

#include <plyecho/trace.h>

/* Never negative and resting near zero: rectified where lobes follow each other closely at the
 * peak, else an envelope. Everything else, counts about a middle too, is an oscillation. */
enum plyecho_signal pe_csv_signal_of(const struct plyecho_traces *traces);

#endif
