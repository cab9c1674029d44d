/* Families of statuses (model/status.h) become exit codes here and nowhere else. */
#include "cli/exit_code.h"

enum stv_exit stv_exit_code(enum stv_status status)
{
    switch (status) {
    case STV_OK:
        return STV_EXIT_DONE;
    case STV_E_USAGE:
        return STV_EXIT_USAGE;
    case STV_E_PARSE:
    case STV_E_CONSISTENCY:
    case STV_E_IO:
        return STV_EXIT_REFUSED;
    case STV_E_ARG:
    case STV_E_MEMORY:
    case STV_E_DOMAIN:
    case STV_E_NO_DATA:
    case STV_E_NO_CONVERGENCE:
        return STV_EXIT_NO_ANSWER;
    case STV_E_NETWORK:
        return STV_EXIT_NETWORK;
    case STV_E_PROGRAM:
        return STV_EXIT_PROGRAM;
    }
    return STV_EXIT_NO_ANSWER;
}

const char *stv_exit_text(enum stv_exit code)
{
    switch (code) {
    case STV_EXIT_DONE:
        return "done";
    case STV_EXIT_ATTENTION:
        return "done, and something needs attention";
    case STV_EXIT_USAGE:
        return "asked for in a way that cannot be served";
    case STV_EXIT_REFUSED:
        return "input refused, or a file could not be read or written";
    case STV_EXIT_NO_ANSWER:
        return "not enough data, or no convergence";
    case STV_EXIT_NETWORK:
        return "network failed";
    case STV_EXIT_PROGRAM:
        return "a needed program is missing or failed";
    case STV_EXIT_N:
        break;
    }
    return "unknown exit code";
}
