/* Reads in growing blocks, the first of the size that stat tells: that is not trusted, because a
 * file may grow or shrink while it is read. */
#include "ingest/whole_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define FIRST_BLOCK 65536
#define MEGABYTE ((size_t)1 << 20)

/* Folders and devices open like files, and may never end. */
static const char *why_not_plain(const char *path, size_t *out_size)
{
    struct stat found;
    *out_size = 0;
    if (stat(path, &found) != 0)
        return errno == ENOENT  ? "there is no such file"
               : errno == ELOOP ? "is a link that leads through too many links; a file is wanted"
                                : NULL;
    if (S_ISDIR(found.st_mode))
        return "is a folder; a file is wanted";
    if (!S_ISREG(found.st_mode))
        return "is not a regular file";
    *out_size = (size_t)found.st_size;
    return NULL;
}

/* One byte more than there should be shows the end at once, and one is for the NUL. */
static size_t first_block(size_t size, size_t most)
{
    size_t block = (size < most ? size : most) + 2;
    return block > FIRST_BLOCK ? block : FIRST_BLOCK;
}

static enum stv_status read_all(FILE *file, size_t capacity, size_t most, char **bytes, size_t *n)
{
    *n = 0;
    *bytes = malloc(capacity);
    while (*bytes) {
        *n += fread(*bytes + *n, 1, capacity - 1 - *n, file);
        if (*n < capacity - 1 || *n > most)
            break;
        capacity *= 2;
        char *grown = realloc(*bytes, capacity);
        if (!grown)
            free(*bytes);
        *bytes = grown;
    }
    if (!*bytes)
        return STV_E_MEMORY;
    (*bytes)[*n] = '\0';
    return ferror(file) || *n > most ? STV_E_IO : STV_OK;
}

enum stv_status stv__whole_file(const char *path, size_t most, char **out_bytes, size_t *out_n,
                                char *why, size_t size)
{
    *out_bytes = NULL;
    *out_n = 0;
    size_t told;
    const char *fault = why_not_plain(path, &told);
    FILE *file = fault ? NULL : fopen(path, "rb");
    if (!file) {
        if (fault)
            snprintf(why, size, "%s", fault);
        else
            snprintf(why, size, "cannot be read: %s", strerror(errno));
        return STV_E_IO;
    }
    char *bytes = NULL;
    size_t n = 0;
    enum stv_status status = read_all(file, first_block(told, most), most, &bytes, &n);
    if (status == STV_E_MEMORY)
        snprintf(why, size, "does not fit into the memory");
    else if (status == STV_E_IO && n > most)
        snprintf(why, size, "is longer than %zu MB, the most that is read; split it",
                 most / MEGABYTE);
    else if (status == STV_E_IO)
        snprintf(why, size, "cannot be read: %s", strerror(errno));
    fclose(file);
    if (status == STV_OK) {
        *out_bytes = bytes;
        *out_n = n;
    } else {
        free(bytes);
    }
    return status;
}
