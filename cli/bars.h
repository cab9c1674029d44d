/* Ranges drawn with plain letters on one scale, for lines that only a terminal shows: what lies
 * where reads faster than numbers in brackets. */
#ifndef STV_CLI_BARS_H
#define STV_CLI_BARS_H

#include "model/quantiles.h"
#include "plots/text.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_BAR_COLUMNS_MOST 70

struct stv_bar_scale {
    double from, to;
    size_t n_columns; /* 2..STV_BAR_COLUMNS_MOST */
};

/* Range of one quantity: nine in ten drawn with the stroke, the middle with the mark. */
struct stv_bar {
    double low, middle, high;
    char stroke, mark;
};

/* Widens a scale, empty at first (NaN), so that it holds the bar. */
void stv_bar_scale_hold(struct stv_bar_scale *scale, const struct stv_bar *bar);

/* Adds n bars on one line, n_columns wide; where two strokes lie on one another the later is seen,
 * and a mark is always seen. */
void stv_bars_add(struct stv_text *text, const struct stv_bar_scale *scale,
                  const struct stv_bar *bars, size_t n);

/* Adds the ends of a scale in as many columns, with so many decimals and a unit at the right. */
void stv_bar_scale_add(struct stv_text *text, const struct stv_bar_scale *scale, int n_decimals,
                       const char *unit);

#endif
