/* Starts gnuplot so that nothing but our own script decides what it does: -d skips the user's
 * start files, no shell stands between, the environment has four fixed names, the folder is
 * private and new, and what it prints goes to a file there.  The parent waits in short naps and
 * kills the child when the time is up.  What a script says is none of this file's business. */
#include "plots/gnuplot.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define ERROR_FILE "errors.txt"
#define NAP_NS 2000000L /* 2 ms: a run of one small chart takes about 10 ms */
#define NAPS_PER_S 500
#define NOT_STARTED 127
#define READ_ROOM 65536

struct stv_gnuplot {
    char folder[PATH_MAX];
};

enum stv_status stv_gnuplot_new(struct stv_gnuplot **out)
{
    struct stv_gnuplot *gnuplot = malloc(sizeof *gnuplot);
    if (gnuplot == NULL)
        return STV_E_MEMORY;
    const char *base = getenv("TMPDIR");
    if (base == NULL || base[0] != '/')
        base = "/tmp";
    int n = snprintf(gnuplot->folder, sizeof gnuplot->folder, "%s/stavecast-XXXXXX", base);
    if (n < 0 || (size_t)n >= sizeof gnuplot->folder || mkdtemp(gnuplot->folder) == NULL) {
        free(gnuplot);
        return STV_E_IO;
    }
    *out = gnuplot;
    return STV_OK;
}

const char *stv_gnuplot_folder(const struct stv_gnuplot *gnuplot)
{
    return gnuplot->folder;
}

/* gnuplot runs a command for names that start with < or |, so names have a narrow alphabet. */
static bool is_plain_name(const char *name)
{
    if (!isalpha((unsigned char)name[0]))
        return false;
    for (const char *p = name; *p != '\0'; p++)
        if (!isalnum((unsigned char)*p) && *p != '-' && *p != '.')
            return false;
    return true;
}

static enum stv_status path_of(const struct stv_gnuplot *gnuplot, const char *name,
                               char path[PATH_MAX])
{
    if (!is_plain_name(name))
        return STV_E_ARG;
    int n = snprintf(path, PATH_MAX, "%s/%s", gnuplot->folder, name);
    return n < 0 || n >= PATH_MAX ? STV_E_IO : STV_OK;
}

enum stv_status stv_gnuplot_put(const struct stv_gnuplot *gnuplot, const char *name,
                                const struct stv_text *content)
{
    char path[PATH_MAX];
    enum stv_status status = path_of(gnuplot, name, path);
    if (status != STV_OK)
        return status;
    if (content->has_failed)
        return STV_E_MEMORY;
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return STV_E_IO;
    size_t written = fwrite(stv_text_string(content), 1, content->n, file);
    int closed = fclose(file);
    return written == content->n && closed == 0 ? STV_OK : STV_E_IO;
}

enum stv_status stv_gnuplot_get(const struct stv_gnuplot *gnuplot, const char *name,
                                struct stv_text *out)
{
    char path[PATH_MAX];
    enum stv_status status = path_of(gnuplot, name, path);
    if (status != STV_OK)
        return status;
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return STV_E_IO;
    char block[READ_ROOM];
    size_t n;
    while ((n = fread(block, 1, sizeof block, file)) > 0)
        stv_text_add_bytes(out, block, n);
    int failed = ferror(file);
    fclose(file);
    if (failed != 0)
        return STV_E_IO;
    return out->has_failed ? STV_E_MEMORY : STV_OK;
}

/* Looks the program up as a shell would, but in absolute folders alone: a gnuplot that lies in
 * the current folder is never meant. */
static bool find_program(char path[PATH_MAX])
{
    const char *folders = getenv("PATH");
    if (folders == NULL)
        return false;
    for (const char *p = folders;; p++) {
        size_t n = strcspn(p, ":");
        int written = snprintf(path, PATH_MAX, "%.*s/gnuplot", (int)n, p);
        struct stat about;
        if (p[0] == '/' && written > 0 && written < PATH_MAX && stat(path, &about) == 0 &&
            S_ISREG(about.st_mode) && access(path, X_OK) == 0)
            return true;
        p += n;
        if (*p == '\0')
            return false;
    }
}

bool stv_gnuplot_is_there(void)
{
    char path[PATH_MAX];
    return find_program(path);
}

/* In the child, after fork: only calls that are allowed there. */
static void become_gnuplot(const char *folder, char *const *argv, char *const *environment)
{
    if (chdir(folder) != 0)
        _exit(NOT_STARTED);
    int in = open("/dev/null", O_RDONLY);
    int out = open(ERROR_FILE, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (in < 0 || out < 0 || dup2(in, STDIN_FILENO) < 0 || dup2(out, STDOUT_FILENO) < 0 ||
        dup2(out, STDERR_FILENO) < 0)
        _exit(NOT_STARTED);
    execve(argv[0], argv, environment);
    _exit(NOT_STARTED);
}

/* Waits for the child; kills it when the time is up.  True when it ended by itself, well. */
static bool ended_well(pid_t child, int limit_s, bool *out_is_late)
{
    const struct timespec nap = {0, NAP_NS};
    int state = 0;
    for (long naps = 0;; naps++) {
        pid_t done = waitpid(child, &state, *out_is_late ? 0 : WNOHANG);
        if (done == child)
            return !*out_is_late && WIFEXITED(state) && WEXITSTATUS(state) == 0;
        if (done < 0 && errno != EINTR)
            return false;
        if (naps >= (long)limit_s * NAPS_PER_S) {
            kill(child, SIGKILL);
            *out_is_late = true;
        } else {
            nanosleep(&nap, NULL);
        }
    }
}

/* What gnuplot printed, as one line. */
static void read_errors(const struct stv_gnuplot *gnuplot, char *why, size_t size)
{
    struct stv_text said = {0};
    if (stv_gnuplot_get(gnuplot, ERROR_FILE, &said) == STV_OK && said.n > 0) {
        for (size_t i = 0; i < said.n; i++)
            if (iscntrl((unsigned char)said.bytes[i]))
                said.bytes[i] = ' ';
        const char *start = said.bytes + strspn(said.bytes, " ");
        snprintf(why, size, "%s", start);
    }
    stv_text_free(&said);
}

enum stv_status stv_gnuplot_run(const struct stv_gnuplot *gnuplot, const char *script, int limit_s,
                                char *why, size_t size)
{
    char program[PATH_MAX], script_path[PATH_MAX], home[PATH_MAX + sizeof "HOME="];
    char dash_d[] = "-d", locale[] = "LC_ALL=C.UTF-8", zone[] = "TZ=UTC",
         search[] = "PATH=/usr/bin:/bin";
    char *const argv[] = {program, dash_d, script_path, NULL};
    char *const environment[] = {search, home, locale, zone, NULL};
    if (size > 0)
        why[0] = '\0';
    enum stv_status status = path_of(gnuplot, script, script_path);
    if (status != STV_OK)
        return status;
    snprintf(home, sizeof home, "HOME=%s", gnuplot->folder);
    if (!find_program(program)) {
        snprintf(why, size, "gnuplot is missing; install it with: " STV_GNUPLOT_INSTALL);
        return STV_E_PROGRAM;
    }
    pid_t child = fork();
    if (child < 0)
        return STV_E_IO;
    if (child == 0)
        become_gnuplot(gnuplot->folder, argv, environment);
    bool is_late = false;
    bool is_well = ended_well(child, limit_s, &is_late);
    read_errors(gnuplot, why, size);
    if (is_late)
        snprintf(why, size, "gnuplot took longer than %d s and was stopped", limit_s);
    else if (!is_well && size > 0 && why[0] == '\0')
        snprintf(why, size, "gnuplot failed and gave no reason");
    return is_well ? STV_OK : STV_E_PROGRAM;
}

void stv_gnuplot_free(struct stv_gnuplot *gnuplot)
{
    if (gnuplot == NULL)
        return;
    DIR *folder = opendir(gnuplot->folder);
    if (folder != NULL) {
        struct dirent *entry;
        while ((entry = readdir(folder)) != NULL)
            if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
                unlinkat(dirfd(folder), entry->d_name, 0);
        closedir(folder);
    }
    rmdir(gnuplot->folder);
    free(gnuplot);
}
