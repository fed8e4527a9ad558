/* JSON as RFC 8259 has it. */
#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "json_out.h"

struct page {
    struct json_out json;
    char *text;
    size_t size;
    FILE *out;
};

static void begin(struct page *p)
{
    p->out = open_memstream(&p->text, &p->size);
    assert_non_null(p->out);
    json_begin(&p->json, p->out);
}

static void check(struct page *p, const char *expected)
{
    json_end(&p->json);
    assert_int_equal(fclose(p->out), 0);
    assert_string_equal(p->text, expected);
    free(p->text);
}

static void nothing_in_it(void **state)
{
    (void)state;
    struct page p;
    begin(&p);
    check(&p, "{}\n");
}

static void what_a_value_can_be(void **state)
{
    (void)state;
    struct page p;
    begin(&p);
    json_text(&p.json, "verdict", "accepted");
    json_text(&p.json, "part", NULL);
    json_number(&p.json, "wall_mm", 3.2);
    json_number(&p.json, "tenth", 0.1);
    json_number(&p.json, "none", NAN);
    json_number(&p.json, "endless", -INFINITY);
    json_known(&p.json, "known", (struct plyecho_known){true, 0.5}, 1e3);
    json_known(&p.json, "unknown", (struct plyecho_known){false, 0.5}, 1e3);
    check(&p, "{\n  \"verdict\": \"accepted\",\n  \"part\": null,\n  \"wall_mm\": 3.2,\n"
              "  \"tenth\": 0.1,\n  \"none\": null,\n  \"endless\": null,\n  \"known\": 500,\n"
              "  \"unknown\": null\n}\n");
}

static void one_in_another(void **state)
{
    (void)state;
    struct page p;
    begin(&p);
    json_open(&p.json, "empty", '[');
    json_close(&p.json);
    json_open(&p.json, "limits", '[');
    json_open(&p.json, NULL, '{');
    json_number(&p.json, "limit", 3.0);
    json_close(&p.json);
    json_open(&p.json, NULL, '{');
    json_close(&p.json);
    json_number(&p.json, NULL, 1.0);
    json_close(&p.json);
    json_number(&p.json, "behind", 2.0);
    check(&p,
          "{\n  \"empty\": [],\n  \"limits\": [\n    {\n      \"limit\": 3\n    },\n    {},\n"
          "    1\n  ],\n  \"behind\": 2\n}\n");
}

static void as_deep_as_it_goes(void **state)
{
    (void)state;
    struct page p;
    char expected[2000];
    size_t size = (size_t)sprintf(expected, "{");
    begin(&p);
    for (int depth = 1; depth < JSON_DEEPEST; depth++) {
        json_open(&p.json, depth == 1 ? "a" : NULL, '[');
        size += (size_t)sprintf(expected + size, "\n%*s%s[", 2 * depth, "",
                                depth == 1 ? "\"a\": " : "");
    }
    for (int depth = JSON_DEEPEST - 1; depth > 0; depth--) {
        json_close(&p.json);
        size += depth == JSON_DEEPEST - 1
                    ? (size_t)sprintf(expected + size, "]")
                    : (size_t)sprintf(expected + size, "\n%*s]", 2 * depth, "");
    }
    sprintf(expected + size, "\n}\n");
    check(&p, expected);
}

static void text_from_anywhere(void **state)
{
    (void)state;
    struct page p;
    begin(&p);
    /* RFC 8259, section 7: what must be escaped; 0x7f need not; RFC 3629: what is no UTF-8 */
    json_text(&p.json, "a", "\"\\/\b\f\n\r\t\x01\x1b[2J\x1f\x7f");
    json_text(&p.json, "b", "3 \xc2\xb5m \xf0\x9f\x98\x80 <b>&amp;</b>");
    json_text(&p.json, "c", "\xff\xc0\xaf\xed\xa0\x80|");
    check(
        &p,
        "{\n  \"a\": \"\\\"\\\\/\\b\\f\\n\\r\\t\\u0001\\u001b[2J\\u001f\x7f\",\n"
        "  \"b\": \"3 \xc2\xb5m \xf0\x9f\x98\x80 <b>&amp;</b>\",\n"
        "  \"c\": \"\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd|\"\n}\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_in_it),      cmocka_unit_test(what_a_value_can_be),
        cmocka_unit_test(one_in_another),     cmocka_unit_test(as_deep_as_it_goes),
        cmocka_unit_test(text_from_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
