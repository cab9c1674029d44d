/* What a file's stamps mean: UTC, a fixed offset, or local time by a POSIX TZ rule. */
#ifndef STV_INGEST_CLOCK_H
#define STV_INGEST_CLOCK_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* POSIX Mm.w.d/time: week 5 is the month's last, weekday 0 is Sunday. */
struct stv_clock_rule {
    int month, week, weekday;
    int32_t second_s; /* of that day, local time before the change; may be negative */
};

struct stv_clock {
    int32_t standard_offset_min; /* east positive: UTC+10:00 is 600 */
    int32_t summer_offset_min;
    bool has_summer;
    struct stv_clock_rule to_summer, to_standard; /* in local time of the moment */
};

/* Reads a clock as people type it.
 *
 * text  "UTC", "UTC-07:00", "UTC+5:30" (east positive), or a POSIX TZ rule such as
 *       "MST7MDT,M3.2.0,M11.1.0" (west positive, as POSIX has it)
 * why   receives what is wrong and what to write instead; may be NULL when size is 0
 *
 * Errors:  STV_E_PARSE  anything else; day-of-year rules (Jn, n); offsets beyond 15 h
 *          (UTC+15:00); a summer time without its rules.  *out is untouched.
 * Source:  POSIX.1-2017, Base Definitions, 8.3, TZ
 * Memory:  allocates nothing */
STV_MUST_CHECK enum stv_status stv_clock_parse(const char *text, struct stv_clock *out, char *why,
                                               size_t size);

/* UTC instant of a local wall time.
 *
 * local_s      wall time, counted as if it were UTC seconds since 1970
 * second_pass  in the autumn's double hour: false takes the earlier instant, true the later
 *
 * Errors:  STV_E_DOMAIN  the wall time does not exist (spring hole); *out_time_s is untouched
 * Assumes: the rules held in every year.  They are not a history of the law. */
STV_MUST_CHECK enum stv_status stv_clock_utc(const struct stv_clock *clock, int64_t local_s,
                                             bool second_pass, int64_t *out_time_s);

/* True when the wall time happens twice. */
bool stv_clock_is_double(const struct stv_clock *clock, int64_t local_s);

#endif
