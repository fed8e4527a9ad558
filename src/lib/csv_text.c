#include "csv_text.h"

#include <string.h>

struct pe_csv_lines pe_csv_lines_of(const char *text, size_t size)
{
    bool has_line_feed = memchr(text, '\n', size) != NULL;
    return (struct pe_csv_lines){
        .next = text, .end = text + size, .newline = has_line_feed ? '\n' : '\r'};
}

bool pe_csv_next_line(struct pe_csv_lines *lines, struct pe_span *line)
{
    if (lines->next >= lines->end)
        return false;
    const char *start = lines->next;
    const char *end = memchr(start, lines->newline, (size_t)(lines->end - start));
    lines->next = end != NULL ? end + 1 : lines->end;
    if (end == NULL)
        end = lines->end;
    while (end > start && end[-1] == '\r')
        end--;
    lines->number++;
    *line = (struct pe_span){start, (size_t)(end - start)};
    return true;
}

bool pe_csv_is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\f' || c == '\v';
}

struct pe_span pe_csv_trim(struct pe_span span)
{
    while (span.size > 0 && pe_csv_is_blank(span.text[0])) {
        span.text++;
        span.size--;
    }
    while (span.size > 0 && pe_csv_is_blank(span.text[span.size - 1]))
        span.size--;
    return span;
}

static struct pe_span tidy_cell(const char *start, const char *end)
{
    struct pe_span cell = pe_csv_trim((struct pe_span){start, (size_t)(end - start)});
    if (cell.size >= 2 && cell.text[0] == '"' && cell.text[cell.size - 1] == '"') {
        cell.text++;
        cell.size -= 2;
    }
    return pe_csv_trim(cell);
}

/* Position of the delimiter that ends the cell at p, or end. A quote counts only where the cell begins with one, as
 * RFC 4180 has it: 1/2" is a size. */
static const char *cell_end(const char *p, const char *end, char delimiter)
{
    while (p < end && pe_csv_is_blank(*p) && *p != delimiter)
        p++;
    bool quotes = p < end && *p == '"', quoted = false;
    for (; p < end; p++) {
        if (quotes && *p == '"')
            quoted = !quoted;
        else if (!quoted && *p == delimiter)
            break;
    }
    return p;
}

static bool opens_bracket(char c)
{
    return c == '(' || c == '[' || c == '{';
}

/* The same for runs of blanks: a word in brackets belongs to the word before it. */
static const char *word_end(const char *p, const char *end)
{
    bool quoted = false, bracket = false;
    for (; p < end; p++) {
        if (*p == '"')
            quoted = !quoted;
        else if (opens_bracket(*p))
            bracket = true;
        else if (*p == ')' || *p == ']' || *p == '}')
            bracket = false;
        if (quoted || bracket || !pe_csv_is_blank(*p))
            continue;
        const char *next = p;
        while (next < end && pe_csv_is_blank(*next))
            next++;
        if (next < end && opens_bracket(*next))
            continue;
        break;
    }
    return p;
}

size_t pe_csv_split(struct pe_span line, char delimiter, struct pe_span *cells, size_t room)
{
    line = pe_csv_trim(line);
    const char *p = line.text, *const end = line.text + line.size;
    size_t count = 0;
    while (p <= end) {
        const char *stop = delimiter == ' ' ? word_end(p, end) : cell_end(p, end, delimiter);
        if (count < room)
            cells[count] = tidy_cell(p, stop);
        count++;
        p = stop + 1;
        if (delimiter == ' ')
            while (p < end && pe_csv_is_blank(*p))
                p++;
    }
    return count;
}

/* Length of a micro sign at p: UTF-8 (both code points in use for it), Latin-1; 0 where none.
 */
static size_t micro_sign(const char *p, size_t left)
{
    const unsigned char a = (unsigned char)p[0];
    const unsigned char b = left > 1 ? (unsigned char)p[1] : 0;
    if ((a == 0xc2 && b == 0xb5) || (a == 0xce && b == 0xbc))
        return 2;
    return a == 0xb5 ? 1 : 0;
}

/* The next letter, digit or sign of a word in lower case; 0 where a word ends. */
static char word_letter(const char *p, size_t left, size_t *used)
{
    *used = micro_sign(p, left);
    if (*used > 0)
        return 'u';
    *used = 1;
    if (*p >= 'A' && *p <= 'Z')
        return (char)(*p - 'A' + 'a');
    bool kept = (*p >= 'a' && *p <= 'z') || (*p >= '0' && *p <= '9') || *p == '%' || *p == '"';
    return kept ? *p : '\0';
}

void pe_csv_words_of(struct pe_span span, struct pe_csv_words *words)
{
    size_t length = 0;
    bool bracket = false;
    words->count = 0;
    for (size_t i = 0, used; i < span.size && words->count < PE_CSV_MOST_WORDS; i += used) {
        char letter = word_letter(span.text + i, span.size - i, &used);
        if (letter != '\0') {
            if (length < PE_CSV_WORD_ROOM - 1)
                words->word[words->count][length++] = letter;
        } else if (length > 0) {
            words->word[words->count][length] = '\0';
            words->bracketed[words->count++] = bracket;
            length = 0;
        }
        if (opens_bracket(span.text[i]))
            bracket = true;
        else if (span.text[i] == ')' || span.text[i] == ']' || span.text[i] == '}')
            bracket = false;
    }
    if (length > 0 && words->count < PE_CSV_MOST_WORDS) {
        words->word[words->count][length] = '\0';
        words->bracketed[words->count++] = bracket;
    }
}

bool pe_csv_any_word(const struct pe_csv_words *words, const char *const *list)
{
    for (size_t i = 0; i < words->count; i++)
        for (const char *const *word = list; *word != NULL; word++)
            if (strcmp(words->word[i], *word) == 0)
                return true;
    return false;
}
