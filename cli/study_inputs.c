/* The files behind a study, and what makes one of its cells the cell it is. */
#include "cli/study.h"

#include "cli/version.h"
#include "model/building.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char description[] = ".meta.yaml";

static enum stv_status add_input(struct stv_study_run *run, const char *path, const char *what,
                                 struct stv_problems *problems)
{
    for (size_t i = 0; i < run->n_inputs; i++)
        if (strcmp(run->inputs[i].path, path) == 0)
            return STV_OK;
    struct stv_study_input *more = realloc(run->inputs, (run->n_inputs + 1) * sizeof *run->inputs);
    if (!more)
        return STV_E_MEMORY;
    run->inputs = more;
    struct stv_study_input *input = &run->inputs[run->n_inputs];
    *input = (struct stv_study_input){.what = what};
    snprintf(input->path, sizeof input->path, "%s", path);
    enum stv_status status = strcmp(what, "weather") == 0 ? stv_weather_sha256(path, input->sha256)
                                                          : stv_file_sha256(path, input->sha256);
    if (status == STV_OK)
        run->n_inputs++;
    else
        stv_problem_add(problems, STV_REFUSED, path, 0, 0, NULL, "cannot be read");
    return status;
}

static bool ends_with(const char *name, const char *ending)
{
    size_t n = strlen(name), n_ending = strlen(ending);
    return n > n_ending && strcmp(name + n - n_ending, ending) == 0;
}

static int by_name(const void *left, const void *right)
{
    const char *const *a = left, *const *b = right;
    return strcmp(*a, *b);
}

/* Descriptions in a folder of weather files, in order of name. */
static enum stv_status add_folder(struct stv_study_run *run, const char *folder,
                                  struct stv_problems *problems)
{
    char *names[512], path[STV_STUDY_PATH_MAX];
    size_t n = 0;
    DIR *open_folder = opendir(folder);
    for (struct dirent *entry; open_folder && (entry = readdir(open_folder));)
        if (ends_with(entry->d_name, description) && n < sizeof names / sizeof names[0])
            names[n++] = strdup(entry->d_name);
    if (open_folder)
        closedir(open_folder);
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < n; i++)
        if (!names[i])
            status = STV_E_MEMORY;
    if (status == STV_OK)
        qsort(names, n, sizeof names[0], by_name);
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        status = add_input(run, path, "weather description", problems);
    }
    for (size_t i = 0; i < n; i++)
        free(names[i]);
    return status;
}

/* Bytes of a path without the ending of its file. */
static size_t stem_of(const char *path)
{
    const char *slash = strrchr(path, '/'), *dot = strrchr(path, '.');
    return dot && (!slash || dot > slash) ? (size_t)(dot - path) : strlen(path);
}

static enum stv_status add_weather(struct stv_study_run *run, const char *path,
                                   struct stv_problems *problems)
{
    struct stat found;
    char beside[STV_STUDY_PATH_MAX];
    enum stv_status status = add_input(run, path, "weather", problems);
    if (status != STV_OK || stat(path, &found) != 0)
        return status;
    if (S_ISDIR(found.st_mode))
        return add_folder(run, path, problems);
    snprintf(beside, sizeof beside, "%.*s%s", (int)stem_of(path), path, description);
    return stat(beside, &found) == 0 ? add_input(run, beside, "weather description", problems)
                                     : STV_OK;
}

enum stv_status stv_study_list_inputs(struct stv_study_run *run, struct stv_problems *problems)
{
    enum stv_status status = add_input(run, run->study_path, "study", problems);
    if (status == STV_OK && run->study->book_path[0])
        status = add_input(run, run->study->book_path, "book", problems);
    for (size_t s = 0; s < run->study->n_sites && status == STV_OK; s++)
        status = add_weather(run, run->study->sites[s].weather.path, problems);
    return status;
}

static const char *sha_of(const struct stv_study_run *run, const char *path)
{
    for (size_t i = 0; i < run->n_inputs; i++)
        if (strcmp(run->inputs[i].path, path) == 0)
            return run->inputs[i].sha256;
    return "";
}

/* True for the description of a weather file, or one inside a folder of them. */
static bool describes(const struct stv_study_input *input, const char *weather)
{
    size_t n = strlen(weather), n_stem = strlen(input->path) - strlen(description);
    if (strcmp(input->what, "weather description") != 0)
        return false;
    bool is_inside = strncmp(input->path, weather, n) == 0 && input->path[n] == '/';
    return is_inside || (n_stem == stem_of(weather) && strncmp(input->path, weather, n_stem) == 0);
}

/* Check sum of this very program, so that a cell of another build is never taken for its own. */
static const char *own_sha(void)
{
    static char sha256[STV_SHA256_TEXT];
    if (!sha256[0] && stv_program_sha256(sha256) != STV_OK)
        snprintf(sha256, sizeof sha256, "unknown");
    return sha256;
}

void stv_study_cell_key(const struct stv_study_run *run, size_t cell_idx, char out[STV_SHA256_TEXT])
{
    const struct stv_study *study = run->study;
    size_t n_casks = study->n_casks, n_buildings = study->n_buildings;
    const struct stv_study_site *site = &study->sites[cell_idx / n_casks / n_buildings];
    struct stv_text text = {0};
    stv_text_format(&text, "cell 1\nprogram %s %s\nweather %s\nsite %s\nbook %s\n", STV_VERSION,
                    own_sha(), sha_of(run, site->weather.path), site->said_sha256,
                    sha_of(run, study->book_path));
    for (size_t i = 0; i < run->n_inputs; i++)
        if (describes(&run->inputs[i], site->weather.path))
            stv_text_format(&text, "description %s\n", run->inputs[i].sha256);
    stv_text_format(&text, "warehouse %s\nbuilding %s\ncask %s\nfollow %zu\n", study->warehouse,
                    study->buildings[cell_idx / n_casks % n_buildings].said_sha256,
                    study->casks[cell_idx % n_casks].said_sha256, study->follow_y);
    for (size_t t = 0; t < study->n_tiers; t++)
        stv_text_format(&text, "tier %d\n", study->tiers_idx[t]);
    stv_text_format(&text, "seed %llu draws %zu step ", (unsigned long long)run->options.seed,
                    run->options.n_draws);
    stv_text_add_exact(&text, run->options.step_d);
    stv_bytes_sha256(stv_text_string(&text), text.n, out);
    if (text.has_failed)
        out[0] = '\0'; /* fits no file */
    stv_text_free(&text);
}
