/* The other questions of `place`; each answers and gives the status that closes the session, or
 * has failed and said why. */
#ifndef STV_CLI_CMD_PLACE_H
#define STV_CLI_CMD_PLACE_H

#include "cli/session.h"

/* --fill and --all; --exchange; --new.  Each ends the session and gives the exit code. */
int stv__place_house(struct stv_session *session);
int stv__place_exchange(struct stv_session *session);
int stv__place_new(struct stv_session *session);

/* "hand", "lift" or "behind another cask", as scripts read it. */
const char *stv__reach_key(enum stv_reach reach);

#endif
