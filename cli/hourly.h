/* Every hour of every tier, as CSV. */
#ifndef STV_CLI_HOURLY_H
#define STV_CLI_HOURLY_H

#include "cli/chain.h"
#include "cli/options.h"

/* Writes time_utc,tier,air_c,rh_frac,liquid_c: means over the hour that ends at the stamp, the
 * liquid that of a 200 L cask.  A book with several warehouses gets a last column, warehouse.
 * Errors: STV_E_IO, STV_E_MEMORY, those of the liquid's temperature; all said on standard error. */
STV_MUST_CHECK enum stv_status stv_hourly_write(const struct stv_options *options,
                                                const struct stv_chain *chain, const char *path);

#endif
