/* Exit codes of the command, one place for the codes, their meaning and the mapping to them. */
#ifndef STV_CLI_EXIT_CODE_H
#define STV_CLI_EXIT_CODE_H

#include "model/status.h"

enum stv_exit {
    STV_EXIT_DONE = 0,
    STV_EXIT_ATTENTION = 1,
    STV_EXIT_USAGE = 2,
    STV_EXIT_REFUSED = 3,
    STV_EXIT_NO_ANSWER = 4,
    STV_EXIT_NETWORK = 5,
    STV_EXIT_PROGRAM = 6,
    STV_EXIT_N
};

/* The exit code of a status.  The program's own mistakes and a shortage of memory give
 * STV_EXIT_NO_ANSWER: there is no answer, and the input is not to blame. */
enum stv_exit stv_exit_code(enum stv_status status);

/* What a code means, in a few words. */
const char *stv_exit_text(enum stv_exit code);

#endif
