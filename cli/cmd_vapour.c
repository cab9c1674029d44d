/* `vapour`: ethanol in the air of a book's warehouses, or of a store given by numbers alone. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/exit_code.h"
#include "cli/session.h"
#include "cli/vapour.h"
#include "ingest/quantity.h"

#include <math.h>
#include <stdio.h>

#define WHY_MAX 320
#define VOLUME_L_M3 1000.0

/* A typed option's quantity, its default when not given; false, and said in why, when it cannot be
 * read or must be given. */
static bool read_quantity(const struct stv_options *options, enum stv_option option,
                          enum stv_dimension dimension, double *out, char why[WHY_MAX])
{
    char reason[WHY_MAX - 64] = "";
    const char *text = stv_options_text(options, option);
    const char *name = stv_option_table()[option].name;
    if (!text) {
        snprintf(why, WHY_MAX, "--casks needs --%s too: ethanol, volume and air.", name);
        return false;
    }
    if (stv_quantity_parse(text, dimension, NULL, out, reason, sizeof reason) == STV_OK &&
        (*out > 0.0 || dimension == STV_DIM_TEMPERATURE))
        return true;
    if (reason[0])
        snprintf(why, WHY_MAX, "--%s \"%.40s\" %s.", name, text, reason);
    else
        snprintf(why, WHY_MAX, "--%s must be above 0.", name);
    return false;
}

static bool read_sum(const struct stv_options *options, struct stv_vapour_sum *out,
                     char why[WHY_MAX])
{
    double volume_l;
    out->n_casks = stv_options_number(options, STV_OPT_VAPOUR_CASKS);
    out->peak_nd = stv_options_number(options, STV_OPT_PEAK);
    bool is_good =
        read_quantity(options, STV_OPT_ETHANOL, STV_DIM_MASS_RATE, &out->cask_kg_h, why) &&
        read_quantity(options, STV_OPT_ROOM_VOLUME, STV_DIM_VOLUME, &volume_l, why) &&
        read_quantity(options, STV_OPT_AIR, STV_DIM_AIR_CHANGE, &out->air_change_per_h, why) &&
        read_quantity(options, STV_OPT_AT_TEMP, STV_DIM_TEMPERATURE, &out->air_c, why);
    out->volume_m3 = is_good ? volume_l / VOLUME_L_M3 : (double)NAN;
    if (is_good && !(out->air_c >= -40.0 && out->air_c <= 60.0)) {
        snprintf(why, WHY_MAX, "--at must lie between -40 and 60 C.");
        is_good = false;
    }
    return is_good;
}

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_vapour(text, result);
}

static void add_json(json_t *document, const void *result)
{
    stv_json_vapour(document, result);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    stv_csv_vapour(table, result);
}

static int run_sum(const struct stv_options *options)
{
    char why[WHY_MAX];
    struct stv_vapour_sum sum;
    if (options->operand)
        return stv_refuse(options, NULL, STV_E_USAGE,
                          "--casks works a store out without a book: leave one of the two out.");
    if (!read_sum(options, &sum, why))
        return stv_refuse(options, NULL, STV_E_USAGE, why);
    struct stv_vapour_store store;
    stv_vapour_sum_up(&sum, &store);
    const struct stv_vapour_answer result = {
        .stores = &store, .n = 1, .mixing_nd = stv_options_number(options, STV_OPT_MIXING)};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    enum stv_exit code = stv_exit_code(stv_answer_write(options, NULL, NULL, &answer));
    bool wants_look = code == STV_EXIT_DONE && stv_vapour_can_burn(&store);
    return (int)(wants_look ? STV_EXIT_ATTENTION : code);
}

/* Options of the sum, without which they mean nothing. */
static const char *stray_option(const struct stv_options *options)
{
    static const enum stv_option only[] = {STV_OPT_ETHANOL, STV_OPT_PEAK, STV_OPT_ROOM_VOLUME,
                                           STV_OPT_AT_TEMP};
    for (size_t i = 0; i < sizeof only / sizeof only[0]; i++)
        if (stv_options_has(options, only[i]))
            return stv_option_table()[only[i]].name;
    return NULL;
}

static int run_book(const struct stv_options *options)
{
    struct stv_session session;
    struct stv_vapour_answer result;
    double air_change_per_h = (double)NAN;
    char why[WHY_MAX];
    int code;
    if (stv_options_has(options, STV_OPT_AIR) &&
        !read_quantity(options, STV_OPT_AIR, STV_DIM_AIR_CHANGE, &air_change_per_h, why))
        return stv_refuse(options, NULL, STV_E_USAGE, why);
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    enum stv_status status = stv_chain_vapour(&session.chain, air_change_per_h, &result);
    if (status == STV_E_NO_DATA && !session.chain.has_weather)
        return stv_session_fail(&session, status,
                                "Without weather the air that passes is not known: name a weather "
                                "file under `weather:` in book.yaml.");
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The vapour could not be worked out: %s.",
                                stv_status_text(status));
    result.mixing_nd = stv_options_number(options, STV_OPT_MIXING);
    for (size_t i = 0; i < result.n; i++)
        session.chain.needs_attention |= stv_vapour_can_burn(&result.stores[i]);
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    stv_vapour_answer_free(&result);
    return stv_session_close(&session, status);
}

int stv_cmd_vapour(const struct stv_options *options)
{
    if (stv_options_has(options, STV_OPT_VAPOUR_CASKS))
        return run_sum(options);
    const char *stray = stray_option(options);
    if (stray) {
        char why[WHY_MAX];
        snprintf(why, sizeof why, "--%s goes with --casks; a book says it itself.", stray);
        return stv_refuse(options, NULL, STV_E_USAGE, why);
    }
    return run_book(options);
}
