/* A spreadsheet takes what looks like a number, a date or a formula for one, and shows, when saved
 * as CSV, what it made of it.  What is left has a shape by which it can be told.  What this does
 * not do: undo it, for the first text is gone. */
#include "ingest/typed_damage.h"

#include "ingest/date_typed.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define AS_TEXT "format the column as text, type it again and save"
#define DIGITS "0123456789"
#define TEXT_MAX 64

__attribute__((format(printf, 3, 4))) static bool say(char *why, size_t size, const char *format,
                                                      ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(why, size, format, arguments);
    va_end(arguments);
    return true;
}

static bool has_any(const char *text, const char *const *parts, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strstr(text, parts[i]))
            return true;
    return false;
}

static bool has_curly_quotes(const char *text)
{
    static const char *const quotes[] = {"\u201C", "\u201D", "\u201E", "\u2018",
                                         "\u2019", "\u00AB", "\u00BB"};
    return has_any(text, quotes, sizeof quotes / sizeof quotes[0]);
}

static bool is_error_value(const char *text)
{
    static const char *const values[] = {"#REF!",  "#NAME?", "#VALUE!", "#DIV/0!",
                                         "#N/A",   "#NUM!",  "#NULL!",  "#SPILL!",
                                         "#CALC!", "#NAME",  "#VALUE",  "#REF"};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        if (strcasecmp(text, values[i]) == 0)
            return true;
    return strncmp(text, "Err:", 4) == 0 && isdigit((unsigned char)text[4]);
}

bool stv_damage_of_text(const char *text, char *why, size_t size)
{
    size_t length = strlen(text);
    if (is_error_value(text))
        return say(why, size,
                   "is the mark of a formula that failed: the spreadsheet lost what stood here; "
                   "type the value itself");
    if (length >= 2 && strspn(text, "#") == length)
        return say(why, size,
                   "was saved from a column too narrow to show it: widen the column in the "
                   "spreadsheet and save again");
    if (text[0] == '=')
        return say(why, size, "is a spreadsheet's formula: write the value itself");
    if (text[0] == '\'')
        return say(why, size,
                   "begins with the apostrophe by which a spreadsheet keeps text: leave it out");
    if (strcasecmp(text, "TRUE") == 0 || strcasecmp(text, "FALSE") == 0)
        return say(why, size,
                   "is what a spreadsheet makes of a ticked box or of the word: " AS_TEXT);
    return false;
}

bool stv_damage_of_cell(const char *text, char *why, size_t size)
{
    if (stv_damage_of_text(text, why, size))
        return true;
    if (has_curly_quotes(text))
        return say(why, size,
                   "has curly quotation marks, which an editor puts in: leave them out, or type "
                   "plain ones");
    return false;
}

/* Two numbers, such as the 3 and 12 of 3-12; the second 0 when a date hides it. */
struct pair {
    long a, b;
};

/* "3-Dec", "Dec-3", "3. Dec": a day and a month's name without a year. */
static bool read_day_month(const char *text, struct pair *out)
{
    size_t n_letters = 0, at = 0;
    while (text[at] && !isalpha((unsigned char)text[at]))
        at++;
    while (isalpha((unsigned char)text[at + n_letters]))
        n_letters++;
    int32_t month = stv_month_from_name(text + at, n_letters);
    const char *digits = at > 0 ? text : text + n_letters + strspn(text + n_letters, "-. /");
    size_t n_digits = strspn(digits, DIGITS);
    const char *rest = digits + n_digits;
    rest += strspn(rest, "-. /");
    bool is_whole = at > 0 ? rest == text + at && !text[at + n_letters] : *rest == '\0';
    bool has_sign = at > 0 ? text + at > text + n_digits : digits > text + n_letters;
    if (!month || n_digits == 0 || n_digits > 2 || !is_whole || !has_sign)
        return false;
    *out = (struct pair){strtol(digits, NULL, 10), month};
    return true;
}

/* A whole date with its year in figures, 2024-12-03 or 3/12/2024: its day and its month. */
static bool read_full_date(const char *text, struct pair *out)
{
    long number[3];
    size_t n_digits[3], n = 0;
    char sign = '\0';
    for (const char *at = text; n < 3; at++) {
        size_t length = strspn(at, DIGITS);
        number[n] = length > 0 && length <= 4 ? strtol(at, NULL, 10) : 0;
        n_digits[n++] = length;
        at += length;
        bool is_last = n == 3;
        if (length == 0 || length > 4 || is_last != !*at)
            return false;
        if (is_last)
            break;
        if (!strchr("-/.", *at) || (sign && *at != sign))
            return false;
        sign = *at;
    }
    bool is_year_first = n_digits[0] == 4 && n_digits[1] <= 2 && n_digits[2] <= 2;
    bool is_year_last = n_digits[0] <= 2 && n_digits[1] <= 2 && n_digits[2] == 4;
    if (!is_year_first && !is_year_last)
        return false;
    *out =
        is_year_first ? (struct pair){number[2], number[1]} : (struct pair){number[0], number[1]};
    return out->a >= 1 && out->b >= 1 && (out->a <= 12 || out->b <= 12) && out->a <= 31 &&
           out->b <= 31;
}

static bool read_date(const char *text, struct pair *out)
{
    return read_day_month(text, out) || read_full_date(text, out);
}

/* "3-12", "03/12", "12-2019": what a spreadsheet takes for a date, a year by its last figures. */
static bool read_pair(const char *text, struct pair *out)
{
    size_t n_first = strspn(text, DIGITS);
    if (n_first == 0 || n_first > 2 || !strchr("-/.", text[n_first]) || !text[n_first])
        return false;
    const char *second = text + n_first + 1;
    size_t n_second = strspn(second, DIGITS);
    if ((n_second != 1 && n_second != 2 && n_second != 4) || second[n_second])
        return false;
    *out = (struct pair){strtol(text, NULL, 10), strtol(second, NULL, 10) % 100};
    return true;
}

/* A whole text as a plain number: 007, 12.0, 12E3, 1.20E+04.  *out_room is half of the last figure
 * shown, which an exponent form rounds to. */
static bool read_plain(const char *text, double *out, double *out_room)
{
    size_t n = strspn(text, DIGITS), n_decimals = 0;
    const char *at = text + n;
    if (n == 0 || n > 18)
        return false;
    if (*at == '.') {
        n_decimals = strspn(at + 1, DIGITS);
        at += 1 + n_decimals;
    }
    long exponent = 0;
    if (*at == 'e' || *at == 'E') {
        const char *digits = at + 1 + (at[1] == '+' || at[1] == '-');
        size_t n_digits = strspn(digits, DIGITS);
        if (n_digits == 0 || n_digits > 3 || digits[n_digits])
            return false;
        exponent = strtol(at + 1, NULL, 10);
        at = digits + n_digits;
    }
    if (*at || exponent > 99)
        return false;
    *out = strtod(text, NULL);
    *out_room = exponent != 0 && n_decimals > 0
                    ? 0.5 * pow(10.0, (double)exponent - (double)n_decimals)
                    : 0.0;
    return isfinite(*out);
}

/* "1.20E+04": no person writes a name with a sign or a point in its exponent form. */
static bool is_exponent_form(const char *text)
{
    double value = 0.0, room = 0.0;
    const char *e = strpbrk(text, "eE");
    return e && read_plain(text, &value, &room) &&
           (strchr(text, '.') || e[1] == '+' || e[1] == '-');
}

static bool ends_in_point_zero(const char *text)
{
    size_t n = strspn(text, DIGITS);
    return n > 0 && text[n] == '.' && text[n + 1] == '0' &&
           !text[n + 1 + strspn(text + n + 1, "0")];
}

static bool has_long_dash(const char *text)
{
    static const char *const dashes[] = {"\u2010", "\u2011", "\u2012", "\u2013",
                                         "\u2014", "\u2212", "\u00AD"};
    return has_any(text, dashes, sizeof dashes / sizeof dashes[0]);
}

bool stv_damage_of_id(const char *text, char *why, size_t size)
{
    struct pair pair;
    if (stv_damage_of_cell(text, why, size))
        return true;
    if (read_date(text, &pair))
        return say(
            why, size,
            "is a date, which a spreadsheet makes of a name like %ld-%ld or %ld-%ld: " AS_TEXT
            "; a name that is really a date needs a letter before it",
            pair.a, pair.b, pair.b, pair.a);
    if (is_exponent_form(text))
        return say(why, size,
                   "is an exponent, which a spreadsheet makes of a name like 12E3 or of a long "
                   "number: " AS_TEXT);
    if (ends_in_point_zero(text))
        return say(why, size, "ends in .0, which a program adds to a whole number: write \"%.*s\"",
                   (int)strspn(text, DIGITS), text);
    if (has_long_dash(text))
        return say(why, size,
                   "has a long dash, which an editor makes of a plain one: type a plain -");
    return false;
}

/* "1,234.5" or "1.234,5" or "1 234": the figures without what stands between thousands, and with
 * this decimal sign; false when there are no thousands, or when it can be read two ways (1,234). */
static bool without_thousands(const char *text, char decimal, char out[TEXT_MAX])
{
    size_t at = text[0] == '+' || text[0] == '-';
    size_t n_whole = strspn(text + at, DIGITS);
    char mark = text[at + n_whole];
    size_t n_groups = 0, n = 0;
    if (n_whole == 0 || n_whole > 3 || !mark || !strchr(",. '", mark))
        return false;
    const char *group = text + at + n_whole;
    while (*group == mark && strspn(group + 1, DIGITS) == 3) {
        group += 4;
        n_groups++;
    }
    bool has_decimals =
        (*group == '.' || *group == ',') && *group != mark && isdigit((unsigned char)group[1]);
    bool is_sure = n_groups >= 2 || mark == ' ' || mark == '\'' || has_decimals;
    if (n_groups == 0 || !is_sure || strlen(text) >= TEXT_MAX)
        return false;
    for (const char *from = text; *from; from++)
        if (from >= group || *from != mark)
            out[n++] = from == group && has_decimals ? decimal : *from;
    out[n] = '\0';
    return true;
}

bool stv_damage_of_number(const char *text, bool has_decimal_comma, char *why, size_t size)
{
    struct pair pair;
    char plain[TEXT_MAX];
    if (stv_damage_of_cell(text, why, size))
        return true;
    if (read_date(text, &pair))
        return say(
            why, size,
            "is a date, which a spreadsheet makes of a number like %ld.%ld or %ld.%ld: format "
            "the column as a number, type it again and save",
            pair.a, pair.b, pair.b, pair.a);
    if (without_thousands(text, has_decimal_comma ? ',' : '.', plain))
        return say(why, size, "has marks between thousands: write \"%s\"", plain);
    return false;
}

/* The name without quotes, with plain dashes. */
static void plain_name(const char *text, char out[TEXT_MAX])
{
    static const char *const gone[] = {"\u201C", "\u201D", "\u201E", "\u2018", "\u2019",
                                       "\u00AB", "\u00BB", "\u00AD", "\"",     "'"};
    static const char *const dashes[] = {"\u2010", "\u2011", "\u2012",
                                         "\u2013", "\u2014", "\u2212"};
    size_t n = 0;
    while (*text && n + 1 < TEXT_MAX) {
        size_t skip = 0, is_dash = 0;
        for (size_t i = 0; i < sizeof gone / sizeof gone[0] && !skip; i++)
            if (strncmp(text, gone[i], strlen(gone[i])) == 0)
                skip = strlen(gone[i]);
        for (size_t i = 0; i < sizeof dashes / sizeof dashes[0] && !skip; i++)
            if (strncmp(text, dashes[i], strlen(dashes[i])) == 0)
                skip = is_dash = strlen(dashes[i]);
        if (skip == 0 || is_dash)
            out[n++] = is_dash ? '-' : *text;
        text += skip ? skip : 1;
    }
    out[n] = '\0';
}

static bool is_made_a_date(const char *name, const char *date)
{
    struct pair typed, made;
    if (!read_pair(name, &typed) || !read_date(date, &made))
        return false;
    return (typed.a == made.a && typed.b == made.b) || (typed.a == made.b && typed.b == made.a);
}

const char *stv_damage_between(const char *name, const char *other)
{
    double a = 0.0, b = 0.0, room_a = 0.0, room_b = 0.0;
    char plain[TEXT_MAX], plain_other[TEXT_MAX];
    if (is_made_a_date(name, other) || is_made_a_date(other, name))
        return "A spreadsheet makes a date of such a name: " AS_TEXT;
    if (read_plain(name, &a, &room_a) && read_plain(other, &b, &room_b) &&
        fabs(a - b) <= fmax(room_a, room_b)) {
        bool is_figures =
            strspn(name, DIGITS) == strlen(name) && strspn(other, DIGITS) == strlen(other);
        return is_figures ? "A spreadsheet takes the zeros off the front of such a name: " AS_TEXT
                          : "A spreadsheet takes such a name for a number: " AS_TEXT;
    }
    plain_name(name, plain);
    plain_name(other, plain_other);
    if (strcmp(plain, plain_other) == 0)
        return "An editor changes dashes and quotation marks: type plain ones";
    return NULL;
}

enum taken { AS_BLANK, NOT_AT_ALL, AS_MINUS };

/* Characters that look like a blank, like nothing or like a minus and are none. */
static const struct look {
    const char *bytes;
    enum taken taken;
} looks[] = {
    {"\u00A0", AS_BLANK},   {"\u2002", AS_BLANK},   {"\u2003", AS_BLANK},   {"\u2007", AS_BLANK},
    {"\u2008", AS_BLANK},   {"\u2009", AS_BLANK},   {"\u200A", AS_BLANK},   {"\u202F", AS_BLANK},
    {"\u3000", AS_BLANK},   {"\u200B", NOT_AT_ALL}, {"\u200C", NOT_AT_ALL}, {"\u200D", NOT_AT_ALL},
    {"\u200E", NOT_AT_ALL}, {"\u200F", NOT_AT_ALL}, {"\u2060", NOT_AT_ALL}, {"\uFEFF", NOT_AT_ALL},
    {"\u2212", AS_MINUS},   {"\u2013", AS_MINUS},   {"\u2014", AS_MINUS},
};

static const struct look *look_at(const char *text)
{
    for (size_t i = 0; (unsigned char)*text >= 0x80 && i < sizeof looks / sizeof looks[0]; i++)
        if (strncmp(text, looks[i].bytes, strlen(looks[i].bytes)) == 0)
            return &looks[i];
    return NULL;
}

static void trim(char *text)
{
    size_t n_before = strspn(text, " \t");
    size_t n = strlen(text);
    while (n > n_before && strchr(" \t", text[n - 1]))
        n--;
    memmove(text, text + n_before, n - n_before);
    text[n - n_before] = '\0';
}

/* A dash is a minus before a figure and in a cell of its own. */
static bool is_minus(const char *text, const struct look *look, bool is_first, bool is_number)
{
    const char *next = text + strlen(look->bytes);
    return look->taken == AS_MINUS && is_first &&
           (*next == '\0' || (is_number && isdigit((unsigned char)*next)));
}

struct stv_cleaned stv_damage_clean(char *text, bool is_number)
{
    struct stv_cleaned cleaned = {false, false};
    size_t n = 0;
    bool is_first = true; /* nothing but blanks so far */
    for (const char *from = text; *from;) {
        const struct look *look = look_at(from);
        if (!look || (look->taken == AS_MINUS && !is_minus(from, look, is_first, is_number))) {
            is_first &= *from == ' ' || *from == '\t';
            text[n++] = *from++;
            continue;
        }
        cleaned.had_minus |= look->taken == AS_MINUS;
        cleaned.had_blank |= look->taken != AS_MINUS;
        size_t length = strlen(look->bytes);
        if (look->taken != NOT_AT_ALL)
            text[n++] = look->taken == AS_BLANK ? ' ' : '-';
        from += length;
    }
    text[n] = '\0';
    if (cleaned.had_blank)
        trim(text);
    return cleaned;
}
