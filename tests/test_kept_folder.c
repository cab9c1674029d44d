/* Results on the disk between two runs of the program. */
#include "ingest/kept_folder.h"
#include "tests/check.h"
#include "tests/scratch.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>

static struct stv_scratch scratch;
static char below[200]; /* a folder that is not there before something is kept */

static int open_all(void **state)
{
    (void)state;
    stv_scratch_open(&scratch);
    snprintf(below, sizeof below, "%s/a/b", scratch.folder);
    return 0;
}

static size_t count_files(bool removes)
{
    size_t n = 0;
    DIR *listing = opendir(below);
    for (const struct dirent *entry; listing && (entry = readdir(listing)) != NULL;) {
        n += entry->d_name[0] != '.';
        if (removes && entry->d_name[0] != '.')
            assert_int_equal(unlinkat(dirfd(listing), entry->d_name, 0), 0);
    }
    if (listing)
        closedir(listing);
    return n;
}

static int close_all(void **state)
{
    (void)state;
    char parent[200];
    snprintf(parent, sizeof parent, "%s/a", scratch.folder);
    count_files(true);
    (void)rmdir(below);
    (void)rmdir(parent);
    stv_scratch_close(&scratch);
    return 0;
}

static void keep(struct stv_kept_folder *folder, int which, const void *bytes, size_t n)
{
    const struct stv_byte_run key[] = {{&which, sizeof which}, {"key", 3}};
    const struct stv_byte_run runs[] = {{bytes, 1}, {(const char *)bytes + 1, n - 1}};
    folder->store.keep(folder->store.context, key, 2, runs, 2);
}

/* Number of bytes found, which must begin with `first`; 0: nothing. */
static size_t find(struct stv_kept_folder *folder, int which, char first)
{
    const struct stv_byte_run key[] = {{&which, sizeof which}, {"key", 3}};
    size_t n = 0;
    char *bytes = folder->store.find(folder->store.context, key, 2, &n);
    if (!bytes)
        return 0;
    assert_int_equal(bytes[0], first);
    free(bytes);
    return n;
}

static void what_is_kept_is_found(void **state)
{
    (void)state;
    struct stv_kept_folder folder, later;
    stv_kept_folder_open(below, &folder);
    assert_int_equal(find(&folder, 1, 'a'), 0);
    assert_int_not_equal(access(below, F_OK), 0); /* looking makes no folder */
    keep(&folder, 1, "abc", 3);
    keep(&folder, 2, "bcde", 4);
    keep(&folder, 1, "ABCDEFG", 7); /* in the place of the older one */
    stv_kept_folder_close(&folder, 1000);
    stv_kept_folder_open(below, &later);
    assert_int_equal(find(&later, 1, 'A'), 7);
    assert_int_equal(find(&later, 2, 'b'), 4);
    assert_int_equal(find(&later, 3, ' '), 0);
    assert_int_equal(count_files(false), 2);
    stv_kept_folder_close(&later, 0); /* kept nothing, so removes nothing */
    assert_int_equal(count_files(false), 2);
}

/* Sets the time of last use of everything there, seconds since 1970. */
static void used_at(time_t when)
{
    DIR *listing = opendir(below);
    assert_non_null(listing);
    const struct timespec times[2] = {{when, 0}, {when, 0}};
    for (const struct dirent *entry; (entry = readdir(listing)) != NULL;)
        if (entry->d_name[0] != '.')
            assert_int_equal(utimensat(dirfd(listing), entry->d_name, times, 0), 0);
    closedir(listing);
}

static void the_longest_unused_goes(void **state)
{
    (void)state;
    struct stv_kept_folder folder;
    char other[300], part[400];
    stv_kept_folder_open(below, &folder);
    keep(&folder, 1, "aaaa", 4);
    keep(&folder, 2, "bbbb", 4);
    snprintf(other, sizeof other, "%s/notes.txt", below); /* none of ours is never removed */
    assert_int_equal(close(open(other, O_CREAT | O_WRONLY, 0600)), 0);
    snprintf(part, sizeof part, "%s/%064d.kept.123456", below, 7);
    assert_int_equal(close(open(part, O_CREAT | O_WRONLY, 0600)), 0);
    used_at(1000000000);
    assert_int_equal(truncate(part, 9), 0); /* half written by a run that was killed */
    used_at(1000000000);
    assert_int_equal(find(&folder, 1, 'a'), 4); /* used now */
    keep(&folder, 3, "cccc", 4);
    assert_int_equal(count_files(false), 5);
    stv_kept_folder_close(&folder, 8);
    assert_int_equal(count_files(false), 3);
    assert_int_equal(access(other, F_OK), 0);
    assert_int_not_equal(access(part, F_OK), 0);
    stv_kept_folder_open(below, &folder);
    assert_int_equal(find(&folder, 1, 'a'), 4);
    assert_int_equal(find(&folder, 2, 'b'), 0);
    assert_int_equal(find(&folder, 3, 'c'), 4);
    stv_kept_folder_close(&folder, 8);
}

/* A run takes so much and no more, and what it has seen already stays open to it. */
static void one_run_takes_so_much(void **state)
{
    (void)state;
    struct stv_kept_folder folder;
    stv_kept_folder_open(below, &folder);
    folder.n_left = 10;
    keep(&folder, 1, "aaaaaa", 6);
    keep(&folder, 2, "bbbbbb", 6); /* does not fit any more */
    keep(&folder, 3, "cccc", 4);
    assert_int_equal(folder.n_left, 0);
    assert_int_equal(find(&folder, 1, 'a'), 6);
    assert_int_equal(find(&folder, 2, 'b'), 0);
    keep(&folder, 1, "AAAA", 4);
    assert_int_equal(find(&folder, 1, 'A'), 4);
    stv_kept_folder_close(&folder, 1000);
    assert_int_equal(count_files(false), 2);
    stv_kept_folder_open(below, &folder);
    for (int which = 0; which < STV_KEPT_RUN_FILES + 9; which++)
        keep(&folder, which, "x", 1);
    assert_int_equal(count_files(false), STV_KEPT_RUN_FILES);
    stv_kept_folder_close(&folder, 100000);
}

/* No folder to be had, something else of its name, no name: nothing is kept, and nothing is said.
 */
static void no_folder_is_no_error(void **state)
{
    (void)state;
    struct stv_kept_folder folder;
    char long_name[STV_FOLDER_PATH + 20], inside[300];
    const char *file = stv_scratch_text(&scratch, "file", "text");
    memset(long_name, 'x', sizeof long_name - 1);
    long_name[0] = '/';
    long_name[sizeof long_name - 1] = '\0';
    snprintf(inside, sizeof inside, "%s/kept", file);
    const char *const paths[] = {file, inside, "/proc/nothing/here", long_name, ""};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        stv_kept_folder_open(paths[i], &folder);
        keep(&folder, 1, "abc", 3);
        assert_int_equal(find(&folder, 1, 'a'), 0);
        stv_kept_folder_close(&folder, 1000);
    }
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, open_all, close_all)
    const struct CMUnitTest tests[] = {EACH(what_is_kept_is_found), EACH(the_longest_unused_goes),
                                       EACH(one_run_takes_so_much), EACH(no_folder_is_no_error)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
