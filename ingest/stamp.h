/* Date-times as services and loggers write them, read in two steps: the numbers of one stamp,
 * then, from the whole file, which of them is the day. */
#ifndef STV_INGEST_STAMP_H
#define STV_INGEST_STAMP_H

#include "ingest/clock.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum stv_stamp_order { STV_YEAR_FIRST, STV_DAY_FIRST, STV_MONTH_FIRST };

struct stv_stamp {
    int32_t year;
    int32_t first, second; /* month and day when is_year_first, else as written: 3/4/2024 */
    int32_t second_s;      /* of the day, 0..86400; 24:00 is the next day's 00:00 */
    int32_t offset_min;    /* east positive, when has_offset */
    bool is_year_first, has_time, has_offset;
    bool is_serial; /* a spreadsheet's day number, counted from 1899-12-30 */
};

/* Reads the numbers of one stamp, without deciding which is the day.
 *
 * text  2024-03-14, 2024/03/14, 14.03.2024, 14/03/2024, 3/14/24 (years 70..99 are 19xx), each
 *       alone or with T or blanks and 7:05, 07:05, 07:05:30, 07:05:30.25, with AM or PM, and
 *       at last Z, UTC, +05:30, -0700 or +02.  Also 20240314, and 202403140705; months by their
 *       English names (5-Mar-24, 14 March 2024, Mar 14, 2024); seconds or milliseconds since 1970;
 *       a spreadsheet's day number with its fraction (45415.25).
 *
 * Shape:  false when anything else stands there, a number is out of range, or text is left over;
 *         *out is untouched then.  Fractions of a second are dropped. */
bool stv_stamp_read(const char *text, struct stv_stamp *out);

/* What the stamps met so far say about day and month. */
struct stv_stamp_vote {
    size_t n_numbers;                 /* stamps with the year last */
    size_t n_first_day, n_second_day; /* a number above 12 there */
    size_t n_next_day[2]; /* changes of date that are one day on, read day first, month first */
    size_t n_changes;
    struct stv_stamp last;
};

/* Counts one stamp.  A zeroed vote is an empty one; stamps come in file order. */
void stv_stamp_vote_add(struct stv_stamp_vote *vote, const struct stv_stamp *stamp);

/* Decides for the whole file.  A number above 12 decides.  If there is none, the reading under
 * which the dates go on day by day does, when the other reading never does.
 * Errors:  STV_E_PARSE  both readings are possible, or neither; `why` says so and what to do */
STV_MUST_CHECK enum stv_status stv_stamp_vote_order(const struct stv_stamp_vote *vote,
                                                    enum stv_stamp_order *out, char *why,
                                                    size_t size);

/* Wall time counted as if it were UTC seconds since 1970; false for a day that does not exist. */
bool stv_stamp_local_s(const struct stv_stamp *stamp, enum stv_stamp_order order,
                       int64_t *out_local_s);

/* Follows the stamps of one file through the changes of its clock. */
struct stv_stamp_walk {
    struct stv_clock clock;
    int64_t last_local_s;
    bool has_last, is_second_pass;
};

/* UTC instant of the next stamp of the file.  In the double hour the first pass is summer time,
 * until the wall time goes back.  A stamp with its own offset needs no clock.
 * Errors:  STV_E_DOMAIN  the wall time does not exist (spring hole) */
STV_MUST_CHECK enum stv_status stv_stamp_walk_utc(struct stv_stamp_walk *walk,
                                                  const struct stv_stamp *stamp, int64_t local_s,
                                                  int64_t *out_time_s);

/* "2024-03-14 07:05" in UTC plus an offset, for messages; size at least STV_STAMP_TEXT. */
#define STV_STAMP_TEXT 32
void stv_stamp_text(int64_t time_s, int32_t utc_offset_min, char *buffer, size_t size);

#endif
