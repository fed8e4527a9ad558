/* Text of unknown origin in a page: never markup, never a control, always UTF-8. Which characters must be
 * escaped: HTML, 13.1 ("Writing HTML documents"); what turns the direction of writing: Unicode Standard Annex 9,
 * table of explicit directional formatting characters (2.1 to 2.6); UTF-8: RFC 3629. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "html_out.h"
#include "memory.h"

static char written[4096];

/* The stream, and what came of it in `written`. */
static char *stream_text;
static size_t stream_size;

static FILE *begin(void)
{
    return memory_stream(&stream_text, &stream_size);
}

static const char *end(FILE *out)
{
    memory_stream_end(out);
    assert_true(stream_size < sizeof written);
    memcpy(written, stream_text, stream_size + 1);
    free(stream_text);
    return written;
}

static const char *text_of(const char *text)
{
    FILE *out = begin();
    html_text(out, text);
    return end(out);
}

static void markup_is_escaped(void **state)
{
    (void)state;
    assert_string_equal(text_of("&<>\"'"), "&#38;&#60;&#62;&#34;&#39;");
    assert_string_equal(text_of("</td><script>alert(1)</script>"),
                        "&#60;/td&#62;&#60;script&#62;alert(1)&#60;/script&#62;");
    assert_string_equal(text_of("\" onload='x'"), "&#34; onload=&#39;x&#39;");
    assert_string_equal(text_of("&lt;"), "&#38;lt;"); /* text that is escaped already is text */
    assert_string_equal(text_of("plain, 28.6 mm \302\261"), "plain, 28.6 mm \302\261");
    assert_string_equal(text_of(""), "");
    assert_string_equal(text_of(NULL), "");
}

/* C0 but tab and line ends, DEL, and C1 (ISO 6429): a terminal or a printer acts on them. */
static void controls_become_question_marks(void **state)
{
    (void)state;
    for (int c = 1; c < 0xa0; c++) {
        char text[3] = {(char)c, '\0', '\0'};
        if (c >= 0x80) {
            text[0] = '\xc2';
            text[1] = (char)c;
        }
        bool layout = c == '\t' || c == '\n' || c == '\r';
        if (c >= 0x20 && c < 0x7f)
            continue;
        assert_string_equal(text_of(text), layout ? text : "?");
    }
    assert_string_equal(text_of("\033[2J\033]0;owned\007"), "?[2J?]0;owned?");
    assert_string_equal(text_of("\302\240"), "\302\240"); /* U+00A0 is no control */
}

static size_t put_utf8(unsigned code, char out[5])
{
    size_t size = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    for (size_t i = size - 1; i > 0; i--, code >>= 6)
        out[i] = (char)(0x80 | (code & 0x3f));
    out[0] = (char)((size == 2 ? 0xc0 : size == 3 ? 0xe0 : 0xf0) | code);
    out[size] = '\0';
    return size;
}

static void nothing_turns_the_direction_of_writing(void **state)
{
    (void)state;
    static const unsigned turning[] = {0x061c, 0x200e, 0x200f, 0x202a, 0x202b, 0x202c,
                                       0x202d, 0x202e, 0x2066, 0x2067, 0x2068, 0x2069};
    size_t next = 0;
    for (unsigned code = 0xa0; code < 0x10ffff; code += code < 0x3000 ? 1 : 0x3f1) {
        char text[5];
        if (code >= 0xd800 && code < 0xe000)
            continue;
        put_utf8(code, text);
        bool turns = next < 12 && code == turning[next];
        next += turns;
        if (strcmp(text_of(text), turns ? "?" : text) != 0)
            fail_msg("U+%04X comes out as %s", code, written);
    }
    assert_int_equal(next, 12);
}

static void broken_bytes_are_replaced(void **state)
{
    (void)state;
    static const struct {
        const char *text, *page;
    } rows[] = {
        {"caf\351 noir", "caf\357\277\275 noir"},                 /* Latin-1 */
        {"\300\274script", "\357\277\275\357\277\275script"},     /* overlong < */
        {"\340\200\274", "\357\277\275\357\277\275\357\277\275"}, /* the same in three */
        {"\355\240\200", "\357\277\275\357\277\275\357\277\275"}, /* a surrogate */
        {"\364\220\200\200", "\357\277\275\357\277\275\357\277\275\357\277\275"},
        {"end\342\202", "end\357\277\275\357\277\275"}, /* cut short */
        {"\342\202<b>", "\357\277\275\357\277\275&#60;b&#62;"},
        {"\376\377", "\357\277\275\357\277\275"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_string_equal(text_of(rows[i].text), rows[i].page);
}

static void what_is_formatted_is_text_too(void **state)
{
    (void)state;
    char longer[3000];
    memset(longer, '<', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    FILE *out = begin();
    html_format(out, "%zu %s %%", (size_t)3, "<i>&");
    assert_string_equal(end(out), "3 &#60;i&#62;&#38; %");
    out = begin();
    html_format(out, "%.600s", longer);
    assert_int_equal(strlen(end(out)), 600 * strlen("&#60;"));
}

static void elements_have_text_and_an_end(void **state)
{
    (void)state;
    FILE *out = begin();
    html_element(out, "p", "a < b");
    html_heading(out, 3, "here", "\"x\"");
    assert_string_equal(end(out), "<p>a &#60; b</p>\n<h3 id=\"here\">&#34;x&#34;</h3>\n");
}

static void a_list_has_an_item_a_line(void **state)
{
    (void)state;
    FILE *out = begin();
    html_lines(out, NULL, "one\n<two>\nthree\n");
    assert_string_equal(end(out),
                        "<ul>\n<li>one</li>\n<li>&#60;two&#62;</li>\n<li>three</li>\n</ul>\n");
    out = begin();
    html_lines(out, "c", "one");
    assert_string_equal(end(out), "<ul class=\"c\">\n<li>one</li>\n</ul>\n");
    out = begin();
    html_lines(out, NULL, NULL);
    html_lines(out, NULL, "");
    assert_string_equal(end(out), ""); /* a list without items is none */
}

static void a_row_says_what_is_missing(void **state)
{
    (void)state;
    FILE *out = begin();
    html_table_begin(out, "A & B");
    html_row(out, "name<", "value>");
    html_row(out, "date", NULL);
    html_table_end(out);
    assert_string_equal(
        end(out),
        "<div class=\"wide\"><table><caption>A &#38; B</caption><tbody>\n"
        "<tr><th scope=\"row\">name&#60;</th><td class=\"value\">value&#62;</td></tr>\n"
        "<tr><th scope=\"row\">date</th><td class=\"missing\">not recorded</td></tr>\n"
        "</tbody></table></div>\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(markup_is_escaped),
        cmocka_unit_test(controls_become_question_marks),
        cmocka_unit_test(nothing_turns_the_direction_of_writing),
        cmocka_unit_test(broken_bytes_are_replaced),
        cmocka_unit_test(what_is_formatted_is_text_too),
        cmocka_unit_test(elements_have_text_and_an_end),
        cmocka_unit_test(a_list_has_an_item_a_line),
        cmocka_unit_test(a_row_says_what_is_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
