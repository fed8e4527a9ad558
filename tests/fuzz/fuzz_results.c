/* Whatever a scan's folder holds: told with its line, or a page that holds no markup of it. The bytes are
 * readings.csv, indications.csv and summary.json, parted by form feeds. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "report.h"
#include "results_tables.h"
#include "target.h"

struct piece {
    const uint8_t *bytes;
    size_t size;
};

static struct piece next_piece(struct piece *rest)
{
    const uint8_t *end = rest->size > 0 ? memchr(rest->bytes, '\f', rest->size) : NULL;
    struct piece first = {rest->bytes, end != NULL ? (size_t)(end - rest->bytes) : rest->size};
    size_t taken = first.size + (end != NULL);
    *rest = (struct piece){rest->bytes + taken, rest->size - taken};
    return first;
}

static void check_readings(const struct results *r)
{
    for (size_t i = 0; i < r->places; i++) {
        const struct plyecho_place_reading *p = &r->reading[i];
        if (!isfinite(p->place.across) || !isfinite(p->place.along) || !isfinite(p->wall_m) ||
            p->second >= PLYECHO_VERDICT_COUNT || p->context >= PLYECHO_CONTEXT_COUNT ||
            r->member[i] > r->indications)
            abort();
    }
    for (size_t i = 0; i < r->indications; i++)
        if (r->indication[i].worst >= r->places)
            abort();
}

static void check_page(const struct results *r)
{
    static const struct report_values values = {.output = {.value = NULL}};
    const struct report report = {.values = &values, .results = *r, .order = report_order(r)};
    char *text;
    size_t size;
    FILE *out = memory_stream(&text, &size);
    report_page(&report, out);
    memory_stream_end(out);
    if (strlen(text) != size || strstr(text, "<script") != NULL || strchr(text, 033) != NULL)
        abort();
    free(text);
    free(report.order);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct results r = {.name = memory_text("fuzz")};
    struct plyecho_error err = {.code = PLYECHO_OK};
    struct piece rest = {bytes, size}, readings = next_piece(&rest), found = next_piece(&rest);
    json_error_t error;
    r.summary = json_loadb((const char *)rest.bytes, rest.size, JSON_REJECT_DUPLICATES, &error);
    enum plyecho_code code =
        plyecho_rows_read(&r.readings, readings.bytes, readings.size, &err);
    if (code == PLYECHO_OK)
        code = plyecho_rows_read(&r.found, found.bytes, found.size, &err);
    if (code == PLYECHO_OK)
        code = results_take_readings(&r, &err);
    if (code == PLYECHO_OK)
        code = results_take_indications(&r, &err);
    if (code != PLYECHO_OK && err.text[0] == '\0')
        abort();
    if (code == PLYECHO_OK) {
        check_readings(&r);
        check_page(&r);
    }
    results_clear(&r);
    return 0;
}
