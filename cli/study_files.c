/* The folder of a study.  The manifest comes last: a folder without one is not finished. */
#include "cli/study.h"

#include "cli/cell_metrics.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/parameters.h"
#include "cli/prose.h"
#include "cli/version.h"

#include <gsl/gsl_version.h>
#include <nettle/version.h>
#include <yaml.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char *const file_names[STV_STUDY_FILES] = {
    "answer.txt",     "results.csv", "pairs.csv",   "variance.csv",
    "dictionary.csv", "methods.txt", "sources.bib", "manifest.json"};

json_t *stv_study_program(void)
{
    json_t *object = json_object(), *libraries = json_object();
    stv_json_set(object, "program", json_string("stavecast"));
    stv_json_set(object, "version", json_string(STV_VERSION));
#ifdef STV_COMMIT
    stv_json_set(object, "commit", json_string(STV_COMMIT));
#else
    stv_json_set(object, "commit", json_null());
#endif
    stv_json_set(libraries, "gsl", json_string(gsl_version));
    stv_json_set(libraries, "libyaml", json_string(yaml_get_version_string()));
    stv_json_set(libraries, "jansson", json_string(jansson_version_str()));
    char nettle[32];
    snprintf(nettle, sizeof nettle, "%d.%d", nettle_version_major(), nettle_version_minor());
    stv_json_set(libraries, "nettle", json_string(nettle));
    stv_json_set(object, "libraries", libraries);
    return object;
}

/* The call that makes the same bytes, defaults written out. */
static json_t *command_of(const struct stv_study_run *run)
{
    json_t *words = json_array();
    char number[3][32];
    snprintf(number[0], sizeof number[0], "%llu", (unsigned long long)run->options.seed);
    snprintf(number[1], sizeof number[1], "%zu", run->options.n_draws);
    snprintf(number[2], sizeof number[2], "%d", (int)run->options.step_d);
    const char *const texts[] = {"stavecast", "sites",   run->study_path, "--seed", number[0],
                                 "--draws",   number[1], "--step",        number[2]};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        stv_json_append(words, stv_json_text(texts[i]));
    return words;
}

static json_t *inputs_of(const struct stv_study_run *run)
{
    json_t *inputs = json_array();
    for (size_t i = 0; i < run->n_inputs; i++) {
        const struct stv_study_input *input = &run->inputs[i];
        json_t *object = json_object();
        stv_json_set(object, "file", stv_json_text(input->path));
        stv_json_set(object, "what", json_string(input->what));
        stv_json_set(object, "sha256", json_string(input->sha256));
        if (strcmp(input->what, "weather") == 0) {
            stv_json_set(object, "source", stv_json_text(input->source));
            stv_json_set(object, "licence", stv_json_text(input->licence));
        }
        stv_json_append(inputs, object);
    }
    return inputs;
}

static json_t *margins_of(const struct stv_study *study)
{
    json_t *margins = json_object();
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        stv_json_set(margins, form->key, stv_json_number(study->cell_margin[m] * form->factor_nd));
    }
    return margins;
}

json_t *stv_study_parameters(const struct stv_study *study)
{
    static struct stv_book book; /* too large for a stack */
    struct stv_warehouse *warehouses = calloc(study->n_buildings, sizeof *warehouses);
    book.rules = study->rules;
    book.params = study->params;
    book.numbers = study->numbers;
    book.gauge_numbers = study->gauge_numbers;
    snprintf(book.overridden, sizeof book.overridden, "%s", study->overridden);
    book.warehouses = warehouses;
    book.n_warehouses = warehouses ? study->n_buildings : 0;
    for (size_t b = 0; b < book.n_warehouses; b++) {
        warehouses[b].building = study->buildings[b].building;
        snprintf(warehouses[b].name, sizeof warehouses[b].name, "%s", study->buildings[b].name);
    }
    json_t *parameters = stv_parameters_json(&book);
    free(warehouses);
    book.warehouses = NULL;
    book.n_warehouses = 0;
    return parameters;
}

static void add_manifest(struct stv_text *out, const struct stv_study_run *run,
                         const struct stv_study_file *files, size_t n)
{
    json_t *manifest = json_object(), *outputs = json_array();
    for (size_t i = 0; i < n; i++) {
        char sha256[STV_SHA256_TEXT];
        json_t *object = json_object();
        stv_bytes_sha256(stv_text_string(&files[i].text), files[i].text.n, sha256);
        stv_json_set(object, "file", json_string(files[i].name));
        stv_json_set(object, "sha256", json_string(sha256));
        stv_json_append(outputs, object);
    }
    stv_json_set(manifest, "manifest", json_string("stavecast study"));
    stv_json_set(manifest, "manifest_version", json_integer(1));
    stv_json_set(manifest, "made_by", stv_study_program());
    stv_json_set(manifest, "command", command_of(run));
    stv_json_set(manifest, "seed", json_integer((json_int_t)run->options.seed));
    stv_json_set(manifest, "inputs", inputs_of(run));
    stv_json_set(manifest, "margins", margins_of(run->study));
    stv_json_set(manifest, "parameters", stv_study_parameters(run->study));
    stv_json_set(manifest, "outputs", outputs);
    char *text = json_dumps(manifest, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    stv_text_add(out, text);
    stv_text_add(out, "\n");
    free(text);
    json_decref(manifest);
}

/* Headings carry a mark for the terminal; a file has none. */
static void add_answer(struct stv_text *out, const struct stv_study_run *run)
{
    struct stv_text words = {0};
    stv_words_study(&words, run);
    for (size_t i = 0; i < words.n; i++)
        if (words.bytes[i] != STV_PROSE_HEADING_MARK)
            stv_text_add_bytes(out, words.bytes + i, 1);
    out->has_failed = out->has_failed || words.has_failed;
    stv_text_free(&words);
}

enum stv_status stv_study_files(const struct stv_study_run *run,
                                struct stv_study_file files[STV_STUDY_FILES])
{
    for (size_t i = 0; i < STV_STUDY_FILES; i++)
        files[i] = (struct stv_study_file){.name = file_names[i]};
    add_answer(&files[0].text, run);
    stv_study_results_csv(&files[1].text, run);
    stv_study_pairs_csv(&files[2].text, run);
    stv_study_split_csv(&files[3].text, run);
    stv_study_dictionary_csv(&files[4].text, run->study);
    stv_study_methods(&files[5].text, run);
    stv_study_bibtex(&files[6].text);
    add_manifest(&files[7].text, run, files, STV_STUDY_FILES - 1);
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < STV_STUDY_FILES; i++)
        if (files[i].text.has_failed)
            status = STV_E_MEMORY;
    return status;
}

void stv_study_files_free(struct stv_study_file files[STV_STUDY_FILES])
{
    for (size_t i = 0; i < STV_STUDY_FILES; i++)
        stv_text_free(&files[i].text);
}

enum stv_status stv_study_files_write(const char *folder,
                                      const struct stv_study_file files[STV_STUDY_FILES])
{
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < STV_STUDY_FILES && status == STV_OK; i++) {
        char path[STV_STUDY_PATH_MAX + 32];
        snprintf(path, sizeof path, "%s/%s", folder, files[i].name);
        status = stv_output_file(path, &files[i].text);
    }
    return status;
}

static bool is_there(const char *folder, const char *name, struct stat *out)
{
    char path[STV_STUDY_PATH_MAX + 32];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return stat(path, out) == 0;
}

bool stv_study_folder_is_free(const char *folder, const struct stv_study_run *run)
{
    struct stat mine, theirs;
    bool is_ours = is_there(folder, "cells", &mine) || is_there(folder, "manifest.json", &mine);
    for (size_t f = 0; f < STV_STUDY_FILES; f++) {
        if (!is_there(folder, file_names[f], &mine))
            continue;
        bool is_read = false;
        for (size_t i = 0; i < run->n_inputs; i++)
            is_read = is_read || (stat(run->inputs[i].path, &theirs) == 0 &&
                                  mine.st_dev == theirs.st_dev && mine.st_ino == theirs.st_ino);
        if (is_ours && !is_read)
            continue;
        stv_messages_error(is_read ? "%s/%s is read by the study and would be replaced: give --out "
                                     "another folder."
                                   : "%s/%s was not written by a study and is not replaced: give "
                                     "--out a folder of its own.",
                           folder, file_names[f]);
        return false;
    }
    return true;
}

static enum stv_status make(const char *path)
{
    struct stat found;
    if (mkdir(path, 0777) == 0 ||
        (errno == EEXIST && stat(path, &found) == 0 && S_ISDIR(found.st_mode)))
        return STV_OK;
    stv_messages_error("The folder %s cannot be made: %s.", path, strerror(errno));
    return STV_E_IO;
}

enum stv_status stv_study_make_folder(const char *folder, const char *inside, char *out)
{
    int n = inside ? snprintf(out, STV_STUDY_PATH_MAX, "%s/%s", folder, inside)
                   : snprintf(out, STV_STUDY_PATH_MAX, "%s", folder);
    if (n < 0 || n >= STV_STUDY_PATH_MAX) {
        stv_messages_error("%s is too long a path.", folder);
        return STV_E_IO;
    }
    enum stv_status status = make(folder);
    return status == STV_OK && inside ? make(out) : status;
}
