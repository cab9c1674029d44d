/* Headers by their words.  A header is never matched as a whole: makers change brackets, degree
 * signs and serial numbers with every firmware, while the words stay.  What it does not do: guess
 * a unit that is not written. */
#include "ingest/header_words.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define COUNT_OF(array) (sizeof(array) / sizeof(array)[0])

static void add_token(struct stv_header_words *words, const char *text, size_t n)
{
    if (n == 0 || words->n == STV_HEADER_TOKENS_MAX)
        return;
    if (n >= STV_HEADER_TOKEN_BYTES)
        n = STV_HEADER_TOKEN_BYTES - 1;
    memcpy(words->token[words->n], text, n);
    words->token[words->n++][n] = '\0';
}

void stv_header_split(const char *name, struct stv_header_words *out)
{
    char token[STV_HEADER_TOKEN_BYTES];
    size_t n = 0;
    out->n = 0;
    for (; *name; name++) {
        unsigned char letter = (unsigned char)*name;
        /* One character for degree and letter, U+2103 and U+2109. */
        if (strncmp(name, "\xE2\x84\x83", 3) == 0 || strncmp(name, "\xE2\x84\x89", 3) == 0) {
            add_token(out, token, n);
            n = 0;
            add_token(out, name[2] == '\x83' ? "c" : "f", 1);
            name += 2;
            continue;
        }
        if (letter >= 0x80)
            continue;
        if (isalnum(letter)) {
            if (n < sizeof token)
                token[n++] = (char)tolower(letter);
            continue;
        }
        add_token(out, token, n);
        n = 0;
        if (letter == '%')
            add_token(out, "%", 1);
    }
    add_token(out, token, n);
}

bool stv_header_has(const struct stv_header_words *words, const char *token)
{
    for (size_t i = 0; i < words->n; i++)
        if (strcmp(words->token[i], token) == 0)
            return true;
    return false;
}

static bool has_any(const struct stv_header_words *words, const char *const *tokens, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (stv_header_has(words, tokens[i]))
            return true;
    return false;
}

static bool has_start(const struct stv_header_words *words, const char *start)
{
    for (size_t i = 0; i < words->n; i++)
        if (strncmp(words->token[i], start, strlen(start)) == 0)
            return true;
    return false;
}

bool stv_header_is_date(const struct stv_header_words *words)
{
    static const char *const tokens[] = {"date", "datetime", "timestamp", "datum", "day"};
    return has_any(words, tokens, COUNT_OF(tokens));
}

/* "t_UTC+2": the t of a time says its clock, the T of a temperature does not. */
static bool is_t_with_clock(const struct stv_header_words *words)
{
    return words->n > 1 && strcmp(words->token[0], "t") == 0 &&
           (strcmp(words->token[1], "utc") == 0 || strcmp(words->token[1], "gmt") == 0);
}

bool stv_header_is_time(const struct stv_header_words *words)
{
    static const char *const tokens[] = {"time", "datetime", "timestamp", "uhrzeit", "zeit"};
    return has_any(words, tokens, COUNT_OF(tokens)) || is_t_with_clock(words);
}

struct unit_word {
    const char *first, *second; /* second NULL: one word is enough */
    const char *unit;
};

static const struct unit_word temperature_units[] = {
    {"c", NULL, "C"},     {"degc", NULL, "C"}, {"celsius", NULL, "C"},    {"f", NULL, "F"},
    {"degf", NULL, "F"},  {"k", NULL, "K"},    {"fahrenheit", NULL, "F"}, {"kelvin", NULL, "K"},
    {"tempc", NULL, "C"}, {"tempf", NULL, "F"}};
static const struct unit_word fraction_units[] = {{"%", NULL, "%"},
                                                  {"pct", NULL, "%"},
                                                  {"percent", NULL, "%"},
                                                  {"frac", NULL, "fraction"},
                                                  {"fraction", NULL, "fraction"}};
static const struct unit_word pressure_units[] = {
    {"pa", NULL, "Pa"},   {"hpa", NULL, "hPa"},   {"mbar", NULL, "mbar"}, {"mb", NULL, "mbar"},
    {"kpa", NULL, "kPa"}, {"inhg", NULL, "inHg"}, {"in", "hg", "inHg"}};
static const struct unit_word wind_units[] = {
    {"m", "s", "m/s"},     {"mps", NULL, "m/s"},  {"km", "h", "km/h"},
    {"kmh", NULL, "km/h"}, {"kph", NULL, "km/h"}, {"mph", NULL, "mph"},
    {"kn", NULL, "kn"},    {"kt", NULL, "kn"},    {"knots", NULL, "kn"}};
static const struct unit_word sun_units[] = {
    {"w", "m2", "W/m2"}, {"wm2", NULL, "W/m2"}, {"w", "m", "W/m2"}};

static const char *unit_at(const struct stv_header_words *words, size_t i,
                           const struct unit_word *units, size_t n)
{
    for (size_t u = 0; u < n; u++) {
        bool fits = strcmp(words->token[i], units[u].first) == 0;
        if (fits && units[u].second)
            fits = i + 1 < words->n && strcmp(words->token[i + 1], units[u].second) == 0;
        if (fits)
            return units[u].unit;
    }
    return NULL;
}

/* The last words win, where people put the unit; else the first that fits, for headers that end
 * in a serial number. */
static const char *find_unit(const struct stv_header_words *words, const struct unit_word *units,
                             size_t n)
{
    for (size_t back = 1; back <= 2 && back <= words->n; back++) {
        const char *unit = unit_at(words, words->n - back, units, n);
        if (unit)
            return unit;
    }
    for (size_t i = 0; i < words->n; i++) {
        const char *unit = unit_at(words, i, units, n);
        if (unit)
            return unit;
    }
    return "";
}

static const char *unit_of(const struct stv_header_words *words, enum stv_weather_quantity quantity)
{
    switch (quantity) {
    case STV_WQ_TEMP_C:
    case STV_WQ_TEMP_MIN_C:
    case STV_WQ_TEMP_MAX_C:
    case STV_WQ_DEW_POINT_C:
        return find_unit(words, temperature_units, COUNT_OF(temperature_units));
    case STV_WQ_RH_FRAC:
    case STV_WQ_CLOUD_FRAC:
        return find_unit(words, fraction_units, COUNT_OF(fraction_units));
    case STV_WQ_PRESSURE_PA:
        return find_unit(words, pressure_units, COUNT_OF(pressure_units));
    case STV_WQ_WIND_M_S:
        return find_unit(words, wind_units, COUNT_OF(wind_units));
    case STV_WQ_GHI_W_M2:
    case STV_WQ_DNI_W_M2:
    case STV_WQ_DHI_W_M2:
    case STV_WQ_SKY_W_M2:
        return find_unit(words, sun_units, COUNT_OF(sun_units));
    case STV_WQ_N:
        break;
    }
    return "";
}

static bool is_temperature(const struct stv_header_words *words, enum stv_weather_quantity *out)
{
    static const char *const lowest[] = {"min", "minimum", "lowest", "low", "tmin"};
    static const char *const highest[] = {"max", "maximum", "highest", "high", "tmax"};
    static const char *const joined[] = {"tmin", "tmax", "tavg", "tmean"};
    bool is_plain_t = words->n > 0 && strcmp(words->token[0], "t") == 0 && !is_t_with_clock(words);
    if (!has_start(words, "temp") && !has_start(words, "celsius") &&
        !has_start(words, "fahrenheit") && !has_any(words, joined, COUNT_OF(joined)) && !is_plain_t)
        return false;
    *out = STV_WQ_TEMP_C;
    if (has_any(words, lowest, COUNT_OF(lowest)))
        *out = STV_WQ_TEMP_MIN_C;
    else if (has_any(words, highest, COUNT_OF(highest)))
        *out = STV_WQ_TEMP_MAX_C;
    return true;
}

static bool find_quantity(const struct stv_header_words *words, enum stv_weather_quantity *out)
{
    static const struct {
        const char *start;
        enum stv_weather_quantity quantity;
    } starts[] = {
        {"dew", STV_WQ_DEW_POINT_C},   {"hum", STV_WQ_RH_FRAC},        {"rh", STV_WQ_RH_FRAC},
        {"feucht", STV_WQ_RH_FRAC},    {"luftfeucht", STV_WQ_RH_FRAC}, {"relhum", STV_WQ_RH_FRAC},
        {"press", STV_WQ_PRESSURE_PA}, {"slp", STV_WQ_PRESSURE_PA},    {"baro", STV_WQ_PRESSURE_PA},
        {"wind", STV_WQ_WIND_M_S},     {"ghi", STV_WQ_GHI_W_M2},       {"global", STV_WQ_GHI_W_M2},
        {"dni", STV_WQ_DNI_W_M2},      {"beam", STV_WQ_DNI_W_M2},      {"dhi", STV_WQ_DHI_W_M2},
        {"diffuse", STV_WQ_DHI_W_M2},  {"cloud", STV_WQ_CLOUD_FRAC},   {"sky", STV_WQ_SKY_W_M2},
        {"longwave", STV_WQ_SKY_W_M2}};
    for (size_t i = 0; i < COUNT_OF(starts); i++) {
        if (has_start(words, starts[i].start)) {
            *out = starts[i].quantity;
            return true;
        }
    }
    if (is_temperature(words, out)) /* also of a place in the sun */
        return true;
    *out = STV_WQ_GHI_W_M2;
    return stv_header_has(words, "sun") || stv_header_has(words, "solar");
}

bool stv_header_quantity(const struct stv_header_words *words, struct stv_header_quantity *out)
{
    static const char *const others[] = {"wet",   "index",   "chill",    "soil",      "ground",
                                         "alarm", "limit",   "change",   "direction", "dir",
                                         "gust",  "wetbulb", "setpoint", "correction"};
    static const char *const extremes[] = {"min", "minimum", "max", "maximum", "lowest", "highest"};
    if (has_any(words, others, COUNT_OF(others)) || !find_quantity(words, &out->quantity))
        return false;
    /* The extreme of anything but temperature is not the quantity itself. */
    if (out->quantity != STV_WQ_TEMP_MIN_C && out->quantity != STV_WQ_TEMP_MAX_C &&
        has_any(words, extremes, COUNT_OF(extremes)))
        return false;
    out->is_sea_level = stv_header_has(words, "sea") || stv_header_has(words, "slp") ||
                        stv_header_has(words, "msl");
    out->unit = unit_of(words, out->quantity);
    return true;
}
