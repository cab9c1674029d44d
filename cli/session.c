/* What every command does before and after its own answer. */
#include "cli/session.h"

#include "cli/cache_folder.h"
#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/progress.h"
#include "cli/targets.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define MESSAGE_MAX 512

int stv_refuse(const struct stv_options *options, const struct stv_problems *problems,
               enum stv_status status, const char *message)
{
    int code = (int)stv_exit_code(status);
    stv_messages_error("%s", message);
    if (status == STV_E_USAGE && options->command != STV_CMD_N)
        stv_messages_error("See: stavecast help %s", stv_command_table()[options->command].name);
    else if (status == STV_E_USAGE)
        stv_messages_error("See: stavecast help");
    if (stv_options_has(options, STV_OPT_JSON)) {
        json_t *document = stv_json_document(options, NULL, problems);
        stv_json_set(document, "error", stv_json_text(message));
        stv_json_set(document, "exit_code", json_integer(code));
        /* A refusal writes no file: it goes to standard output wherever the answer was to go. */
        struct stv_options to_stdout = *options;
        for (size_t i = 0; i < to_stdout.n_given; i++)
            if (to_stdout.given[i].option == STV_OPT_OUTPUT)
                to_stdout.given[i].text = "-";
        if (stv_json_write(&to_stdout, document) != STV_OK)
            return code;
    }
    return code;
}

int stv_refuse_command(const struct stv_options *options, const char *name)
{
    char message[MESSAGE_MAX];
    stv_options_unknown_command(name, message, sizeof message);
    return stv_refuse(options, NULL, STV_E_USAGE, message);
}

int stv_session_cask(const struct stv_session *session, const char *id, char *why, size_t size)
{
    int cask_idx = stv_chain_cask(&session->chain, id);
    if (cask_idx >= 0)
        return cask_idx;
    const char *nearest = stv_chain_nearest_cask(&session->chain, id);
    snprintf(why, size, "There is no cask \"%.60s\" in casks.csv.%s%s%s", id,
             nearest ? " Did you mean \"" : "", nearest ? nearest : "", nearest ? "\"?" : "");
    return -1;
}

struct stv_run_options stv_run_options_of(const struct stv_options *options)
{
    return (struct stv_run_options){
        .seed = (uint64_t)stv_options_number(options, STV_OPT_SEED),
        .n_draws = (size_t)stv_options_number(options, STV_OPT_DRAWS),
        .step_d = stv_options_number(options, STV_OPT_STEP),
        .warming_k_per_y = stv_options_number(options, STV_OPT_WARMING),
        .progress = stv_progress_line(options),
    };
}

/* Options that only mean something beside --weather. */
static const enum stv_option weather_companions[] = {
    STV_OPT_STATION,   STV_OPT_BUILDING, STV_OPT_LATITUDE, STV_OPT_LONGITUDE,
    STV_OPT_ELEVATION, STV_OPT_CLOCK,    STV_OPT_TIERS};

/* A page tells all; an answer its facts, unless more or less is asked for. */
static enum stv_basis basis_of(const struct stv_options *options)
{
    if (options->command == STV_CMD_REPORT || stv_options_has(options, STV_OPT_EXPLAIN))
        return STV_BASIS_ALL;
    return stv_options_has(options, STV_OPT_QUIET) ? STV_BASIS_HEED : STV_BASIS_FACTS;
}

static const char *fill_request(const struct stv_options *options, struct stv_request *request)
{
    const struct stv_run_options run = stv_run_options_of(options);
    *request = (struct stv_request){
        .despite_holes = stv_options_has(options, STV_OPT_DESPITE_HOLES),
        .basis = basis_of(options),
        .forgets_racks = options->command == STV_CMD_LEARN,
        .forgets_casks = options->command == STV_CMD_LEARN ||
                         stv_options_has(options, STV_OPT_AS_IF_NEVER_GAUGED),
        .keep_going = stv_options_has(options, STV_OPT_KEEP_GOING),
        .weather_path = stv_options_text(options, STV_OPT_WEATHER),
        .station = stv_options_text(options, STV_OPT_STATION),
        .clock = stv_options_text(options, STV_OPT_CLOCK),
        .latitude_deg = stv_options_number(options, STV_OPT_LATITUDE),
        .longitude_deg = stv_options_number(options, STV_OPT_LONGITUDE),
        .elevation_m = stv_options_number(options, STV_OPT_ELEVATION),
        .seed = run.seed,
        .n_draws = run.n_draws,
        .step_d = run.step_d,
        .warming_k_per_y = run.warming_k_per_y,
        .date_day_d = stv_options_day(options, STV_OPT_DATE),
    };
    if (!stv_options_has(options, STV_OPT_NO_CACHE))
        (void)stv_cache_folder("kept", request->cache_folder);
    if (request->weather_path) {
        request->building_kind = stv_options_text(options, STV_OPT_BUILDING);
        if (stv_options_has(options, STV_OPT_TIERS))
            request->n_tiers = (size_t)stv_options_number(options, STV_OPT_TIERS);
        return options->operand ? "Give a book or --weather, not both." : NULL;
    }
    for (size_t i = 0; i < sizeof weather_companions / sizeof weather_companions[0]; i++)
        if (stv_options_has(options, weather_companions[i]))
            return "Station, building, place, clock and tiers go with --weather; a book says them "
                   "itself.";
    request->book_folder = options->operand;
    if (!request->book_folder && access("book.yaml", R_OK) == 0)
        request->book_folder = ".";
    if (request->book_folder)
        return NULL;
    return options->command == STV_CMD_CLIMATE
               ? "There is no book.yaml here. Name the book's folder, or give --weather FILE."
               : "There is no book.yaml here. Name the book's folder; `stavecast new FOLDER` "
                 "starts one.";
}

/* False, and said, when a file to be written is one that the book names to be read. */
static bool spares_inputs(const struct stv_options *options, struct stv_chain *chain)
{
    const struct stv_book *book = &chain->book;
    bool spares =
        !book->has_weather || stv_targets_spare(options, book->weather.path, &chain->problems);
    for (size_t i = 0; i < book->n_loggers && spares; i++)
        spares = stv_targets_spare(options, book->loggers[i].path, &chain->problems);
    return spares;
}

/* The market that the options or the book name, its rules put into the book's.  A book that goes on
 * without what was refused goes on without a market. */
static enum stv_status take_market(struct stv_session *session, const struct stv_request *request)
{
    struct stv_chain *chain = &session->chain;
    enum stv_status status =
        stv_market_take(session->options, &chain->book, &chain->problems, &chain->named,
                        session->complaint, sizeof session->complaint);
    if (status == STV_E_PARSE && chain->named.is_of_book && request->keep_going)
        status = STV_OK;
    stv_market_apply(&chain->named, &chain->book);
    for (size_t c = 0; c < chain->book.ledger.n_casks && status == STV_OK; c++)
        chain->needs_attention = chain->needs_attention ||
                                 stv_market_finds(chain, c, STV_MARKET_TOO_STRONG) ||
                                 stv_market_finds(chain, c, STV_MARKET_TOO_LARGE);
    return status;
}

static enum stv_status run_stages(struct stv_session *session, const struct stv_request *request,
                                  enum stv_session_depth depth)
{
    const struct stv_options *options = session->options;
    stv_messages_step(options, "Reading %s",
                      request->book_folder ? request->book_folder : request->weather_path);
    enum stv_status status = stv_chain_read(request, &session->chain);
    session->chain.run.progress = stv_progress_line(options);
    if (status == STV_OK)
        status = take_market(session, request);
    if (status != STV_OK || depth == STV_SESSION_READ)
        return status;
    if (session->lack && session->lack(&session->chain))
        return STV_E_USAGE;
    stv_messages_step(options, "Working out the air of %zu warehouses",
                      session->chain.book.n_warehouses);
    return stv_chain_climate(&session->chain);
}

/* Starts a session and fills the request; false when the options do not name one input. */
static bool begin(struct stv_session *session, const struct stv_options *options,
                  struct stv_request *request, int *out_exit)
{
    *session = (struct stv_session){.options = options};
    stv_problems_init(&session->chain.problems);
    const char *complaint = fill_request(options, request);
    if (complaint)
        *out_exit = stv_refuse(options, NULL, STV_E_USAGE, complaint);
    return complaint == NULL;
}

static bool has_humidity(const struct stv_chain *chain)
{
    for (size_t i = 0; chain->loggers && i < chain->book.n_loggers; i++)
        if (chain->loggers[i].rh_frac)
            return true;
    return false;
}

static bool give_up(struct stv_session *session, const struct stv_request *request,
                    enum stv_status status, int *out_exit)
{
    const char *name = request->book_folder ? request->book_folder : request->weather_path;
    const struct stv_book *book = &session->chain.book;
    if (session->complaint[0])
        *out_exit = stv_session_fail(session, status, "%s", session->complaint);
    else if (status == STV_E_NO_DATA && !book->has_weather && book->n_loggers == 0)
        *out_exit = stv_session_fail(session, status,
                                     "%s: nothing is known of the air. Name a weather file under "
                                     "`weather:` in book.yaml, or a logger in loggers.csv.",
                                     name);
    else if (status == STV_E_NO_DATA && !book->has_weather && !has_humidity(&session->chain))
        *out_exit = stv_session_fail(session, status,
                                     "%s: no logger measures humidity, without which nothing can "
                                     "be said of the casks. Name a weather file under `weather:` "
                                     "in book.yaml to take it from (stavecast help fetch).",
                                     name);
    else if (status == STV_E_USAGE && session->lack && session->lack(&session->chain))
        *out_exit = stv_session_fail(session, status, "%s", session->lack(&session->chain));
    else
        *out_exit =
            session->chain.problems.n_by_severity[STV_REFUSED] > 0
                ? stv_session_fail(session, status, "%s: nothing was computed or written.", name)
                : stv_session_fail(session, status, "%s: %s.", name, stv_status_text(status));
    return false;
}

static bool open_to(struct stv_session *session, const struct stv_options *options,
                    enum stv_session_depth depth, stv_session_lack *lack, int *out_exit)
{
    struct stv_request request;
    if (!begin(session, options, &request, out_exit))
        return false;
    session->lack = lack;
    enum stv_status status = run_stages(session, &request, depth);
    if (!spares_inputs(options, &session->chain))
        status = STV_E_USAGE;
    stv_messages_problems(options, &session->chain.problems);
    return status == STV_OK || give_up(session, &request, status, out_exit);
}

bool stv_session_open(struct stv_session *session, const struct stv_options *options,
                      enum stv_session_depth depth, int *out_exit)
{
    return open_to(session, options, depth, NULL, out_exit);
}

bool stv_session_open_lacking(struct stv_session *session, const struct stv_options *options,
                              stv_session_lack *lack, int *out_exit)
{
    return open_to(session, options, STV_SESSION_CLIMATE, lack, out_exit);
}

enum stv_status stv_session_reopen(struct stv_session *session)
{
    struct stv_request request;
    (void)fill_request(session->options, &request);
    request.forgets_racks = false;
    stv_chain_free(&session->chain);
    return run_stages(session, &request, STV_SESSION_CLIMATE);
}

bool stv_session_open_for_check(struct stv_session *session, const struct stv_options *options,
                                enum stv_status *out_outcome, int *out_exit)
{
    struct stv_request request;
    if (!begin(session, options, &request, out_exit))
        return false;
    *out_outcome = run_stages(session, &request, STV_SESSION_READ);
    if (!spares_inputs(options, &session->chain)) {
        stv_messages_problems(options, &session->chain.problems);
        return give_up(session, &request, STV_E_USAGE, out_exit);
    }
    bool is_answer = *out_outcome == STV_OK || session->chain.problems.n_total > 0;
    return (is_answer && !session->complaint[0]) ||
           give_up(session, &request, *out_outcome, out_exit);
}

int stv_session_fail(struct stv_session *session, enum stv_status status, const char *format, ...)
{
    char message[MESSAGE_MAX];
    va_list args;
    va_start(args, format);
    vsnprintf(message, sizeof message, format, args);
    va_end(args);
    size_t used = strlen(message);
    if (status == STV_E_NO_DATA && session->chain.lacking[0])
        snprintf(message + used, sizeof message - used, "%s %s",
                 used > 0 && message[used - 1] != '.' ? "." : "", session->chain.lacking);
    int code = stv_refuse(session->options, &session->chain.problems, status, message);
    stv_chain_free(&session->chain);
    return code;
}

int stv_session_close(struct stv_session *session, enum stv_status status)
{
    const struct stv_problems *problems = &session->chain.problems;
    bool needs_attention =
        session->chain.needs_attention || problems->n_by_severity[STV_REFUSED] > 0 ||
        problems->n_by_severity[STV_SUSPECT] > 0 || problems->n_by_severity[STV_SET_ASIDE] > 0;
    stv_chain_free(&session->chain);
    if (status != STV_OK)
        return (int)stv_exit_code(status);
    return needs_attention ? STV_EXIT_ATTENTION : STV_EXIT_DONE;
}
