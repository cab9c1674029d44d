/* The program's version; the build sets both names, the commit only from a repository. */
#ifndef STV_CLI_VERSION_H
#define STV_CLI_VERSION_H

#ifndef STV_VERSION
#define STV_VERSION "0.1.0"
#endif

#endif
