#include "plot_data.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "utf8.h"

size_t plot_thin_room(size_t first, size_t last, size_t columns)
{
    size_t samples = last > first ? last - first : 0;
    return samples <= 4 * columns ? samples : 3 * columns;
}

/* One column's samples [first, last): least and largest in order, and the first gap. */
static size_t thin_column(const float *value, size_t first, size_t last, size_t *index)
{
    size_t least = last, largest = last, gap = last;
    for (size_t i = first; i < last; i++) {
        if (!isfinite(value[i])) {
            if (gap == last)
                gap = i;
            continue;
        }
        if (least == last || value[i] < value[least])
            least = i;
        if (largest == last || value[i] > value[largest])
            largest = i;
    }
    size_t count = 0;
    for (size_t i = first; i < last; i++)
        if (i == least || i == largest || i == gap)
            index[count++] = i;
    return count;
}

size_t plot_thin(const float *value, size_t first, size_t last, size_t columns, size_t *index)
{
    if (last <= first || columns == 0)
        return 0;
    size_t samples = last - first;
    size_t count = 0;
    if (samples <= 4 * columns) {
        for (size_t i = first; i < last; i++)
            index[count++] = i;
        return count;
    }
    for (size_t c = 0; c < columns; c++) {
        size_t from = first + (size_t)((double)samples * (double)c / (double)columns);
        size_t to = first + (size_t)((double)samples * (double)(c + 1) / (double)columns);
        count += thin_column(value, from, to, index + count);
    }
    return count;
}

/* Number of the character that stands in `size` bytes, at least 1. */
static uint32_t number_of(const char *bytes, size_t size)
{
    const unsigned char *s = (const unsigned char *)bytes;
    uint32_t code = size == 1 ? s[0] : s[0] & (0x7fu >> size);
    for (size_t i = 1; i < size; i++)
        code = code << 6 | (s[i] & 0x3fu);
    return code;
}

/* Control characters, line separators, and marks that turn the reading direction. */
static bool invisible(uint32_t code)
{
    return code < 0x20 || (code >= 0x7f && code < 0xa0) || code == 0x200e || code == 0x200f ||
           (code >= 0x2028 && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069) ||
           code == 0xfeff;
}

/* Next character to draw; false at the end. bytes[0] is 0 for one that is left out. */
static bool next_character(const char **text, char bytes[5])
{
    if (**text == '\0')
        return false;
    size_t size = utf8_character(*text);
    uint32_t code = size > 0 ? number_of(*text, size) : 0;
    size_t count = 0;
    if (size == 0 || (code & 0xfffe) == 0xfffe)
        bytes[count++] = '?';
    else if (!invisible(code))
        for (; count < size; count++)
            bytes[count] = (*text)[count];
    bytes[count] = '\0';
    *text += size == 0 ? 1 : size;
    return true;
}

size_t plot_text_width(const char *text)
{
    size_t width = 0;
    char bytes[5];
    while (next_character(&text, bytes))
        width += bytes[0] != '\0';
    return width;
}

/* In single quotes nothing has a meaning but the quote itself, and gnuplot 5.4 is not of one
 * mind about that: ''' at the start is an empty string and the start of another, and its search
 * for macros takes a backslash before a quote for an escape. So quote and backslash stand as
 * their codes in double-quoted pieces, and the script has no other quotes than its own:
 * 'it'."\047".'s' */
void plot_quote(FILE *out, const char *text, size_t width, int for_svg)
{
    bool cut = plot_text_width(text) > width;
    size_t left = !cut ? width : width > 3 ? width - 3 : 0;
    char bytes[5], quote = '\'';
    fputc(quote, out);
    while (left > 0 && next_character(&text, bytes)) {
        if (bytes[0] == '\0')
            continue;
        char needed = strchr("'\\", bytes[0]) != NULL ? '"' : '\'';
        if (needed != quote)
            fprintf(out, "%c.%c", quote, needed);
        quote = needed;
        if (needed == '"')
            fprintf(out, "\\%03o", (unsigned)bytes[0]);
        else if (bytes[0] == '&' && for_svg)
            fputs("&#x26;", out);
        else
            fputs(bytes, out);
        left--;
    }
    fputc(quote, out);
    if (cut)
        fputs(".'...'", out);
}

double plot_nice_step(double span, unsigned count)
{
    double least = span / count;
    double decade = pow(10.0, floor(log10(least)));
    /* The last factor catches a decade that rounding made one too small. */
    static const double factors[] = {1, 2, 5, 10, 20};
    for (size_t i = 0; i + 1 < sizeof factors / sizeof factors[0]; i++)
        if (factors[i] * decade >= least * (1 - 1e-9))
            return factors[i] * decade;
    return 20 * decade;
}
