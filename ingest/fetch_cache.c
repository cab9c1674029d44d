/* The cache on the disk.  A copy counts from the moment its record is replaced, which is one
 * rename; before that the new data stand beside the old ones under a name of their own.  A process
 * that is killed at any point so leaves either copy, never half of one, and what else it leaves
 * behind is swept by the next that fetches the address.  A lock held by the kernel lets one at a
 * time at an address; it ends with its process.  What this does not do: limit the size of the
 * whole cache, or forget addresses. */
#include "ingest/fetch_parts.h"

#include "ingest/folders.h"
#include "ingest/write_parts.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAME_BYTES 80 /* of a file in the cache, its end counted */
#define HASH_DIGITS 16

static bool path_of(const struct stv__cache *cache, const char *kind, char out[STV_FETCH_PATH])
{
    int n = snprintf(out, STV_FETCH_PATH, "%s/%s.%s", cache->folder, cache->key, kind);
    return n > 0 && n < STV_FETCH_PATH;
}

static void data_name(const struct stv__cache *cache, const char *sha256, char out[NAME_BYTES])
{
    snprintf(out, NAME_BYTES, "%s.%.*s.data", cache->key, HASH_DIGITS, sha256);
}

void stv__cache_data_path(const struct stv__cache *cache, char out[STV_FETCH_PATH])
{
    char kind[NAME_BYTES];
    snprintf(kind, sizeof kind, "%.*s.data", HASH_DIGITS, cache->record.sha256);
    path_of(cache, kind, out);
}

static enum stv_status no_folder(const char *folder, char *why, size_t size)
{
    stv__write_says(why, size, "cannot use the cache folder", folder);
    return STV_E_IO;
}

/* Takes the lock, waiting for it; the one before may have removed the file that was waited for. */
static int lock(const char *path)
{
    for (;;) {
        int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600), status;
        if (fd < 0)
            return -1;
        do
            status = flock(fd, LOCK_EX);
        while (status != 0 && errno == EINTR);
        struct stat held, there;
        if (status == 0 && fstat(fd, &held) == 0 && stat(path, &there) == 0 &&
            held.st_ino == there.st_ino && held.st_dev == there.st_dev)
            return fd;
        int kept_errno = errno;
        close(fd);
        errno = kept_errno;
        if (status != 0)
            return -1;
    }
}

static bool has_bytes(const char *path, uint64_t least)
{
    struct stat found;
    return stat(path, &found) == 0 && S_ISREG(found.st_mode) && (uint64_t)found.st_size >= least;
}

/* Reads the record and looks whether its data are whole, to the last bit. */
static void find_copy(struct stv__cache *cache)
{
    char path[STV_FETCH_PATH], sha256[STV_SHA256_TEXT];
    path_of(cache, "record", path);
    cache->has_record = stv__fetch_record_read(path, &cache->record) &&
                        strcmp(cache->record.url, cache->url) == 0 &&
                        strlen(cache->record.sha256) == STV_SHA256_TEXT - 1;
    if (!cache->has_record)
        return;
    stv__cache_data_path(cache, path);
    cache->has_copy = has_bytes(path, cache->record.n_bytes) &&
                      stv_file_sha256(path, sha256) == STV_OK &&
                      strcmp(sha256, cache->record.sha256) == 0;
}

static void find_part(struct stv__cache *cache)
{
    char path[STV_FETCH_PATH];
    path_of(cache, "resume", path);
    if (!stv__fetch_record_read(path, &cache->part) || strcmp(cache->part.url, cache->url) != 0)
        return;
    path_of(cache, "part", path);
    cache->has_part = cache->part.n_bytes > 0 && has_bytes(path, cache->part.n_bytes);
}

/* What counts is looked up before anything can fail, for closing sweeps the rest away. */
static enum stv_status open_for_writing(struct stv__cache *cache, char *why, size_t size)
{
    char path[STV_FETCH_PATH];
    path_of(cache, "lock", path);
    if (!stv__make_folders(cache->folder) || (cache->lock_fd = lock(path)) < 0)
        return no_folder(cache->folder, why, size);
    find_copy(cache);
    find_part(cache);
    path_of(cache, "part", path);
    cache->part_fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (cache->part_fd >= 0)
        return STV_OK;
    enum stv_status status = no_folder(cache->folder, why, size);
    stv__cache_close(cache);
    return status;
}

enum stv_status stv__cache_open(const char *folder, const char *url, bool is_offline,
                                struct stv__cache *out, char *why, size_t size)
{
    char hash[STV_SHA256_TEXT];
    *out = (struct stv__cache){.folder = folder, .url = url, .lock_fd = -1, .part_fd = -1};
    stv_bytes_sha256(url, strlen(url), hash);
    memcpy(out->key, hash, sizeof out->key - 1);
    if (strlen(folder) + 1 + NAME_BYTES > STV_FETCH_PATH) {
        errno = ENAMETOOLONG;
        return no_folder(folder, why, size);
    }
    if (!is_offline)
        return open_for_writing(out, why, size);
    find_copy(out);
    if (!out->has_copy)
        find_copy(out); /* another process may just have replaced it */
    return STV_OK;
}

void stv__cache_forget_part(struct stv__cache *cache)
{
    char path[STV_FETCH_PATH];
    path_of(cache, "resume", path);
    unlink(path);
    cache->has_part = false;
}

bool stv__cache_begin_part(struct stv__cache *cache)
{
    stv__cache_forget_part(cache);
    return ftruncate(cache->part_fd, 0) == 0 && lseek(cache->part_fd, 0, SEEK_SET) == 0;
}

void stv__cache_keep_part(struct stv__cache *cache, const struct stv__fetch_record *part)
{
    char path[STV_FETCH_PATH], why[200];
    path_of(cache, "resume", path);
    cache->part = *part;
    cache->has_part = fsync(cache->part_fd) == 0 &&
                      stv__fetch_record_write(path, part, why, sizeof why) == STV_OK;
    if (!cache->has_part)
        stv__cache_forget_part(cache);
}

/* Gives the data their name and replaces the record. */
static enum stv_status put(struct stv__cache *cache, const struct stv__fetch_record *record,
                           char *why, size_t size)
{
    char part[STV_FETCH_PATH], data[STV_FETCH_PATH], path[STV_FETCH_PATH];
    struct stv__cache next = *cache;
    next.record = *record;
    path_of(cache, "part", part);
    path_of(cache, "record", path);
    stv__cache_data_path(&next, data);
    if (rename(part, data) != 0) {
        stv__write_says(why, size, "cannot write in the cache folder", cache->folder);
        return STV_E_IO;
    }
    /* When this fails the new data have no record and are swept. */
    enum stv_status status = stv__fetch_record_write(path, record, why, size);
    if (status != STV_OK)
        return status;
    cache->record = *record;
    cache->has_record = cache->has_copy = true;
    return STV_OK;
}

enum stv_status stv__cache_commit(struct stv__cache *cache, const struct stv__fetch_record *record,
                                  char *why, size_t size)
{
    char path[STV_FETCH_PATH];
    struct stv__fetch_record whole = *record;
    path_of(cache, "part", path);
    stv__cache_forget_part(cache);
    if (fsync(cache->part_fd) != 0 || stv_file_sha256(path, whole.sha256) != STV_OK) {
        stv__write_says(why, size, "cannot write in the cache folder", cache->folder);
        return STV_E_IO;
    }
    snprintf(whole.url, sizeof whole.url, "%s", cache->url);
    stv__fetch_now(whole.fetched_at);
    whole.total = whole.n_bytes;
    return put(cache, &whole, why, size);
}

void stv__cache_confirm(struct stv__cache *cache, const struct stv__fetch_record *headers)
{
    char path[STV_FETCH_PATH], why[200];
    struct stv__fetch_record *record = &cache->record;
    if (headers->etag[0])
        memcpy(record->etag, headers->etag, sizeof record->etag);
    if (headers->last_modified[0])
        memcpy(record->last_modified, headers->last_modified, sizeof record->last_modified);
    stv__fetch_now(record->fetched_at);
    path_of(cache, "record", path);
    /* On a full disk the record keeps its older time, and the copy is as good as before. */
    enum stv_status status = stv__fetch_record_write(path, record, why, sizeof why);
    (void)status;
}

/* Removes every file of this address but those that count. */
static void sweep(const struct stv__cache *cache)
{
    char names[5][NAME_BYTES] = {""};
    snprintf(names[0], NAME_BYTES, "%s.record", cache->key);
    snprintf(names[1], NAME_BYTES, "%s.lock", cache->key);
    if (cache->has_record)
        data_name(cache, cache->record.sha256, names[2]);
    if (cache->has_part) {
        snprintf(names[3], NAME_BYTES, "%s.part", cache->key);
        snprintf(names[4], NAME_BYTES, "%s.resume", cache->key);
    }
    DIR *listing = opendir(cache->folder);
    for (const struct dirent *entry; listing && (entry = readdir(listing)) != NULL;) {
        bool is_kept = strncmp(entry->d_name, cache->key, STV__FETCH_KEY - 1) != 0;
        for (size_t i = 0; i < 5 && !is_kept; i++)
            is_kept = strcmp(entry->d_name, names[i]) == 0;
        if (!is_kept)
            unlinkat(dirfd(listing), entry->d_name, 0);
    }
    if (listing)
        closedir(listing);
}

void stv__cache_close(struct stv__cache *cache)
{
    char path[STV_FETCH_PATH];
    if (cache->lock_fd < 0)
        return;
    if (cache->part_fd >= 0)
        close(cache->part_fd);
    sweep(cache);
    path_of(cache, "lock", path);
    unlink(path);
    close(cache->lock_fd);
    cache->lock_fd = cache->part_fd = -1;
}
