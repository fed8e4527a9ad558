/* formats.h - the readers and writers behind tracefile.h
 *
 * A reader is asked only where its `known` says yes. It fills amplitude, time base, state,
 * levels, labels and note; what labels say is laid over that by tracefile.c, which also clears
 * *traces after a failure.
 */
#ifndef PLYECHO_LIB_FORMATS_H
#define PLYECHO_LIB_FORMATS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/trace.h>
#include <plyecho/tracefile.h>

/* The magic bytes of a container that is read through libsndfile stand in front. */
bool pe_audio_known(const unsigned char *bytes, size_t size);
enum plyecho_code pe_audio_read(const unsigned char *bytes, size_t size,
                                struct plyecho_traces *traces, struct plyecho_error *err);

/* large: RF64 instead of WAV; pe_audio_is_large says from which size on that must be. */
bool pe_audio_is_large(size_t channels, size_t samples);
enum plyecho_code pe_audio_write(const struct plyecho_traces *traces, bool large, void **bytes,
                                 size_t *size, struct plyecho_error *err);

/* The bytes are text: no zero byte, hardly any control character. */
bool pe_csv_known(const char *text, size_t size);
enum plyecho_code pe_csv_read(const char *text, size_t size,
                              const struct plyecho_read_options *options,
                              struct plyecho_traces *traces, struct plyecho_error *err);
enum plyecho_code pe_csv_write(const struct plyecho_traces *traces, void **bytes, size_t *size,
                               struct plyecho_error *err);

#endif
