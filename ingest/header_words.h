/* What a column's header says by itself: "Temp (°F)", "temp_max_c", "RH %", "Date Time". */
#ifndef STV_INGEST_HEADER_WORDS_H
#define STV_INGEST_HEADER_WORDS_H

#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_HEADER_TOKENS_MAX 16
#define STV_HEADER_TOKEN_BYTES 16

/* A header cut into lower-case words; bytes outside ASCII are dropped, so that a degree sign in
 * any encoding, even a broken one, does not count. */
struct stv_header_words {
    char token[STV_HEADER_TOKENS_MAX][STV_HEADER_TOKEN_BYTES];
    size_t n;
};

void stv_header_split(const char *name, struct stv_header_words *out);
bool stv_header_has(const struct stv_header_words *words, const char *token);

/* A column of dates, of times of day, or of both. */
bool stv_header_is_date(const struct stv_header_words *words);
bool stv_header_is_time(const struct stv_header_words *words);

struct stv_header_quantity {
    enum stv_weather_quantity quantity;
    bool is_sea_level;
    const char *unit; /* as stv_reading_scale takes it; "" when the header names none */
};

/* The quantity of a header; false when it is none that is known, or one that only looks like it
 * (wet bulb, heat index, soil, alarm limits, wind direction). */
bool stv_header_quantity(const struct stv_header_words *words, struct stv_header_quantity *out);

#endif
