/* What the parts that read gauges.csv share. */
#ifndef STV_INGEST_GAUGE_PARTS_H
#define STV_INGEST_GAUGE_PARTS_H

#include "ingest/book_parts.h"
#include "ingest/gauge_numbers.h"

/* Columns of gauges.csv. */
enum stv__gauge_column {
    STV__GAUGE_DATE,
    STV__GAUGE_CASK,
    STV__GAUGE_LITRES,
    STV__GAUGE_STRENGTH,
    STV__GAUGE_READING,
    STV__GAUGE_TEMP,
    STV__GAUGE_GROSS,
    STV__GAUGE_TARE,
    STV__GAUGE_TARE_WAS,
    STV__GAUGE_NET,
    STV__GAUGE_DIP,
    STV__GAUGE_DRY_DIP,
    STV__GAUGE_COLOUR,
    STV__GAUGE_NOSE,
    STV__GAUGE_BLIND,
    STV__GAUGE_BY,
    STV__GAUGE_SEEPS,
    STV__GAUGE_NOTE,
    STV__GAUGE_COLUMNS
};

/* The table while it is read, and what was said of it once. */
struct stv__gauge_sheet {
    struct stv_table *table;
    const struct stv_gauge_numbers *numbers;
    bool has_said_dry, has_said_unsaid;
};

/* Reads litres, strength, weights and dips of the row at hand.  Without a cask (NULL: its cell was
 * refused) the cells are checked as far as they stand alone. */
void stv__gauge_amounts(struct stv__gauge_sheet *sheet, const struct stv_cask *cask,
                        struct stv_gauge *out);

/* Reads colour, nose, blind, by and seeps. */
void stv__gauge_senses(struct stv_table *table, struct stv_gauge *out);

/* The cell that the litres, or the strength, of a gauge come from. */
enum stv__gauge_column stv__gauge_litres_column(const struct stv_gauge *gauge);
enum stv__gauge_column stv__gauge_strength_column(const struct stv_gauge *gauge);

/* Holds every gauge against the history: refuses those of a cask that held nothing that day, and
 * the same gauge twice; leaves out those that hang on a refused row; marks what may not be mixed
 * and colours that are not wood's alone.  The ledger must be checked.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__gauge_days(struct stv__book_reader *reader);

#endif
