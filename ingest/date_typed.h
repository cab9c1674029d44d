/* Dates as people write them into a table: a day, a month, a year, each exact or about. */
#ifndef STV_INGEST_DATE_TYPED_H
#define STV_INGEST_DATE_TYPED_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A day with what is not known of it: the true day lies within width_d on either side. */
struct stv_date_typed {
    int64_t day_d;  /* days since 1970-01-01; the middle when it is a span */
    double width_d; /* half the span; 0 when the day was said */
};

/* Which of the first two numbers in 03/04/2024 is the day. */
enum stv_date_order {
    STV_ORDER_OPEN, /* nothing in the column says */
    STV_ORDER_DAY_FIRST,
    STV_ORDER_MONTH_FIRST,
    STV_ORDER_BOTH /* the column has dates that can only be the one and dates only the other */
};

/* On which half of the earth a season is meant. */
enum stv_hemisphere { STV_HEMISPHERE_UNSAID, STV_NORTH, STV_SOUTH };

/* What one cell says about the order: STV_ORDER_OPEN when it is no such date, or can be both. */
enum stv_date_order stv_date_typed_order(const char *text);

/* Reads a date.
 *
 * text   2024-03-14, 14 March 2024, 14-Mar-2024, 14.03.2024; 2019-10, Oct 2019, 10/2019; 2019;
 *        autumn 2019 where the hemisphere is said; before it about, around, circa, c. or ~, early,
 * mid or late; behind it say, or so, ? order  of the whole column, by which 03/04/2024 is read side
 * where the house stands why    size bytes; what was wrong and what to write instead, starting in
 * lower case
 *
 * A month, a season of three whole months or a year is taken at its middle.  "about", "around",
 * "circa", "~" and "or so" double the width, and make of a day a week on either side; "early",
 * "mid" and "late" are thirds; "say" and
 * "?" make of a day a week and add nothing to what is a span already.  All judgement.
 *
 * Refused: two readings (also the season over New Year), years of two figures, no year, quarters,
 *          seasons where the side is unsaid, a spreadsheet's day count.
 * Errors:  STV_E_PARSE   not a date, or two readings; STV_E_DOMAIN no such day, or a year outside
 *          1900 to 2199; *out untouched */
STV_MUST_CHECK enum stv_status stv_date_typed_read(const char *text, enum stv_date_order order,
                                                   enum stv_hemisphere side,
                                                   struct stv_date_typed *out, char *why,
                                                   size_t size);

/* "14 March 2024" into buffer; size at least STV_DATE_WORDS. */
#define STV_DATE_WORDS 32
void stv_date_words(int64_t day_d, char *buffer, size_t size);

/* Month 1..12 of an English name, full or cut to three letters or more, in any letter size;
 * 0 for anything else.  n letters of text are looked at. */
int32_t stv_month_from_name(const char *text, size_t n);

#endif
