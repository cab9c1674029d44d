/* A growing text with numbers that look the same in every locale. */
#ifndef STV_PLOTS_TEXT_H
#define STV_PLOTS_TEXT_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Start with all members zero; bytes is NULL until something is added and otherwise ends in a
 * zero byte that n does not count.  Once memory ran out, has_failed stays set and additions do
 * nothing, so that a writer may look once, at the end. */
struct stv_text {
    char *bytes;
    size_t n, room;
    bool has_failed;
};

/* Adds a string, n_bytes of it, or one character n times. */
void stv_text_add(struct stv_text *text, const char *string);
void stv_text_add_bytes(struct stv_text *text, const char *bytes, size_t n_bytes);

/* Adds by a printf pattern; only for whole numbers and strings made by the program, since
 * fractions would follow the locale. */
void stv_text_format(struct stv_text *text, const char *pattern, ...)
    __attribute__((format(printf, 2, 3)));

/* Adds a number with a decimal point in every locale; zero never has a sign.
 *
 * n_decimals  0..9 digits behind the point
 * A number that is not finite is written "NaN". */
void stv_text_add_number(struct stv_text *text, double value, int n_decimals);

/* Adds a number with 9 significant digits; "NaN" when it is not finite. */
void stv_text_add_exact(struct stv_text *text, double value);

/* Adds a number that the C library printed: whatever stands for the decimal sign there, of one
 * byte or more, becomes one point.  Shared inside plots/ and with its test. */
void stv__text_add_printed(struct stv_text *text, const char *printed);

/* Adds a rounded whole number for people, thousands parted by commas from 10,000 on. */
void stv_text_add_count(struct stv_text *text, double value);

/* Adds a day number as "12 December 2027", "Dec 2027" or "2027-12-12". */
void stv_text_add_day(struct stv_text *text, int64_t day_d);
void stv_text_add_month(struct stv_text *text, int64_t day_d);
void stv_text_add_iso_day(struct stv_text *text, int64_t day_d);

/* The text, or "" when nothing was added.  Never NULL; lives until the next addition. */
const char *stv_text_string(const struct stv_text *text);

/* Gives the memory back and makes the text empty again. */
void stv_text_free(struct stv_text *text);

#endif
