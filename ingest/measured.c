/* Values with errors, cut into the pieces that ingest/quantity.c reads.  What it does not do: judge
 * whether an error is believable. */
#include "ingest/measured.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PIECE_MAX 160
#define TIMES_MOST 99

static const char plus_minus_sign[] = "\xC2\xB1";

/* Copies a piece without the blanks around it; false when it is too long to be meant. */
static bool take_piece(const char *from, size_t n, char out[PIECE_MAX])
{
    while (n > 0 && (*from == ' ' || *from == '\t')) {
        from++;
        n--;
    }
    while (n > 0 && (from[n - 1] == ' ' || from[n - 1] == '\t'))
        n--;
    if (n >= PIECE_MAX)
        return false;
    memcpy(out, from, n);
    out[n] = '\0';
    return true;
}

/* The unit behind a number that was already read, or the default. */
static const char *unit_of(const char *piece, const char *default_unit)
{
    const char *unit = piece + strspn(piece, "+-0123456789.eE");
    unit += strspn(unit, " \t");
    return *unit ? unit : default_unit;
}

/* NaN for what cannot be. */
static double strength_of(double number, const char *unit)
{
    char text[2 * PIECE_MAX], unused[64];
    double abv20_frac;
    snprintf(text, sizeof text, "%.17g %s", number, unit);
    enum stv_status status =
        stv_quantity_parse(text, STV_DIM_STRENGTH, NULL, &abv20_frac, unused, sizeof unused);
    return status == STV_OK ? abv20_frac : (double)NAN;
}

/* What a strength moves by, half way from minus to plus; at the end of a scale twice one side. */
static enum stv_status strength_error(const char *piece, const char *unit, const char *error_text,
                                      struct stv_measured *out, char *why, size_t size)
{
    double number = strtod(piece, NULL), error = strtod(error_text, NULL), as_said;
    enum stv_status status =
        stv_quantity_parse(error_text, STV_DIM_STRENGTH, unit, &as_said, why, size);
    if (status != STV_OK)
        return status;
    if (strength_of(error, unit) != as_said) {
        snprintf(why, size, "has an error in another unit than its value: write both in %s", unit);
        return STV_E_PARSE;
    }
    double low = strength_of(number - error, unit), high = strength_of(number + error, unit);
    if (isnan(low) && isnan(high)) {
        snprintf(why, size, "has an error larger than its value");
        return STV_E_DOMAIN;
    }
    low = isnan(low) ? 2.0 * out->value - high : low;
    high = isnan(high) ? 2.0 * out->value - low : high;
    out->error = 0.5 * (high - low);
    return STV_OK;
}

static enum stv_status read_error(const char *piece, const char *error_text,
                                  enum stv_dimension dimension, const char *default_unit,
                                  struct stv_measured *out, char *why, size_t size)
{
    const char *unit = unit_of(piece, default_unit);
    if (error_text[0] == '-') {
        snprintf(why, size, "has a negative error: write it without the minus");
        return STV_E_DOMAIN;
    }
    if (dimension == STV_DIM_STRENGTH)
        return strength_error(piece, unit, error_text, out, why, size);
    if (dimension == STV_DIM_TEMPERATURE)
        dimension = STV_DIM_TEMP_STEP;
    return stv_quantity_parse(error_text, dimension, unit, &out->error, why, size);
}

enum stv_status stv_measured_parse(const char *text, enum stv_dimension dimension,
                                   const char *default_unit, struct stv_measured *out, char *why,
                                   size_t size)
{
    *out = (struct stv_measured){NAN, NAN, 1};
    const char *mark = strstr(text, "+-");
    size_t mark_length = 2;
    if (!mark && (mark = strstr(text, plus_minus_sign)))
        mark_length = sizeof plus_minus_sign - 1;
    if (!mark)
        return stv_quantity_parse(text, dimension, default_unit, &out->value, why, size);
    char piece[PIECE_MAX], error_text[PIECE_MAX];
    const char *after = mark + mark_length;
    if (!take_piece(text, (size_t)(mark - text), piece) ||
        !take_piece(after, strlen(after), error_text)) {
        snprintf(why, size, "is too long to be meant");
        return STV_E_PARSE;
    }
    enum stv_status status =
        stv_quantity_parse(piece, dimension, default_unit, &out->value, why, size);
    if (status == STV_OK)
        status = read_error(piece, error_text, dimension, default_unit, out, why, size);
    if (status != STV_OK)
        out->value = NAN;
    return status;
}

void stv_measured_add(struct stv_measured *sum, struct stv_measured more)
{
    sum->value += more.value;
    sum->error = hypot(sum->error, more.error);
    sum->n += more.n;
}

/* "3 x 45 kg": takes the count off the front; without one it is 1.  False when it is too large. */
static bool take_times(const char **piece, size_t *out_times)
{
    size_t n_digits = strspn(*piece, "0123456789");
    const char *at = *piece + n_digits + strspn(*piece + n_digits, " \t");
    *out_times = 1;
    if (n_digits == 0 || (*piece)[0] == '0' || (*at != 'x' && *at != 'X'))
        return true;
    *out_times = strtoul(*piece, NULL, 10);
    *piece = at + 1;
    return *out_times <= TIMES_MOST;
}

static enum stv_status add_piece(const char *from, size_t n, enum stv_dimension dimension,
                                 const char *default_unit, struct stv_measured *sum, char *why,
                                 size_t size)
{
    char piece[PIECE_MAX];
    const char *at = piece;
    struct stv_measured value;
    if (!take_piece(from, n, piece)) {
        snprintf(why, size, "is too long to be meant");
        return STV_E_PARSE;
    }
    size_t times;
    if (!take_times(&at, &times)) {
        snprintf(why, size, "counts more than %d times: write the sum", TIMES_MOST);
        return STV_E_DOMAIN;
    }
    enum stv_status status = stv_measured_parse(at, dimension, default_unit, &value, why, size);
    for (size_t i = 0; i < times && status == STV_OK; i++)
        stv_measured_add(sum, value);
    return status;
}

enum stv_status stv_measured_sum_parse(const char *text, enum stv_dimension dimension,
                                       const char *default_unit, struct stv_measured *out,
                                       char *why, size_t size)
{
    *out = (struct stv_measured){0};
    enum stv_status status = STV_OK;
    for (const char *at = text; at && status == STV_OK;) {
        const char *plus = strstr(at, " + ");
        size_t n = plus ? (size_t)(plus - at) : strlen(at);
        status = add_piece(at, n, dimension, default_unit, out, why, size);
        at = plus ? plus + 3 : NULL;
    }
    if (status != STV_OK)
        *out = (struct stv_measured){NAN, NAN, 0};
    return status;
}
