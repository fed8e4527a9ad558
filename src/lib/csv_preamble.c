#include "csv_preamble.h"

#include <math.h>
#include <string.h>

/* A word that is our kind of key, so that a line that looks like a label and is none is an
 * error rather than a remark: letters, digits, '_', perhaps a channel in brackets. */
static bool is_key_like(struct pe_span key)
{
    size_t i = 0;
    while (i < key.size && ((key.text[i] >= 'a' && key.text[i] <= 'z') || key.text[i] == '_' ||
                            (i > 0 && key.text[i] >= '0' && key.text[i] <= '9')))
        i++;
    if (i == 0 || i == key.size)
        return i > 0;
    if (key.text[i++] != '[' || key.text[key.size - 1] != ']')
        return false;
    for (; i < key.size - 1; i++)
        if (key.text[i] < '0' || key.text[i] > '9')
            return false;
    return true;
}

static enum plyecho_code read_label(struct pe_span comment, long number,
                                    struct plyecho_labels *labels, struct plyecho_error *err)
{
    struct plyecho_error inner = {.code = PLYECHO_OK};
    const char *colon = memchr(comment.text, ':', comment.size);
    if (colon == NULL)
        return PLYECHO_OK;
    enum plyecho_code code =
        plyecho_labels_read_line(labels, comment.text, comment.size, &inner);
    struct pe_span key = {comment.text, (size_t)(colon - comment.text)};
    if (code == PLYECHO_OK || (code == PLYECHO_BAD_FILE && !is_key_like(pe_csv_trim(key))))
        return PLYECHO_OK;
    return plyecho_fail_line(err, code, number, "%s", inner.text);
}

static const struct {
    const char *word;
    double factor;
} rate_units[] = {{"hz", 1.0},  {"khz", 1e3},  {"mhz", 1e6},  {"ghz", 1e9},
                  {"sps", 1.0}, {"ksps", 1e3}, {"msps", 1e6}, {"gsps", 1e9},
                  {"sa", 1.0},  {"ksa", 1e3},  {"msa", 1e6},  {"gsa", 1e9}};

static double rate_factor(const struct pe_csv_words *words)
{
    for (size_t i = 0; i < words->count; i++) {
        for (size_t u = 0; u < sizeof rate_units / sizeof rate_units[0]; u++)
            if (strcmp(words->word[i], rate_units[u].word) == 0)
                return rate_units[u].factor;
        /* "100 MS/s" is the words ms and s */
        if (i + 1 < words->count && strcmp(words->word[i + 1], "s") == 0) {
            if (strcmp(words->word[i], "ms") == 0)
                return 1e6;
            if (strcmp(words->word[i], "ks") == 0)
                return 1e3;
            if (strcmp(words->word[i], "gs") == 0)
                return 1e9;
            if (strcmp(words->word[i], "s") == 0)
                return 1.0;
        }
    }
    return 0.0;
}

static double velocity_factor(const struct pe_csv_words *words)
{
    static const char *const first[] = {"m", "mm", "km", NULL};
    for (size_t i = 0; i + 1 < words->count; i++) {
        const char *a = words->word[i], *b = words->word[i + 1];
        if (strcmp(a, first[0]) == 0 && strcmp(b, "s") == 0)
            return 1.0;
        if ((strcmp(a, first[1]) == 0 && strcmp(b, "us") == 0) ||
            (strcmp(a, first[2]) == 0 && strcmp(b, "s") == 0))
            return 1000.0;
    }
    return 0.0;
}

static struct pe_csv_unit unit_among(const struct pe_csv_words *words, enum pe_csv_role a,
                                     enum pe_csv_role b)
{
    for (size_t i = words->count; i > 0; i--) {
        struct pe_csv_unit unit = pe_csv_unit_of(words->word[i - 1]);
        if (unit.word != NULL && (unit.role == a || unit.role == b))
            return unit;
    }
    return (struct pe_csv_unit){.word = NULL};
}

/* The number behind the first ':', '=', or delimiter of the line. */
static bool find_number(struct pe_span line, char point, struct pe_decimal *decimal)
{
    size_t i = 0;
    while (i < line.size && memchr(":=;,\t", line.text[i], 5) == NULL)
        i++;
    for (; i < line.size; i++) {
        char c = line.text[i];
        if ((c >= '0' && c <= '9') || c == '-')
            return pe_decimal_scan(line.text + i, line.size - i, point, decimal) > 0;
    }
    return false;
}

static void read_setting(struct pe_span line, char point, struct pe_csv_settings *settings)
{
    static const char *const rates[] = {"rate", "frequency", "samplerate", NULL};
    static const char *const samples[] = {"sample", "sampling", "samplerate", NULL};
    static const char *const steps[] = {"interval", "increment", "period", "dt",
                                        "step",     "spacing",   NULL};
    static const char *const of_time[] = {"sample",     "sampling", "time", "x",
                                          "horizontal", "dt",       NULL};
    static const char *const velocities[] = {"velocity", "soundspeed", NULL};
    static const char *const unit_words[] = {"unit", "units", NULL};
    static const char *const axis_words[] = {"x",    "time",     "horizontal",
                                             "axis", "distance", NULL};
    static const char *const y_words[] = {"y", "amplitude", "vertical", NULL};
    struct pe_csv_words words;
    struct pe_decimal decimal;
    pe_csv_words_of(line, &words);
    if (pe_csv_any_word(&words, unit_words)) {
        if (pe_csv_any_word(&words, axis_words))
            settings->axis_unit = unit_among(&words, PE_CSV_TIME, PE_CSV_DISTANCE);
        else if (pe_csv_any_word(&words, y_words))
            settings->amplitude_unit = unit_among(&words, PE_CSV_AMPLITUDE, PE_CSV_AMPLITUDE);
        return;
    }
    if (!find_number(line, point, &decimal))
        return;
    double value = pe_decimal_value(&decimal, 0);
    if (pe_csv_any_word(&words, velocities)) {
        settings->velocity_m_s = value * velocity_factor(&words);
    } else if (pe_csv_any_word(&words, samples) && pe_csv_any_word(&words, rates)) {
        settings->sample_rate_hz = value * rate_factor(&words);
    } else if (pe_csv_any_word(&words, of_time) && pe_csv_any_word(&words, steps)) {
        struct pe_csv_unit unit = unit_among(&words, PE_CSV_TIME, PE_CSV_TIME);
        if (unit.word != NULL && value > 0.0)
            settings->sample_rate_hz = 1.0 / pe_decimal_value(&decimal, unit.power);
    }
}

enum plyecho_code pe_csv_preamble_read(const struct pe_csv_layout *layout,
                                       struct plyecho_labels *labels,
                                       struct pe_csv_settings *settings,
                                       struct plyecho_error *err)
{
    struct pe_csv_lines lines = {.next = layout->preamble.text,
                                 .end = layout->preamble.text + layout->preamble.size,
                                 .newline = layout->newline};
    struct pe_span line;
    enum plyecho_code code = PLYECHO_OK;
    *settings = (struct pe_csv_settings){0};
    while (code == PLYECHO_OK && pe_csv_next_line(&lines, &line)) {
        struct pe_span text = pe_csv_trim(line);
        bool comment = text.size > 0 && text.text[0] == '#';
        if (comment)
            code = read_label((struct pe_span){text.text + 1, text.size - 1}, lines.number,
                              labels, err);
        if (text.text != layout->names.text && text.text != layout->units.text)
            read_setting(text, layout->point, settings);
    }
    if (!(settings->sample_rate_hz > 0.0) || !isfinite(settings->sample_rate_hz))
        settings->sample_rate_hz = 0.0;
    if (!(settings->velocity_m_s > 0.0) || !isfinite(settings->velocity_m_s))
        settings->velocity_m_s = 0.0;
    return code;
}
