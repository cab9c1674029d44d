/* Published files that the tests are compared with and that are no part of this project: the folder
 * is STAVECAST_DATA, or ../shared/data beside the source.  Without it a test is skipped and says
 * so. */
#ifndef STV_TESTS_PUBLISHED_DATA_H
#define STV_TESTS_PUBLISHED_DATA_H

#include "tests/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

/* Path of "buildings/725650TYCST.epw" or of a folder; skips the test where it is absent. */
static inline void stv_published_path(const char *name, char *out, size_t size)
{
    const char *named = getenv("STAVECAST_DATA");
    snprintf(out, size, "%s/%s", named && *named ? named : STV_SOURCE_DIR "/../shared/data", name);
    if (access(out, R_OK) == 0)
        return;
    print_message("no %s: nothing compared\n", out);
    skip();
}

#endif
