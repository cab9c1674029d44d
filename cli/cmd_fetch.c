/* `fetch`: public weather of a station or a place, into a book. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/fetch_run.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/prose.h"
#include "cli/session.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX (STV_FETCH_URL + 600)
#define MEGABYTE 1e6

/* One line that is written over, on a terminal alone; wiped when all is there. */
static void show_progress(void *context, const char *url, uint64_t got, uint64_t total)
{
    const char *slash = strrchr(url, '/');
    (void)context;
    if (got == total) {
        fprintf(stderr, "\r\033[K");
        return;
    }
    fprintf(stderr, "\r%.40s  %.1f", slash ? slash + 1 : url, (double)got / MEGABYTE);
    if (total)
        fprintf(stderr, " of %.1f", (double)total / MEGABYTE);
    fprintf(stderr, " MB\033[K");
}

static enum stv_status write_text(const struct stv_options *options, struct stv_text *text)
{
    enum stv_status status = stv_output_write(options, text);
    stv_text_free(text);
    return status;
}

/* The addresses of a dry run: of the lists that would be asked for, then of the files. */
static enum stv_status write_addresses(const struct stv_fetch_run *run)
{
    const struct stv_fetch_request *request = &run->request;
    bool is_json = stv_options_has(run->options, STV_OPT_JSON);
    char url[STV_FETCH_URL], why[WHY_MAX];
    struct stv_text text = {0};
    json_t *addresses = json_array();
    for (size_t i = 0; request->is_near && i < STV_FETCH_LISTS; i++) {
        const struct stv_fetch_list *list = &request->wish.service->lists[i];
        if (!list->url ||
            stv_fetch_list_url(list, request->wish.base, url, why, sizeof why) != STV_OK)
            continue;
        stv_prose_add(&text, "%s\n", url);
        stv_json_append(addresses, stv_json_text(url));
    }
    for (size_t i = 0; i < run->answer.n; i++) {
        stv_prose_add(&text, "%s\n", run->answer.results[i].file.url);
        stv_json_append(addresses, stv_json_text(run->answer.results[i].file.url));
    }
    if (!is_json) {
        json_decref(addresses);
        return write_text(run->options, &text);
    }
    stv_text_free(&text);
    json_t *document = stv_json_document(run->options, NULL, &run->problems);
    stv_json_set(document, "addresses", addresses);
    return stv_json_write(run->options, document);
}

static int dry_run(const struct stv_fetch_run *run)
{
    if (run->answer.n_near && !stv_options_has(run->options, STV_OPT_QUIET)) {
        struct stv_text text = {0};
        char *copy;
        const char **lines;
        size_t n;
        stv_words_stations(&text, &run->answer);
        if (stv_prose_lines(&text, &copy, &lines, &n) == STV_OK) {
            for (size_t i = 0; i < n; i++)
                stv_messages_note(run->options, "%s", stv_prose_unmarked(lines[i]));
            free(copy);
            free(lines);
        }
        stv_text_free(&text);
    } else if (run->request.is_near && run->answer.n == 0) {
        stv_messages_note(run->options,
                          "The station, and with it the addresses of its files, is known once the "
                          "list is in the cache.");
    }
    return (int)stv_exit_code(write_addresses(run));
}

/* What a script has to know first: the worst that happened. */
static int exit_of(const struct stv_fetch_answer *answer)
{
    size_t n_of[STV_FETCH_REFUSED + 1] = {0};
    enum stv_status refused = STV_OK;
    for (size_t i = 0; i < answer->n; i++) {
        n_of[answer->results[i].end]++;
        if (answer->results[i].end == STV_FETCH_REFUSED)
            refused = answer->results[i].status;
    }
    bool is_offline = answer->request->is_offline;
    if (n_of[STV_FETCH_FAILED] && (!is_offline || answer->n_kept == 0))
        return STV_EXIT_NETWORK;
    if (n_of[STV_FETCH_REFUSED])
        return (int)stv_exit_code(refused);
    if (answer->n_kept == 0)
        return STV_EXIT_NO_ANSWER;
    bool is_whole = n_of[STV_FETCH_MISSING] == 0 && n_of[STV_FETCH_FAILED] == 0;
    return is_whole && answer->n_unread == 0 ? STV_EXIT_DONE : STV_EXIT_ATTENTION;
}

static int write_answer(const struct stv_fetch_run *run)
{
    int code = exit_of(&run->answer);
    enum stv_status status = STV_OK;
    if (stv_options_has(run->options, STV_OPT_JSON)) {
        json_t *document = stv_json_document(run->options, NULL, &run->problems);
        stv_json_fetch(document, &run->answer);
        if (code > STV_EXIT_ATTENTION)
            stv_json_set(document, "error", stv_json_text(stv_exit_text((enum stv_exit)code)));
        stv_json_set(document, "exit_code", json_integer(code));
        status = stv_json_write(run->options, document);
    } else if (run->answer.n_kept > 0 || run->answer.n_near > 0) {
        struct stv_text text = {0};
        if (run->answer.n_kept > 0)
            stv_words_fetch(&text, &run->answer);
        else /* another of them may have what is wanted */
            stv_words_stations(&text, &run->answer);
        status = write_text(run->options, &text);
    }
    return status == STV_OK ? code : (int)stv_exit_code(status);
}

/* Everything of a run up to its exit code. */
static int work(struct stv_fetch_run *run, char why[WHY_MAX])
{
    enum stv_status status = stv_fetch_run_station(run, why, WHY_MAX);
    stv_messages_problems(run->options, &run->problems);
    if (status == STV_OK)
        status = stv_fetch_run_plan(run, why, WHY_MAX);
    if (status == STV_OK && run->request.is_dry)
        return dry_run(run);
    if (status == STV_OK)
        status = stv_fetch_folder_find(run->options, &run->answer.folder, why, WHY_MAX);
    if (status != STV_OK)
        return stv_refuse(run->options, &run->problems, status,
                          why[0] ? why : stv_status_text(status));
    stv_fetch_run_files(run);
    return write_answer(run);
}

int stv_cmd_fetch(const struct stv_options *options)
{
    struct stv_fetch_run run = {.options = options};
    char why[WHY_MAX] = "";
    if (stv_options_has(options, STV_OPT_SERVICES)) {
        struct stv_text text = {0};
        stv_words_services(&text);
        return (int)stv_exit_code(write_text(options, &text));
    }
    enum stv_status status = stv_fetch_request_read(options, &run.request, why, sizeof why);
    if (status != STV_OK)
        return stv_refuse(options, NULL, status, why);
    stv_problems_init(&run.problems);
    run.rules = stv_fetch_rules_default(run.request.cache);
    run.rules.is_offline = run.request.is_offline;
    if (stv_progress_is_wanted(options))
        run.rules.progress = show_progress;
    run.answer.request = &run.request;
    int code = work(&run, why);
    stv_fetch_run_free(&run);
    return code;
}
