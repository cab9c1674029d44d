/* The growing text of plots/text.h knows how numbers and dates are written; here its words become
 * plain values, which read better in a sentence's arguments. */
#include "cli/format.h"

#include "model/calendar.h"
#include "model/units.h"
#include "plots/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* Any year without 29 February serves to name the days of a 365-day year. */
#define COMMON_YEAR 2001

/* Days that have a date of four digits. */
#define FIRST_DAY_D (-719162) /* 0001-01-01 */
#define LAST_DAY_D 2932896    /* 9999-12-31 */

struct stv_formatted stv_format(const char *format, ...)
{
    struct stv_formatted out;
    va_list args;
    va_start(args, format);
    vsnprintf(out.text, sizeof out.text, format, args);
    va_end(args);
    return out;
}

static struct stv_formatted taken(struct stv_text *text)
{
    struct stv_formatted out = {"-"};
    if (!text->has_failed)
        out = stv_format("%s", stv_text_string(text));
    stv_text_free(text);
    return out;
}

struct stv_formatted stv_format_count(size_t n, const char *one, const char *many)
{
    return stv_format("%zu %s", n, n == 1 ? one : many);
}

struct stv_formatted stv_format_number(double value, int decimals)
{
    struct stv_text text = {0};
    if (!isfinite(value) || fabs(value) >= 1e15)
        stv_text_add(&text, "-");
    else if (decimals == 0)
        stv_text_add_count(&text, value);
    else
        stv_text_add_number(&text, value, decimals);
    return taken(&text);
}

struct stv_formatted stv_format_signed(double value, int decimals)
{
    struct stv_formatted number = stv_format_number(value, decimals);
    if (!isfinite(value) || number.text[0] == '-' || !strpbrk(number.text, "123456789"))
        return number;
    return stv_format("+%s", number.text);
}

/* Middle with 5 % and 95 % behind it, or the middle alone when they print alike. */
static struct stv_formatted range_words(struct stv_range range, int decimals,
                                        struct stv_formatted (*write)(double, int))
{
    struct stv_formatted middle = write(range.p50, decimals);
    struct stv_formatted low = write(range.p05, decimals), high = write(range.p95, decimals);
    if (strcmp(low.text, high.text) == 0)
        return middle;
    return stv_format("%s (%s to %s)", middle.text, low.text, high.text);
}

struct stv_formatted stv_format_range(struct stv_range range, int decimals)
{
    return range_words(range, decimals, stv_format_number);
}

struct stv_formatted stv_format_signed_range(struct stv_range range, int decimals)
{
    return range_words(range, decimals, stv_format_signed);
}

typedef void (*day_writer)(struct stv_text *, int64_t);

static struct stv_formatted day_words(int64_t day_d, day_writer write_day)
{
    struct stv_text text = {0};
    if (day_d < FIRST_DAY_D || day_d > LAST_DAY_D)
        stv_text_add(&text, "-");
    else
        write_day(&text, day_d);
    return taken(&text);
}

struct stv_formatted stv_format_day(int64_t day_d)
{
    return day_words(day_d, stv_text_add_day);
}

struct stv_formatted stv_format_month(int64_t day_d)
{
    return day_words(day_d, stv_text_add_month);
}

struct stv_formatted stv_format_iso_day(int64_t day_d)
{
    return day_words(day_d, stv_text_add_iso_day);
}

struct stv_formatted stv_format_iso_time(int64_t time_s)
{
    int32_t second_s = 0;
    int64_t day_d = stv_local_day(time_s, 0, &second_s);
    return stv_format("%sT%02d:%02d:%02dZ", stv_format_iso_day(day_d).text, second_s / STV_HOUR_S,
                      second_s / 60 % 60, second_s % 60);
}

static int64_t common_day(int doy)
{
    return stv_day_from_date((struct stv_date){COMMON_YEAR, 1, 1}) + doy;
}

struct stv_formatted stv_format_doy(int doy)
{
    if (doy < 0)
        return (struct stv_formatted){"-"};
    struct stv_formatted month = stv_format_month(common_day(doy));
    return stv_format("%d %.3s", (int)stv_date_from_day(common_day(doy)).day, month.text);
}

struct stv_formatted stv_format_iso_doy(int doy)
{
    if (doy < 0)
        return (struct stv_formatted){""};
    return stv_format("%s", stv_format_iso_day(common_day(doy)).text + 5);
}

struct stv_formatted stv_format_doy_span(int from_doy, int to_doy)
{
    return stv_format("%s to %s", stv_format_doy(from_doy).text, stv_format_doy(to_doy).text);
}
