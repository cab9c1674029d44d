/* A cache of its own, a server on loopback and the rules of a fetch, for the tests of the fetcher.
 * Waits are short, so that tests are. */
#ifndef STV_TESTS_FETCH_CASE_H
#define STV_TESTS_FETCH_CASE_H

#include "tests/check.h"
#include "tests/http_server.h"
#include "tests/scratch.h"

#include "ingest/fetch.h"
#include "ingest/hash.h"

#include <dirent.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define STV_CASE_PATH 700
#define STV_CASE_RECORD 4000

/* Exit codes of the other process that are no status. */
#define STV_CASE_NOT_RUN 99
#define STV_CASE_NOT_SAID 98

struct stv_fetch_case {
    struct stv_scratch scratch;
    char cache[STV_CASE_PATH];
    struct stv_http_server *server;
    char url[STV_HTTP_TEXT];
    struct stv_fetch_rules rules;
    struct stv_fetched got;
    char why[600];
};

/* Opens a case; with an identity its server speaks TLS. */
static inline void stv_fetch_case_open(struct stv_fetch_case *test,
                                       const struct stv_http_identity *identity)
{
    setenv("no_proxy", "127.0.0.1", 1);
    stv_scratch_open(&test->scratch);
    snprintf(test->cache, sizeof test->cache, "%s/deep/cache", test->scratch.folder);
    test->server = stv_http_start(identity);
    stv_http_url(test->server, "/basin.csv", test->url);
    test->rules = stv_fetch_rules_default(test->cache);
    test->rules.connect_timeout_s = 5;
    test->rules.stall_timeout_s = 5;
    test->rules.n_tries = 3;
    test->rules.first_wait_ms = 5;
    test->rules.longest_wait_s = 3;
}

/* The fetch of the case's address; a NULL phrase: it must succeed, else fail with the status and
 * say the phrase. */
static inline void stv_fetch_case_run(struct stv_fetch_case *test, enum stv_status want,
                                      const char *phrase, const char *file, int line)
{
    test->why[0] = '\0';
    enum stv_status status =
        stv_fetch(&test->rules, test->url, &test->got, test->why, sizeof test->why);
    if (status != want || (phrase && !strstr(test->why, phrase)))
        print_error("%s:%d: said: %s\n", file, line, test->why);
    stv_check_status(status, want, file, line);
    if (phrase && !strstr(test->why, phrase))
        _fail(file, line);
    if (phrase && !(test->why[0] >= 'a' && test->why[0] <= 'z'))
        _fail(file, line);
}

#define fetch_ok(test) stv_fetch_case_run((test), STV_OK, NULL, __FILE__, __LINE__)
#define fetch_fails(test, status, phrase) \
    stv_fetch_case_run((test), (status), (phrase), __FILE__, __LINE__)

static inline void stv_assert_file(const char *path, const char *want, size_t n)
{
    char *bytes = malloc(n + 1);
    assert_non_null(bytes);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fread(bytes, 1, n + 1, file), n);
    assert_memory_equal(bytes, want, n);
    fclose(file);
    free(bytes);
}

/* The text behind "\nname: " in a record. */
static inline void stv_record_text(const char *path, const char *name, char out[STV_CASE_PATH])
{
    char record[STV_CASE_RECORD], label[40], format[20];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    record[fread(record, 1, sizeof record - 1, file)] = '\0';
    fclose(file);
    snprintf(label, sizeof label, "\n%s: ", name);
    const char *at = strstr(record, label);
    assert_non_null(at);
    snprintf(format, sizeof format, "%%%d[^\n]", STV_CASE_PATH - 1);
    out[0] = '\0';
    (void)!sscanf(at + strlen(label), format, out);
}

static inline int stv_ends_with(const char *name, const char *end)
{
    size_t n = strlen(name), m = strlen(end);
    return n >= m && strcmp(name + n - m, end) == 0;
}

/* A record must have data beside it with the check sum it tells. */
static inline void stv_assert_copy_whole(const char *folder, const char *name)
{
    char path[STV_CASE_PATH * 2], sha256[STV_CASE_PATH], length[STV_CASE_PATH],
        found[STV_SHA256_TEXT];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    stv_record_text(path, "sha256", sha256);
    stv_record_text(path, "length", length);
    snprintf(path, sizeof path, "%s/%.32s.%.16s.data", folder, name, sha256);
    stv_assert_ok(stv_file_sha256(path, found));
    assert_string_equal(found, sha256);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    assert_int_equal(ftell(file), strtol(length, NULL, 10));
    fclose(file);
}

/* Nothing is in the cache but n_copies whole ones and n_parts beginnings, each with its record. */
static inline void stv_assert_cache(const struct stv_fetch_case *test, size_t n_copies,
                                    size_t n_parts)
{
    size_t n_record = 0, n_data = 0, n_part = 0, n_resume = 0;
    DIR *listing = opendir(test->cache);
    assert_non_null(listing);
    for (const struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        const char *name = entry->d_name;
        if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
            continue;
        if (stv_ends_with(name, ".record")) {
            n_record++;
            stv_assert_copy_whole(test->cache, name);
        } else if (stv_ends_with(name, ".data")) {
            n_data++;
        } else if (stv_ends_with(name, ".part")) {
            n_part++;
        } else if (stv_ends_with(name, ".resume")) {
            n_resume++;
        } else {
            fail_msg("%s should not be in the cache", name);
        }
    }
    closedir(listing);
    assert_int_equal(n_record, n_copies);
    assert_int_equal(n_data, n_copies);
    assert_int_equal(n_part, n_parts);
    assert_int_equal(n_resume, n_parts);
}

/* The fetched file is in the cache, with these bytes and the sum it tells. */
static inline void stv_assert_got(const struct stv_fetch_case *test, const char *want, size_t n)
{
    char sha256[STV_SHA256_TEXT];
    stv_bytes_sha256(want, n, sha256);
    assert_string_equal(test->got.sha256, sha256);
    assert_int_equal(test->got.n_bytes, n);
    stv_assert_file(test->got.path, want, n);
}

/* The cache gives these bytes without the server. */
static inline void stv_assert_offline(struct stv_fetch_case *test, const char *want, size_t n)
{
    size_t n_seen = stv_http_n_seen(test->server);
    test->rules.is_offline = true;
    fetch_ok(test);
    test->rules.is_offline = false;
    assert_true(test->got.was_in_cache);
    stv_assert_got(test, want, n);
    assert_int_equal(stv_http_n_seen(test->server), n_seen);
}

/* n letters that do not repeat soon; the caller frees them. */
static inline char *stv_long_text(size_t n)
{
    char *text = malloc(n + 1);
    assert_non_null(text);
    for (size_t i = 0; i < n; i++)
        text[i] = "0123456789abcde\n"[(i * 7 + i / 911) % 16];
    text[n] = '\0';
    return text;
}

static inline void stv_script(struct stv_fetch_case *test, const struct stv_http_reply *replies,
                              size_t n)
{
    stv_http_script(test->server, replies, n);
}

static inline double stv_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Starts the program of the test itself once more, as `program fetch CACHE URL TIMES WAIT`: a
 * process that only forked would inherit the locks that the server's threads hold.  The files of
 * the new one may have most_bytes each; for it the disk is full then.  0: as many as there is room
 * for. */
static inline pid_t stv_fetch_elsewhere(const struct stv_fetch_case *test, const char *program,
                                        int n_times, rlim_t most_bytes)
{
    char times[20], wait_ms[20];
    snprintf(times, sizeof times, "%d", n_times);
    snprintf(wait_ms, sizeof wait_ms, "%ld", test->rules.first_wait_ms);
    const char *const words[] = {program, "fetch", test->cache, test->url, times, wait_ms};
    char *copies[7] = {NULL};
    for (size_t i = 0; i < 6; i++)
        assert_non_null(copies[i] = strdup(words[i]));
    const struct rlimit most = {.rlim_cur = most_bytes, .rlim_max = most_bytes};
    pid_t child = fork();
    if (child == 0) {
        signal(SIGXFSZ, SIG_IGN);
        if (most_bytes == 0 || setrlimit(RLIMIT_FSIZE, &most) == 0)
            execv(program, copies);
        _exit(STV_CASE_NOT_RUN);
    }
    for (size_t i = 0; i < 6; i++)
        free(copies[i]);
    assert_true(child > 0);
    return child;
}

/* What the other process does, in the place of the tests: the status is its exit code.  A failure
 * to write must name the cache folder. */
static inline int stv_fetch_here(char **words)
{
    char why[600] = "";
    struct stv_fetched got;
    struct stv_fetch_rules rules = stv_fetch_rules_default(words[2]);
    enum stv_status status = STV_OK;
    setenv("no_proxy", "127.0.0.1", 1);
    rules.n_tries = 3;
    rules.first_wait_ms = strtol(words[5], NULL, 10);
    for (long k = strtol(words[4], NULL, 10); k > 0 && status == STV_OK; k--)
        status = stv_fetch(&rules, words[3], &got, why, sizeof why);
    if (status == STV_E_IO && !(strstr(why, "cannot") && strstr(why, words[2])))
        return STV_CASE_NOT_SAID;
    return (int)status;
}

/* Waits for the other process and gives its status. */
static inline enum stv_status stv_fetch_ended(pid_t child)
{
    int ended;
    assert_int_equal(waitpid(child, &ended, 0), child);
    assert_true(WIFEXITED(ended));
    assert_int_not_equal(WEXITSTATUS(ended), STV_CASE_NOT_RUN);
    assert_int_not_equal(WEXITSTATUS(ended), STV_CASE_NOT_SAID);
    return (enum stv_status)WEXITSTATUS(ended);
}

static inline void stv_fetch_case_close(struct stv_fetch_case *test)
{
    char path[STV_CASE_PATH * 2];
    stv_http_stop(test->server);
    DIR *listing = opendir(test->cache);
    for (const struct dirent *entry; listing && (entry = readdir(listing)) != NULL;) {
        snprintf(path, sizeof path, "%s/%s", test->cache, entry->d_name);
        unlink(path);
    }
    if (listing)
        closedir(listing);
    rmdir(test->cache);
    snprintf(path, sizeof path, "%s/deep", test->scratch.folder);
    rmdir(path);
    stv_scratch_close(&test->scratch);
}

#endif
