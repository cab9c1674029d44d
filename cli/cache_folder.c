#include "cli/cache_folder.h"

#include <stdio.h>
#include <stdlib.h>

const char *stv_cache_folder(const char *below, char out[STV_FOLDER_PATH])
{
    const char *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    bool is_said = cache && cache[0] == '/';
    out[0] = '\0';
    if (!is_said && (!home || home[0] != '/'))
        return "There is no place for the cache: set HOME or XDG_CACHE_HOME to a folder.";
    int n = snprintf(out, STV_FOLDER_PATH, "%s%s/stavecast%s%s", is_said ? cache : home,
                     is_said ? "" : "/.cache", below[0] ? "/" : "", below);
    if (n > 0 && n < STV_FOLDER_PATH)
        return NULL;
    out[0] = '\0';
    return "The name of the cache folder is too long.";
}
