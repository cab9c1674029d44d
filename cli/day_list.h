/* Days, ascending and each once. */
#ifndef STV_CLI_DAY_LIST_H
#define STV_CLI_DAY_LIST_H

#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* Sorts days and keeps each once; returns how many are left. */
size_t stv__days_once(int64_t *days_d, size_t n);
/* Index of a day among such days; n when it is not there. */
size_t stv__day_index(const int64_t *days_d, size_t n, int64_t day_d);

/* A list that grows; sealed, its days are ascending and each once. */
struct stv__day_list {
    int64_t *days_d;
    size_t n, capacity;
};
STV_MUST_CHECK enum stv_status stv__day_add(struct stv__day_list *list, int64_t day_d);
void stv__day_seal(struct stv__day_list *list);

#endif
