#include "cli/targets.h"

#include "plots/chart.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PATH_BYTES 4096
#define TARGETS_MAX 6

struct targets {
    char paths[TARGETS_MAX][PATH_BYTES];
    size_t n;
};

/* Files of a book that people write by hand. */
static const char *const hand_written[] = {"book.yaml",  "casks.csv",   "history.csv",
                                           "gauges.csv", "loggers.csv", "sites.yaml"};
/* Folders of a book for what machines and services wrote. */
static const char *const source_folders[] = {"loggers", "weather"};

static bool is_one_of(const char *name, const char *const *names, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(name, names[i]) == 0)
            return true;
    return false;
}

void stv_targets_beside(const char *picture_path, char *out, size_t size)
{
    const char *slash = strrchr(picture_path, '/'), *dot = strrchr(picture_path, '.');
    bool has_ending = dot && (!slash || dot > slash);
    int n = (int)(has_ending ? (size_t)(dot - picture_path) : strlen(picture_path));
    snprintf(out, size, "%.*s.csv", n, picture_path);
}

static struct targets targets_of(const struct stv_options *options)
{
    static const enum stv_option outputs[] = {STV_OPT_OUTPUT, STV_OPT_HOURLY, STV_OPT_PICTURE,
                                              STV_OPT_OUT};
    struct targets targets = {.n = 0};
    for (size_t i = 0; i < sizeof outputs / sizeof outputs[0]; i++) {
        if (outputs[i] == STV_OPT_OUT && !stv_options_has(options, STV_OPT_CHART))
            continue; /* a folder */
        const char *path =
            stv_options_has(options, outputs[i]) ? stv_options_text(options, outputs[i]) : "-";
        if (strcmp(path, "-") == 0)
            continue;
        snprintf(targets.paths[targets.n++], PATH_BYTES, "%s", path);
        if (outputs[i] == STV_OPT_PICTURE || outputs[i] == STV_OPT_OUT)
            stv_targets_beside(path, targets.paths[targets.n++], PATH_BYTES);
    }
    return targets;
}

/* The folder a path lies in, "." for a bare name. */
static void folder_of(const char *path, char out[PATH_BYTES])
{
    const char *slash = strrchr(path, '/');
    if (slash == path)
        snprintf(out, PATH_BYTES, "/");
    else if (slash)
        snprintf(out, PATH_BYTES, "%.*s", (int)(slash - path), path);
    else
        snprintf(out, PATH_BYTES, ".");
}

static bool has_book(const char *folder)
{
    char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/book.yaml", folder);
    return access(path, F_OK) == 0;
}

/* True for a book's loggers or weather folder, however it is written. */
static bool is_source_folder(const char *folder)
{
    char up[PATH_BYTES + 16];
    struct stat found, named;
    snprintf(up, sizeof up, "%s/..", folder);
    if (stat(folder, &found) != 0 || !has_book(up))
        return false;
    for (size_t i = 0; i < sizeof source_folders / sizeof source_folders[0]; i++) {
        snprintf(up, sizeof up, "%s/../%s", folder, source_folders[i]);
        if (stat(up, &named) == 0 && named.st_dev == found.st_dev && named.st_ino == found.st_ino)
            return true;
    }
    return false;
}

static bool is_same_file(const char *a, const char *b)
{
    struct stat of_a, of_b;
    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}

/* True when the path is a file of a book that is there already. */
static bool is_of_book(const char *path)
{
    char folder[PATH_BYTES];
    struct stat found;
    const char *slash = strrchr(path, '/');
    if (stat(path, &found) != 0 || !S_ISREG(found.st_mode))
        return false;
    folder_of(path, folder);
    return is_one_of(slash ? slash + 1 : path, hand_written,
                     sizeof hand_written / sizeof hand_written[0]) ||
           is_source_folder(folder);
}

/* The target that is this file, else NULL. */
static const char *target_at(const struct targets *targets, const char *read_path)
{
    for (size_t i = 0; i < targets->n; i++)
        if (is_same_file(targets->paths[i], read_path))
            return targets->paths[i];
    return NULL;
}

bool stv_targets_spare(const struct stv_options *options, const char *read_path,
                       struct stv_problems *problems)
{
    struct targets targets = targets_of(options);
    const char *path = target_at(&targets, read_path);
    if (path)
        stv_problem_add(problems, STV_REFUSED, path, 0, 0, NULL,
                        "is to be written and is read: choose another name for the answer");
    return path == NULL;
}

/* A picture's name tells its kind; --out of a report names one where one chart is asked for. */
static bool are_pictures_named(const struct stv_options *options, char *why, size_t size)
{
    enum stv_picture kind;
    const char *picture = stv_options_text(options, STV_OPT_PICTURE);
    const char *out = stv_options_text(options, STV_OPT_OUT);
    bool has_out = stv_options_has(options, STV_OPT_OUT);
    if (stv_options_has(options, STV_OPT_PICTURE) && !stv_picture_of_path(picture, &kind)) {
        snprintf(why, size, "--picture wants a name that ends in .svg, .png or .pdf.");
        return false;
    }
    bool is_chart = stv_options_has(options, STV_OPT_CHART);
    if (is_chart && (!has_out || !stv_picture_of_path(out, &kind))) {
        snprintf(why, size,
                 "--chart wants --out with a file that ends in .svg, .png or .pdf: "
                 "--out chart.svg.");
        return false;
    }
    if (!is_chart && has_out && stv_picture_of_path(out, &kind)) {
        snprintf(why, size,
                 "--out names the folder of the page. For a picture, say which: --chart NAME "
                 "(--charts lists them).");
        return false;
    }
    return true;
}

/* The folder of a page or a study: not the book itself, not where its sources lie. */
static bool is_page_folder(const struct stv_options *options, char *why, size_t size)
{
    static const enum stv_option folders[] = {STV_OPT_OUT, STV_OPT_STUDY_OUT, STV_OPT_RERUN_OUT};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        if (!stv_options_has(options, folders[i]))
            continue;
        const char *folder = stv_options_text(options, folders[i]);
        if (!has_book(folder) && !is_source_folder(folder))
            continue;
        snprintf(why, size,
                 "%s holds a book's own files. Give the %s a folder of its own, such as BOOK/%s.",
                 folder, i == 0 ? "page" : "study", i == 0 ? "report" : "study");
        return false;
    }
    return true;
}

static bool are_different(const struct targets *targets, char *why, size_t size)
{
    for (size_t i = 0; i < targets->n; i++)
        for (size_t j = i + 1; j < targets->n; j++)
            if (strcmp(targets->paths[i], targets->paths[j]) == 0) {
                snprintf(why, size, "%s would be written twice. Choose another name for one.",
                         targets->paths[i]);
                return false;
            }
    return true;
}

/* True when no target is a file that an option or the operand names to be read. */
static bool are_not_read(const struct stv_options *options, const struct targets *targets,
                         char *why, size_t size)
{
    static const enum stv_option inputs[] = {STV_OPT_WEATHER, STV_OPT_SHEET, STV_OPT_ROD,
                                             STV_OPT_RULES, STV_OPT_STUDY};
    const char *path = options->operand ? target_at(targets, options->operand) : NULL;
    for (size_t i = 0; i < sizeof inputs / sizeof inputs[0] && !path; i++)
        if (stv_options_has(options, inputs[i]))
            path = target_at(targets, stv_options_text(options, inputs[i]));
    if (path)
        snprintf(why, size, "%s is the file that is read. Choose another name.", path);
    return path == NULL;
}

static bool are_not_of_book(const struct targets *targets, char *why, size_t size)
{
    for (size_t i = 0; i < targets->n; i++)
        if (is_of_book(targets->paths[i])) {
            snprintf(why, size,
                     "%s is a file of a book and is never replaced. Choose another name.",
                     targets->paths[i]);
            return false;
        }
    return true;
}

bool stv_targets_are_free(const struct stv_options *options, char *why, size_t size)
{
    struct targets targets = targets_of(options);
    return are_pictures_named(options, why, size) && are_not_of_book(&targets, why, size) &&
           are_not_read(options, &targets, why, size) && are_different(&targets, why, size) &&
           is_page_folder(options, why, size);
}
