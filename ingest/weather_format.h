/* One interface for every format in which a service serves weather: is it mine, and read it.
 *
 * A format's reader walks over the lines, gives each row's time and values in our units, and says
 * what the file tells of itself: clock, place, typical year.  What is common to all (order,
 * repeats, limits, averaging) comes after it, in weather_grid.c. */
#ifndef STV_INGEST_WEATHER_FORMAT_H
#define STV_INGEST_WEATHER_FORMAT_H

#include "ingest/clock.h"
#include "ingest/lines.h"
#include "ingest/problem.h"
#include "ingest/samples.h"
#include "ingest/weather_file.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_FLAGS_MAX 64

/* Values left out for one reason that is the service's own: a quality code, an edit. */
struct stv_weather_flag {
    enum stv_weather_quantity quantity;
    char code[16];
    size_t count, first_line, last_line;
};

struct stv_weather_text {
    /* Set before the reader runs. */
    const char *text;
    size_t n;
    const char *file; /* for messages */
    struct stv_problems *problems;
    const char *station; /* asked for; "" when none was */

    /* Found by the reader. */
    struct stv_samples samples;
    struct stv_weather_meta meta; /* clock, site, is_typical, step_s, source: what the file says */
    int32_t shift_s[STV_WQ_N];    /* added to a row's time before its value is put into an hour */
    bool is_daily;                /* times are local midnights, counted as if they were UTC */
    bool is_local; /* times are local standard time counted as if it were UTC, and the file does not
                      say how far from UTC that is (else set meta.clock and give UTC) */
    bool cuts_days_by_clock; /* even when the clock is UTC */
    bool has_chosen;  /* among the stations of the file; set by stv__weather_choose */
    bool has_reports; /* irregular reports, several at one time are ordinary */
    char stamps[128]; /* in words: "UTC, each report at its minute" */
    size_t n_rows;    /* data rows met: samples.n + n_set_aside + n_empty when the reader is done */
    size_t n_set_aside;
    size_t n_empty;              /* rows without any value */
    size_t n_at_limit[STV_WQ_N]; /* values brought back to their limit */
    size_t n_values_set_aside;
    size_t n_beyond[STV_WQ_N]; /* of them those that cannot be, whatever the weather */
    size_t n_estimated; /* temperatures that the service estimated */
    struct stv_weather_flag flags[STV_FLAGS_MAX];
    size_t n_flags;
    enum stv_status status; /* STV_E_MEMORY once memory ran out */
};

struct stv_weather_format {
    const char *name; /* "EPW": what the file is called in answers */
    /* True for a file of this format, told from its first lines.  n_lines at least 1. */
    bool (*is_mine)(const struct stv_line *lines, size_t n_lines);
    /* Reads the whole text.  Errors: STV_E_PARSE nothing in it can be trusted (said in problems,
     * as refused), STV_E_USAGE which station is meant is not said, STV_E_MEMORY */
    enum stv_status (*read)(struct stv_weather_text *file);
};

#define STV_HEAD_LINES 40

/* The format of a text; NULL when it is none of those known by name. */
const struct stv_weather_format *stv__weather_format_of(const char *text, size_t n);

/* For the readers. */

/* A row of values that are all missing. */
struct stv_weather_row {
    int64_t time_s;
    double values[STV_WQ_N];
};
struct stv_weather_row stv__weather_row(void);

/* Makes the columns, with room for the text's lines.  False without memory. */
bool stv__weather_begin(struct stv_weather_text *file, unsigned quantities);

/* Takes a row.  A row without any value is counted as a hole of the record, not as a fault. */
void stv__weather_take(struct stv_weather_text *file, const struct stv_line *line,
                       const struct stv_weather_row *row);
/* The same with a rank: of rows with one time the lowest counts. */
void stv__weather_take_ranked(struct stv_weather_text *file, const struct stv_line *line,
                              const struct stv_weather_row *row, uint8_t rank);

/* Sets a whole row aside; it counts as a row. */
void stv__weather_row_aside(struct stv_weather_text *file, const struct stv_line *line,
                            struct stv_slice found, const char *what);

/* Number of a cell in our unit, offset + factor * number.
 *
 * missing  the code that means "no value", NaN for none; an empty cell is always missing
 * Returns NaN for a missing value, for a word (set aside, said) and for what cannot be (set aside,
 * said). */
struct stv_weather_want {
    enum stv_weather_quantity quantity;
    double factor, offset, missing;
};
double stv__weather_value(struct stv_weather_text *file, const struct stv_line *line,
                          struct stv_slice cell, struct stv_weather_want want);

/* Counts a value that the service's own quality code rejects; said once for each code. */
void stv__weather_flagged(struct stv_weather_text *file, const struct stv_line *line,
                          enum stv_weather_quantity quantity, struct stv_slice code);

/* UTC seconds of a date and time taken as UTC.  hour 0..24, minute 0..59; 24 is only 24:00.
 * False when there is no such time, or the year is not 1850..2150. */
bool stv__weather_time(int32_t year, int32_t month, int32_t day, int32_t hour, int32_t minute,
                       int64_t *out_s);
/* The same from texts: "2024-03-14T07:05:00", "2024-03-14 07:05", "20240314", "2024031407",
 * "202403140705"; an offset behind it (Z, +02:00) is applied. */
bool stv__weather_stamp(struct stv_slice text, int64_t *out_s);

/* A row of a typical year: its month, day and hour 1..24 in the year STV_TYPICAL_YEAR, at its
 * hour's start, in local time counted as UTC.  False when there is no such hour, and for 29
 * February. */
bool stv__weather_typical_time(int32_t month, int32_t day, int32_t hour, int64_t *out_s);

/* Position of the station as the file gives it; elevation may be NaN.  False, with nothing set,
 * when it is not on the globe or is exactly 0, 0. */
bool stv__weather_site(struct stv_weather_text *file, double latitude_deg, double longitude_deg,
                       double elevation_m);

/* Fixed clock of the stamps: writes "UTC-06:00" into the description. */
void stv__weather_clock(struct stv_weather_text *file, double offset_h);

/* Every value belongs to the hour that ends at its stamp. */
void stv__weather_hour_ending(struct stv_weather_text *file);

/* Refuses the file; returns STV_E_PARSE. */
enum stv_status stv__weather_refuse(struct stv_weather_text *file, size_t line,
                                    struct stv_slice found, const char *what);

/* The station to read when the file holds several: the one asked for, else the only one.
 * stations  names in file order, each once
 * Errors:   STV_E_USAGE, with the names said */
STV_MUST_CHECK enum stv_status stv__weather_choose(struct stv_weather_text *file,
                                                   const struct stv_slice *stations, size_t n,
                                                   size_t *out_idx);

extern const struct stv_weather_format stv__format_epw, stv__format_tmy3, stv__format_tmy2,
    stv__format_tmy, stv__format_nsrdb, stv__format_isd_lite, stv__format_isd,
    stv__format_global_hourly, stv__format_ghcn_daily, stv__format_ghcn_daily_csv,
    stv__format_ghcn_daily_long, stv__format_ghcn_hourly, stv__format_lcd, stv__format_uscrn,
    stv__format_meteostat, stv__format_open_meteo, stv__format_dwd, stv__format_environment_canada,
    stv__format_asos, stv__format_asos_sheet, stv__format_midas, stv__format_pvgis;

#endif
