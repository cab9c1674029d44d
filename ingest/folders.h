/* Folders that are made when something is to lie in them. */
#ifndef STV_INGEST_FOLDERS_H
#define STV_INGEST_FOLDERS_H

#include <stdbool.h>

#define STV_FOLDER_PATH 512 /* longest path that stv__make_folders takes, its end counted */

/* Makes a folder and its parents; private, as the XDG rules ask of such folders.  False and errno
 * when it is not there afterwards. */
bool stv__make_folders(const char *folder);

#endif
