/* audio_labels.h - labels inside an audio file, in its comment string or a chunk of their own
 */
#ifndef PLYECHO_LIB_AUDIO_LABELS_H
#define PLYECHO_LIB_AUDIO_LABELS_H

#include <sndfile.h>

#include <plyecho/labels.h>

/* A comment that does not consist of `key: value` lines is kept as the label `comment`. */
enum plyecho_code pe_audio_labels_read(SNDFILE *file, struct plyecho_labels *labels,
                                       struct plyecho_error *err);

/* To be called before any sample is written. */
enum plyecho_code pe_audio_labels_write(SNDFILE *file, const struct plyecho_labels *labels,
                                        struct plyecho_error *err);

#endif
