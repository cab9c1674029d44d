/* The text after an option, turned into what it means. */
#ifndef STV_CLI_OPTION_VALUES_H
#define STV_CLI_OPTION_VALUES_H

#include "cli/options.h"

/* Fills the occurrence's number or day from its text.
 * Errors: STV_E_USAGE with `why`: not of the option's kind, or outside its range. */
STV_MUST_CHECK enum stv_status stv_option_value(struct stv_occurrence *occurrence, char *why,
                                                size_t size);

/* "-90 to 90 deg, north positive" for an option with a range, "" for one without. */
void stv_option_range_text(const struct stv_option_info *info, char *buffer, size_t size);

#endif
