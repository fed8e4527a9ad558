/* The doubts of an inspection in plain words: what was seen, and what would mend it. */
#include <plyecho/inspect.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct words {
    char *text;
    size_t room;
};

static void say(struct words *words, const char *format, ...) PLYECHO_PRINTF(2, 3);

static void say(struct words *words, const char *format, ...)
{
    size_t used = strlen(words->text);
    if (used > 0 && used < words->room)
        used += (size_t)snprintf(words->text + used, words->room - used, "; ");
    if (used >= words->room)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(words->text + used, words->room - used, format, args);
    va_end(args);
}

static double percent(double part, double whole)
{
    return 100.0 * fabs(part) / whole;
}

static void say_levels(struct words *words, const struct plyecho_inspection *in,
                       const struct plyecho_trace *trace)
{
    if (in->doubts & PLYECHO_DOUBT_CONSTANT)
        say(words, "constant, all samples are %g: look at probe, cable, channel and trigger",
            in->least);
    if (in->doubts & PLYECHO_DOUBT_CLIPPED)
        say(words, "clipped, %zu samples from %.3f us on: lower the gain", in->clipping.samples,
            plyecho_trace_time_s(trace, (double)in->clipping.first) * 1e6);
    if (in->doubts & PLYECHO_DOUBT_FEW_COUNTS)
        say(words,
            "largest echo of only %.1f counts: raise the gain, or take a finer range "
            "of the recorder",
            in->peak_counts);
    if (in->doubts & PLYECHO_DOUBT_NO_ECHO)
        say(words,
            "no echo stands out, the highest point is only %.1f dB over the noise: look at "
            "coupling and gain",
            in->snr_db);
    if (in->doubts & PLYECHO_DOUBT_FLAT)
        say(words,
            "no noise, %.0f %% of the record is exactly flat: it was rounded or cut away, and "
            "small echoes with it; raise the gain, take a finer range, switch suppression off",
            100.0 * in->flat_share);
}

static void say_base_line(struct words *words, const struct plyecho_inspection *in)
{
    if (in->doubts & PLYECHO_DOUBT_OFFSET)
        say(words, "offset of %.3g, %.0f %% of the largest echo", in->offset,
            percent(in->offset, in->peak));
    if (in->doubts & PLYECHO_DOUBT_DRIFT)
        say(words, "base line drifts by %.0f %% of the largest echo",
            percent(in->drift, in->peak));
    if (in->doubts & PLYECHO_DOUBT_STEP)
        say(words, "base line jumps by %.0f %% of the largest echo at %.3f us",
            percent(in->base_step, in->peak), in->base_step_s * 1e6);
    if (in->doubts & PLYECHO_DOUBT_LINE)
        say(words,
            "steady line at %.4g MHz, %.2g %% of the largest echo: interference, look at "
            "earth and screening",
            in->line_hz * 1e-6, percent(in->line_amplitude, in->peak));
}

static void say_kind(struct words *words, const struct plyecho_inspection *in,
                     const struct plyecho_trace *trace)
{
    if (in->doubts & PLYECHO_DOUBT_RATE)
        say(words, "only %.1f samples a period at %.4g MHz: needs a higher sample rate",
            trace->sample_rate_hz / in->band.peak_hz, in->band.peak_hz * 1e-6);
    if (in->doubts & PLYECHO_DOUBT_SCALED && isfinite(in->band.centre_hz))
        say(words,
            "echoes at %.4g kHz, sample rate %.6g Hz: a scaled rate, as of recorders that "
            "can write no other? Give the true one with --sample-rate",
            in->band.centre_hz * 1e-3, trace->sample_rate_hz);
    else if (in->doubts & PLYECHO_DOUBT_SCALED)
        say(words,
            "sample rate %.6g Hz: a scaled rate, as of recorders that can write no other? Give "
            "the true one with --sample-rate",
            trace->sample_rate_hz);
    if (in->doubts & PLYECHO_DOUBT_ONE_SIDED)
        say(words, "looks rectified or an envelope: set the label signal if it is");
    if (in->doubts & PLYECHO_DOUBT_TWO_SIDED)
        say(words, "said to be %s, but goes down to %g: the label signal may be wrong",
            plyecho_signal_word(trace->signal), in->least);
}

const char *plyecho_inspection_words(const struct plyecho_inspection *inspection,
                                     const struct plyecho_trace *trace, char *out, size_t room)
{
    struct words words = {out, room};
    out[0] = '\0';
    say_levels(&words, inspection, trace);
    say_base_line(&words, inspection);
    say_kind(&words, inspection, trace);
    return out;
}
