#include "csv_heading.h"

#include <string.h>

/* Words are compared in lower case with any micro sign as u. */
static const struct pe_csv_unit units[] = {
    {"s", PE_CSV_TIME, NULL, 0, 1.0},
    {"sec", PE_CSV_TIME, NULL, 0, 1.0},
    {"second", PE_CSV_TIME, NULL, 0, 1.0},
    {"seconds", PE_CSV_TIME, NULL, 0, 1.0},
    {"ms", PE_CSV_TIME, NULL, -3, 1.0},
    {"msec", PE_CSV_TIME, NULL, -3, 1.0},
    {"millisecond", PE_CSV_TIME, NULL, -3, 1.0},
    {"milliseconds", PE_CSV_TIME, NULL, -3, 1.0},
    {"us", PE_CSV_TIME, NULL, -6, 1.0},
    {"usec", PE_CSV_TIME, NULL, -6, 1.0},
    {"microsecond", PE_CSV_TIME, NULL, -6, 1.0},
    {"microseconds", PE_CSV_TIME, NULL, -6, 1.0},
    {"ns", PE_CSV_TIME, NULL, -9, 1.0},
    {"nsec", PE_CSV_TIME, NULL, -9, 1.0},
    {"nanosecond", PE_CSV_TIME, NULL, -9, 1.0},
    {"nanoseconds", PE_CSV_TIME, NULL, -9, 1.0},
    {"ps", PE_CSV_TIME, NULL, -12, 1.0},
    {"m", PE_CSV_DISTANCE, NULL, 0, 1.0},
    {"cm", PE_CSV_DISTANCE, NULL, -2, 1.0},
    {"mm", PE_CSV_DISTANCE, NULL, -3, 1.0},
    {"um", PE_CSV_DISTANCE, NULL, -6, 1.0},
    {"in", PE_CSV_DISTANCE, NULL, -4, 254.0},
    {"inch", PE_CSV_DISTANCE, NULL, -4, 254.0},
    {"inches", PE_CSV_DISTANCE, NULL, -4, 254.0},
    {"\"", PE_CSV_DISTANCE, NULL, -4, 254.0},
    {"mil", PE_CSV_DISTANCE, NULL, -7, 254.0},
    {"v", PE_CSV_AMPLITUDE, "V", 0, 1.0},
    {"volt", PE_CSV_AMPLITUDE, "V", 0, 1.0},
    {"volts", PE_CSV_AMPLITUDE, "V", 0, 1.0},
    {"mv", PE_CSV_AMPLITUDE, "mV", 0, 1.0},
    {"uv", PE_CSV_AMPLITUDE, "uV", 0, 1.0},
    {"%", PE_CSV_AMPLITUDE, "percent", 0, 1.0},
    {"percent", PE_CSV_AMPLITUDE, "percent", 0, 1.0},
    {"pct", PE_CSV_AMPLITUDE, "percent", 0, 1.0},
    {"db", PE_CSV_AMPLITUDE, "dB", 0, 1.0},
    {"counts", PE_CSV_AMPLITUDE, "counts", 0, 1.0},
    {"count", PE_CSV_AMPLITUDE, "counts", 0, 1.0},
    {"lsb", PE_CSV_AMPLITUDE, "counts", 0, 1.0},
    {"adc", PE_CSV_AMPLITUDE, "counts", 0, 1.0},
};

static const char *const time_words[] = {"time",   "times", "t",    "zeit", "laufzeit", "temps",
                                         "tiempo", "tempo", "tijd", "tof",  "timebase", NULL};
static const char *const distance_words[] = {
    "distance", "depth", "path", "soundpath", "tiefe", "weg", "thickness", "profondeur", NULL};
static const char *const amplitude_words[] = {
    "amplitude", "amp", "ampl",    "amplitudes", "voltage", "value", "level",
    "signal",    "y",   "channel", "spannung",   "echo",    NULL};
static const char *const index_words[] = {"index", "idx",    "sample", "samples",
                                          "point", "points", "number", "no",
                                          "nr",    "n",      "i",      NULL};

struct pe_csv_unit pe_csv_unit_of(const char *word)
{
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strcmp(units[i].word, word) == 0)
            return units[i];
    return (struct pe_csv_unit){.word = NULL};
}

/* A unit stands in brackets, or it is the last word. */
static struct pe_csv_unit find_unit(const struct pe_csv_words *words)
{
    struct pe_csv_unit unit = {.word = NULL};
    for (size_t i = 0; i < words->count && unit.word == NULL; i++)
        if (words->bracketed[i])
            unit = pe_csv_unit_of(words->word[i]);
    if (unit.word == NULL && words->count > 0)
        unit = pe_csv_unit_of(words->word[words->count - 1]);
    return unit;
}

struct pe_csv_heading pe_csv_heading_of(struct pe_span cell)
{
    struct pe_csv_words words;
    pe_csv_words_of(cell, &words);
    struct pe_csv_heading heading = {.unit = find_unit(&words)};
    if (pe_csv_any_word(&words, time_words))
        heading.role = PE_CSV_TIME;
    else if (pe_csv_any_word(&words, distance_words))
        heading.role = PE_CSV_DISTANCE;
    else if (pe_csv_any_word(&words, amplitude_words))
        heading.role = PE_CSV_AMPLITUDE;
    else if (heading.unit.word != NULL)
        heading.role = heading.unit.role;
    else if (pe_csv_any_word(&words, index_words) || (cell.size == 1 && cell.text[0] == '#'))
        heading.role = PE_CSV_INDEX;
    if (heading.unit.word != NULL && heading.unit.role != heading.role)
        heading.unit = (struct pe_csv_unit){.word = NULL};
    return heading;
}

static bool is_digits(const char *word)
{
    return strspn(word, "0123456789") == strlen(word);
}

static bool is_plain_word(const char *word)
{
    for (const char *const *plain = amplitude_words; *plain != NULL; plain++)
        if (strcmp(word, *plain) == 0)
            return true;
    return pe_csv_unit_of(word).word != NULL ||
           (strncmp(word, "ch", 2) == 0 && is_digits(word + 2));
}

bool pe_csv_is_plain_name(struct pe_span cell)
{
    struct pe_csv_words words;
    pe_csv_words_of(cell, &words);
    size_t plain = 0, digits = 0;
    for (size_t i = 0; i < words.count; i++) {
        plain += is_plain_word(words.word[i]);
        digits += is_digits(words.word[i]);
    }
    return cell.size == 0 || (plain > 0 && plain + digits == words.count);
}

bool pe_csv_is_units_row(const struct pe_span *cells, size_t count)
{
    size_t named = 0;
    for (size_t i = 0; i < count; i++) {
        struct pe_csv_words words;
        pe_csv_words_of(cells[i], &words);
        if (words.count > 1)
            return false;
        if (words.count == 1 && pe_csv_unit_of(words.word[0]).word == NULL)
            return false;
        named += words.count;
    }
    return named > 0;
}
