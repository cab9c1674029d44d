/* Status codes of the whole project, one table for enum, name and text. */
#ifndef STV_MODEL_STATUS_H
#define STV_MODEL_STATUS_H

/* Families: 1..9 the program's own mistakes, 10..19 physics and data, 20..29 input,
 * 30..39 the outside world.  cli/exit_code.c maps a family to an exit code. */
#define STV_STATUS_TABLE(X)                                                                       \
    X(OK, 0, "done")                                                                              \
    X(E_ARG, 1, "called with a bad argument")                                                     \
    X(E_MEMORY, 2, "out of memory")                                                               \
    X(E_DOMAIN, 10, "outside the range in which this is known")                                   \
    X(E_NO_DATA, 11, "not enough data")                                                           \
    X(E_NO_CONVERGENCE, 12, "did not converge")                                                   \
    X(E_PARSE, 20, "cannot be read")                                                              \
    X(E_CONSISTENCY, 21, "contradicts itself")                                                    \
    X(E_USAGE, 22, "was asked for in a way that cannot be served")                                \
    X(E_IO, 30, "file could not be read or written")                                              \
    X(E_NETWORK, 31, "network failed")                                                            \
    X(E_PROGRAM, 32, "a needed program is missing or failed")

enum stv_status {
#define STV_STATUS_ENUM(name, value, text) STV_##name = (value),
    STV_STATUS_TABLE(STV_STATUS_ENUM)
#undef STV_STATUS_ENUM
};

/* The caller must look at the status. */
#define STV_MUST_CHECK __attribute__((warn_unused_result))

/* Text of a status, never NULL; "unknown status" for a number outside the table. */
const char *stv_status_text(enum stv_status status);

#endif
