/* Records on grids of equal step and offset, laid over each other.  What this does not do: join
 * stations; files of two places are refused, however near. */
#include "ingest/weather_folder.h"

#include "model/units.h"

#include <dirent.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define FILES_MOST 512
#define SAME_PLACE_DEG 0.02
/* Values of one hour that two files give alike: rounding to a tenth, or a share of it. */
#define SAME_VALUE 0.06
#define SAME_VALUE_FRAC 0.01

struct names {
    char *items[FILES_MOST];
    size_t n;
};

static bool is_folder(const char *path)
{
    struct stat found;
    return stat(path, &found) == 0 && S_ISDIR(found.st_mode);
}

static bool is_data_name(const char *name)
{
    static const char description[] = ".meta.yaml";
    size_t n = strlen(name), n_description = sizeof description - 1;
    return name[0] != '.' &&
           !(n > n_description && strcmp(name + n - n_description, description) == 0);
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void free_names(struct names *names)
{
    for (size_t i = 0; i < names->n; i++)
        free(names->items[i]);
    names->n = 0;
}

static enum stv_status list_names(const char *path, struct names *out)
{
    DIR *folder = opendir(path);
    enum stv_status status = folder ? STV_OK : STV_E_IO;
    for (struct dirent *entry; status == STV_OK && (entry = readdir(folder)) != NULL;) {
        if (!is_data_name(entry->d_name))
            continue;
        if (out->n == FILES_MOST)
            status = STV_E_PARSE;
        else if (!(out->items[out->n] = strdup(entry->d_name)))
            status = STV_E_MEMORY;
        else
            out->n++;
    }
    if (folder)
        closedir(folder);
    if (status == STV_OK && out->n == 0)
        status = STV_E_NO_DATA;
    qsort(out->items, out->n, sizeof *out->items, by_name);
    return status;
}

static enum stv_status refuse(struct stv_problems *problems, const char *file, const char *what)
{
    stv_problem_add(problems, STV_REFUSED, file, 0, 0, NULL, "%s", what);
    return STV_E_PARSE;
}

/* What keeps two records from being one, or NULL. */
static const char *why_apart(const struct stv_weather_record *a, const struct stv_weather_record *b)
{
    if (a->grid.is_typical || b->grid.is_typical)
        return "a typical year cannot be joined with other files: put it into a folder of its own, "
               "or name the file itself";
    if (a->grid.step_s != b->grid.step_s)
        return "has another step than the files before it: hours and days cannot be joined";
    if (!(fabs(a->site.latitude_deg - b->site.latitude_deg) <= SAME_PLACE_DEG) ||
        !(fabs(a->site.longitude_deg - b->site.longitude_deg) <= SAME_PLACE_DEG))
        return "was measured at another place than the files before it: one folder, one station";
    if (a->grid.utc_offset_min != b->grid.utc_offset_min)
        return "follows another time zone than the files before it: give all the same clock in "
               "their descriptions";
    return NULL;
}

static bool is_same(double a, double b)
{
    return fabs(a - b) <= fmax(SAME_VALUE, SAME_VALUE_FRAC * fabs(a));
}

/* Lays a column over the joined one where that has nothing; counts hours that disagree. */
static size_t lay_over(const double *from, size_t n_from, size_t shift, double *to)
{
    size_t n_other = 0;
    for (size_t i = 0; i < n_from; i++) {
        double *there = &to[i + shift];
        if (!isfinite(from[i]))
            continue;
        if (!isfinite(*there))
            *there = from[i];
        else
            n_other += !is_same(*there, from[i]);
    }
    return n_other;
}

/* A column as long as the new grid, the old one at its place in it. */
static double *stretched(double *old, size_t n_old, size_t shift, size_t n)
{
    double *column = malloc(n * sizeof *column);
    for (size_t i = 0; column && i < n; i++)
        column[i] = old && i >= shift && i - shift < n_old ? old[i - shift] : (double)NAN;
    return column;
}

static bool stretch(struct stv_weather_record *record, const struct stv_grid *grid,
                    const struct stv_weather_record *next)
{
    size_t shift = (size_t)((record->grid.t0_s - grid->t0_s) / grid->step_s);
    double **columns[STV_WQ_N + 1];
    double *const *others[STV_WQ_N + 1];
    for (size_t j = 0; j < STV_WQ_N; j++) {
        columns[j] = &record->columns[j];
        others[j] = &next->columns[j];
    }
    columns[STV_WQ_N] = &record->covered_frac;
    others[STV_WQ_N] = &next->covered_frac;
    for (size_t j = 0; j <= STV_WQ_N; j++) {
        if (!*columns[j] && !*others[j])
            continue;
        double *column = stretched(*columns[j], record->grid.n, shift, grid->n);
        if (!column)
            return false;
        free(*columns[j]);
        *columns[j] = column;
    }
    record->grid = *grid;
    return true;
}

static enum stv_status join(struct stv_weather_record *record,
                            const struct stv_weather_record *next, const char *file,
                            struct stv_problems *problems)
{
    const char *apart = why_apart(record, next);
    if (apart)
        return refuse(problems, file, apart);
    struct stv_grid grid = record->grid;
    int64_t end_s = stv_grid_start_s(&grid, grid.n);
    int64_t next_end_s = stv_grid_start_s(&next->grid, next->grid.n);
    grid.t0_s = next->grid.t0_s < grid.t0_s ? next->grid.t0_s : grid.t0_s;
    grid.n = (size_t)(((next_end_s > end_s ? next_end_s : end_s) - grid.t0_s) / grid.step_s);
    if (!stretch(record, &grid, next))
        return STV_E_MEMORY;
    size_t shift = (size_t)((next->grid.t0_s - grid.t0_s) / grid.step_s), n_other = 0;
    for (size_t j = 0; j < STV_WQ_N; j++)
        if (next->columns[j])
            n_other += lay_over(next->columns[j], next->grid.n, shift, record->columns[j]);
    if (next->covered_frac)
        (void)lay_over(next->covered_frac, next->grid.n, shift, record->covered_frac);
    if (n_other) {
        struct stv_finding finding = {
            .severity = STV_SUSPECT, .rule = "conflict", .file = file, .count = n_other};
        stv_finding_add(problems, &finding,
                        "%zu values differ from those of the files before it for the same time: "
                        "the first are used",
                        n_other);
    }
    return STV_OK;
}

/* The file of a name in the folder, joined to what is there already. */
static enum stv_status add_file(const struct stv_weather_source *source, const char *name,
                                struct stv_problems *problems, struct stv_weather_record *record,
                                struct stv_weather_meta *meta)
{
    struct stv_weather_source one = *source;
    struct stv_weather_record next;
    struct stv_weather_meta own;
    int n = snprintf(one.path, sizeof one.path, "%s/%s", source->path, name);
    if (n < 0 || (size_t)n >= sizeof one.path)
        return refuse(problems, source->path, "holds a file with too long a name");
    enum stv_status status = stv_weather_file_read(&one, problems, &next, &own);
    if (status != STV_OK)
        return status;
    if (record->grid.n == 0) {
        *record = next;
        *meta = own;
        return STV_OK;
    }
    status = join(record, &next, one.path, problems);
    stv_weather_record_free(&next);
    return status;
}

static enum stv_status read_folder(const struct stv_weather_source *source,
                                   struct stv_problems *problems, struct stv_weather_record *out,
                                   struct stv_weather_meta *meta)
{
    struct names names = {.n = 0};
    enum stv_status status = list_names(source->path, &names);
    if (status == STV_E_NO_DATA)
        status = refuse(problems, source->path, "holds no weather file");
    else if (status == STV_E_PARSE)
        status = refuse(problems, source->path, "holds more than 512 files");
    else if (status == STV_E_IO)
        (void)refuse(problems, source->path, "the folder cannot be read");
    for (size_t i = 0; status == STV_OK && i < names.n; i++)
        status = add_file(source, names.items[i], problems, out, meta);
    if (status == STV_OK && names.n > 1) {
        char how[sizeof meta->how];
        snprintf(how, sizeof how, "%zu files joined, the first: %.260s", names.n, meta->how);
        memcpy(meta->how, how, sizeof how);
    }
    free_names(&names);
    return status;
}

enum stv_status stv_weather_read(const struct stv_weather_source *source,
                                 struct stv_problems *problems, struct stv_weather_record *out,
                                 struct stv_weather_meta *out_meta)
{
    struct stv_weather_meta meta;
    if (!is_folder(source->path))
        return stv_weather_file_read(source, problems, out, out_meta);
    *out = (struct stv_weather_record){0};
    enum stv_status status = read_folder(source, problems, out, &meta);
    if (status != STV_OK)
        stv_weather_record_free(out);
    else if (out_meta)
        *out_meta = meta;
    return status;
}

/* Adds the line of one file of a folder to the text that is summed. */
static enum stv_status add_sum(const char *folder, const char *name, FILE *lines)
{
    char path[1024], sum[STV_SHA256_TEXT];
    int n = snprintf(path, sizeof path, "%s/%s", folder, name);
    if (n < 0 || (size_t)n >= sizeof path)
        return STV_E_IO;
    enum stv_status status = stv_file_sha256(path, sum);
    if (status == STV_OK)
        fprintf(lines, "%s  %s\n", sum, name);
    return status;
}

enum stv_status stv_weather_sha256(const char *path, char out[STV_SHA256_TEXT])
{
    struct names names = {.n = 0};
    char *bytes = NULL;
    size_t n = 0;
    out[0] = '\0';
    if (!is_folder(path))
        return stv_file_sha256(path, out);
    FILE *lines = open_memstream(&bytes, &n);
    if (!lines)
        return STV_E_MEMORY;
    enum stv_status status = list_names(path, &names);
    for (size_t i = 0; i < names.n && status == STV_OK; i++)
        status = add_sum(path, names.items[i], lines);
    if (fclose(lines) != 0 && status == STV_OK)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        stv_bytes_sha256(bytes, n, out);
    free(bytes);
    free_names(&names);
    return status;
}
