/* Temporary file in the same folder, fsync, rename, fsync of the folder: the POSIX way to replace
 * a file in one step.  mkstemp makes the file private, so the mode is opened up to what the
 * umask allows before it takes the name. */
#include "ingest/write_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void say(char *why, size_t size, const char *what, const char *path)
{
    if (size)
        snprintf(why, size, "%s %s: %s", what, path, strerror(errno));
}

static int write_all(int fd, const char *bytes, size_t n)
{
    while (n > 0) {
        ssize_t written = write(fd, bytes, n);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return -1;
        bytes += written;
        n -= (size_t)written;
    }
    return 0;
}

/* The mode a file made with open(.., 0666) would have had, or that of the file replaced. */
static mode_t final_mode(const char *path)
{
    struct stat old;
    if (stat(path, &old) == 0)
        return old.st_mode & 0777;
    mode_t mask = umask(0);
    umask(mask);
    return 0666 & ~mask;
}

static int fill(int fd, const char *path, const void *bytes, size_t n)
{
    int failed =
        write_all(fd, bytes, n) != 0 || fchmod(fd, final_mode(path)) != 0 || fsync(fd) != 0;
    int kept_errno = errno;
    if (close(fd) != 0 && !failed)
        return -1;
    errno = kept_errno;
    return failed ? -1 : 0;
}

/* Makes the rename itself outlive a power cut.  Some file systems cannot sync a folder; the file
 * is whole either way, so that is no failure. */
static void sync_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash ? strndup(path, (size_t)(slash - path) + 1) : strdup(".");
    int fd = folder ? open(folder, O_RDONLY | O_DIRECTORY) : -1;
    if (fd >= 0) {
        (void)fsync(fd);
        close(fd);
    }
    free(folder);
}

enum stv_status stv_write_file(const char *path, const void *bytes, size_t n, char *why,
                               size_t size)
{
    static const char suffix[] = ".XXXXXX";
    enum stv_status status = STV_E_IO;
    size_t length = strlen(path) + sizeof suffix;
    char *temporary = malloc(length);
    if (!temporary)
        return STV_E_MEMORY;
    snprintf(temporary, length, "%s%s", path, suffix);
    int fd = mkstemp(temporary);
    if (fd < 0) {
        say(why, size, "cannot write in the folder of", path);
        goto done;
    }
    if (fill(fd, path, bytes, n) != 0) {
        say(why, size, "cannot write", path);
        unlink(temporary);
        goto done;
    }
    if (rename(temporary, path) != 0) {
        say(why, size, "cannot replace", path);
        unlink(temporary);
        goto done;
    }
    sync_folder(path);
    status = STV_OK;
done:
    free(temporary);
    return status;
}
