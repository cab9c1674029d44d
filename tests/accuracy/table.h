/* The table of published observations beside what the model says, row by row, as GitHub's
 * markdown.  The Source: of a row's figures is its own text. */
#ifndef STV_TESTS_ACCURACY_TABLE_H
#define STV_TESTS_ACCURACY_TABLE_H

#include "tests/accuracy/store.h"

#include <stddef.h>

enum acc_kind {
    ACC_SIZE, /* a figure, or a range of figures */
    ACC_LAW,  /* a sign, an order, a standstill: it holds in a trial or it does not */
    ACC_USED  /* a size that helped to choose the defaults: no check */
};

struct acc_row {
    const char *what;     /* with its source: author, journal, year; second-hand ones say so */
    const char *measured; /* in words */
    const char *unit;     /* behind the model's figures; "" for none */
    double least, most; /* measured, in the model's unit, equal for one figure; a law holds between
                           them */
    int digits;         /* of the model's figures, behind the point */
    enum acc_kind kind;
    enum acc_place place, other_place; /* ACC_NOWHERE where there is none */
};

enum acc_verdict {
    ACC_INSIDE,
    ACC_OVERLAPS,
    ACC_OUTSIDE,
    ACC_AGREES,
    ACC_MOSTLY,
    ACC_DISAGREES,
    ACC_NO_CHECK,
    ACC_VERDICTS
};

struct acc_table {
    int is_used[ACC_PLACES];
    size_t n_verdicts[ACC_VERDICTS];
};

/* Prints one row and counts its verdict.
 *
 * values   n, one of each trial, in the row's unit; sorted in place; NaN counts in no range and
 *          breaks a law */
void acc_print(struct acc_table *table, const struct acc_row *row, double *values, size_t n);

/* The rows, in their order. */
void acc_loss_rows(struct acc_table *table);
void acc_strength_rows(struct acc_table *table);
void acc_region_rows(struct acc_table *table);
void acc_oak_rows(struct acc_table *table);
void acc_ester_rows(struct acc_table *table);
void acc_used_rows(struct acc_table *table);

/* What the keys of climates in the rows so far mean, and how many rows agreed. */
void acc_print_climates(const struct acc_table *table);
void acc_print_tally(const struct acc_table *table);

#endif
