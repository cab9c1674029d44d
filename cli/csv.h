/* Tables as CSV: comma, decimal point, quotes as RFC 4180, units in the column names. */
#ifndef STV_CLI_CSV_H
#define STV_CLI_CSV_H

#include "cli/options.h"
#include "plots/sheet.h"

/* The heads of a table from names cut at commas; "NAME*" stands for the five columns of a range,
 * NAME_p05 .. NAME_p95. */
void stv_csv_heads(struct stv_sheet *table, const char *names);

/* Adds a range times a factor as five cells. */
void stv_csv_range(struct stv_sheet *table, struct stv_range range, double factor_nd);

/* Adds a number; its decimals only matter for people, CSV has 9 significant digits. */
void stv_csv_number(struct stv_sheet *table, double value);

/* Adds the one-based number of a zero-based index, an empty cell when it is negative. */
void stv_csv_place(struct stv_sheet *table, int idx);

/* Writes the table where -o says, and frees it.  Errors: as stv_output_write. */
STV_MUST_CHECK enum stv_status stv_csv_write(const struct stv_options *options,
                                             struct stv_sheet *table);

#endif
