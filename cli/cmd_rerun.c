/* `rerun`: a kept study once more.  The manifest says the call and the check sum of every file that
 * went in and came out; whatever changed since is named before anything is computed. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/session.h"
#include "cli/study.h"

#include <stdio.h>
#include <string.h>

#define WORDS_MAX 16

/* How a table that the study wrote is found beside the manifest. */
enum on_disk { ON_DISK_SAME, ON_DISK_DIFFERENT, ON_DISK_MISSING };
static const char *const on_disk_words[] = {"same", "different", "missing"};

struct rerun {
    const struct stv_options *options;
    struct stv_problems *problems;
    json_t *manifest;
    struct stv_options asked; /* of the study's own call */
    enum on_disk on_disk[STV_STUDY_FILES];
};

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text ? text : "";
}

static void refuse(const struct rerun *rerun, const char *file, const char *found, const char *why)
{
    stv_problem_add(rerun->problems, STV_REFUSED, file, 0, 0, found, "%s", why);
}

static enum stv_status read_manifest(struct rerun *rerun)
{
    json_error_t error;
    const char *path = rerun->options->operand;
    rerun->manifest = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    if (!rerun->manifest) {
        FILE *file = fopen(path, "rb");
        if (file)
            (void)fclose(file);
        stv_problem_add(rerun->problems, STV_REFUSED, path,
                        file && error.line > 0 ? (size_t)error.line : 0, 0, NULL,
                        file ? "is no manifest: %s" : "cannot be opened%.0s", error.text);
        return file ? STV_E_PARSE : STV_E_IO;
    }
    if (strcmp(text_of(rerun->manifest, "manifest"), "stavecast study") != 0 ||
        json_integer_value(json_object_get(rerun->manifest, "manifest_version")) != 1) {
        refuse(rerun, path, text_of(rerun->manifest, "manifest"),
               "is no manifest of a study: name the manifest.json that sites --out wrote");
        return STV_E_PARSE;
    }
    return STV_OK;
}

/* Every input must be there and be what it was. */
static enum stv_status check_inputs(const struct rerun *rerun)
{
    const json_t *inputs = json_object_get(rerun->manifest, "inputs");
    enum stv_status status = json_array_size(inputs) > 0 ? STV_OK : STV_E_PARSE;
    if (status != STV_OK)
        refuse(rerun, rerun->options->operand, "inputs", "lists none, so nothing can be checked");
    for (size_t i = 0; i < json_array_size(inputs); i++) {
        const json_t *input = json_array_get(inputs, i);
        const char *file = text_of(input, "file");
        char now[STV_SHA256_TEXT];
        enum stv_status read = strcmp(text_of(input, "what"), "weather") == 0
                                   ? stv_weather_sha256(file, now)
                                   : stv_file_sha256(file, now);
        if (read != STV_OK)
            refuse(rerun, file, NULL,
                   "is an input of the study and cannot be read from here: run this in the folder "
                   "where the study was run, with its files");
        else if (strcmp(now, text_of(input, "sha256")) != 0)
            refuse(rerun, file, now,
                   "has changed since the study: put back the file of the manifest's check sum, or "
                   "run sites anew");
        else
            continue;
        status = STV_E_CONSISTENCY;
    }
    return status;
}

/* The study's call, read as any call is. */
static enum stv_status read_command(struct rerun *rerun)
{
    const json_t *command = json_object_get(rerun->manifest, "command");
    char *words[WORDS_MAX], why[512];
    size_t n = json_array_size(command);
    bool is_good = n > 1 && n <= WORDS_MAX;
    for (size_t i = 0; i < n && is_good; i++) {
        const char *word = json_string_value(json_array_get(command, i));
        is_good = word != NULL;
        memcpy(&words[i], &word, sizeof word); /* the parser reads argv and changes none of it */
    }
    why[0] = '\0';
    is_good = is_good && stv_options_parse((int)n, words, &rerun->asked, why, sizeof why) == STV_OK;
    if (is_good && rerun->asked.command == STV_CMD_SITES && rerun->asked.operand)
        return STV_OK;
    refuse(rerun, rerun->options->operand, "command", why[0] ? why : "is not a call of sites");
    return STV_E_PARSE;
}

/* Check sum that the manifest tells of a table; "" for none. */
static const char *sha256_then(const struct rerun *rerun, const char *name)
{
    const json_t *outputs = json_object_get(rerun->manifest, "outputs");
    for (size_t i = 0; i < json_array_size(outputs); i++)
        if (strcmp(text_of(json_array_get(outputs, i), "file"), name) == 0)
            return text_of(json_array_get(outputs, i), "sha256");
    return "";
}

/* "same", "different" or "not in the manifest", of one file. */
static const char *state_of(const struct rerun *rerun, const struct stv_study_file *file)
{
    char now[STV_SHA256_TEXT];
    const char *then = sha256_then(rerun, file->name);
    stv_bytes_sha256(stv_text_string(&file->text), file->text.n, now);
    return strcmp(now, then) == 0 ? "same" : then[0] ? "different" : "not in the manifest";
}

/* What lies beside the manifest: a reader may have changed what the study wrote. */
static enum on_disk on_disk_of(const struct rerun *rerun, const char *name)
{
    const char *manifest = rerun->options->operand, *slash = strrchr(manifest, '/');
    char path[STV_STUDY_PATH_MAX], now[STV_SHA256_TEXT];
    int n_folder = slash ? (int)(slash + 1 - manifest) : 0;
    snprintf(path, sizeof path, "%.*s%s", n_folder, manifest, name);
    if (stv_file_sha256(path, now) != STV_OK)
        return ON_DISK_MISSING;
    return strcmp(now, sha256_then(rerun, name)) == 0 ? ON_DISK_SAME : ON_DISK_DIFFERENT;
}

static size_t count_on_disk(const struct rerun *rerun, enum on_disk state)
{
    size_t n = 0;
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++)
        n += rerun->on_disk[f] == state;
    return n;
}

/* Tables beside the manifest that are not what was written; none where it lies alone. */
static size_t count_odd(const struct rerun *rerun)
{
    size_t n_missing = count_on_disk(rerun, ON_DISK_MISSING);
    return count_on_disk(rerun, ON_DISK_DIFFERENT) +
           (n_missing + 1 < STV_STUDY_FILES ? n_missing : 0);
}

static bool is_same_program(const struct rerun *rerun)
{
    json_t *now = stv_study_program();
    bool is_same = json_equal(now, json_object_get(rerun->manifest, "made_by"));
    json_decref(now);
    return is_same;
}

static enum stv_status write_json(const struct rerun *rerun, const struct stv_study_file *files)
{
    json_t *document = stv_json_document(rerun->options, NULL, rerun->problems);
    json_t *tables = json_array();
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++) {
        json_t *object = json_object();
        stv_json_set(object, "file", json_string(files[f].name));
        stv_json_set(object, "bytes", json_string(state_of(rerun, &files[f])));
        stv_json_set(object, "on_disk", json_string(on_disk_words[rerun->on_disk[f]]));
        stv_json_append(tables, object);
    }
    stv_json_set(document, "tables", tables);
    stv_json_set(document, "is_same_program", json_boolean(is_same_program(rerun)));
    return stv_json_write(rerun->options, document);
}

static void add_on_disk(struct stv_text *text, const struct rerun *rerun,
                        const struct stv_study_file *files)
{
    static const char *const otherwise[] = {
        [ON_DISK_DIFFERENT] = "differs from what the study wrote",
        [ON_DISK_MISSING] = "is missing",
    };
    if (count_on_disk(rerun, ON_DISK_MISSING) == STV_STUDY_FILES - 1) {
        stv_prose_wrap(text, 0, "No table lies beside the manifest: none was looked at.");
        return;
    }
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++) {
        enum on_disk state = rerun->on_disk[f];
        if (state != ON_DISK_SAME)
            stv_prose_wrap(text, 0, "Beside the manifest %s %s.", files[f].name, otherwise[state]);
    }
}

static enum stv_status write_text(const struct rerun *rerun, const struct stv_study_file *files,
                                  size_t n_other)
{
    struct stv_text text = {0};
    size_t n_odd = count_odd(rerun);
    if (n_other == 0)
        stv_prose_wrap(&text, 0, "The study comes out the same, byte for byte: %d of %d tables%s.",
                       STV_STUDY_FILES - 1, STV_STUDY_FILES - 1,
                       n_odd == 0 ? ""
                                  : stv_format("; but %zu of those beside the manifest %s changed "
                                               "or missing",
                                               n_odd, n_odd == 1 ? "is" : "are")
                                        .text);
    else
        stv_prose_wrap(&text, 0, "%zu of %d tables come out otherwise than the manifest says.",
                       n_other, STV_STUDY_FILES - 1);
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++)
        stv_prose_add(&text, "  %-16s%s\n", files[f].name, state_of(rerun, &files[f]));
    add_on_disk(&text, rerun, files);
    if (!is_same_program(rerun))
        stv_prose_wrap(&text, 0,
                       "Program or libraries are not those of the manifest: %s %s then. Their "
                       "numbers may differ in the last digits or more.",
                       text_of(json_object_get(rerun->manifest, "made_by"), "version"),
                       text_of(json_object_get(rerun->manifest, "made_by"), "commit"));
    enum stv_status status = stv_output_write(rerun->options, &text);
    stv_text_free(&text);
    return status;
}

static enum stv_status tell(struct rerun *rerun, const struct stv_study_run *run,
                            bool *out_needs_look)
{
    size_t n_other = 0;
    struct stv_study_file files[STV_STUDY_FILES];
    char folder[STV_STUDY_PATH_MAX];
    enum stv_status status = stv_study_files(run, files);
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++)
        n_other += strcmp(state_of(rerun, &files[f]), "same") != 0;
    for (size_t f = 0; f + 1 < STV_STUDY_FILES; f++)
        rerun->on_disk[f] = on_disk_of(rerun, files[f].name);
    *out_needs_look = n_other > 0 || count_odd(rerun) > 0;
    if (status == STV_OK && stv_options_has(rerun->options, STV_OPT_RERUN_OUT)) {
        const char *to = stv_options_text(rerun->options, STV_OPT_RERUN_OUT);
        status = stv_study_folder_is_free(to, run) ? STV_OK : STV_E_USAGE;
        if (status == STV_OK)
            status = stv_study_make_folder(to, NULL, folder);
        if (status == STV_OK)
            status = stv_study_files_write(folder, files);
    }
    if (status == STV_OK)
        status = stv_options_has(rerun->options, STV_OPT_JSON) ? write_json(rerun, files)
                                                               : write_text(rerun, files, n_other);
    stv_study_files_free(files);
    return status;
}

int stv_cmd_rerun(const struct stv_options *options)
{
    static struct stv_study study;
    struct stv_session session = {.options = options};
    static struct rerun rerun;
    rerun = (struct rerun){.options = options, .problems = &session.chain.problems};
    stv_problems_init(rerun.problems);
    struct stv_study_run run = {.study = NULL};
    bool needs_look = false;
    enum stv_status status = read_manifest(&rerun);
    if (status == STV_OK)
        status = read_command(&rerun);
    if (status == STV_OK)
        status = check_inputs(&rerun);
    if (status == STV_OK)
        status = stv_study_read(rerun.asked.operand, rerun.problems, &study);
    if (status == STV_OK)
        status = stv_study_run(&rerun.asked, &study, NULL, rerun.problems, &run);
    stv_messages_problems(options, rerun.problems);
    if (status != STV_OK) {
        stv_study_run_free(&run);
        json_decref(rerun.manifest);
        return stv_session_fail(&session, status, "%s: nothing was computed or written.",
                                options->operand);
    }
    status = tell(&rerun, &run, &needs_look);
    stv_study_run_free(&run);
    json_decref(rerun.manifest);
    int code = stv_session_close(&session, status);
    return code == STV_EXIT_DONE && needs_look ? STV_EXIT_ATTENTION : code;
}
