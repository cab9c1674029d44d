/* Files written piece by piece: whole with the right mode, or not at all when the disk is full,
 * the stream is dropped or the process is killed; and those that are written through. */
#define _GNU_SOURCE /* O_TMPFILE, where there is one */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/write_file.h"
#include "ingest/write_stream.h"

#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

#define WHY 400
#define PATH 300
#define OLD "old and longer"
#define LONG_BYTES 300000 /* several buffers */

static char *long_text(void)
{
    char *text = malloc(LONG_BYTES);
    assert_non_null(text);
    for (size_t i = 0; i < LONG_BYTES; i++)
        text[i] = "0123456789abcde\n"[(i * 7 + i / 911) % 16];
    return text;
}

static struct stv_write_stream *open_stream(const char *path)
{
    struct stv_write_stream *stream;
    char why[WHY] = "";
    enum stv_status status = stv_write_stream_open(path, &stream, why, sizeof why);
    if (status != STV_OK)
        print_error("%s\n", why);
    stv_assert_ok(status);
    return stream;
}

static void commit(struct stv_write_stream *stream)
{
    char why[WHY] = "";
    stv_assert_ok(stv_write_stream_commit(stream, why, sizeof why));
    assert_string_equal(why, "");
}

static void assert_commit_fails(struct stv_write_stream *stream, const char *phrase)
{
    char why[WHY] = "";
    stv_assert_status(stv_write_stream_commit(stream, why, sizeof why), STV_E_IO);
    if (!strstr(why, phrase))
        print_error("said: %s\n", why);
    assert_non_null(strstr(why, phrase));
}

static void assert_not_opened(const char *path, const char *phrase)
{
    struct stv_write_stream *stream;
    char why[WHY] = "";
    stv_assert_status(stv_write_stream_open(path, &stream, why, sizeof why), STV_E_IO);
    assert_null(stream);
    if (!strstr(why, phrase))
        print_error("said: %s\n", why);
    assert_non_null(strstr(why, phrase));
    stv_assert_status(stv_write_stream_open(path, &stream, NULL, 0), STV_E_IO);
}

static void assert_holds(const char *path, const char *want, size_t n)
{
    char *got = malloc(n + 1);
    assert_non_null(got);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fread(got, 1, n + 1, file), n);
    assert_memory_equal(got, want, n);
    fclose(file);
    free(got);
}

static mode_t mode_of(const char *path)
{
    struct stat found;
    assert_int_equal(stat(path, &found), 0);
    return found.st_mode & 0777;
}

/* Number of files in a folder; the name of one that is not `known` goes to other. */
static size_t files_in(const char *folder, const char *known, char other[PATH])
{
    size_t n = 0;
    other[0] = '\0';
    DIR *listing = opendir(folder);
    assert_non_null(listing);
    for (const struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        n++;
        if (strcmp(entry->d_name, known) != 0)
            snprintf(other, PATH, "%s/%s", folder, entry->d_name);
    }
    closedir(listing);
    return n;
}

static void assert_old_alone(const struct stv_scratch *scratch)
{
    char other[PATH];
    assert_int_equal(files_in(scratch->folder, "answer.csv", other), 1);
    assert_string_equal(other, "");
    assert_holds(scratch->paths[0], OLD, strlen(OLD));
}

static const char *scratch_with_old(struct stv_scratch *scratch)
{
    stv_scratch_open(scratch);
    return stv_scratch_text(scratch, "answer.csv", OLD);
}

static void whole_and_in_any_pieces(void **state)
{
    (void)state;
    static const size_t pieces[] = {1, 7, 65535, 65536, 65537, LONG_BYTES};
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char *text = long_text(), other[PATH];
    for (size_t k = 0; k < sizeof pieces / sizeof pieces[0]; k++) {
        struct stv_write_stream *stream = open_stream(path);
        for (size_t at = 0; at < LONG_BYTES; at += pieces[k]) {
            size_t rest = LONG_BYTES - at;
            size_t n = pieces[k] < rest ? pieces[k] : rest;
            stv_assert_ok(stv_write_stream_bytes(stream, text + at, n));
        }
        commit(stream);
        assert_holds(path, text, LONG_BYTES);
    }
    /* Nothing at all is a file too. */
    commit(open_stream(path));
    assert_holds(path, "", 0);
    assert_int_equal(files_in(scratch.folder, "answer.csv", other), 1);
    free(text);
    stv_scratch_close(&scratch);
}

static void modes(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    mode_t mask = umask(027);
    assert_int_equal(chmod(path, 0604), 0);
    commit(open_stream(path));
    assert_int_equal(mode_of(path), 0604);
    assert_int_equal(unlink(path), 0);
    commit(open_stream(path));
    assert_int_equal(mode_of(path), 0640);
    assert_int_equal(unlink(path), 0);
    stv_assert_ok(stv_write_file(path, "x", 1, NULL, 0));
    assert_int_equal(mode_of(path), 0640);
    umask(mask);
    stv_scratch_close(&scratch);
}

/* A name without a folder lies in the folder at hand. */
static void bare_name(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    int here = open(".", O_RDONLY | O_DIRECTORY);
    assert_true(here >= 0);
    assert_int_equal(chdir(scratch.folder), 0);
    struct stv_write_stream *stream = open_stream("answer.csv");
    stv_assert_ok(stv_write_stream_bytes(stream, "new", 3));
    commit(stream);
    assert_int_equal(fchdir(here), 0);
    close(here);
    assert_holds(path, "new", 3);
    stv_scratch_close(&scratch);
}

static void dropped(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char *text = long_text(), absent[PATH], other[PATH];
    struct stv_write_stream *stream = open_stream(path);
    stv_assert_ok(stv_write_stream_bytes(stream, text, LONG_BYTES));
    stv_write_stream_drop(stream);
    assert_old_alone(&scratch);
    snprintf(absent, sizeof absent, "%s/new.csv", scratch.folder);
    stream = open_stream(absent);
    stv_assert_ok(stv_write_stream_bytes(stream, text, LONG_BYTES));
    stv_write_stream_drop(stream);
    stv_write_stream_drop(NULL);
    assert_int_equal(files_in(scratch.folder, "answer.csv", other), 1);
    free(text);
    stv_scratch_close(&scratch);
}

/* True where a file may exist without a name, so that nothing of it outlives its process. */
static int has_unnamed_files(const char *folder)
{
#ifdef O_TMPFILE
    int fd = open(folder, O_TMPFILE | O_WRONLY, 0600);
#else
    int fd = -1;
#endif
    if (fd >= 0)
        close(fd);
    (void)folder;
    return fd >= 0 && access("/proc/self/fd", X_OK) == 0;
}

static void killed(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char *text = long_text(), other[PATH], ready = '\0';
    int ends[2], end;
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct stv_write_stream *stream;
        if (stv_write_stream_open(path, &stream, NULL, 0) == STV_OK &&
            stv_write_stream_bytes(stream, text, LONG_BYTES) == STV_OK)
            ready = '+';
        if (write(ends[1], &ready, 1) == 1)
            pause();
        _exit(1);
    }
    assert_int_equal(read(ends[0], &ready, 1), 1);
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, &end, 0), child);
    assert_int_equal(ready, '+');
    assert_true(WIFSIGNALED(end));
    close(ends[0]);
    close(ends[1]);
    free(text);
    /* Elsewhere the temporary may stay, beside the old file and with its name as a start. */
    if (!has_unnamed_files(scratch.folder) && files_in(scratch.folder, "answer.csv", other) == 2) {
        assert_int_equal(strncmp(other, path, strlen(path)), 0);
        assert_int_equal(unlink(other), 0);
    }
    assert_old_alone(&scratch);
    stv_scratch_close(&scratch);
}

/* A limit on the length of files stands for the full disk. */
static void full_disk(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char *text = long_text(), why[WHY] = "";
    struct rlimit old, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    small = (struct rlimit){.rlim_cur = LONG_BYTES / 2, .rlim_max = old.rlim_max};
    void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
    struct stv_write_stream *stream = open_stream(path);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    enum stv_status first = stv_write_stream_bytes(stream, text, LONG_BYTES);
    enum stv_status second = stv_write_stream_bytes(stream, "x", 1);
    enum stv_status whole = stv_write_file(path, text, LONG_BYTES, why, sizeof why);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
    signal(SIGXFSZ, handler);
    stv_assert_status(first, STV_E_IO);
    stv_assert_status(second, STV_E_IO);
    assert_commit_fails(stream, "cannot write");
    stv_assert_status(whole, STV_E_IO);
    assert_non_null(strstr(why, path));
    assert_old_alone(&scratch);
    free(text);
    stv_scratch_close(&scratch);
}

static void not_opened(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    char path[PATH], why[WHY] = "";
    scratch_with_old(&scratch);
    assert_not_opened(scratch.folder, "cannot replace");
    snprintf(path, sizeof path, "%s/none/answer.csv", scratch.folder);
    assert_not_opened(path, "cannot write in the folder of");
    /* A folder that came in the way while the stream was open. */
    snprintf(path, sizeof path, "%s/late", scratch.folder);
    struct stv_write_stream *stream = open_stream(path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_commit_fails(stream, "cannot replace");
    stv_assert_status(stv_write_file(path, "x", 1, why, sizeof why), STV_E_IO);
    assert_non_null(strstr(why, "cannot replace"));
    assert_int_equal(rmdir(path), 0);
    assert_old_alone(&scratch);
    stv_scratch_close(&scratch);
}

/* Another file has the temporary name: the next one is taken. */
static void temporary_name_taken(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char name[64], other[PATH];
    snprintf(name, sizeof name, "answer.csv.%06ld", (long)getpid() % 1000000);
    stv_scratch_text(&scratch, name, "another's");
    struct stv_write_stream *stream = open_stream(path);
    stv_assert_ok(stv_write_stream_bytes(stream, "new", 3));
    commit(stream);
    assert_holds(path, "new", 3);
    assert_holds(scratch.paths[1], "another's", 9);
    assert_int_equal(files_in(scratch.folder, "answer.csv", other), 2);
    stv_scratch_close(&scratch);
}

static void full_device(void **state)
{
    (void)state;
    struct stat found;
    assert_int_equal(stat("/dev/full", &found), 0);
    char *text = long_text();
    struct stv_write_stream *stream = open_stream("/dev/full");
    stv_assert_status(stv_write_stream_bytes(stream, text, LONG_BYTES), STV_E_IO);
    assert_commit_fails(stream, "/dev/full: No space left");
    /* Little enough to wait in the buffer: only the commit can tell. */
    stream = open_stream("/dev/full");
    stv_assert_ok(stv_write_stream_bytes(stream, text, 9));
    assert_commit_fails(stream, "/dev/full: No space left");
    stream = open_stream("/dev/full");
    stv_assert_ok(stv_write_stream_bytes(stream, text, 9));
    stv_write_stream_drop(stream);
    assert_int_equal(stat("/dev/full", &found), 0);
    assert_true(S_ISCHR(found.st_mode));
    free(text);
}

static void named_pipe(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    char path[PATH], got[16] = "";
    stv_scratch_open(&scratch);
    snprintf(path, sizeof path, "%s/pipe", scratch.folder);
    assert_int_equal(mkfifo(path, 0600), 0);
    int reader = open(path, O_RDONLY | O_NONBLOCK);
    assert_true(reader >= 0);
    struct stv_write_stream *stream = open_stream(path);
    stv_assert_ok(stv_write_stream_bytes(stream, "1,2\n", 4));
    commit(stream);
    assert_int_equal(read(reader, got, sizeof got), 4);
    assert_string_equal(got, "1,2\n");
    close(reader);
    assert_int_equal(unlink(path), 0);
    stv_scratch_close(&scratch);
}

/* What was printed before stays before, and standard output stays open. */
static void standard_output(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    const char *path = scratch_with_old(&scratch);
    char why[WHY] = "";
    struct stv_write_stream *stream;
    fflush(stdout);
    int output = dup(STDOUT_FILENO), file = open(path, O_WRONLY | O_TRUNC);
    assert_true(output >= 0 && file >= 0);
    dup2(file, STDOUT_FILENO);
    fputs("before,", stdout);
    enum stv_status opened = stv_write_stream_open("-", &stream, why, sizeof why);
    enum stv_status written = opened == STV_OK ? stv_write_stream_bytes(stream, "by,", 3) : opened;
    enum stv_status committed =
        opened == STV_OK ? stv_write_stream_commit(stream, why, sizeof why) : opened;
    fputs("after", stdout);
    fflush(stdout);
    dup2(output, STDOUT_FILENO);
    close(output);
    close(file);
    stv_assert_ok(written);
    stv_assert_ok(committed);
    assert_holds(path, "before,by,after", 15);
    stv_scratch_close(&scratch);
}

static void full_standard_output(void **state)
{
    (void)state;
    char why[WHY] = "";
    struct stv_write_stream *stream;
    fflush(stdout);
    int output = dup(STDOUT_FILENO), full = open("/dev/full", O_WRONLY);
    assert_true(output >= 0 && full >= 0);
    dup2(full, STDOUT_FILENO);
    enum stv_status opened = stv_write_stream_open("-", &stream, why, sizeof why);
    enum stv_status committed = opened;
    if (opened == STV_OK) {
        stv_write_stream_bytes(stream, "1,2\n", 4);
        committed = stv_write_stream_commit(stream, why, sizeof why);
    }
    dup2(output, STDOUT_FILENO);
    close(output);
    close(full);
    stv_assert_ok(opened);
    stv_assert_status(committed, STV_E_IO);
    assert_non_null(strstr(why, "cannot write standard output"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_and_in_any_pieces),
        cmocka_unit_test(modes),
        cmocka_unit_test(bare_name),
        cmocka_unit_test(dropped),
        cmocka_unit_test(killed),
        cmocka_unit_test(full_disk),
        cmocka_unit_test(not_opened),
        cmocka_unit_test(temporary_name_taken),
        cmocka_unit_test(full_device),
        cmocka_unit_test(named_pipe),
        cmocka_unit_test(standard_output),
        cmocka_unit_test(full_standard_output),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
