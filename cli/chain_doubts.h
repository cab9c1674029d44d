/* Private to the chain: contradictions between the files of a book. */
#ifndef STV_CLI_CHAIN_DOUBTS_H
#define STV_CLI_CHAIN_DOUBTS_H

#include "cli/chain.h"

/* Adds what does not fit together to the chain's problems, sets needs_attention where somebody
 * should look, and empties loggers that the weather never meets. */
/* Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_chain_doubts(struct stv_chain *chain);
/* Names rows of history.csv that take more than a cask holds by then, or put more in than fits.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__doubt_litres(struct stv_chain *chain);

#endif
