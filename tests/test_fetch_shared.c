/* Fetching by several processes at once and by killed ones: the cache stays whole, and nothing that
 * they leave behind outlives the next fetch. */
#include "tests/fetch_case.h"

#define OLD "date,tmax\n2023-08-05,23.85\n"
#define VERSIONED "ETag: \"quill-2385\"", "Last-Modified: Sat, 05 Aug 2023 12:00:00 GMT"
#define LONG_BYTES 300000
#define HUGE_BYTES ((size_t)9 << 20) /* more than goes on record at a time */
#define N_PROCESSES 8
#define N_EACH 5

static const char *program; /* this one */

static const struct stv_http_reply old_reply = {.status = 200, .body = OLD, .headers = {VERSIONED}};

/* A case that has fetched OLD. */
static void open_with_old(struct stv_fetch_case *test)
{
    stv_fetch_case_open(test, NULL);
    stv_script(test, &old_reply, 1);
    fetch_ok(test);
}

/* Starts n processes, and waits until all have fetched. */
static void fetch_in_processes(struct stv_fetch_case *test, int n, int n_times)
{
    pid_t children[N_PROCESSES];
    assert_true(n <= N_PROCESSES);
    for (int i = 0; i < n; i++)
        children[i] = stv_fetch_elsewhere(test, program, n_times, 0);
    for (int i = 0; i < n; i++)
        stv_assert_ok(stv_fetch_ended(children[i]));
}

/* A second process waits for the first, then only asks whether it changed. */
static void two_processes(void **state)
{
    (void)state;
    enum { N = 4 };
    char *text = stv_long_text(LONG_BYTES);
    const struct stv_http_reply replies[] = {
        {.status = 200, .body = text, .headers = {VERSIONED}, .cut_after = 200000},
        {.status = 200, .body = text, .headers = {VERSIONED}, .has_ranges = true},
        {.status = 304}};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    test.rules.first_wait_ms = 200;
    stv_script(&test, replies, 3);
    fetch_in_processes(&test, N, 1);
    assert_int_equal(stv_http_n_seen(test.server), 2 + N - 1);
    stv_assert_cache(&test, 1, 0);
    stv_assert_offline(&test, text, LONG_BYTES);
    stv_fetch_case_close(&test);
    free(text);
}

/* The lock changes hands often, and each holder writes the whole anew. */
static void many_processes(void **state)
{
    (void)state;
    char *text = stv_long_text(LONG_BYTES);
    const struct stv_http_reply reply = {.status = 200, .body = text};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    stv_script(&test, &reply, 1);
    fetch_in_processes(&test, N_PROCESSES, N_EACH);
    assert_int_equal(stv_http_n_seen(test.server), N_PROCESSES * N_EACH);
    stv_assert_cache(&test, 1, 0);
    stv_assert_offline(&test, text, LONG_BYTES);
    stv_fetch_case_close(&test);
    free(text);
}

/* True once a file of the cache ends so. */
static bool has_file(const struct stv_fetch_case *test, const char *end)
{
    bool is_there = false;
    DIR *listing = opendir(test->cache);
    for (const struct dirent *entry; listing && (entry = readdir(listing)) != NULL;)
        is_there = is_there || stv_ends_with(entry->d_name, end);
    if (listing)
        closedir(listing);
    return is_there;
}

/* A process killed on the way leaves the old copy, and a beginning with which the next goes on. */
static void killed(void **state)
{
    (void)state;
    char *text = stv_long_text(HUGE_BYTES);
    const struct stv_http_reply replies[] = {
        {.status = 200, .body = text, .headers = {VERSIONED}, .hang_after = HUGE_BYTES - 1000},
        {.status = 200, .body = text, .headers = {VERSIONED}, .has_ranges = true}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 2);
    pid_t child = stv_fetch_elsewhere(&test, program, 1, 0);
    double start_s = stv_seconds();
    while (!has_file(&test, ".resume") && stv_seconds() - start_s < 20)
        nanosleep(&(struct timespec){.tv_nsec = 5000000}, NULL);
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    stv_assert_offline(&test, OLD, strlen(OLD));
    fetch_ok(&test);
    struct stv_http_request seen = stv_http_seen(test.server, 1);
    const char *range = seen.range;
    assert_memory_equal(range, "bytes=", 6);
    assert_in_range(strtoul(range + 6, NULL, 10), (size_t)8 << 20, HUGE_BYTES - 1000);
    stv_assert_got(&test, text, HUGE_BYTES);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
    free(text);
}

/* What a process killed between two steps may leave is swept by the next. */
static void swept(void **state)
{
    (void)state;
    static const char *const ends[] = {"part", "0123456789abcdef.data", "record.000042", "lock"};
    struct stv_fetch_case test;
    open_with_old(&test);
    for (size_t k = 0; k < sizeof ends / sizeof ends[0]; k++) {
        char path[STV_FETCH_PATH + 40];
        snprintf(path, sizeof path, "%.*s.%s", (int)strlen(test.cache) + 33, test.got.path,
                 ends[k]);
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fclose(file), 0);
    }
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).range, "");
    stv_assert_got(&test, OLD, strlen(OLD));
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

int main(int n_words, char **words)
{
    if (n_words > 1)
        return stv_fetch_here(words);
    program = words[0];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_processes),
        cmocka_unit_test(many_processes),
        cmocka_unit_test(killed),
        cmocka_unit_test(swept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
