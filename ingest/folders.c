#include "ingest/folders.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

bool stv__make_folders(const char *folder)
{
    char path[STV_FOLDER_PATH];
    if (strlen(folder) >= sizeof path) {
        errno = ENAMETOOLONG;
        return false;
    }
    snprintf(path, sizeof path, "%s", folder);
    for (char *at = path + 1; *at; at++) {
        if (*at != '/')
            continue;
        *at = '\0';
        if (mkdir(path, 0700) != 0 && errno != EEXIST)
            return false;
        *at = '/';
    }
    struct stat found;
    if (mkdir(path, 0700) != 0 && errno != EEXIST)
        return false;
    errno = ENOTDIR;
    return stat(path, &found) == 0 && S_ISDIR(found.st_mode);
}
