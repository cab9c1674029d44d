/* The frame around a command: chain read, problems said, failure told, exit code found. */
#ifndef STV_CLI_SESSION_H
#define STV_CLI_SESSION_H

#include "cli/chain.h"
#include "cli/options.h"

/* Why a command cannot answer from what a book says; NULL: it can. */
typedef const char *stv_session_lack(const struct stv_chain *chain);

struct stv_session {
    const struct stv_options *options;
    struct stv_chain chain;
    stv_session_lack *lack; /* NULL: the command asks for nothing of its own */
    char complaint[512];    /* why the options cannot be served, once a book is read; "" */
};

enum stv_session_depth {
    STV_SESSION_READ,   /* book, loggers and weather files are read and checked */
    STV_SESSION_CLIMATE /* and every position has its climate */
};

/* Opens the book that the options name, the one in this folder, or a bare weather file.
 * Problems met go to standard error.  False on failure: all is said and freed, and *out_exit is
 * the exit code. */
bool stv_session_open(struct stv_session *session, const struct stv_options *options,
                      enum stv_session_depth depth, int *out_exit);

/* The same to the climate; what the book lacks is said before the air is worked out. */
bool stv_session_open_lacking(struct stv_session *session, const struct stv_options *options,
                              stv_session_lack *lack, int *out_exit);

/* The same for `check`, to which a refused book is an answer: reads, prints nothing of what was
 * met, and gives the outcome.  False only when no book is named or it cannot be found. */
bool stv_session_open_for_check(struct stv_session *session, const struct stv_options *options,
                                enum stv_status *out_outcome, int *out_exit);

/* Reads and works out everything once more, with what was learned of the racks since; what was met
 * is not said again.  On failure the chain says why. */
STV_MUST_CHECK enum stv_status stv_session_reopen(struct stv_session *session);

/* Ends a command whose answer was written with this status; frees and gives the exit code. */
int stv_session_close(struct stv_session *session, enum stv_status status);

/* Ends a command without an answer: says why, also as JSON, frees and gives the exit code. */
__attribute__((format(printf, 3, 4))) int
stv_session_fail(struct stv_session *session, enum stv_status status, const char *format, ...);

/* Index of a cask by its id; -1 when there is none, with `why` naming the nearest. */
int stv_session_cask(const struct stv_session *session, const char *id, char *why, size_t size);

/* Runs of the cask model as the options ask for them. */
struct stv_run_options stv_run_options_of(const struct stv_options *options);

/* Says why there is no answer, on standard error and with --json on standard output too.
 * problems may be NULL; they are not printed again.  Returns the exit code. */
int stv_refuse(const struct stv_options *options, const struct stv_problems *problems,
               enum stv_status status, const char *message);
/* Refuses a command that does not exist, naming the nearest. */
int stv_refuse_command(const struct stv_options *options, const char *name);

#endif
