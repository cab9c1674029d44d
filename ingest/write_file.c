/* New file in the same folder, fsync, rename, fsync of the folder: the POSIX way to replace a file
 * in one step.  Where the system can, the new file has no name before it is whole, so that it
 * vanishes with a process that is killed; elsewhere mkstemp names it.  Both make it private, so
 * the mode is opened up to what the umask allows before it takes its name. */
#define _GNU_SOURCE /* O_TMPFILE, where there is one */
#include "ingest/write_file.h"

#include "ingest/write_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SUFFIX ".XXXXXX"
#define N_DIGITS 6 /* of the suffix */
#define TRIES 100  /* of names that other files may have */
#define JOINED 65536

void stv__write_says(char *why, size_t size, const char *what, const char *path)
{
    if (size)
        snprintf(why, size, "%s %s: %s", what, path, strerror(errno));
}

int stv__write_all(int fd, const char *bytes, size_t n)
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

static int open_folder(const char *path, int flags)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash ? strndup(path, (size_t)(slash - path) + 1) : strdup(".");
    int fd = folder ? open(folder, flags | O_CLOEXEC, 0600) : -1;
    free(folder);
    return fd;
}

/* Makes the rename itself outlive a power cut.  Some file systems cannot sync a folder; the file
 * is whole either way, so that is no failure. */
static void sync_folder(const char *path)
{
    int fd = open_folder(path, O_RDONLY | O_DIRECTORY);
    if (fd >= 0) {
        (void)fsync(fd);
        close(fd);
    }
}

/* A file without a name, or -1 where there is no such thing or no way to name it later. */
static int open_unnamed(const char *path)
{
#ifdef O_TMPFILE
    if (access("/proc/self/fd", X_OK) == 0)
        return open_folder(path, O_TMPFILE | O_WRONLY);
#endif
    (void)path;
    return -1;
}

/* Gives a name to a file without one; -1 and errno when it cannot have it. */
static int name_it(struct stv__new_file *file)
{
    char open_file[40], *digits = file->temporary + strlen(file->temporary) - N_DIGITS;
    snprintf(open_file, sizeof open_file, "/proc/self/fd/%d", file->fd);
    for (unsigned k = 0; k < TRIES && !file->is_named; k++) {
        snprintf(digits, N_DIGITS + 1, "%06u", ((unsigned)getpid() + k) % 1000000U);
        file->is_named =
            linkat(AT_FDCWD, open_file, AT_FDCWD, file->temporary, AT_SYMLINK_FOLLOW) == 0;
        if (!file->is_named && errno != EEXIST)
            break;
    }
    return file->is_named ? 0 : -1;
}

static void free_new_file(struct stv__new_file *file)
{
    free(file->path);
    free(file->temporary);
    *file = (struct stv__new_file){.fd = -1};
}

enum stv_status stv__new_file_open(const char *path, struct stv__new_file *out, char *why,
                                   size_t size)
{
    size_t room = strlen(path) + sizeof SUFFIX;
    struct stat found;
    *out = (struct stv__new_file){.path = strdup(path), .temporary = malloc(room), .fd = -1};
    if (!out->path || !out->temporary) {
        free_new_file(out);
        return STV_E_MEMORY;
    }
    snprintf(out->temporary, room, "%s%s", path, SUFFIX);
    if (stat(path, &found) == 0 && S_ISDIR(found.st_mode)) {
        errno = EISDIR;
        stv__write_says(why, size, "cannot replace", path);
        free_new_file(out);
        return STV_E_IO;
    }
    out->fd = open_unnamed(path);
    out->is_named = out->fd < 0;
    if (out->is_named)
        out->fd = mkstemp(out->temporary);
    if (out->fd >= 0)
        return STV_OK;
    stv__write_says(why, size, "cannot write in the folder of", path);
    free_new_file(out);
    return STV_E_IO;
}

/* The last steps under the temporary name; what failed, or NULL. */
static const char *settle(struct stv__new_file *file)
{
    bool has_failed = fchmod(file->fd, final_mode(file->path)) != 0 ||
                      (!file->is_spare && fsync(file->fd) != 0) ||
                      (!file->is_named && name_it(file) != 0);
    int kept_errno = errno;
    bool is_closed = close(file->fd) == 0;
    file->fd = -1;
    if (has_failed)
        errno = kept_errno;
    if (has_failed || !is_closed)
        return "cannot write";
    return rename(file->temporary, file->path) == 0 ? NULL : "cannot replace";
}

enum stv_status stv__new_file_finish(struct stv__new_file *file, char *why, size_t size)
{
    const char *fault = settle(file);
    if (fault) {
        stv__write_says(why, size, fault, file->path);
        stv__new_file_drop(file);
        return STV_E_IO;
    }
    if (!file->is_spare)
        sync_folder(file->path);
    free_new_file(file);
    return STV_OK;
}

void stv__new_file_drop(struct stv__new_file *file)
{
    if (file->fd >= 0)
        close(file->fd);
    if (file->is_named)
        unlink(file->temporary);
    free_new_file(file);
}

/* Short runs are joined, for each write costs a call of the system. */
static int write_runs(int fd, const struct stv_byte_run *runs, size_t n_runs)
{
    char joined[JOINED];
    size_t n_joined = 0;
    int failed = 0;
    for (size_t r = 0; r < n_runs && !failed; r++) {
        if (n_joined + runs[r].n > sizeof joined) {
            failed = stv__write_all(fd, joined, n_joined);
            n_joined = 0;
        }
        if (!failed && runs[r].n > sizeof joined) {
            failed = stv__write_all(fd, runs[r].bytes, runs[r].n);
        } else if (runs[r].n > 0) {
            memcpy(joined + n_joined, runs[r].bytes, runs[r].n);
            n_joined += runs[r].n;
        }
    }
    return failed ? failed : stv__write_all(fd, joined, n_joined);
}

/* Writes into a new file and finishes it. */
static enum stv_status fill(struct stv__new_file *file, const struct stv_byte_run *runs,
                            size_t n_runs, char *why, size_t size)
{
    if (write_runs(file->fd, runs, n_runs) == 0)
        return stv__new_file_finish(file, why, size);
    stv__write_says(why, size, "cannot write", file->path);
    stv__new_file_drop(file);
    return STV_E_IO;
}

enum stv_status stv_write_file(const char *path, const void *bytes, size_t n, char *why,
                               size_t size)
{
    struct stv__new_file file;
    const struct stv_byte_run all = {bytes, n};
    enum stv_status status = stv__new_file_open(path, &file, why, size);
    return status == STV_OK ? fill(&file, &all, 1, why, size) : status;
}

enum stv_status stv_write_spare_file(const char *path, const struct stv_byte_run *runs,
                                     size_t n_runs)
{
    struct stv__new_file file;
    enum stv_status status = stv__new_file_open(path, &file, NULL, 0);
    file.is_spare = true;
    return status == STV_OK ? fill(&file, runs, n_runs, NULL, 0) : status;
}
