/* Numbers with units, read by our own grammar so that nothing is guessed:
 *
 *     [+-] digits [. digits] [e [+-] digits] blanks unit
 *
 * and value = number * scale + offset in the dimension's unit, except for strengths on another
 * basis (proof, mass), which go through the density of spirit.  What it does not do: correct a
 * reading for the temperature at which it was taken. */
#include "ingest/quantity.h"

#include "model/calendar.h"
#include "model/spirit.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define UNIT_MAX 24
#define NUMBER_MAX 64 /* digits of a number that a person can have meant */

enum basis { LINEAR, US_PROOF, UK_PROOF, BY_MASS };

struct unit {
    const char *text;
    enum stv_dimension dimension;
    double scale, offset;
    enum basis basis;
};

#define MONTH_D (STV_YEAR_D / STV_MONTHS)
#define YEAR_H (STV_YEAR_D * STV_DAY_H)
#define FAHRENHEIT_OFFSET (-32.0 / 1.8)

/* Letters that differ in size mean the same where no other unit is spelt so. */
static const struct unit units[] = {
    {"C", STV_DIM_TEMPERATURE, 1.0, 0.0, LINEAR},
    {"°C", STV_DIM_TEMPERATURE, 1.0, 0.0, LINEAR},
    {"deg C", STV_DIM_TEMPERATURE, 1.0, 0.0, LINEAR},
    {"F", STV_DIM_TEMPERATURE, 1.0 / 1.8, FAHRENHEIT_OFFSET, LINEAR},
    {"°F", STV_DIM_TEMPERATURE, 1.0 / 1.8, FAHRENHEIT_OFFSET, LINEAR},
    {"deg F", STV_DIM_TEMPERATURE, 1.0 / 1.8, FAHRENHEIT_OFFSET, LINEAR},
    {"K", STV_DIM_TEMPERATURE, 1.0, -STV_ZERO_C_IN_K, LINEAR},
    {"K", STV_DIM_TEMP_STEP, 1.0, 0.0, LINEAR},
    {"C", STV_DIM_TEMP_STEP, 1.0, 0.0, LINEAR},
    {"deg C", STV_DIM_TEMP_STEP, 1.0, 0.0, LINEAR},
    {"deg F", STV_DIM_TEMP_STEP, 1.0 / 1.8, 0.0, LINEAR},
    {"°C", STV_DIM_TEMP_STEP, 1.0, 0.0, LINEAR},
    {"F", STV_DIM_TEMP_STEP, 1.0 / 1.8, 0.0, LINEAR},
    {"°F", STV_DIM_TEMP_STEP, 1.0 / 1.8, 0.0, LINEAR},
    {"L", STV_DIM_VOLUME, 1.0, 0.0, LINEAR},
    {"litres", STV_DIM_VOLUME, 1.0, 0.0, LINEAR},
    {"liters", STV_DIM_VOLUME, 1.0, 0.0, LINEAR},
    {"ml", STV_DIM_VOLUME, 0.001, 0.0, LINEAR},
    {"cl", STV_DIM_VOLUME, 0.01, 0.0, LINEAR},
    {"m3", STV_DIM_VOLUME, 1000.0, 0.0, LINEAR},
    {"m³", STV_DIM_VOLUME, 1000.0, 0.0, LINEAR},
    {"US gal", STV_DIM_VOLUME, STV_WINE_GALLON_L, 0.0, LINEAR},
    {"UK gal", STV_DIM_VOLUME, 4.54609, 0.0, LINEAR},
    {"US gallons", STV_DIM_VOLUME, STV_WINE_GALLON_L, 0.0, LINEAR},
    {"UK gallons", STV_DIM_VOLUME, 4.54609, 0.0, LINEAR},
    {"kg", STV_DIM_MASS, 1.0, 0.0, LINEAR},
    {"g", STV_DIM_MASS, 0.001, 0.0, LINEAR},
    {"lb", STV_DIM_MASS, STV_LB_KG, 0.0, LINEAR},
    {"lbs", STV_DIM_MASS, STV_LB_KG, 0.0, LINEAR},
    {"pounds", STV_DIM_MASS, STV_LB_KG, 0.0, LINEAR},
    {"m", STV_DIM_LENGTH, 1.0, 0.0, LINEAR},
    {"cm", STV_DIM_LENGTH, 0.01, 0.0, LINEAR},
    {"mm", STV_DIM_LENGTH, 0.001, 0.0, LINEAR},
    {"ft", STV_DIM_LENGTH, 0.3048, 0.0, LINEAR},
    {"in", STV_DIM_LENGTH, 0.0254, 0.0, LINEAR},
    /* A finger's breadth, three quarters of an inch: common practice, no published source. */
    {"finger", STV_DIM_LENGTH, 0.01905, 0.0, LINEAR},
    {"fingers", STV_DIM_LENGTH, 0.01905, 0.0, LINEAR},
    {"m2", STV_DIM_AREA, 1.0, 0.0, LINEAR},
    {"m²", STV_DIM_AREA, 1.0, 0.0, LINEAR},
    {"cm2", STV_DIM_AREA, 1e-4, 0.0, LINEAR},
    {"cm²", STV_DIM_AREA, 1e-4, 0.0, LINEAR},
    {"sq ft", STV_DIM_AREA, 0.09290304, 0.0, LINEAR},
    {"ft2", STV_DIM_AREA, 0.09290304, 0.0, LINEAR},
    {"%vol", STV_DIM_STRENGTH, 0.01, 0.0, LINEAR},
    {"% vol", STV_DIM_STRENGTH, 0.01, 0.0, LINEAR},
    {"vol%", STV_DIM_STRENGTH, 0.01, 0.0, LINEAR},
    {"%abv", STV_DIM_STRENGTH, 0.01, 0.0, LINEAR},
    {"% abv", STV_DIM_STRENGTH, 0.01, 0.0, LINEAR},
    {"US proof", STV_DIM_STRENGTH, 1.0, 0.0, US_PROOF},
    {"proof US", STV_DIM_STRENGTH, 1.0, 0.0, US_PROOF},
    {"UK proof", STV_DIM_STRENGTH, 1.0, 0.0, UK_PROOF},
    {"proof UK", STV_DIM_STRENGTH, 1.0, 0.0, UK_PROOF},
    {"%mass", STV_DIM_STRENGTH, 0.01, 0.0, BY_MASS},
    {"% mass", STV_DIM_STRENGTH, 0.01, 0.0, BY_MASS},
    {"%", STV_DIM_FRACTION, 0.01, 0.0, LINEAR},
    {"h", STV_DIM_TIME, 1.0 / STV_DAY_H, 0.0, LINEAR},
    {"hours", STV_DIM_TIME, 1.0 / STV_DAY_H, 0.0, LINEAR},
    {"d", STV_DIM_TIME, 1.0, 0.0, LINEAR},
    {"days", STV_DIM_TIME, 1.0, 0.0, LINEAR},
    {"weeks", STV_DIM_TIME, 7.0, 0.0, LINEAR},
    {"month", STV_DIM_TIME, MONTH_D, 0.0, LINEAR},
    {"months", STV_DIM_TIME, MONTH_D, 0.0, LINEAR},
    {"y", STV_DIM_TIME, STV_YEAR_D, 0.0, LINEAR},
    {"year", STV_DIM_TIME, STV_YEAR_D, 0.0, LINEAR},
    {"years", STV_DIM_TIME, STV_YEAR_D, 0.0, LINEAR},
    {"deg", STV_DIM_ANGLE, 1.0, 0.0, LINEAR},
    {"°", STV_DIM_ANGLE, 1.0, 0.0, LINEAR},
    {"N", STV_DIM_ANGLE, 1.0, 0.0, LINEAR},
    {"S", STV_DIM_ANGLE, -1.0, 0.0, LINEAR},
    {"E", STV_DIM_ANGLE, 1.0, 0.0, LINEAR},
    {"W", STV_DIM_ANGLE, -1.0, 0.0, LINEAR},
    {"Pa", STV_DIM_PRESSURE, 1.0, 0.0, LINEAR},
    {"hPa", STV_DIM_PRESSURE, 100.0, 0.0, LINEAR},
    {"mbar", STV_DIM_PRESSURE, 100.0, 0.0, LINEAR},
    {"kPa", STV_DIM_PRESSURE, 1000.0, 0.0, LINEAR},
    {"inHg", STV_DIM_PRESSURE, 3386.389, 0.0, LINEAR},
    {"m/s", STV_DIM_SPEED, 1.0, 0.0, LINEAR},
    {"km/h", STV_DIM_SPEED, 1.0 / 3.6, 0.0, LINEAR},
    {"mph", STV_DIM_SPEED, 0.44704, 0.0, LINEAR},
    {"kn", STV_DIM_SPEED, 1852.0 / 3600.0, 0.0, LINEAR},
    {"W/m2", STV_DIM_IRRADIANCE, 1.0, 0.0, LINEAR},
    {"W/m²", STV_DIM_IRRADIANCE, 1.0, 0.0, LINEAR},
    {"1/h", STV_DIM_AIR_CHANGE, 1.0, 0.0, LINEAR},
    {"deg", STV_DIM_LATITUDE, 1.0, 0.0, LINEAR},
    {"°", STV_DIM_LATITUDE, 1.0, 0.0, LINEAR},
    {"N", STV_DIM_LATITUDE, 1.0, 0.0, LINEAR},
    {"S", STV_DIM_LATITUDE, -1.0, 0.0, LINEAR},
    {"deg", STV_DIM_LONGITUDE, 1.0, 0.0, LINEAR},
    {"°", STV_DIM_LONGITUDE, 1.0, 0.0, LINEAR},
    {"E", STV_DIM_LONGITUDE, 1.0, 0.0, LINEAR},
    {"W", STV_DIM_LONGITUDE, -1.0, 0.0, LINEAR},
    {"W/mK", STV_DIM_CONDUCTIVITY, 1.0, 0.0, LINEAR},
    {"kg/m3", STV_DIM_DENSITY, 1.0, 0.0, LINEAR},
    {"kg/m³", STV_DIM_DENSITY, 1.0, 0.0, LINEAR},
    {"g/cm3", STV_DIM_DENSITY, 1000.0, 0.0, LINEAR},
    {"g/L", STV_DIM_DENSITY, 1.0, 0.0, LINEAR},
    {"mg/L", STV_DIM_DENSITY, 0.001, 0.0, LINEAR},
    {"mg/100ml", STV_DIM_DENSITY, 0.01, 0.0, LINEAR},
    {"mg/100 ml", STV_DIM_DENSITY, 0.01, 0.0, LINEAR},
    {"J/kgK", STV_DIM_HEAT_CAPACITY, 1.0, 0.0, LINEAR},
    {"kJ/kgK", STV_DIM_HEAT_CAPACITY, 1000.0, 0.0, LINEAR},
    {"m2K/W", STV_DIM_RESISTANCE, 1.0, 0.0, LINEAR},
    {"W/m2K", STV_DIM_FILM, 1.0, 0.0, LINEAR},
    {"W", STV_DIM_POWER, 1.0, 0.0, LINEAR},
    {"kW", STV_DIM_POWER, 1000.0, 0.0, LINEAR},
    {"kg/h", STV_DIM_MASS_RATE, 1.0, 0.0, LINEAR},
    {"g/h", STV_DIM_MASS_RATE, 0.001, 0.0, LINEAR},
    {"kg/yr", STV_DIM_MASS_RATE, 1.0 / YEAR_H, 0.0, LINEAR},
    {"kg/y", STV_DIM_MASS_RATE, 1.0 / YEAR_H, 0.0, LINEAR},
    {"t/yr", STV_DIM_MASS_RATE, 1000.0 / YEAR_H, 0.0, LINEAR},
    {"t/y", STV_DIM_MASS_RATE, 1000.0 / YEAR_H, 0.0, LINEAR},
};
#define N_UNITS (sizeof units / sizeof units[0])

struct dimension {
    const char *name, *example;
    double least, most; /* what can be at all, in the dimension's unit */
};

static const struct dimension dimensions[STV_DIM_N] = {
    [STV_DIM_NUMBER] = {"number", "0.5", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_TEMPERATURE] = {"temperature", "24 C or 75 F", -STV_ZERO_C_IN_K, HUGE_VAL},
    [STV_DIM_TEMP_STEP] = {"temperature difference", "0.3 K", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_VOLUME] = {"volume", "195 L", 0.0, HUGE_VAL},
    [STV_DIM_MASS] = {"mass", "12.5 kg", 0.0, HUGE_VAL},
    [STV_DIM_LENGTH] = {"length", "30 m", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_AREA] = {"area", "0.5 m2", 0.0, HUGE_VAL},
    [STV_DIM_STRENGTH] = {"strength", "60 %vol, 120 US proof or 52 %mass", 0.0, 1.0},
    [STV_DIM_FRACTION] = {"fraction", "2 %", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_TIME] = {"time", "8 y or 36 months", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_ANGLE] = {"angle", "90 deg", -360.0, 360.0},
    [STV_DIM_PRESSURE] = {"pressure", "885 hPa", 0.0, HUGE_VAL},
    [STV_DIM_SPEED] = {"speed", "4.5 m/s", 0.0, HUGE_VAL},
    [STV_DIM_IRRADIANCE] = {"irradiance", "800 W/m2", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_AIR_CHANGE] = {"air change", "5 1/h", 0.0, HUGE_VAL},
    [STV_DIM_LATITUDE] = {"latitude", "35.2 N", -90.0, 90.0},
    [STV_DIM_LONGITUDE] = {"longitude", "101.7 W", -180.0, 180.0},
    [STV_DIM_CONDUCTIVITY] = {"conductivity", "0.13 W/mK", 0.0, HUGE_VAL},
    [STV_DIM_DENSITY] = {"density", "500 kg/m3", 0.0, HUGE_VAL},
    [STV_DIM_HEAT_CAPACITY] = {"heat capacity", "1600 J/kgK", 0.0, HUGE_VAL},
    [STV_DIM_RESISTANCE] = {"thermal resistance", "0.18 m2K/W", 0.0, HUGE_VAL},
    [STV_DIM_FILM] = {"film coefficient", "8 W/m2K", 0.0, HUGE_VAL},
    [STV_DIM_POWER] = {"power", "200 W", -HUGE_VAL, HUGE_VAL},
    [STV_DIM_MASS_RATE] = {"mass a time", "9.5 kg/yr or 2 g/h", 0.0, HUGE_VAL},
};

__attribute__((format(printf, 4, 5))) static enum stv_status
fail(char *why, size_t size, enum stv_status status, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(why, size, format, arguments);
    va_end(arguments);
    return status;
}

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\t')
        text++;
    return text;
}

static const char *skip_digits(const char *text)
{
    while (isdigit((unsigned char)*text))
        text++;
    return text;
}

/* "0,5" with its hint; a comma with three digits after it may also stand between thousands, so
 * both are offered. */
static enum stv_status refuse_comma(const char *text, char *why, size_t size)
{
    char point[NUMBER_MAX], plain[NUMBER_MAX];
    size_t n_point = 0, n_plain = 0;
    for (const char *at = text; *at && n_point + 1 < NUMBER_MAX; at++) {
        if (*at != ',')
            plain[n_plain++] = *at;
        point[n_point++] = *at == ',' ? '.' : *at;
    }
    point[n_point] = plain[n_plain] = '\0';
    const char *after = strchr(text, ',') + 1;
    if (skip_digits(after) - after == 3 && text[0] != '0')
        return fail(why, size, STV_E_PARSE,
                    "has a comma that can be read two ways: write \"%s\" or \"%s\"", point, plain);
    return fail(why, size, STV_E_PARSE, "has a decimal comma: write \"%s\" with a point", point);
}

/* End of the number at text, or NULL with `why`. */
static const char *number_end(const char *text, char *why, size_t size)
{
    const char *digits = text + (*text == '+' || *text == '-');
    const char *end = skip_digits(digits);
    size_t n_whole = (size_t)(end - digits);
    if (n_whole == 0 && !(end[0] == '.' && isdigit((unsigned char)end[1]))) {
        fail(why, size, STV_E_PARSE, "is not a number");
        return NULL;
    }
    if (n_whole == 1 && digits[0] == '0' && tolower((unsigned char)end[0]) == 'x') {
        fail(why, size, STV_E_PARSE, "is a hexadecimal number: write it in ordinary digits");
        return NULL;
    }
    if (n_whole > 1 && digits[0] == '0') {
        fail(why, size, STV_E_PARSE,
             "starts with a zero that could change its meaning: leave it out");
        return NULL;
    }
    if (end[0] == ',' && isdigit((unsigned char)end[1])) {
        refuse_comma(text, why, size);
        return NULL;
    }
    if (*end == '.')
        end = skip_digits(end + 1);
    const char *exponent = end + 1 + (*end && (end[1] == '+' || end[1] == '-'));
    if ((*end == 'e' || *end == 'E') && isdigit((unsigned char)*exponent))
        end = skip_digits(exponent);
    if (*end == '.' || *end == ',') {
        fail(why, size, STV_E_PARSE, "is not a number: it has more than one point or comma");
        return NULL;
    }
    return end;
}

static enum stv_status read_number(const char *text, double *out, const char **rest, char *why,
                                   size_t size)
{
    const char *end = number_end(text, why, size);
    if (!end)
        return STV_E_PARSE;
    char copy[NUMBER_MAX];
    size_t length = (size_t)(end - text);
    if (length >= sizeof copy)
        return fail(why, size, STV_E_PARSE, "has too many digits to be meant");
    memcpy(copy, text, length);
    copy[length] = '\0';
    double value = strtod(copy, NULL);
    if (!isfinite(value))
        return fail(why, size, STV_E_DOMAIN, "is too large to be meant");
    *out = value;
    *rest = skip_blanks(end);
    return STV_OK;
}

/* The unit with single blanks inside and none at its end; false when it is too long for one. */
static bool tidy_unit(const char *text, char unit[UNIT_MAX])
{
    size_t n = 0;
    for (; *text; text++) {
        bool is_blank = *text == ' ' || *text == '\t';
        if (is_blank && (n == 0 || unit[n - 1] == ' '))
            continue;
        if (n + 1 >= UNIT_MAX)
            return false;
        unit[n++] = is_blank ? ' ' : *text;
    }
    while (n > 0 && unit[n - 1] == ' ')
        n--;
    unit[n] = '\0';
    return true;
}

/* The unit of a dimension, or of any when dimension is STV_DIM_N; exact spelling first. */
static const struct unit *find_unit(const char *text, enum stv_dimension dimension)
{
    const struct unit *near = NULL;
    for (size_t i = 0; i < N_UNITS; i++) {
        if (dimension != STV_DIM_N && units[i].dimension != dimension)
            continue;
        if (strcmp(units[i].text, text) == 0)
            return &units[i];
        if (!near && strcasecmp(units[i].text, text) == 0)
            near = &units[i];
    }
    return near;
}

static enum stv_status refuse_unit(const char *unit, enum stv_dimension dimension, char *why,
                                   size_t size)
{
    const struct dimension *wanted = &dimensions[dimension];
    if (dimension == STV_DIM_STRENGTH && strcasecmp(unit, "proof") == 0)
        return fail(
            why, size, STV_E_PARSE,
            "says proof without a country, and 100 US proof is 50 %%vol but 100 UK proof is "
            "57 %%vol: write US proof or UK proof");
    if (dimension == STV_DIM_STRENGTH && strcmp(unit, "%") == 0)
        return fail(why, size, STV_E_PARSE, "does not say %% of what: write %%vol, or %%mass");
    bool is_gallon = strncasecmp(unit, "gal", strlen("gal")) == 0;
    if (dimension == STV_DIM_VOLUME && is_gallon)
        return fail(why, size, STV_E_PARSE,
                    "says gallons without a country: write US gal or UK gal");
    const struct unit *other = find_unit(unit, STV_DIM_N);
    if (dimension == STV_DIM_NUMBER)
        return fail(why, size, other ? STV_E_DOMAIN : STV_E_PARSE,
                    "has \"%s\" after the number: a plain number without unit is wanted", unit);
    if (other)
        return fail(why, size, STV_E_DOMAIN,
                    "has \"%s\", a unit of %s, where a %s is wanted: write it like %s", unit,
                    dimensions[other->dimension].name, wanted->name, wanted->example);
    const char *known[N_UNITS];
    size_t n = 0;
    for (size_t i = 0; i < N_UNITS; i++)
        if (units[i].dimension == dimension)
            known[n++] = units[i].text;
    const char *nearest = strlen(unit) > 2 ? stv_nearest_word(unit, known, n) : NULL;
    if (nearest)
        return fail(why, size, STV_E_PARSE, "has the unknown unit \"%s\": did you mean \"%s\"?",
                    unit, nearest);
    return fail(why, size, STV_E_PARSE, "has the unknown unit \"%s\": write a %s like %s", unit,
                wanted->name, wanted->example);
}

static enum stv_status strength_from(double number, const struct unit *unit, double *out)
{
    double mass_frac = number * unit->scale;
    enum stv_status status = STV_OK;
    if (unit->basis == US_PROOF)
        status = stv_mass_frac_from_us_proof(number, &mass_frac);
    else if (unit->basis == UK_PROOF)
        status = stv_mass_frac_from_uk_proof(number, &mass_frac);
    if (status == STV_OK && !(mass_frac >= 0.0 && mass_frac <= 1.0))
        status = STV_E_DOMAIN;
    if (status == STV_OK)
        *out = stv_abv20_from_mass_frac(mass_frac);
    return status;
}

static enum stv_status convert(double number, const struct unit *unit, enum stv_dimension dimension,
                               double *out, char *why, size_t size)
{
    const struct dimension *wanted = &dimensions[dimension];
    double value = NAN;
    enum stv_status status = STV_OK;
    if (!unit)
        value = number;
    else if (unit->basis == LINEAR)
        value = number * unit->scale + unit->offset;
    else
        status = strength_from(number, unit, &value);
    if (!unit && dimension == STV_DIM_FRACTION && fabs(number) > 1.0)
        return fail(why, size, STV_E_DOMAIN,
                    "is above 1 without a %% sign: write %g %%, or a part of 1", number);
    if (status != STV_OK || !(value >= wanted->least && value <= wanted->most))
        return fail(why, size, STV_E_DOMAIN, "cannot be a %s%s: write it like %s", wanted->name,
                    dimension == STV_DIM_STRENGTH ? ", which lies between water and pure ethanol"
                                                  : "",
                    wanted->example);
    *out = value;
    return STV_OK;
}

enum stv_status stv_quantity_parse(const char *text, enum stv_dimension dimension,
                                   const char *default_unit, double *out, char *why, size_t size)
{
    *out = NAN;
    double number = NAN;
    const char *rest = NULL;
    const struct unit *unit = NULL;
    enum stv_status status = read_number(skip_blanks(text), &number, &rest, why, size);
    if (status != STV_OK)
        return status;
    char spelt[UNIT_MAX];
    if (!tidy_unit(*rest ? rest : (default_unit ? default_unit : ""), spelt))
        return fail(why, size, STV_E_PARSE, "goes on after the number: write a %s like %s",
                    dimensions[dimension].name, dimensions[dimension].example);
    bool needs_unit = dimension != STV_DIM_NUMBER && dimension != STV_DIM_FRACTION;
    if (!spelt[0] && needs_unit)
        return fail(why, size, STV_E_PARSE, "has no unit of %s: write it like %s",
                    dimensions[dimension].name, dimensions[dimension].example);
    if (spelt[0] && !(unit = find_unit(spelt, dimension)))
        return refuse_unit(spelt, dimension, why, size);
    bool has_letter_sign = unit && (strchr("NSEW", unit->text[0]) != NULL) && !unit->text[1];
    if (has_letter_sign && number < 0.0)
        return fail(why, size, STV_E_PARSE,
                    "has a minus and a point of the compass: write only one");
    return convert(number, unit, dimension, out, why, size);
}

void stv_range_text(enum stv_dimension dimension, double least, double most, char *buffer,
                    size_t size)
{
    static const char *const unit[STV_DIM_N] = {
        [STV_DIM_NUMBER] = "",           [STV_DIM_TEMPERATURE] = " C",
        [STV_DIM_TEMP_STEP] = " K",      [STV_DIM_VOLUME] = " L",
        [STV_DIM_MASS] = " kg",          [STV_DIM_LENGTH] = " m",
        [STV_DIM_AREA] = " m2",          [STV_DIM_STRENGTH] = " %vol",
        [STV_DIM_FRACTION] = " %",       [STV_DIM_TIME] = " y",
        [STV_DIM_ANGLE] = " deg",        [STV_DIM_PRESSURE] = " Pa",
        [STV_DIM_SPEED] = " m/s",        [STV_DIM_IRRADIANCE] = " W/m2",
        [STV_DIM_AIR_CHANGE] = " 1/h",   [STV_DIM_LATITUDE] = " deg",
        [STV_DIM_LONGITUDE] = " deg",    [STV_DIM_CONDUCTIVITY] = " W/mK",
        [STV_DIM_DENSITY] = " kg/m3",    [STV_DIM_HEAT_CAPACITY] = " J/kgK",
        [STV_DIM_RESISTANCE] = " m2K/W", [STV_DIM_FILM] = " W/m2K",
        [STV_DIM_POWER] = " W",          [STV_DIM_MASS_RATE] = " kg/h",
    };
    bool is_part = dimension == STV_DIM_STRENGTH || dimension == STV_DIM_FRACTION;
    double scale = is_part ? 100.0 : dimension == STV_DIM_TIME ? 1.0 / STV_YEAR_D : 1.0;
    const char *suffix = unit[dimension];
    if (isinf(most))
        snprintf(buffer, size, "what is possible: at least %g%s", least * scale, suffix);
    else if (isinf(least))
        snprintf(buffer, size, "what is possible: at most %g%s", most * scale, suffix);
    else
        snprintf(buffer, size, most * scale >= 1e6 ? "%g to %.0f%s" : "%g to %g%s", least * scale,
                 most * scale, suffix);
}

bool stv_unit_fits(const char *unit, enum stv_dimension dimension, char *why, size_t size)
{
    char spelt[UNIT_MAX];
    if (!tidy_unit(unit, spelt)) {
        fail(why, size, STV_E_PARSE, "is too long for a unit");
        return false;
    }
    if (find_unit(spelt, dimension))
        return true;
    refuse_unit(spelt, dimension, why, size);
    return false;
}

const char *stv_dimension_name(enum stv_dimension dimension)
{
    return (unsigned)dimension < STV_DIM_N ? dimensions[dimension].name : "";
}

enum stv_status stv_count_parse(const char *text, const size_t range[2], size_t *out, char *why,
                                size_t size)
{
    const char *end = skip_digits(text);
    size_t length = (size_t)(end - text);
    if (length == 0 || *end)
        return fail(why, size, STV_E_PARSE, "is not a whole number: write one from %zu to %zu",
                    range[0], range[1]);
    if (length > 1 && text[0] == '0')
        return fail(why, size, STV_E_PARSE,
                    "starts with a zero that could change its meaning: leave it out");
    size_t value = length < 10 ? (size_t)strtoul(text, NULL, 10) : SIZE_MAX;
    if (value < range[0] || value > range[1])
        return fail(why, size, STV_E_DOMAIN, "is outside %zu to %zu", range[0], range[1]);
    *out = value;
    return STV_OK;
}

enum stv_status stv_date_parse(const char *text, int64_t *out_day_d, char *why, size_t size)
{
    static const char shape[] = "dddd-dd-dd";
    bool fits = strlen(text) == sizeof shape - 1;
    for (size_t i = 0; fits && shape[i]; i++)
        fits = shape[i] == 'd' ? isdigit((unsigned char)text[i]) != 0 : text[i] == shape[i];
    if (!fits)
        return fail(why, size, STV_E_PARSE, "is not a date: write it like 2024-03-14");
    struct stv_date date = {.year = (int32_t)strtol(text, NULL, 10),
                            .month = (int32_t)strtol(text + 5, NULL, 10),
                            .day = (int32_t)strtol(text + 8, NULL, 10)};
    if (date.year < 1900 || date.year > 2199)
        return fail(why, size, STV_E_DOMAIN, "has a year outside 1900 to 2199");
    if (!stv_date_is_valid(date))
        return fail(why, size, STV_E_DOMAIN,
                    "is a day that does not exist: look it up in a calendar");
    *out_day_d = stv_day_from_date(date);
    return STV_OK;
}
