/* A thin layer over jansson.  jansson reports a shortage of memory at each call; checking every
 * key would bury the answers, so its allocator ends the program instead, before anything of the
 * document is written. */
#include "cli/json.h"

#include "cli/exit_code.h"
#include "cli/format.h"
#include "cli/messages.h"
#include "cli/output.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIGNIFICANT_DIGITS 9

static void *allocate_or_end(size_t size)
{
    void *memory = malloc(size);
    if (!memory) {
        stv_messages_error("Out of memory while making the JSON answer; nothing was written.");
        exit(STV_EXIT_NO_ANSWER);
    }
    return memory;
}

void stv_json_begin(void)
{
    json_set_alloc_funcs(allocate_or_end, free);
}

json_t *stv_json_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *stv_json_text(const char *text)
{
    if (!text || !*text)
        return json_null();
    json_t *value = json_string(text);
    if (value)
        return value;
    size_t n = strlen(text);
    char *plain = allocate_or_end(n + 1);
    for (size_t i = 0; i <= n; i++)
        plain[i] = (unsigned char)text[i] < 0x80 ? text[i] : '?';
    value = json_string(plain);
    free(plain);
    return value;
}

json_t *stv_json_day(int64_t day_d)
{
    struct stv_formatted day = stv_format_iso_day(day_d);
    return day.text[0] == '-' ? json_null() : json_string(day.text);
}

json_t *stv_json_place(int idx)
{
    return idx < 0 ? json_null() : json_integer(idx + 1);
}

json_t *stv_json_range(struct stv_range range, double factor_nd)
{
    json_t *object = json_object();
    stv_json_set(object, "p05", stv_json_number(range.p05 * factor_nd));
    stv_json_set(object, "p25", stv_json_number(range.p25 * factor_nd));
    stv_json_set(object, "p50", stv_json_number(range.p50 * factor_nd));
    stv_json_set(object, "p75", stv_json_number(range.p75 * factor_nd));
    stv_json_set(object, "p95", stv_json_number(range.p95 * factor_nd));
    return object;
}

void stv_json_set(json_t *object, const char *key, json_t *value)
{
    json_object_set_new(object, key, value);
}

void stv_json_append(json_t *array, json_t *value)
{
    json_array_append_new(array, value);
}

static int add_bytes(const char *bytes, size_t n, void *text)
{
    stv_text_add_bytes(text, bytes, n);
    return 0;
}

enum stv_status stv_json_write(const struct stv_options *options, json_t *document)
{
    struct stv_text text = {0};
    json_dump_callback(document, add_bytes, &text,
                       JSON_INDENT(2) | JSON_REAL_PRECISION(SIGNIFICANT_DIGITS));
    stv_text_add_bytes(&text, "\n", 1);
    json_decref(document);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

static json_t *crossing_day(double day_d)
{
    return isfinite(day_d) ? stv_json_day((int64_t)llround(day_d)) : json_null();
}

void stv_json_set_crossing(json_t *object, const struct stv_crossing *crossing, int64_t until_day_d)
{
    stv_json_set(object, "odds", stv_json_number(crossing->odds_frac));
    stv_json_set(object, "already_odds", stv_json_number(crossing->already_frac));
    stv_json_set(object, "earliest", crossing_day(crossing->earliest_d));
    stv_json_set(object, "central", crossing_day(crossing->central_d));
    stv_json_set(object, "latest", crossing_day(crossing->latest_d));
    stv_json_set(object, "looked_until", stv_json_day(until_day_d));
}
