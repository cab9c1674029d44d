/* A string that doubles its room as it grows.  Numbers are printed by the C library and their
 * decimal sign is put right afterwards, because a program that called setlocale would otherwise
 * get decimal commas in scripts and tables.  Nothing is quoted here: that is quote.c. */
#include "plots/text.h"

#include "model/calendar.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_ROOM 256
/* A double with 9 decimals has at most 309 + 1 + 9 characters and a sign. */
#define NUMBER_ROOM 340
#define COMMA_FROM 10000.0

static const char *const month_names[STV_MONTHS] = {
    "January", "February", "March",     "April",   "May",      "June",
    "July",    "August",   "September", "October", "November", "December"};

static bool grow(struct stv_text *text, size_t n_more)
{
    if (text->has_failed)
        return false;
    size_t wanted = text->n + n_more + 1;
    if (wanted <= text->room)
        return true;
    size_t room = text->room == 0 ? FIRST_ROOM : text->room;
    while (room < wanted)
        room *= 2;
    char *bytes = realloc(text->bytes, room);
    if (bytes == NULL) {
        text->has_failed = true;
        return false;
    }
    text->bytes = bytes;
    text->room = room;
    return true;
}

void stv_text_add_bytes(struct stv_text *text, const char *bytes, size_t n_bytes)
{
    if (!grow(text, n_bytes))
        return;
    memcpy(text->bytes + text->n, bytes, n_bytes);
    text->n += n_bytes;
    text->bytes[text->n] = '\0';
}

void stv_text_add(struct stv_text *text, const char *string)
{
    stv_text_add_bytes(text, string, strlen(string));
}

void stv_text_format(struct stv_text *text, const char *pattern, ...)
{
    va_list args;
    va_start(args, pattern);
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, pattern, args);
    if (n >= 0 && grow(text, (size_t)n)) {
        vsnprintf(text->bytes + text->n, (size_t)n + 1, pattern, again);
        text->n += (size_t)n;
    }
    va_end(again);
    va_end(args);
}

void stv__text_add_printed(struct stv_text *text, const char *printed)
{
    bool is_zero = strpbrk(printed, "123456789") == NULL;
    bool has_point = false;
    for (const char *p = printed; *p != '\0'; p++) {
        if (*p == '-' && p == printed && is_zero)
            continue;
        if (strchr("0123456789+-e", *p) != NULL) {
            stv_text_add_bytes(text, p, 1);
        } else if (!has_point) {
            stv_text_add(text, ".");
            has_point = true;
        }
    }
}

void stv_text_add_number(struct stv_text *text, double value, int n_decimals)
{
    char printed[NUMBER_ROOM];
    if (!isfinite(value)) {
        stv_text_add(text, "NaN");
        return;
    }
    snprintf(printed, sizeof printed, "%.*f", n_decimals, value);
    stv__text_add_printed(text, printed);
}

void stv_text_add_exact(struct stv_text *text, double value)
{
    char printed[NUMBER_ROOM];
    if (!isfinite(value)) {
        stv_text_add(text, "NaN");
        return;
    }
    snprintf(printed, sizeof printed, "%.9g", value);
    stv__text_add_printed(text, printed);
}

void stv_text_add_count(struct stv_text *text, double value)
{
    char printed[NUMBER_ROOM];
    if (!isfinite(value) || fabs(round(value)) < COMMA_FROM) {
        stv_text_add_number(text, value, 0);
        return;
    }
    int n = snprintf(printed, sizeof printed, "%.0f", value);
    for (int i = 0; i < n; i++) {
        stv_text_add_bytes(text, printed + i, 1);
        int n_left = n - i - 1;
        if (n_left > 0 && n_left % 3 == 0 && printed[i] != '-')
            stv_text_add(text, ",");
    }
}

void stv_text_add_day(struct stv_text *text, int64_t day_d)
{
    struct stv_date date = stv_date_from_day(day_d);
    stv_text_format(text, "%d %s %d", (int)date.day, month_names[date.month - 1], (int)date.year);
}

void stv_text_add_month(struct stv_text *text, int64_t day_d)
{
    struct stv_date date = stv_date_from_day(day_d);
    stv_text_format(text, "%.3s %d", month_names[date.month - 1], (int)date.year);
}

void stv_text_add_iso_day(struct stv_text *text, int64_t day_d)
{
    struct stv_date date = stv_date_from_day(day_d);
    stv_text_format(text, "%04d-%02d-%02d", (int)date.year, (int)date.month, (int)date.day);
}

const char *stv_text_string(const struct stv_text *text)
{
    return text->bytes == NULL ? "" : text->bytes;
}

void stv_text_free(struct stv_text *text)
{
    free(text->bytes);
    *text = (struct stv_text){0};
}
