/* The command line, read strictly against the one table. */
#ifndef STV_CLI_OPTIONS_H
#define STV_CLI_OPTIONS_H

#include "cli/option_table.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One option as given; which of the last three counts depends on its kind. */
struct stv_occurrence {
    enum stv_option option;
    const char *text;
    double number;
    int64_t day_d;
};

#define STV_OCCURRENCES_MAX 512

struct stv_options {
    enum stv_command command;                         /* STV_CMD_N: none */
    const char *operand;                              /* NULL when not said */
    struct stv_occurrence given[STV_OCCURRENCES_MAX]; /* in the order typed */
    size_t n_given;
};

/* Reads argv[1..].  Options may stand before and after the command; `--` ends them.
 * Every text points into argv.
 * why: size bytes, what was wrong and what to type instead.
 * Errors: STV_E_USAGE, nothing of `out` is to be used. */
STV_MUST_CHECK enum stv_status stv_options_parse(int argc, char *const *argv,
                                                 struct stv_options *out, char *why, size_t size);

/* What is wrong with a command of this name, with the nearest that there is. */
void stv_options_unknown_command(const char *name, char *why, size_t size);

bool stv_options_has(const struct stv_options *options, enum stv_option option);
/* How often an option was given, and its k-th occurrence. */
size_t stv_options_count(const struct stv_options *options, enum stv_option option);
const struct stv_occurrence *stv_options_nth(const struct stv_options *options,
                                             enum stv_option option, size_t k);
/* The text given, else the table's default, else NULL. */
const char *stv_options_text(const struct stv_options *options, enum stv_option option);
/* The number given, else the table's default read as a number, else NaN. */
double stv_options_number(const struct stv_options *options, enum stv_option option);
/* The day given, else INT64_MIN. */
int64_t stv_options_day(const struct stv_options *options, enum stv_option option);

#endif
