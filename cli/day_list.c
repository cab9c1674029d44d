/* The days of an answer come from several sides, in no order. */
#include "cli/day_list.h"

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

size_t stv__days_once(int64_t *days_d, size_t n)
{
    size_t n_kept = 1;
    if (n == 0)
        return 0;
    qsort(days_d, n, sizeof *days_d, compare_days);
    for (size_t i = 1; i < n; i++)
        if (days_d[i] != days_d[n_kept - 1])
            days_d[n_kept++] = days_d[i];
    return n_kept;
}

void stv__day_seal(struct stv__day_list *list)
{
    list->n = stv__days_once(list->days_d, list->n);
}

size_t stv__day_index(const int64_t *days_d, size_t n, int64_t day_d)
{
    const int64_t *found = n ? bsearch(&day_d, days_d, n, sizeof *days_d, compare_days) : NULL;
    return found ? (size_t)(found - days_d) : n;
}
