/* The program's version and the libcurl it was configured with; the build sets both, and
 * STV_COMMIT only from a repository. */
#ifndef STV_CLI_VERSION_H
#define STV_CLI_VERSION_H

#ifndef STV_VERSION
#define STV_VERSION "(version not set by the build)"
#endif

#endif
