/* One value of a machine's file: its number, its unit, and whether it can be. */
#ifndef STV_INGEST_READING_H
#define STV_INGEST_READING_H

#include "ingest/quantity.h"
#include "model/status.h"
#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>

/* value = offset + factor * number, in the quantity's own unit. */
struct stv_scale {
    double offset, factor;
};

/* The dimension a quantity is measured in. */
enum stv_dimension stv_reading_dimension(enum stv_weather_quantity quantity);

/* "temperature", "humidity", ... for messages. */
const char *stv_reading_name(enum stv_weather_quantity quantity);

/* Scale of a unit.  Errors: STV_E_PARSE, STV_E_DOMAIN not a unit of this quantity, `why` says
 * what would be. */
STV_MUST_CHECK enum stv_status stv_reading_scale(enum stv_weather_quantity quantity,
                                                 const char *unit, struct stv_scale *out, char *why,
                                                 size_t size);

enum stv_reading_fault {
    STV_READING_GOOD,
    STV_READING_AT_LIMIT, /* used, brought back to the limit: a sensor at saturation */
    STV_READING_EMPTY,    /* no text */
    STV_READING_WORD,     /* text that is no number: NaN, Err, --- */
    STV_READING_CODE,     /* -999, 9999, -127, 85.0: codes for "no value" */
    STV_READING_BEYOND    /* a number that cannot be */
};

/* Reads a cell: a plain number with a point or, when there is no point, one comma; a minus sign
 * may be U+2212.  Hexadecimal, nan, inf and "21." (a cut number) are words.
 * When own_unit is not NULL it receives what follows the number, blanks and bytes outside ASCII
 * dropped; when it is NULL, anything after the number makes it a word.
 * Shape: false for a word and for an empty text. */
#define STV_OWN_UNIT_MAX 8
bool stv_reading_number(const char *text, double *out, char own_unit[STV_OWN_UNIT_MAX]);

/* Between these a value is certainly good. */
void stv_reading_limits(enum stv_weather_quantity quantity, double *out_least, double *out_most);

/* Checks a value against what can be.  number is as written, for the codes; *value is in the
 * quantity's own unit and is brought to the limit for STV_READING_AT_LIMIT. */
enum stv_reading_fault stv_reading_check(enum stv_weather_quantity quantity, double number,
                                         double *value);

/* What is wrong, for a message that starts with the column's name. */
const char *stv_reading_fault_text(enum stv_weather_quantity quantity,
                                   enum stv_reading_fault fault);

#endif
