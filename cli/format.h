/* Numbers and dates as people read them, as values that can stand in one printf.  What is not
 * known reads "-". */
#ifndef STV_CLI_FORMAT_H
#define STV_CLI_FORMAT_H

#include "model/quantiles.h"

#include <stddef.h>
#include <stdint.h>

#define STV_FORMAT_MAX 64
struct stv_formatted {
    char text[STV_FORMAT_MAX];
};

/* Any words, cut to what fits. */
__attribute__((format(printf, 1, 2))) struct stv_formatted stv_format(const char *format, ...);

/* "1 cask", "58 casks". */
struct stv_formatted stv_format_count(size_t n, const char *one, const char *many);
/* 16,900 without decimals from ten thousand on, else 9876.5; decimals 0..6. */
struct stv_formatted stv_format_number(double value, int decimals);
/* +0.76, -1.2; a value that rounds to nothing has no sign. */
struct stv_formatted stv_format_signed(double value, int decimals);
/* "175 (172 to 177)": middle and the 5 and 95 % points; one number alone when they are equal. */
struct stv_formatted stv_format_range(struct stv_range range, int decimals);
/* "-4.6 (-5.9 to -3.3)", "+1.1 (+0.2 to +4.2)" */
struct stv_formatted stv_format_signed_range(struct stv_range range, int decimals);

/* "12 December 2027", "Dec 2027", "2027-12-12". */
struct stv_formatted stv_format_day(int64_t day_d);
struct stv_formatted stv_format_month(int64_t day_d);
struct stv_formatted stv_format_iso_day(int64_t day_d);
/* UTC instant as "2013-07-01T05:00:00Z". */
struct stv_formatted stv_format_iso_time(int64_t time_s);
/* Day of a 365-day year, 0..364: "20 May" and "05-20"; negative: "-" and "". */
struct stv_formatted stv_format_doy(int doy);
struct stv_formatted stv_format_iso_doy(int doy);
/* "20 May to 18 Aug". */
struct stv_formatted stv_format_doy_span(int from_doy, int to_doy);

#endif
