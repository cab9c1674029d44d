/* What the opening of a table (table_open.c) and its reading (table.c) share. */
#ifndef STV_INGEST_TABLE_PARTS_H
#define STV_INGEST_TABLE_PARTS_H

#include "ingest/problem.h"
#include "ingest/table.h"

/* How a cell's number uses commas and points. */
enum stv__comma_style {
    STV__NO_COMMA,           /* neither, or no number */
    STV__COMMA_OR_THOUSANDS, /* 1,950 */
    STV__COMMA,              /* 195,5 */
    STV__POINT_OR_THOUSANDS, /* 1.950 */
    STV__POINT,              /* 195.5 */
    STV__BOTH,               /* 1.950,5 or 1,950.5 */
    STV__COMMA_STYLES
};
enum stv__comma_style stv__comma_style(const char *text);

/* Notes that a column gives once, as bits. */
#define STV__SAID_TRUTH 1u
#define STV__SAID_ORDER 2u

/* Character column of a cell; a cell beyond the row's end has none. */
size_t stv__table_place(const struct stv_table *table, size_t row, size_t index);

/* Adds a finding about a cell by its place in the file. */
__attribute__((format(printf, 5, 6))) void stv__table_say(struct stv_table *table,
                                                          enum stv_severity severity, size_t row,
                                                          size_t index, const char *format, ...);

#endif
