/* Limits of what an outdoor or a warehouse sensor can have seen, wide enough that no real value is
 * lost.  What lies outside is set aside, never bent into range, with two exceptions that say how
 * a healthy sensor fails: humidity a little above saturation, and a sun sensor a little below
 * zero at night. */
#include "ingest/reading.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NUMBER_BYTES 40

struct limits {
    const char *name;
    enum stv_dimension dimension;
    double least, most;           /* what can be */
    double soft_least, soft_most; /* still a sensor at its limit */
    const char *beyond;
};

#define SAME_LIMITS(least, most) (least), (most), (least), (most)

/* Limits: assumed, set wide.  Air: lowest and highest ever measured at the ground are -89.2 and
 * 56.7 C (WMO records; from memory); -60 C leaves out the polar plateau, 75 C lets in a roof
 * space.  Highest dew point 35 C, gust 113 m/s, sea-level pressure 870 to 1084 hPa (same source;
 * a station at 5000 m reads about 540 hPa).  Humidity to 103 % is a usual error of a capacitive
 * sensor in saturated air, -20 W/m2 a usual night offset of a pyranometer: common practice, no
 * published source. */
static const struct limits known[STV_WQ_N] = {
    [STV_WQ_TEMP_C] = {"temperature", STV_DIM_TEMPERATURE, SAME_LIMITS(-60.0, 75.0),
                       "is not between -60 and 75 C"},
    [STV_WQ_TEMP_MIN_C] = {"lowest temperature", STV_DIM_TEMPERATURE, SAME_LIMITS(-60.0, 75.0),
                           "is not between -60 and 75 C"},
    [STV_WQ_TEMP_MAX_C] = {"highest temperature", STV_DIM_TEMPERATURE, SAME_LIMITS(-60.0, 75.0),
                           "is not between -60 and 75 C"},
    [STV_WQ_DEW_POINT_C] = {"dew point", STV_DIM_TEMPERATURE, SAME_LIMITS(-80.0, 40.0),
                            "is not between -80 and 40 C"},
    [STV_WQ_RH_FRAC] = {"humidity", STV_DIM_FRACTION, 1e-6, 1.0, 1e-6, 1.03,
                        "is not between 0 and 103 %"},
    [STV_WQ_PRESSURE_PA] = {"pressure", STV_DIM_PRESSURE, SAME_LIMITS(45e3, 110e3),
                            "is not between 450 and 1100 hPa"},
    [STV_WQ_WIND_M_S] = {"wind", STV_DIM_SPEED, SAME_LIMITS(0.0, 115.0),
                         "is not between 0 and 115 m/s"},
    [STV_WQ_GHI_W_M2] = {"global sun", STV_DIM_IRRADIANCE, 0.0, 1800.0, -20.0, 1800.0,
                         "is not between -20 and 1800 W/m2"},
    [STV_WQ_DNI_W_M2] = {"beam sun", STV_DIM_IRRADIANCE, 0.0, 1400.0, -20.0, 1400.0,
                         "is not between -20 and 1400 W/m2"},
    [STV_WQ_DHI_W_M2] = {"diffuse sun", STV_DIM_IRRADIANCE, 0.0, 1000.0, -20.0, 1000.0,
                         "is not between -20 and 1000 W/m2"},
    [STV_WQ_CLOUD_FRAC] = {"cloud", STV_DIM_FRACTION, SAME_LIMITS(0.0, 1.0),
                           "is not between 0 and 100 %"},
    [STV_WQ_SKY_W_M2] = {"long wave from the sky", STV_DIM_IRRADIANCE, SAME_LIMITS(50.0, 700.0),
                         "is not between 50 and 700 W/m2"},
};

/* Numbers that loggers and archives write for "no value" (archives' own format descriptions, and
 * the power-on and disconnect codes of one-wire sensors; from memory). */
static const double codes[] = {-999.0,  -999.9,   -9999.0, 999.0,  999.9,  9999.0, 9999.9,
                               -99.0,   -99.9,    -127.0,  -128.0, -196.6, 85.0,   185.0,
                               32767.0, -32768.0, 3276.7,  655.35, 65535.0};

enum stv_dimension stv_reading_dimension(enum stv_weather_quantity quantity)
{
    return known[quantity].dimension;
}

const char *stv_reading_name(enum stv_weather_quantity quantity)
{
    return known[quantity].name;
}

enum stv_status stv_reading_scale(enum stv_weather_quantity quantity, const char *unit,
                                  struct stv_scale *out, char *why, size_t size)
{
    double at_0, at_100;
    enum stv_dimension dimension = known[quantity].dimension;
    if (dimension == STV_DIM_FRACTION && strcmp(unit, "fraction") == 0) {
        *out = (struct stv_scale){0.0, 1.0};
        return STV_OK;
    }
    enum stv_status status = stv_quantity_parse("0", dimension, unit, &at_0, why, size);
    if (status == STV_OK)
        status = stv_quantity_parse("100", dimension, unit, &at_100, why, size);
    if (status == STV_OK)
        *out = (struct stv_scale){at_0, (at_100 - at_0) / 100.0};
    return status;
}

/* Steps over +, - or the minus signs of typesetters. */
static void take_sign(const char **cursor, char *out)
{
    static const char *const minus[] = {"-", "\xE2\x88\x92", "\xE2\x80\x93"};
    for (size_t i = 0; i < sizeof minus / sizeof minus[0]; i++) {
        size_t n = strlen(minus[i]);
        if (strncmp(*cursor, minus[i], n) == 0) {
            *cursor += n;
            *out = '-';
            return;
        }
    }
    if (**cursor == '+')
        (*cursor)++;
    *out = '+';
}

static bool copy_own_unit(const char *text, char own_unit[STV_OWN_UNIT_MAX])
{
    size_t n = 0;
    for (; *text; text++) {
        unsigned char letter = (unsigned char)*text;
        if (letter == ' ' || letter >= 0x80)
            continue;
        if (n + 1 == STV_OWN_UNIT_MAX || isdigit(letter))
            return false;
        own_unit[n++] = (char)letter;
    }
    own_unit[n] = '\0';
    return true;
}

/* Copies digits[mark digits][e[+-]digits] to buffer, the mark as a point. */
static bool copy_number(const char **cursor, char *buffer, size_t room)
{
    const char *text = *cursor;
    size_t whole = strspn(text, "0123456789"), n = whole;
    if (n == 0)
        return false;
    size_t mark = 0;
    if (text[n] == '.' || text[n] == ',') {
        mark = n;
        size_t after = strspn(text + n + 1, "0123456789");
        if (after == 0)
            return false;
        n += 1 + after;
    }
    if (text[n] == 'e' || text[n] == 'E') {
        size_t sign = text[n + 1] == '-' || text[n + 1] == '+';
        size_t after = strspn(text + n + 1 + sign, "0123456789");
        n += after ? 1 + sign + after : 0;
    }
    if (n >= room)
        return false;
    memcpy(buffer, text, n);
    buffer[n] = '\0';
    if (mark)
        buffer[mark] = '.';
    *cursor = text + n;
    return true;
}

bool stv_reading_number(const char *text, double *out, char own_unit[STV_OWN_UNIT_MAX])
{
    char buffer[NUMBER_BYTES];
    const char *cursor = text;
    take_sign(&cursor, &buffer[0]);
    if (!copy_number(&cursor, buffer + 1, sizeof buffer - 1))
        return false;
    if (own_unit ? !copy_own_unit(cursor, own_unit) : *cursor != '\0')
        return false;
    *out = strtod(buffer, NULL);
    return isfinite(*out);
}

static bool is_code(double number)
{
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
        if (number == codes[i])
            return true;
    return false;
}

void stv_reading_limits(enum stv_weather_quantity quantity, double *out_least, double *out_most)
{
    *out_least = known[quantity].least;
    *out_most = known[quantity].most;
}

enum stv_reading_fault stv_reading_check(enum stv_weather_quantity quantity, double number,
                                         double *value)
{
    const struct limits *limits = &known[quantity];
    if (!isfinite(*value))
        return STV_READING_WORD;
    if (*value >= limits->least && *value <= limits->most)
        return STV_READING_GOOD;
    if (*value < limits->soft_least || *value > limits->soft_most)
        return is_code(number) ? STV_READING_CODE : STV_READING_BEYOND;
    *value = *value < limits->least ? limits->least : limits->most;
    return STV_READING_AT_LIMIT;
}

const char *stv_reading_fault_text(enum stv_weather_quantity quantity, enum stv_reading_fault fault)
{
    switch (fault) {
    case STV_READING_AT_LIMIT:
        return quantity == STV_WQ_RH_FRAC ? "is above 100 %: used as 100 %, the sensor was wet"
                                          : "is a little below zero: used as zero";
    case STV_READING_EMPTY:
        return "is empty";
    case STV_READING_WORD:
        return "is not a number";
    case STV_READING_CODE:
        return "is a code for no value, or a sensor that lost contact";
    case STV_READING_BEYOND:
        return known[quantity].beyond;
    case STV_READING_GOOD:
        break;
    }
    return "is good";
}
