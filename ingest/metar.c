/* Groups are found by their shape, blank-separated; the rest of the report is not looked at. */
#include "ingest/metar.h"

#include <ctype.h>

#define GROUPS_MAX 48

static bool are_digits(const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isdigit((unsigned char)text[i]))
            return false;
    return true;
}

bool stv__metar_minute(struct stv_slice text, int32_t *out_minute)
{
    struct stv_slice groups[GROUPS_MAX];
    size_t n = stv_line_cells(text, ' ', groups, GROUPS_MAX);
    for (size_t i = 0; i < n && i < GROUPS_MAX; i++) {
        const char *group = groups[i].text;
        if (groups[i].n != 7 || group[6] != 'Z' || !are_digits(group, 6))
            continue;
        int32_t hour = (group[2] - '0') * 10 + (group[3] - '0');
        int32_t minute = (group[4] - '0') * 10 + (group[5] - '0');
        if (hour > 23 || minute > 59)
            continue;
        *out_minute = 60 * hour + minute;
        return true;
    }
    return false;
}

bool stv__metar_temp_c(struct stv_slice text, int32_t *out_temp_c)
{
    struct stv_slice groups[GROUPS_MAX];
    size_t n = stv_line_cells(text, ' ', groups, GROUPS_MAX);
    for (size_t i = 0; i < n && i < GROUPS_MAX; i++) {
        struct stv_slice group = groups[i];
        size_t sign = group.n > 0 && group.text[0] == 'M';
        if (group.n < sign + 3 || !are_digits(group.text + sign, 2) || group.text[sign + 2] != '/')
            continue;
        struct stv_slice dew = {group.text + sign + 3, group.n - sign - 3};
        size_t dew_sign = dew.n > 0 && dew.text[0] == 'M';
        if (dew.n != dew_sign + 2 || !are_digits(dew.text + dew_sign, 2))
            continue;
        int32_t temp_c = (group.text[sign] - '0') * 10 + (group.text[sign + 1] - '0');
        *out_temp_c = sign ? -temp_c : temp_c;
        return true;
    }
    return false;
}
