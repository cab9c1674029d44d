/* Writes the report's files so that a failure leaves the earlier report as it was: all are
 * written beside their places under temporary names first and renamed at the end. */
#include "plots/report_parts.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ENDING ".part"

static enum stv_status temporary_path(const struct stv_file *file, char path[PATH_MAX])
{
    int n = snprintf(path, PATH_MAX, "%s" ENDING, stv_text_string(&file->path));
    return n < 0 || n >= PATH_MAX ? STV_E_IO : STV_OK;
}

static enum stv_status write_one(const struct stv_file *file)
{
    char path[PATH_MAX];
    if (file->path.has_failed || file->content.has_failed)
        return STV_E_MEMORY;
    enum stv_status status = temporary_path(file, path);
    FILE *out = status == STV_OK ? fopen(path, "wb") : NULL;
    if (out == NULL)
        return STV_E_IO;
    size_t n = fwrite(stv_text_string(&file->content), 1, file->content.n, out);
    int kept_errno = errno;
    if (fclose(out) != 0)
        return STV_E_IO;
    errno = kept_errno;
    return n == file->content.n ? STV_OK : STV_E_IO;
}

static void remove_temporary(const struct stv_file *files, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        char path[PATH_MAX];
        if (temporary_path(&files[i], path) == STV_OK)
            unlink(path);
    }
}

enum stv_status stv__files_write(const struct stv_file *files, size_t n, char *why, size_t size)
{
    enum stv_status status = STV_OK;
    size_t i;
    for (i = 0; i < n && status == STV_OK; i++)
        status = write_one(&files[i]);
    for (size_t k = 0; k < n && status == STV_OK; k++) {
        char path[PATH_MAX];
        i = k + 1;
        status = temporary_path(&files[k], path);
        if (status == STV_OK && rename(path, stv_text_string(&files[k].path)) != 0)
            status = STV_E_IO;
    }
    if (status == STV_OK)
        return STV_OK;
    snprintf(why, size, "%s could not be written: %s", stv_text_string(&files[i - 1].path),
             status == STV_E_IO ? strerror(errno) : stv_status_text(status));
    remove_temporary(files, n);
    return status;
}

enum stv_status stv__folder_make(const char *path, size_t *out_n_there)
{
    char part[PATH_MAX];
    size_t n = strlen(path);
    *out_n_there = n;
    errno = ENAMETOOLONG;
    if (n == 0 || n >= sizeof part)
        return STV_E_IO;
    for (size_t i = 1; i <= n; i++) {
        if (path[i] != '/' && path[i] != '\0')
            continue;
        memcpy(part, path, i);
        part[i] = '\0';
        bool is_made = mkdir(part, 0777) == 0;
        if (!is_made && errno != EEXIST)
            return STV_E_IO;
        if (is_made && *out_n_there == n)
            *out_n_there = i - 1;
    }
    struct stat about;
    if (stat(path, &about) != 0)
        return STV_E_IO;
    errno = ENOTDIR;
    return S_ISDIR(about.st_mode) ? STV_OK : STV_E_IO;
}

void stv__folder_unmake(const char *path, size_t n_there)
{
    char part[PATH_MAX];
    size_t n = strlen(path);
    if (n >= sizeof part)
        return;
    memcpy(part, path, n + 1);
    for (; n > n_there; n--) {
        bool is_end = part[n] == '\0' || part[n] == '/';
        part[n] = '\0';
        if (is_end && rmdir(part) != 0)
            return;
    }
}

/* True for names that a report of ours gives to charts: stem, dash, digit, and the right end. */
static bool is_chart_name(const char *name)
{
    static const char *const stems[] = {
        "rack-",     "ridges-", "losses-",  "vapour-", "cycles-", "paths-", "degree-days-",
        "calendar-", "cask-",   "windows-", "gauges-", "sites-",  "kind-"};
    const char *dot = strrchr(name, '.');
    if (dot == NULL || (strcmp(dot, ".svg") != 0 && strcmp(dot, ".csv") != 0))
        return false;
    for (size_t i = 0; i < sizeof stems / sizeof stems[0]; i++)
        if (strncmp(name, stems[i], strlen(stems[i])) == 0)
            return isdigit((unsigned char)name[strlen(stems[i])]) != 0;
    return false;
}

static bool is_written(const struct stv_file *files, size_t n, const char *path)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(stv_text_string(&files[i].path), path) == 0)
            return true;
    return false;
}

void stv__files_remove_old(const char *folder, const struct stv_file *files, size_t n)
{
    DIR *open_folder = opendir(folder);
    if (open_folder == NULL)
        return;
    struct dirent *entry;
    while ((entry = readdir(open_folder)) != NULL) {
        struct stv_text path = {0};
        stv_text_format(&path, "%s/%s", folder, entry->d_name);
        if (is_chart_name(entry->d_name) && !path.has_failed &&
            !is_written(files, n, stv_text_string(&path)))
            unlink(stv_text_string(&path));
        stv_text_free(&path);
    }
    closedir(open_folder);
}
