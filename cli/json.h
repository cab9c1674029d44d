/* JSON values of the kinds that answers are made of.  Keys keep the order in which they are set;
 * numbers have 9 significant digits; what is not known is null, never NaN. */
#ifndef STV_CLI_JSON_H
#define STV_CLI_JSON_H

#include "cli/options.h"
#include "model/crossing.h"
#include "model/quantiles.h"
#include "model/status.h"

#include <jansson.h>
#include <stdint.h>

/* Call once, before any other: from then on a shortage of memory inside JSON ends the program
 * with its message instead of leaving keys out. */
void stv_json_begin(void);

json_t *stv_json_number(double value);
/* Text; bytes that are not UTF-8 become '?'.  NULL and "" give null. */
json_t *stv_json_text(const char *text);
json_t *stv_json_day(int64_t day_d);
/* One-based number of a zero-based index; null when negative. */
json_t *stv_json_place(int idx);
/* {"p05", "p25", "p50", "p75", "p95"}, each times a factor. */
json_t *stv_json_range(struct stv_range range, double factor_nd);

/* Adds odds, already_odds, earliest, central, latest and looked_until of a crossing. */
void stv_json_set_crossing(json_t *object, const struct stv_crossing *crossing,
                           int64_t until_day_d);

/* Sets a key; takes the value over. */
void stv_json_set(json_t *object, const char *key, json_t *value);
void stv_json_append(json_t *array, json_t *value);

/* Writes a document where -o says, and frees it. */
STV_MUST_CHECK enum stv_status stv_json_write(const struct stv_options *options, json_t *document);

#endif
