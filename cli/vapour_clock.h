/* Ethanol in the air of each warehouse, as the report draws it. */
#ifndef STV_CLI_VAPOUR_CLOCK_H
#define STV_CLI_VAPOUR_CLOCK_H

#include "cli/chain.h"
#include "plots/chart_vapour.h"

/* One clock for each warehouse of the book; those of which nothing is known say so.
 *
 * outlook  holds the day of the answer, with its values
 * out      malloc'd; names borrowed from the chain
 * Errors:  those of stv_chain_vapour_of, but for missing weather, which leaves all clocks empty */
STV_MUST_CHECK enum stv_status stv_vapour_clocks(const struct stv_chain *chain,
                                                 const struct stv_outlook *outlook,
                                                 struct stv_vapour_clock **out);

#endif
