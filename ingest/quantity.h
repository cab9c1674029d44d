/* A number with its unit, as people type it: "124.6 US proof", "84 F", "476 lb", "60 %vol". */
#ifndef STV_INGEST_QUANTITY_H
#define STV_INGEST_QUANTITY_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum stv_dimension {
    STV_DIM_NUMBER,       /* no unit */
    STV_DIM_TEMPERATURE,  /* C, F, K                     -> C */
    STV_DIM_TEMP_STEP,    /* K, C, F                     -> K */
    STV_DIM_VOLUME,       /* L, l, ml, cl, m3, US gal    -> L */
    STV_DIM_MASS,         /* kg, g, lb                   -> kg */
    STV_DIM_LENGTH,       /* m, cm, mm, ft, in           -> m */
    STV_DIM_AREA,         /* m2, cm2, sq ft              -> m2 */
    STV_DIM_STRENGTH,     /* %vol, % vol, US proof, UK proof, %mass -> fraction by volume at 20 C */
    STV_DIM_FRACTION,     /* %, or plain 0..1            -> fraction */
    STV_DIM_TIME,         /* h, d, months, y             -> d */
    STV_DIM_ANGLE,        /* deg, N, S, E, W             -> deg, south and west negative */
    STV_DIM_PRESSURE,     /* Pa, hPa, mbar, kPa, inHg    -> Pa */
    STV_DIM_SPEED,        /* m/s, km/h, mph, kn          -> m/s */
    STV_DIM_IRRADIANCE,   /* W/m2                        -> W/m2 */
    STV_DIM_AIR_CHANGE,   /* 1/h                         -> 1/h */
    STV_DIM_LATITUDE,     /* deg, N, S                   -> deg, south negative */
    STV_DIM_LONGITUDE,    /* deg, E, W                   -> deg, west negative */
    STV_DIM_CONDUCTIVITY, /* W/mK                      -> W/(m K) */
    STV_DIM_DENSITY,      /* kg/m3, g/cm3              -> kg/m3 */
    STV_DIM_HEAT_CAPACITY, /* J/kgK, kJ/kgK             -> J/(kg K) */
    STV_DIM_RESISTANCE,    /* m2K/W                     -> m2 K/W */
    STV_DIM_FILM,          /* W/m2K                     -> W/(m2 K) */
    STV_DIM_POWER,         /* W, kW                     -> W */
    STV_DIM_MASS_RATE,     /* kg/h, g/h, kg/yr, t/yr    -> kg/h */
    STV_DIM_N
};

/* Reads a whole token: a number, and a unit after it.
 *
 * text          as typed; blanks around and inside the unit do not count
 * default_unit  taken when the text has none; NULL means that a unit must be said.  A number and
 *               a fraction need none: a plain fraction lies in -1..1
 * out           in the unit of the dimension; NaN when the status is not OK
 * why           size bytes; on failure what was wrong and what to write instead, starting in lower
 *               case, without the text found
 *
 * Refused: decimal comma, "proof" and "gal" without a country, "%" as a strength, nan, inf,
 *          hexadecimal, leading zeros, anything after the unit.
 * Errors:  STV_E_PARSE   not a number, no unit, an unknown unit
 *          STV_E_DOMAIN  a unit of another dimension, or a value that cannot be (below absolute
 *                        zero, 110 %vol, a negative volume)
 * Source:  factors: international yard and pound (1959, exact), US gallon 231 cubic inches
 *          (exact), imperial gallon 4.54609 L (exact), NIST SP 811 (2008) for inHg; strengths:
 *          see model/spirit.h */
STV_MUST_CHECK enum stv_status stv_quantity_parse(const char *text, enum stv_dimension dimension,
                                                  const char *default_unit, double *out, char *why,
                                                  size_t size);

/* True when text is one of the units of a dimension; `why` as above when it is not. */
bool stv_unit_fits(const char *unit, enum stv_dimension dimension, char *why, size_t size);

/* "temperature", "volume", ... for messages; "" outside the enum. */
const char *stv_dimension_name(enum stv_dimension dimension);

/* What comes after "is outside": "12 to 40 C", or "what is possible: at least 0 L" when an end is
 * infinite.  Strengths and fractions are shown in per cent, times in years. */
void stv_range_text(enum stv_dimension dimension, double least, double most, char *buffer,
                    size_t size);

/* A whole number from least to most, digits alone.  Errors: STV_E_PARSE, STV_E_DOMAIN, *out
 * untouched, `why` as above. */
STV_MUST_CHECK enum stv_status stv_count_parse(const char *text, const size_t range[2], size_t *out,
                                               char *why, size_t size);

/* A date written 2024-03-14, years 1900 to 2199, as days since 1970-01-01.
 * Errors: STV_E_PARSE not so written, STV_E_DOMAIN no such day; *out untouched, `why` as above. */
STV_MUST_CHECK enum stv_status stv_date_parse(const char *text, int64_t *out_day_d, char *why,
                                              size_t size);

/* The known word nearest to a text by edit distance (a swap of neighbours counts one), ignoring
 * case; the first of equals; NULL when none is within a third of the text's length (at least one).
 * Used for keys, commands, options, units. */
const char *stv_nearest_word(const char *text, const char *const *words, size_t n);

/* What to say of a text that is none of n words: the nearest, else all of them. */
void stv_word_advice(const char *text, const char *const *words, size_t n, char *why, size_t size);

#endif
