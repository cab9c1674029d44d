/* The words of a date are sorted into year, month, day and words of doubt, in whatever order they
 * stand; numbers that are joined by - / or . are read by their shape.  What is left open is a span,
 * told by its middle and half its length.  What this does not do: decide between two readings by
 * likelihood, or read other languages. */
#include "ingest/date_typed.h"

#include "model/calendar.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define TEXT_MAX 64
#define FIRST_YEAR 1900
#define LAST_YEAR 2199
#define ABOUT_A_DAY_D 7 /* judgement: who writes "about the 14th" means that week or the next */
/* Day counts of spreadsheets: 1900-01-01 is 1 in the usual calendar, which has a 29 February 1900
 * too many, so that from March 1900 on day n is 1899-12-30 + n; in the other calendar 1904-01-01 is
 * 0.  Source: ECMA-376-1, 18.17.4.1 (from memory). */
#define COUNT_ZERO_1900_D (-25569)
#define COUNT_ZERO_1904_D (-24107)

enum third { WHOLE, EARLY, MID, LATE };
enum season { NO_SEASON, SPRING, SUMMER, AUTUMN, WINTER };
#define SEASON_MONTHS 3

/* What the words said; 0 where they said nothing. */
struct said {
    int32_t year, month, day;
    enum season season;
    enum third third;
    bool is_about, is_doubted;
};

struct wording {
    char *why;
    size_t size;
};

__attribute__((format(printf, 3, 4))) static enum stv_status
fail(const struct wording *to, enum stv_status status, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(to->why, to->size, format, arguments);
    va_end(arguments);
    return status;
}

static const char *const months[STV_MONTHS] = {"January",   "February", "March",    "April",
                                               "May",       "June",     "July",     "August",
                                               "September", "October",  "November", "December"};

int32_t stv_month_from_name(const char *text, size_t n)
{
    for (int32_t i = 0; n >= 3 && i < STV_MONTHS; i++)
        if (strncasecmp(text, months[i], n) == 0)
            return i + 1;
    return 0;
}

void stv_date_words(int64_t day_d, char *buffer, size_t size)
{
    struct stv_date date = stv_date_from_day(day_d);
    snprintf(buffer, size, "%d %s %d", date.day, months[date.month - 1], date.year);
}

static enum stv_status refuse_shape(const struct wording *to)
{
    return fail(to, STV_E_PARSE, "is not a date: write it like 2024-03-14");
}

static enum stv_status refuse_two_figures(const struct wording *to)
{
    return fail(to, STV_E_PARSE,
                "has a year of two figures, so that nobody can tell which number it is: write it "
                "like 2024-03-14");
}

/* Numbers joined by one kind of sign: 2019-10, 14.03.2024.  Returns how many, 0 when it is none. */
static size_t joined_numbers(const char *text, int32_t out[3], size_t n_digits[3])
{
    size_t n = 0;
    char sign = '\0';
    while (n < 3) {
        size_t length = strspn(text, "0123456789");
        if (length == 0 || length > 4)
            return 0;
        out[n] = (int32_t)strtol(text, NULL, 10);
        n_digits[n++] = length;
        text += length;
        if (!*text)
            return n >= 2 ? n : 0;
        if (!strchr("-/.", *text) || (sign && *text != sign))
            return 0;
        sign = *text++;
    }
    return 0;
}

enum stv_date_order stv_date_typed_order(const char *text)
{
    int32_t number[3];
    size_t n_digits[3];
    if (joined_numbers(text, number, n_digits) != 3 || n_digits[2] != 4 || n_digits[0] > 2 ||
        n_digits[1] > 2)
        return STV_ORDER_OPEN;
    if (number[0] > STV_MONTHS && number[1] <= STV_MONTHS)
        return STV_ORDER_DAY_FIRST;
    if (number[1] > STV_MONTHS && number[0] <= STV_MONTHS)
        return STV_ORDER_MONTH_FIRST;
    return STV_ORDER_OPEN;
}

static enum stv_status check_day(struct stv_date date, const struct wording *to)
{
    if (date.year < FIRST_YEAR || date.year > LAST_YEAR)
        return fail(to, STV_E_DOMAIN, "has a year outside %d to %d", FIRST_YEAR, LAST_YEAR);
    if (!stv_date_is_valid(date))
        return fail(to, STV_E_DOMAIN, "is a day that does not exist: look it up in a calendar");
    return STV_OK;
}

/* Both readings of 03/04/2024 spelled out. */
static enum stv_status refuse_two_readings(struct stv_date day_first, struct stv_date month_first,
                                           const struct wording *to)
{
    char one[STV_DATE_WORDS], other[STV_DATE_WORDS];
    stv_date_words(stv_day_from_date(day_first), one, sizeof one);
    stv_date_words(stv_day_from_date(month_first), other, sizeof other);
    return fail(to, STV_E_PARSE, "can be %s or %s: write %04d-%02d-%02d or %04d-%02d-%02d", one,
                other, day_first.year, day_first.month, day_first.day, month_first.year,
                month_first.month, month_first.day);
}

/* 03/04/2024 by the order of its column. */
static enum stv_status take_year_last(const int32_t number[3], enum stv_date_order order,
                                      struct said *out, const struct wording *to)
{
    struct stv_date day_first = {number[2], number[1], number[0]};
    struct stv_date month_first = {number[2], number[0], number[1]};
    if (order == STV_ORDER_BOTH)
        return fail(to, STV_E_PARSE,
                    "stands in a column where some dates can only be day first and others only "
                    "month first: write them all like 2024-03-14");
    if (order == STV_ORDER_OPEN && number[0] != number[1] && stv_date_is_valid(day_first) &&
        stv_date_is_valid(month_first))
        return refuse_two_readings(day_first, month_first, to);
    struct stv_date date = order == STV_ORDER_MONTH_FIRST ? month_first : day_first;
    out->year = date.year;
    out->month = date.month;
    out->day = date.day;
    return check_day(date, to);
}

static enum stv_status take_joined(const char *text, enum stv_date_order order, struct said *out,
                                   const struct wording *to)
{
    int32_t number[3];
    size_t n_digits[3];
    size_t n = joined_numbers(text, number, n_digits);
    if (n == 0 || out->year || out->month || out->day)
        return refuse_shape(to);
    if (n == 3 && n_digits[2] == 4 && n_digits[0] <= 2 && n_digits[1] <= 2)
        return take_year_last(number, order, out, to);
    if (n == 3 && n_digits[0] <= 2 && n_digits[1] <= 2 && n_digits[2] <= 2)
        return refuse_two_figures(to);
    if (n == 2 && n_digits[0] <= 2 && n_digits[1] <= 2)
        return fail(to, STV_E_PARSE, "has no year: write it like 2024-03-14");
    bool is_year_first = n_digits[0] == 4 && n_digits[1] <= 2 && (n == 2 || n_digits[2] <= 2);
    bool is_month_year = n == 2 && n_digits[0] <= 2 && n_digits[1] == 4;
    if (!is_year_first && !is_month_year)
        return refuse_shape(to);
    out->year = number[is_year_first ? 0 : 1];
    out->month = number[is_year_first ? 1 : 0];
    out->day = is_year_first && n == 3 ? number[2] : 0;
    struct stv_date date = {out->year, out->month, n == 3 ? out->day : 1};
    if (out->month < 1 || out->month > STV_MONTHS)
        return fail(to, STV_E_DOMAIN,
                    "has month %d, which does not exist: write it like 2024-03-14", out->month);
    return check_day(date, to);
}

/* A number alone: a year, a day of the month, or what a spreadsheet counts. */
static enum stv_status take_number(const char *text, size_t n_digits, struct said *out,
                                   const struct wording *to)
{
    int32_t number = (int32_t)strtol(text, NULL, 10);
    char usual[STV_DATE_WORDS], other[STV_DATE_WORDS];
    if (n_digits == 5) {
        stv_date_words(number + COUNT_ZERO_1900_D, usual, sizeof usual);
        stv_date_words(number + COUNT_ZERO_1904_D, other, sizeof other);
        return fail(to, STV_E_PARSE,
                    "is a spreadsheet's count of days, %s in its usual calendar (%s in its old "
                    "one): format the column as a date like 2024-03-14 and save again",
                    usual, other);
    }
    if (n_digits == 4 && !out->year) {
        out->year = number;
        return STV_OK;
    }
    if (n_digits == 2 && out->day && out->month)
        return refuse_two_figures(to);
    if (n_digits > 2 || out->day || number < 1 || number > 31)
        return refuse_shape(to);
    out->day = number;
    return STV_OK;
}

/* True when the whole of a word is one of the words. */
static bool is_one_of(const char *word, const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcasecmp(word, words[i]) == 0)
            return true;
    return false;
}
#define IS_ONE_OF(word, words) is_one_of(word, words, sizeof words / sizeof words[0])

/* Words around a date; false when it is none of them. */
static bool take_doubt(const char *word, struct said *out)
{
    static const char *const about[] = {"about", "around", "circa", "c", "ca", "approx", "roughly"};
    static const char *const doubted[] = {"say", "maybe", "perhaps", "probably"};
    static const char *const early[] = {"early", "beginning", "start"};
    static const char *const mid[] = {"mid", "middle"};
    static const char *const late[] = {"late", "end"};
    static const char *const silent[] = {"of", "in", "the", "or", "on"};
    out->is_about |= IS_ONE_OF(word, about) || strcasecmp(word, "so") == 0;
    out->is_doubted |= IS_ONE_OF(word, doubted);
    enum third third = IS_ONE_OF(word, early)  ? EARLY
                       : IS_ONE_OF(word, mid)  ? MID
                       : IS_ONE_OF(word, late) ? LATE
                                               : WHOLE;
    if (third != WHOLE)
        out->third = third;
    return third != WHOLE || strcasecmp(word, "so") == 0 || IS_ONE_OF(word, about) ||
           IS_ONE_OF(word, doubted) || IS_ONE_OF(word, silent);
}

static bool take_season(const char *word, struct said *out)
{
    static const char *const names[] = {"spring", "summer", "autumn", "winter", "fall"};
    for (size_t i = 0; i < sizeof names / sizeof names[0] && !out->season; i++)
        if (strcasecmp(word, names[i]) == 0) {
            out->season = i < WINTER ? (enum season)(i + 1) : AUTUMN;
            return true;
        }
    return false;
}

static enum stv_status refuse_word(const char *word, const struct wording *to)
{
    static const char *const quarters[] = {"q1", "q2", "q3", "q4", "quarter"};
    if (IS_ONE_OF(word, quarters))
        return fail(to, STV_E_PARSE,
                    "names a quarter, which may be the calendar's or the books': write a month of "
                    "it, like 2019-10");
    return refuse_shape(to);
}

/* "14th" as 14: how many digits, 0 when it is no number. */
static size_t digits_of(const char *word)
{
    size_t n = strspn(word, "0123456789");
    static const char *const endings[] = {"", "st", "nd", "rd", "th"};
    bool is_number = n > 0 && n <= 5 && IS_ONE_OF(word + n, endings);
    return is_number ? n : 0;
}

static enum stv_status take_word(const char *word, enum stv_date_order order, struct said *out,
                                 const struct wording *to)
{
    int32_t month = stv_month_from_name(word, strlen(word));
    size_t n_digits = digits_of(word);
    if (month && !out->month) {
        out->month = month;
        return STV_OK;
    }
    bool is_count_with_hours = strspn(word, "0123456789") == 5 && word[5] == '.';
    if (n_digits || is_count_with_hours)
        return take_number(word, n_digits ? n_digits : 5, out, to);
    if (isdigit((unsigned char)word[0]))
        return take_joined(word, order, out, to);
    return take_doubt(word, out) || take_season(word, out) ? STV_OK : refuse_word(word, to);
}

/* Signs that stand between words become blanks, also those of 14-Mar-2024 and c.2019; doubt that
 * has no letters is noted. */
static bool spread_words(const char *text, char out[TEXT_MAX], struct said *said)
{
    size_t n = 0;
    for (size_t i = 0; text[i]; i++) {
        char letter = text[i];
        bool is_beside_letter =
            (i > 0 && isalpha((unsigned char)text[i - 1])) || isalpha((unsigned char)text[i + 1]);
        if (n + 1 >= TEXT_MAX)
            return false;
        said->is_about |= letter == '~';
        said->is_doubted |= letter == '?';
        bool is_between = strchr("~?,()\t", letter) || (is_beside_letter && strchr("-/.", letter));
        out[n++] = is_between ? ' ' : letter;
    }
    out[n] = '\0';
    return true;
}

/* The span that was said, in days, first and last. */
static void span_of(const struct said *said, int64_t *first, int64_t *last)
{
    struct stv_date from = {said->year, said->month ? said->month : 1, said->day ? said->day : 1};
    *first = *last = stv_day_from_date(from);
    int32_t n_months = said->season ? SEASON_MONTHS : said->month ? 1 : STV_MONTHS;
    if (!said->day)
        *last = stv_day_add_months(*first, n_months) - 1;
    if (said->third == WHOLE)
        return;
    int64_t third_d = (*last - *first + 1) / 3;
    int64_t whole_last = *last;
    if (said->third != EARLY)
        *first += said->third == MID ? third_d : 2 * third_d;
    *last = said->third == LATE ? whole_last : *first + third_d - 1;
}

static enum stv_status refuse_yearless(const struct said *said, const struct wording *to)
{
    if (said->month && said->day)
        return fail(to, STV_E_PARSE,
                    "can be %d %s of a year that is not said, or %s of the year ..%02d: write it "
                    "like 2024-03-14",
                    said->day, months[said->month - 1], months[said->month - 1], said->day);
    return said->month ? fail(to, STV_E_PARSE, "has no year: write it like 2024-03")
                       : refuse_shape(to);
}

static enum stv_status check_said(const struct said *said, const struct wording *to)
{
    if (!said->year)
        return refuse_yearless(said, to);
    if (said->day && !said->month)
        return refuse_shape(to);
    if (said->third != WHOLE && said->day)
        return refuse_shape(to);
    struct stv_date date = {said->year, said->month ? said->month : 1, said->day ? said->day : 1};
    return check_day(date, to);
}

/* The months of a season: March to May is spring in the north and autumn in the south.  That over
 * New Year belongs to two years. */
static enum stv_status place_season(struct said *said, enum stv_hemisphere side,
                                    const struct wording *to)
{
    static const int32_t first_months[] = {[SPRING] = 3, [SUMMER] = 6, [AUTUMN] = 9, [WINTER] = 12};
    if (!said->season)
        return STV_OK;
    if (said->month || said->day || !said->year)
        return refuse_shape(to);
    if (side == STV_HEMISPHERE_UNSAID)
        return fail(to, STV_E_PARSE,
                    "names a season, which lies half a year apart north and south of the equator: "
                    "write a month of it, like 2019-10, or say the site's latitude in book.yaml");
    int32_t month = first_months[said->season];
    said->month = side == STV_NORTH ? month : (month + 5) % STV_MONTHS + 1;
    if (said->month + SEASON_MONTHS - 1 <= STV_MONTHS)
        return STV_OK;
    return fail(to, STV_E_PARSE,
                "can be December %d to February %d or December %d to February %d: write a month "
                "of it, like %d-01",
                said->year - 1, said->year, said->year, said->year + 1, said->year);
}

enum stv_status stv_date_typed_read(const char *text, enum stv_date_order order,
                                    enum stv_hemisphere side, struct stv_date_typed *out, char *why,
                                    size_t size)
{
    const struct wording to = {why, size};
    char words[TEXT_MAX], *rest = NULL;
    struct said said = {0};
    if (!spread_words(text, words, &said))
        return refuse_shape(&to);
    for (char *word = strtok_r(words, " ", &rest); word; word = strtok_r(NULL, " ", &rest)) {
        enum stv_status status = take_word(word, order, &said, &to);
        if (status != STV_OK)
            return status;
    }
    enum stv_status status = place_season(&said, side, &to);
    if (status == STV_OK)
        status = check_said(&said, &to);
    if (status != STV_OK)
        return status;
    int64_t first = 0, last = 0;
    span_of(&said, &first, &last);
    int64_t half = (last - first + 1) / 2;
    *out = (struct stv_date_typed){first + half, (double)half};
    if (said.day)
        out->width_d = said.is_about || said.is_doubted ? ABOUT_A_DAY_D : 0.0;
    else if (said.is_about)
        out->width_d *= 2.0;
    if (said.day)
        out->day_d = first;
    return STV_OK;
}
