/* Values of options: dates as YYYY-MM-DD, whole numbers, plain numbers, and angles and lengths
 * with or without a unit.  Nothing is cut to its range; what lies outside is refused. */
#include "cli/option_values.h"

#include "ingest/quantity.h"
#include "model/calendar.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DATE_LENGTH 10 /* YYYY-MM-DD */
#define WHY_MAX 256

static bool all_digits(const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isdigit((unsigned char)text[i]))
            return false;
    return true;
}

static bool read_date(const char *text, int64_t *out_day_d)
{
    if (strlen(text) != DATE_LENGTH || text[4] != '-' || text[7] != '-' || !all_digits(text, 4) ||
        !all_digits(text + 5, 2) || !all_digits(text + 8, 2))
        return false;
    struct stv_date date = {(int32_t)strtol(text, NULL, 10), (int32_t)strtol(text + 5, NULL, 10),
                            (int32_t)strtol(text + 8, NULL, 10)};
    if (!stv_date_is_valid(date))
        return false;
    *out_day_d = stv_day_from_date(date);
    return true;
}

static bool is_choice(const char *choices, const char *text)
{
    size_t length = strlen(text);
    for (const char *at = choices; *at;) {
        size_t n = strcspn(at, "|");
        if (n == length && strncmp(at, text, n) == 0)
            return true;
        at += n + (at[n] == '|');
    }
    return false;
}

static enum stv_status read_number(const struct stv_option_info *info, const char *text,
                                   double *out, char *why, size_t size)
{
    enum stv_dimension dimension = STV_DIM_NUMBER;
    const char *unit = NULL;
    if (info->kind == STV_VALUE_ANGLE) {
        dimension = STV_DIM_ANGLE;
        unit = "deg";
    } else if (info->kind == STV_VALUE_LENGTH) {
        dimension = STV_DIM_LENGTH;
        unit = "m";
    } else if (info->kind == STV_VALUE_COUNT && !all_digits(text, strlen(text))) {
        snprintf(why, size, "is not a whole number");
        return STV_E_USAGE;
    }
    enum stv_status status = stv_quantity_parse(text, dimension, unit, out, why, size);
    if (status != STV_OK)
        return STV_E_USAGE;
    if (!(*out >= info->least && *out <= info->most)) {
        char range[128];
        stv_option_range_text(info, range, sizeof range);
        snprintf(why, size, "is outside %s", range);
        return STV_E_USAGE;
    }
    return STV_OK;
}

enum stv_status stv_option_value(struct stv_occurrence *occurrence, char *why, size_t size)
{
    const struct stv_option_info *info = &stv_option_table()[occurrence->option];
    char reason[WHY_MAX] = "";
    bool is_fine = true;
    switch (info->kind) {
    case STV_VALUE_NONE:
        break;
    case STV_VALUE_TEXT:
    case STV_VALUE_TYPED:
        is_fine = occurrence->text[0] != '\0';
        snprintf(reason, sizeof reason, "is empty");
        break;
    case STV_VALUE_CHOICE:
        is_fine = is_choice(info->argument, occurrence->text);
        snprintf(reason, sizeof reason, "is not one of %s", info->argument);
        break;
    case STV_VALUE_DATE:
        is_fine = read_date(occurrence->text, &occurrence->day_d);
        snprintf(reason, sizeof reason, "is not a day written as 2027-12-31");
        break;
    case STV_VALUE_COUNT:
    case STV_VALUE_NUMBER:
    case STV_VALUE_NUMBER_OR_DEFAULT:
    case STV_VALUE_ANGLE:
    case STV_VALUE_LENGTH:
        is_fine = read_number(info, occurrence->text, &occurrence->number, reason, sizeof reason) ==
                  STV_OK;
        break;
    }
    if (is_fine)
        return STV_OK;
    snprintf(why, size, "--%s \"%.60s\": %s.", info->name, occurrence->text, reason);
    return STV_E_USAGE;
}

void stv_option_range_text(const struct stv_option_info *info, char *buffer, size_t size)
{
    bool has_range = info->least < info->most;
    if (has_range)
        snprintf(buffer, size, "%.16g to %.16g%s%s", info->least, info->most, info->unit ? " " : "",
                 info->unit ? info->unit : "");
    else
        snprintf(buffer, size, "%s", info->unit ? info->unit : "");
}
