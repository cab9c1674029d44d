/* What a weather file holds, for `check --weather`. */
#ifndef STV_CLI_WORDS_WEATHER_H
#define STV_CLI_WORDS_WEATHER_H

#include "cli/chain.h"
#include "cli/json.h"
#include "cli/options.h"
#include "plots/text.h"

/* How it was read, from when to when, where, and for each quantity hours, mean, least and most. */
void stv_words_weather(struct stv_text *text, const struct stv_chain *chain);

/* The same as keys: "columns" with name, unit, n, mean, least, most. */
json_t *stv_json_weather_columns(const struct stv_chain *chain);

/* Writes the hours or days of the file as CSV, one row each, at their end, UTC.
 * Errors: as stv_output_file; said */
STV_MUST_CHECK enum stv_status stv_weather_hours_write(const struct stv_options *options,
                                                       const struct stv_chain *chain,
                                                       const char *path);

#endif
