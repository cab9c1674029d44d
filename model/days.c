#include "model/days.h"

#include <stdlib.h>

static int compare_days(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

size_t stv_days_sort(int64_t *days_d, size_t n)
{
    size_t kept = 0;
    if (n > 0)
        qsort(days_d, n, sizeof *days_d, compare_days);
    for (size_t i = 0; i < n; i++)
        if (kept == 0 || days_d[i] != days_d[kept - 1])
            days_d[kept++] = days_d[i];
    return kept;
}

size_t stv_days_find(const int64_t *days_d, size_t n, int64_t day_d)
{
    const int64_t *found = n ? bsearch(&day_d, days_d, n, sizeof *days_d, compare_days) : NULL;
    return found ? (size_t)(found - days_d) : n;
}
