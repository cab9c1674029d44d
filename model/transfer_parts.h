/* Private to transfer*.c: windows first, then receivers. */
#ifndef STV_MODEL_TRANSFER_PARTS_H
#define STV_MODEL_TRANSFER_PARTS_H

#include "model/transfer.h"

/* The request with a ledger that ends on the day of the answer. */
struct stv__transfer_work {
    const struct stv_transfer_request *ask;
    struct stv_ledger past;
    size_t n_draws;
    struct stv_transfers *out;
};

/* Fills the items' leaving.  Errors: those of stv_outlook_run. */
STV_MUST_CHECK enum stv_status stv__transfer_windows(const struct stv__transfer_work *work);

/* Lists the empty casks of each item that wants one: facts, faults, order of trial. */
STV_MUST_CHECK enum stv_status stv__transfer_list(const struct stv__transfer_work *work);

/* Order of two receivers by what is known without a trial, for qsort: those that could serve first,
 * then what was wet lately, then the fullest, then the book's order. */
int stv__receiver_by_fit(const void *a, const void *b);

/* Tries them, ranks them, and gives each to one.  Errors: those of stv_outlook_run. */
STV_MUST_CHECK enum stv_status stv__transfer_try(const struct stv__transfer_work *work);

#endif
