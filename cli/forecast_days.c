/* Lists of days, each once and ascending. */
#include "cli/forecast_parts.h"

#include <stdlib.h>

enum stv_status stv__day_add(struct stv__day_list *list, int64_t day_d)
{
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? 2 * list->capacity : 64;
        int64_t *days_d = realloc(list->days_d, capacity * sizeof *days_d);
        if (!days_d)
            return STV_E_MEMORY;
        list->days_d = days_d;
        list->capacity = capacity;
    }
    list->days_d[list->n++] = day_d;
    return STV_OK;
}

static int compare_days(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a;
    int64_t y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

void stv__day_seal(struct stv__day_list *list)
{
    if (list->n == 0)
        return;
    qsort(list->days_d, list->n, sizeof *list->days_d, compare_days);
    size_t n = 1;
    for (size_t i = 1; i < list->n; i++)
        if (list->days_d[i] != list->days_d[n - 1])
            list->days_d[n++] = list->days_d[i];
    list->n = n;
}

size_t stv__day_index(const int64_t *days_d, size_t n, int64_t day_d)
{
    const int64_t *found = n ? bsearch(&day_d, days_d, n, sizeof *days_d, compare_days) : NULL;
    return found ? (size_t)(found - days_d) : n;
}
