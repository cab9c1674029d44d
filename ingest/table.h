/* A CSV that a person types: known columns, a unit in each cell or header, every fault located.
 *
 * The first row names the columns, in any order and any letter size, by our names or by another
 * that can mean nothing else (table_open.c); a unit may stand behind a name in brackets:
 * "litres [L]", "litres (L)".  A cell that is empty or "-" says nothing.
 *
 * Taken, and said once for a column (STV_NOTED): where cells are separated by semicolons or tabs,
 * decimal commas of a whole column; dates like 13/04/2024, when a number above 12 decides for the
 * whole column; blanks that are none, typographic minus signs, TRUE and FALSE for yes and no.
 * Refused: what can be read two ways, and what a spreadsheet has made of a cell. */
#ifndef STV_INGEST_TABLE_H
#define STV_INGEST_TABLE_H

#include "ingest/csv.h"
#include "ingest/date_typed.h"
#include "ingest/measured.h"
#include "ingest/problem.h"
#include "ingest/quantity.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_TABLE_COLUMNS_MAX 24
#define STV_TABLE_UNIT_MAX 16

struct stv_table_column {
    const char *name;
    bool is_required;             /* the column must be there; its cells may still be empty */
    enum stv_dimension dimension; /* of a quantity; STV_DIM_N for words, dates and counts */
};

/* What the caller says before opening. */
struct stv_table_spec {
    const char *file; /* as the user would type it */
    const struct stv_table_column *columns;
    size_t n_columns;         /* at most STV_TABLE_COLUMNS_MAX */
    const char *const *units; /* default unit by dimension, STV_DIM_N of them, NULL = none */
    enum stv_hemisphere side; /* of the house, for dates that name a season */
};

struct stv_table {
    struct stv_csv csv;
    struct stv_table_spec spec;
    struct stv_problems *problems;
    size_t index[STV_TABLE_COLUMNS_MAX]; /* place in the file; SIZE_MAX when absent */
    char unit[STV_TABLE_COLUMNS_MAX][STV_TABLE_UNIT_MAX]; /* from the header; "" = none */
    bool has_decimal_comma[STV_TABLE_COLUMNS_MAX];
    bool has_commas[STV_TABLE_COLUMNS_MAX]; /* some number of the column has one */
    bool writes_decimal_commas;             /* some column does */
    enum stv_date_order date_order[STV_TABLE_COLUMNS_MAX];
    unsigned said[STV_TABLE_COLUMNS_MAX]; /* notes that a column has given: table_parts.h */
    size_t row;                           /* csv row at hand; 0 is the header */
    bool row_is_refused;                  /* anything of the row at hand was refused */
    bool row_is_garbled; /* its cells do not stand under their columns: refused once, not by cell */
};

/* Opens a table and checks its header.  With an unknown or missing column the table can still be
 * read, so that faults of the rows are found too.
 * Errors: STV_E_IO, STV_E_PARSE cannot be read at all; STV_E_MEMORY; all said in problems.
 * Memory: free with stv_table_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_table_open(const char *path, struct stv_table_spec spec,
                                              struct stv_problems *problems, struct stv_table *out);
void stv_table_free(struct stv_table *table);

/* What the note of an empty book's example rows says. */
#define STV_EXAMPLE_NOTE "example: write over it"

/* Steps to the next row that says anything; false at the end. */
bool stv_table_next(struct stv_table *table);

/* Place in the spec of a column of that name, ignoring case; SIZE_MAX when there is none. */
size_t stv_table_column(const struct stv_table *table, const char *name);

/* Line of the row at hand. */
size_t stv_table_line(const struct stv_table *table);

/* The getters take the column's place in the spec.  They return false when the cell says nothing,
 * or when it is refused, which sets row_is_refused; *out is untouched then. */
bool stv_table_text(struct stv_table *table, size_t column, char *buffer, size_t size);
bool stv_table_quantity(struct stv_table *table, size_t column, double least, double most,
                        double *out);
/* A quantity that may end with what it is off by, "57.2 %vol +- 0.1"; of a mass or a volume also a
 * sum, "96.4 kg + 120.2 kg".  least and most bound the value. */
bool stv_table_measured(struct stv_table *table, size_t column, double least, double most,
                        struct stv_measured *out);
/* The same cell as a quantity of another dimension that says its unit; false, without a word, when
 * it is none. */
bool stv_table_measured_as(const struct stv_table *table, size_t column,
                           enum stv_dimension dimension, struct stv_measured *out);
bool stv_table_count(struct stv_table *table, size_t column, const size_t range[2], size_t *out);
bool stv_table_flag(struct stv_table *table, size_t column, bool *out);
/* A day that must be said; a month or a year is refused. */
bool stv_table_date(struct stv_table *table, size_t column, int64_t *out_day_d);
/* A date as vague as it is (date_typed.h), said as STV_NOTED; the width is 0 for a day. */
bool stv_table_vague_date(struct stv_table *table, size_t column, int64_t *out_day_d,
                          double *out_width_d);
/* One of n words, ignoring case. */
bool stv_table_word(struct stv_table *table, size_t column, const char *const *words, size_t n,
                    size_t *out);

/* What a text would be, standing in a column of measured quantities, without saying anything of it.
 * Errors: see stv_measured_parse. */
STV_MUST_CHECK enum stv_status stv_table_reading(const struct stv_table *table, size_t column,
                                                 const char *text, struct stv_measured *out,
                                                 char *why, size_t size);

/* The unit of a cell of that column that has none: the header's, else the book's; NULL for none. */
const char *stv_table_unit(const struct stv_table *table, size_t column);

/* Steps to the row on a line of the file, or to the last one before it; the getters speak of it
 * then. */
void stv_table_go_to(struct stv_table *table, size_t line);

/* Adds a finding about a cell of the row at hand; printf-formatted. */
__attribute__((format(printf, 4, 5))) void stv_table_say(struct stv_table *table,
                                                         enum stv_severity severity, size_t column,
                                                         const char *format, ...);

/* True when the cell says something. */
bool stv_table_has(const struct stv_table *table, size_t column);

/* Refuses the row at a column's cell; printf-formatted.  stv_table_need refuses an empty cell. */
__attribute__((format(printf, 3, 4))) void stv_table_refuse(struct stv_table *table, size_t column,
                                                            const char *format, ...);
bool stv_table_need(struct stv_table *table, size_t column, const char *what);

#endif
