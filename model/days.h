/* Lists of days, ascending and each once. */
#ifndef STV_MODEL_DAYS_H
#define STV_MODEL_DAYS_H

#include <stddef.h>
#include <stdint.h>

/* Sorts n days in place and keeps each once; returns how many are left. */
size_t stv_days_sort(int64_t *days_d, size_t n);

/* Index of a day among n ascending ones; n when it is not there. */
size_t stv_days_find(const int64_t *days_d, size_t n, int64_t day_d);

#endif
