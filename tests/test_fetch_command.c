#define _XOPEN_SOURCE 700 /* nftw */

/* `stavecast fetch` against a server on loopback: what it says of what it kept. */
#include "tests/fetch_case.h"

#include <fcntl.h>
#include <ftw.h>
#include <sys/stat.h>

#define SAID_MAX 4000
#define TABLE                                 \
    "time,temperature [C],relative humidity " \
    "[%]\n2024-01-01T00:00,4.5,80\n2024-01-01T01:00,4.1,82\n"

static const char *stavecast; /* the program under test */

struct place {
    char home[STV_CASE_PATH], book[STV_CASE_PATH]; /* for the cache, and for the files */
};

static void open_case(struct stv_fetch_case *test, struct place *place)
{
    stv_fetch_case_open(test, NULL);
    snprintf(place->home, sizeof place->home, "%s/home", test->scratch.folder);
    snprintf(place->book, sizeof place->book, "%s/book", test->scratch.folder);
    assert_int_equal(mkdir(place->home, 0700), 0);
    assert_int_equal(mkdir(place->book, 0700), 0);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *at)
{
    (void)about, (void)kind, (void)at;
    return remove(path);
}

static void close_case(struct stv_fetch_case *test, const struct place *place)
{
    assert_int_equal(nftw(place->home, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
    assert_int_equal(nftw(place->book, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
    stv_fetch_case_close(test);
}

/* Runs `stavecast fetch --url URL --out FOLDER` and returns its exit code; both its outputs. */
static int run_fetch(const struct stv_fetch_case *test, const struct place *where, const char *path,
                     char said[SAID_MAX])
{
    char url[STV_HTTP_TEXT], log[STV_CASE_PATH + 8];
    stv_http_url(test->server, path, url);
    snprintf(log, sizeof log, "%s/said", where->home);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        int fd = open(log, O_WRONLY | O_CREAT | O_TRUNC, 0600);
        if (fd < 0 || dup2(fd, STDOUT_FILENO) < 0 || dup2(fd, STDERR_FILENO) < 0)
            _exit(STV_CASE_NOT_RUN);
        setenv("XDG_CACHE_HOME", where->home, 1);
        execl(stavecast, stavecast, "fetch", "--url", url, "--out", where->book, (char *)NULL);
        _exit(STV_CASE_NOT_RUN);
    }
    int ended = 0;
    assert_int_equal(waitpid(child, &ended, 0), child);
    assert_true(WIFEXITED(ended));
    FILE *file = fopen(log, "rb");
    assert_non_null(file);
    said[fread(said, 1, SAID_MAX - 1, file)] = '\0';
    fclose(file);
    return WEXITSTATUS(ended);
}

static void assert_says(const char *said, const char *phrase)
{
    if (!strstr(said, phrase))
        print_error("said: %s\n", said);
    assert_non_null(strstr(said, phrase));
}

static void a_table_is_ready_for_the_book(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    struct place place;
    char said[SAID_MAX];
    const struct stv_http_reply reply = {.status = 200, .body = TABLE};
    open_case(&test, &place);
    stv_script(&test, &reply, 1);
    assert_int_equal(run_fetch(&test, &place, "/basin.csv", said), 0);
    assert_says(said, "basin.csv");
    assert_says(said, "In book.yaml:");
    close_case(&test, &place);
}

/* An error told in JSON, a sentence, bytes of a picture, a packed file cut short: kept as they
 * came, for a person to look at, and never offered to the book. */
static void what_is_no_weather_is_said(void **state)
{
    (void)state;
    static const struct {
        const char *path, *body;
        size_t n;
        const char *phrase;
    } bodies[] = {
        {"/a.csv", "{\"error\":true}", 14, "no row names a time and a quantity"},
        {"/b.txt", "No data available\n", 18, "no row names a time and a quantity"},
        {"/c.csv", "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0", 18, "is a picture"},
        {"/d.csv.gz", "\x1f\x8b\x08\0\0\0\0\0\0\x03\x4b\x4c", 12, "cut short"},
    };
    struct stv_fetch_case test;
    struct place place;
    char said[SAID_MAX];
    open_case(&test, &place);
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        const struct stv_http_reply reply = {
            .status = 200, .body = bodies[i].body, .n = bodies[i].n};
        stv_script(&test, &reply, 1);
        assert_int_equal(run_fetch(&test, &place, bodies[i].path, said), 1);
        assert_says(said, "does not read as weather yet");
        assert_says(said, bodies[i].phrase);
        assert_null(strstr(said, "In book.yaml:"));
    }
    close_case(&test, &place);
}

/* A page that says "not found", and nothing: refused, nothing kept. */
static void pages_are_not_kept(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    struct place place;
    char said[SAID_MAX], path[STV_CASE_PATH + 12];
    const struct stv_http_reply reply = {.status = 200,
                                         .body = "<!DOCTYPE html><title>Not found</title>"};
    open_case(&test, &place);
    stv_script(&test, &reply, 1);
    assert_true(run_fetch(&test, &place, "/basin.csv", said) > 1);
    snprintf(path, sizeof path, "%s/basin.csv", place.book);
    assert_int_not_equal(access(path, F_OK), 0);
    close_case(&test, &place);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        print_error("usage: test_fetch_command STAVECAST\n");
        return 2;
    }
    stavecast = argv[1];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_table_is_ready_for_the_book),
        cmocka_unit_test(what_is_no_weather_is_said),
        cmocka_unit_test(pages_are_not_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
