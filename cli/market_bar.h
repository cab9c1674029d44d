/* How a spirit stands by the market on a day: what bars it, and its age by the market's clock. */
#ifndef STV_CLI_MARKET_BAR_H
#define STV_CLI_MARKET_BAR_H

#include "cli/chain.h"

enum stv_market_bar {
    STV_BAR_NONE,
    STV_BAR_STRONG, /* went into the wood stronger than it lets in */
    STV_BAR_LARGE,  /* lies in wood larger than it lets be */
    STV_BAR_AGE,    /* too young by its clock, or without an age at all */
    STV_BAR_N
};

struct stv_market_stand {
    enum stv_market_bar bar;
    double calendar_y; /* since the youngest part met wood */
    /* Of that, time in wood that counts: surely, and with wood counted of which it is not known.
     * The calendar's where the market has no clock. */
    double age_y, most_age_y;
    int64_t lifts_day_d; /* an age that waiting lifts: from that day on; INT64_MIN: nothing does */
};

/* Spirit of a cask on the day of a lineage; nothing bars an empty cask, or without a market.
 *
 * Assumes: of a mixture, all time at which any part lay in wood that does not count is taken off
 *          the age of the youngest, so that an age is rather too small; wood larger than the market
 *          lets be does not count either
 * Errors:  STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_market_stand(const struct stv_chain *chain,
                                                const struct stv_lineage *lineage, int cask_idx,
                                                int64_t day_d, struct stv_market_stand *out);

#endif
