/* The name of a file is the check sum of the program and of the key, so that nothing is ever stale:
 * another build, another hour of weather and another number of the book have other names. */
#include "ingest/kept_folder.h"

#include "ingest/whole_file.h"
#include "ingest/write_file.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ENDING ".kept"
#define FILES_MOST 4096 /* that are weighed against one another */
#define KEY_RUNS_MOST 15

/* Room for a file's path and the name that it has while it is written. */
enum { FILE_PATH = STV_FOLDER_PATH + STV_SHA256_TEXT + sizeof ENDING };

/* False where the program cannot tell which build it is. */
static bool knows_program(struct stv_kept_folder *folder)
{
    bool knows;
#pragma omp critical(kept_folder)
    knows = folder->program[0] || stv_program_sha256(folder->program) == STV_OK;
    return knows;
}

static bool name_of(struct stv_kept_folder *folder, const struct stv_byte_run *key, size_t n_runs,
                    char out[STV_SHA256_TEXT])
{
    struct stv_byte_run runs[1 + KEY_RUNS_MOST] = {{folder->program, sizeof folder->program}};
    if (!folder->path[0] || n_runs > KEY_RUNS_MOST || !knows_program(folder))
        return false;
    memcpy(runs + 1, key, n_runs * sizeof *key);
    stv_runs_sha256(runs, 1 + n_runs, out);
    return true;
}

static bool is_seen(const struct stv_kept_folder *folder, const char *name)
{
    for (size_t i = 0; i < folder->n_seen; i++)
        if (memcmp(folder->seen[i], name, sizeof folder->seen[i]) == 0)
            return true;
    return false;
}

/* Most bytes that a file of this name may have. */
static size_t room_for(const struct stv_kept_folder *folder, const char *name)
{
    size_t room;
#pragma omp critical(kept_folder)
    {
        room = folder->n_seen < STV_KEPT_RUN_FILES ? folder->n_left : 0;
        if (is_seen(folder, name))
            room = STV_KEPT_RUN_MOST;
    }
    return room;
}

/* False when others have taken the room meanwhile. */
static bool note_seen(struct stv_kept_folder *folder, const char *name, size_t n)
{
    bool has_room;
#pragma omp critical(kept_folder)
    {
        bool is_new = !is_seen(folder, name);
        has_room = !is_new || (folder->n_seen < STV_KEPT_RUN_FILES && n <= folder->n_left);
        if (is_new && has_room) {
            memcpy(folder->seen[folder->n_seen++], name, sizeof folder->seen[0]);
            folder->n_left -= n;
        }
    }
    return has_room;
}

static void path_of(const struct stv_kept_folder *folder, const char *name, char out[FILE_PATH])
{
    snprintf(out, FILE_PATH, "%s/%s" ENDING, folder->path, name);
}

static void *find(void *context, const struct stv_byte_run *key, size_t n_runs, size_t *out_n)
{
    struct stv_kept_folder *folder = context;
    char name[STV_SHA256_TEXT], path[FILE_PATH], why[200], *bytes = NULL;
    if (!name_of(folder, key, n_runs, name))
        return NULL;
    path_of(folder, name, path);
    if (stv__whole_file(path, room_for(folder, name), &bytes, out_n, why, sizeof why) != STV_OK)
        return NULL;
    if (!note_seen(folder, name, *out_n)) {
        free(bytes);
        return NULL;
    }
    (void)utimensat(AT_FDCWD, path, NULL, 0);
    return bytes;
}

static void keep(void *context, const struct stv_byte_run *key, size_t n_runs,
                 const struct stv_byte_run *bytes, size_t n_byte_runs)
{
    struct stv_kept_folder *folder = context;
    char name[STV_SHA256_TEXT], path[FILE_PATH];
    size_t n = 0;
    for (size_t r = 0; r < n_byte_runs; r++)
        n += bytes[r].n;
    if (!name_of(folder, key, n_runs, name) || n > room_for(folder, name) ||
        !stv__make_folders(folder->path))
        return;
    path_of(folder, name, path);
    if (stv_write_spare_file(path, bytes, n_byte_runs) != STV_OK)
        return;
    (void)note_seen(folder, name, n);
#pragma omp atomic write
    folder->has_kept = true;
}

void stv_kept_folder_open(const char *path, struct stv_kept_folder *out)
{
    *out = (struct stv_kept_folder){.n_left = STV_KEPT_RUN_MOST, .store = {find, keep, out}};
    if (strlen(path) < sizeof out->path)
        snprintf(out->path, sizeof out->path, "%s", path);
}

struct kept_file {
    char name[STV_SHA256_TEXT + 16];
    struct timespec used;
    size_t n;
};

/* Also what a run that was killed left half written. */
static bool is_ours(const char *name)
{
    size_t n_digits = strspn(name, "0123456789abcdef");
    return n_digits == STV_SHA256_TEXT - 1 &&
           strncmp(name + n_digits, ENDING, strlen(ENDING)) == 0 &&
           strlen(name) < sizeof((struct kept_file *)0)->name;
}

static size_t list_files(DIR *listing, struct kept_file *files)
{
    size_t n = 0;
    for (const struct dirent *entry; n < FILES_MOST && (entry = readdir(listing)) != NULL;) {
        struct stat found;
        if (!is_ours(entry->d_name) ||
            fstatat(dirfd(listing), entry->d_name, &found, AT_SYMLINK_NOFOLLOW) != 0)
            continue;
        strcpy(files[n].name, entry->d_name);
        files[n].used = found.st_mtim;
        files[n++].n = (size_t)found.st_size;
    }
    return n;
}

/* The one used last first. */
static int compare_use(const void *a, const void *b)
{
    const struct timespec *x = &((const struct kept_file *)a)->used;
    const struct timespec *y = &((const struct kept_file *)b)->used;
    if (x->tv_sec != y->tv_sec)
        return x->tv_sec > y->tv_sec ? -1 : 1;
    return (x->tv_nsec < y->tv_nsec) - (x->tv_nsec > y->tv_nsec);
}

void stv_kept_folder_close(struct stv_kept_folder *folder, size_t most)
{
    DIR *listing = folder->has_kept ? opendir(folder->path) : NULL;
    struct kept_file *files = listing ? malloc(FILES_MOST * sizeof *files) : NULL;
    size_t n = files ? list_files(listing, files) : 0, n_bytes = 0;
    if (n > 0)
        qsort(files, n, sizeof *files, compare_use);
    for (size_t i = 0; i < n; i++) {
        n_bytes += files[i].n;
        if (n_bytes > most)
            (void)unlinkat(dirfd(listing), files[i].name, 0);
    }
    free(files);
    if (listing)
        closedir(listing);
    *folder = (struct stv_kept_folder){.path = ""};
}
