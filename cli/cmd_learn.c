/* `learn`: racks from their loggers and casks from their gauges, kept beside the book. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/cask_lesson.h"
#include "cli/chain_learned.h"
#include "cli/csv.h"
#include "cli/json_cask_learning.h"
#include "cli/messages.h"
#include "cli/prose.h"
#include "cli/session.h"
#include "cli/words.h"

#include <math.h>
#include <stdio.h>

#define WHY_MAX 320

/* Both parts; one that was not learned is empty, and `lack` says why the racks are. */
struct result {
    const struct stv_chain *chain;
    const struct stv_learning *learning;
    const struct stv_cask_lesson *lesson;
    const char *lack;
    bool has_racks, has_casks;
};

static json_t *terms_object(const struct stv_rack *rack, enum stv_rack_target target)
{
    const struct stv_rack_sum *sum = &rack->sum[target];
    const char *name;
    if (!sum->is_learned)
        return json_null();
    json_t *object = json_object(), *terms = json_object();
    stv_json_set(object, "added_to", stv_json_text(stv_learned_start_name(sum->start)));
    stv_json_set(object, "always", stv_json_number(sum->intercept_nd));
    for (size_t c = 0; (name = stv_rack_column_name(target, c)) != NULL; c++)
        if (sum->coef_nd[c] != 0.0)
            stv_json_set(terms, name, stv_json_number(sum->coef_nd[c]));
    stv_json_set(object, "terms", terms);
    return object;
}

static json_t *unseen_array(const double frac[STV_RACK_FOLDS])
{
    json_t *array = json_array();
    for (size_t m = 0; m < STV_RACK_FOLDS; m++)
        stv_json_append(array, stv_json_number(frac[m]));
    return array;
}

static void place_keys(json_t *object, const struct stv_chain *chain, const struct stv_place *place)
{
    stv_json_set(object, "warehouse",
                 stv_json_text(chain->book.warehouses[place->warehouse_idx].name));
    stv_json_set(object, "tier", stv_json_place(place->tier_idx));
    stv_json_set(object, "bay", stv_json_place(place->bay_idx));
    stv_json_set(object, "depth", stv_json_place(place->depth_idx));
}

static json_t *rack_object(const struct result *result, size_t at)
{
    const struct stv_rack *rack = &result->learning->learned.racks[at];
    struct stv_learned_figure figures[STV_LEARNED_FIGURES];
    json_t *object = json_object();
    stv_learned_figures(rack, figures);
    place_keys(object, result->chain, &rack->place);
    stv_json_set(object, "logged_from", stv_json_text(stv_format_iso_day(rack->first_day_d).text));
    stv_json_set(object, "logged_to", stv_json_text(stv_format_iso_day(rack->last_day_d).text));
    stv_json_set(object, "hours", json_integer((json_int_t)rack->skill.n_hours));
    stv_json_set(object, "months", json_integer((json_int_t)rack->skill.n_months));
    stv_json_set(object, "humidity_hours", json_integer((json_int_t)rack->skill.n_rh_hours));
    for (size_t i = 0; i < STV_LEARNED_FIGURES; i++)
        stv_json_set(object, figures[i].key, stv_json_number(figures[i].value_nd));
    stv_json_set(object, "months_beyond_what_was_seen_frac",
                 unseen_array(result->learning->unseen_frac[at]));
    stv_json_set(object, "air", terms_object(rack, STV_RACK_AIR));
    stv_json_set(object, "vapour", terms_object(rack, STV_RACK_VAPOUR));
    return object;
}

static void add_json(json_t *document, const void *shown)
{
    const struct result *result = shown;
    const struct stv_learning *learning = result->learning;
    json_t *racks = json_array(), *unlearned = json_array(), *between = json_array();
    for (size_t i = 0; i < learning->learned.n_racks; i++)
        stv_json_append(racks, rack_object(result, i));
    for (size_t i = 0; i < learning->n_unlearned; i++) {
        json_t *object = json_object();
        place_keys(object, result->chain, &learning->unlearned[i].place);
        stv_json_set(object, "hours", json_integer((json_int_t)learning->unlearned[i].n_hours));
        stv_json_append(unlearned, object);
    }
    for (size_t i = 0; i < learning->learned.n_between; i++) {
        const struct stv_learned_between *b = &learning->learned.between[i];
        json_t *object = json_object();
        stv_json_set(object, "warehouse",
                     stv_json_text(result->chain->book.warehouses[b->warehouse_idx].name));
        stv_json_set(object, "logged_tiers", json_integer((json_int_t)b->n_tiers));
        stv_json_set(object, "misses_hour_k", stv_json_number(b->hour_k));
        stv_json_set(object, "misses_month_k", stv_json_number(b->month_k));
        stv_json_set(object, "humidity_misses_month_frac", stv_json_number(b->rh_month_frac));
        stv_json_append(between, object);
    }
    stv_json_set(document, "racks", racks);
    stv_json_set(document, "not_learned", unlearned);
    stv_json_set(document, "between_tiers", between);
    stv_json_set(document, "written",
                 result->has_racks ? stv_json_text(STV_LEARNED_FILE) : json_null());
    stv_json_set(document, "casks_written",
                 result->has_casks ? stv_json_text(STV_LEARNED_CASKS_FILE) : json_null());
    if (result->has_casks)
        stv_json_cask_lesson(document, result->chain, result->lesson);
    stv_json_caution_by(document, stv_words_caution_planning);
    stv_json_caution_by(document, stv_words_caution_leaks);
    stv_json_caution_by(document, stv_words_caution_vapour);
}

static void add_racks_csv(struct stv_sheet *table, const struct result *result)
{
    const struct stv_rack none = {0};
    struct stv_learned_figure figures[STV_LEARNED_FIGURES];
    struct stv_text names = {0};
    stv_learned_figures(&none, figures);
    stv_text_add(&names, "warehouse,tier,bay,depth,hours,months,humidity_hours");
    for (size_t i = 0; i < STV_LEARNED_FIGURES; i++)
        stv_text_format(&names, ",%s", figures[i].key);
    stv_csv_heads(table, stv_text_string(&names));
    table->has_failed = table->has_failed || names.has_failed;
    stv_text_free(&names);
    for (size_t i = 0; i < result->learning->learned.n_racks; i++) {
        const struct stv_rack *rack = &result->learning->learned.racks[i];
        stv_learned_figures(rack, figures);
        stv_sheet_add_text(table, result->chain->book.warehouses[rack->place.warehouse_idx].name);
        stv_csv_place(table, rack->place.tier_idx);
        stv_csv_place(table, rack->place.bay_idx);
        stv_csv_place(table, rack->place.depth_idx);
        stv_csv_number(table, (double)rack->skill.n_hours);
        stv_csv_number(table, (double)rack->skill.n_months);
        stv_csv_number(table, (double)rack->skill.n_rh_hours);
        for (size_t k = 0; k < STV_LEARNED_FIGURES; k++)
            stv_csv_number(table, figures[k].value_nd);
    }
}

/* Casks where there are any: they have the rows that people compare. */
static void add_csv(struct stv_sheet *table, const void *shown)
{
    const struct result *result = shown;
    if (result->has_casks)
        stv_csv_cask_lesson(table, result->chain, result->lesson);
    else
        add_racks_csv(table, result);
}

#define WORDS_NO_GAUGES                                                                       \
    "Casks: no gauge and no nosing in gauges.csv to learn from; those of the very day of an " \
    "addition, slips, and later than this answer do not count."

static void add_text(struct stv_text *text, const void *shown)
{
    const struct result *result = shown;
    if (result->has_casks) {
        stv_words_cask_learning(text, result->chain, result->lesson);
        stv_prose_add(text, "\n");
    }
    if (result->has_racks)
        stv_words_learn(text, result->chain, result->learning);
    else
        stv_prose_wrap(text, 0, "Racks: %s", result->lack);
    if (!result->has_casks)
        stv_prose_wrap(text, 2, WORDS_NO_GAUGES);
    stv_words_caution_planning(text);
    if (result->has_casks) {
        stv_words_caution_leaks(text);
        stv_words_caution_vapour(text);
    }
}

/* Why no rack can be learned, in words; NULL when some were. */
static const char *lack_of(const struct stv_chain *chain, enum stv_status status,
                           const struct stv_learning *learning)
{
    if (status == STV_OK && learning->learned.n_racks)
        return NULL;
    if (!chain->has_weather)
        return "To learn a rack takes weather beside its logger: name a weather file under "
               "`weather:` in book.yaml.";
    if (chain->weather.grid.is_typical)
        return "A typical year has no hour that a logger could share: name weather of the "
               "loggers' own dates.";
    if (status != STV_OK)
        return "No logger inside shares an hour with the weather.";
    return "No place has three calendar months with ten days of hours each that the weather "
           "shares. The answers rest on the building model and the loggers as before.";
}

/* Whether an earlier learned.yaml lies beside the book; one that cannot be read counts, too. */
static bool stands_already(const struct stv_book *book)
{
    struct stv_problems unsaid;
    struct stv_learned standing;
    stv_problems_init(&unsaid);
    enum stv_status status = stv_learned_read(book, &unsaid, &standing);
    bool stands = status != STV_OK || standing.n_racks > 0;
    stv_learned_free(&standing);
    stv_problems_free(&unsaid);
    return stands;
}

/* Racks first, and the air that they then tell: casks are learned in the air that later commands
 * take.  An earlier learned.yaml that is not made anew goes on being used. */
static enum stv_status learn_racks(struct stv_session *session, struct stv_learning *out,
                                   const char **out_lack, char *why)
{
    struct stv_chain *chain = &session->chain;
    enum stv_status status = stv_chain_learn(chain, out);
    if (status != STV_OK && status != STV_E_NO_DATA)
        return status;
    *out_lack = lack_of(chain, status, out);
    if (*out_lack)
        return stands_already(&chain->book) ? stv_session_reopen(session) : STV_OK;
    status = stv_learned_write(&chain->book, &out->learned, why, WHY_MAX);
    return status == STV_OK ? stv_session_reopen(session) : status;
}

static enum stv_status learn_casks(struct stv_session *session, struct stv_cask_lesson *out,
                                   char *why)
{
    struct stv_chain *chain = &session->chain;
    stv_messages_step(session->options, "Learning casks from %zu gauges", chain->book.n_gauges);
    enum stv_status status = stv_chain_learn_casks(chain, out);
    if (status == STV_OK)
        status = stv_learned_casks_write(&chain->book, &out->kept, why, WHY_MAX);
    chain->needs_attention |= out->n_stuck > 0;
    for (size_t v = 0; v < out->kept.n_verdicts && status == STV_OK; v++)
        chain->needs_attention |= stv_lesson_look(chain, out, v) != STV_LOOK_NOT;
    return status;
}

static int answer(struct stv_session *session, const struct result *result)
{
    const struct stv_options *options = session->options;
    const struct stv_answer answer = {result, add_text, add_json, add_csv};
    enum stv_status status =
        stv_answer_write(options, &session->chain, &session->chain.problems, &answer);
    const char *folder = session->chain.book.folder;
    if (status == STV_OK && result->has_racks)
        stv_messages_note(options, "Written: %s/%s", folder, STV_LEARNED_FILE);
    if (status == STV_OK && result->has_casks)
        stv_messages_note(options, "Written: %s/%s", folder, STV_LEARNED_CASKS_FILE);
    return stv_session_close(session, status);
}

int stv_cmd_learn(const struct stv_options *options)
{
    struct stv_session session;
    struct stv_learning learning = {0};
    struct stv_cask_lesson lesson = {0};
    struct result result = {&session.chain, &learning, &lesson, NULL, false, false};
    char why[WHY_MAX] = "";
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    enum stv_status racks = learn_racks(&session, &learning, &result.lack, why);
    enum stv_status casks = racks == STV_OK ? learn_casks(&session, &lesson, why) : STV_E_NO_DATA;
    result.has_racks = racks == STV_OK && !result.lack;
    result.has_casks = casks == STV_OK;
    if (racks != STV_OK)
        code = stv_session_fail(&session, racks, "Nothing could be learned: %s.",
                                why[0] ? why : stv_status_text(racks));
    else if (casks != STV_OK && casks != STV_E_NO_DATA)
        code = stv_session_fail(&session, casks, "The casks could not be learned%s: %s.",
                                result.has_racks ? ", the racks were" : "",
                                why[0] ? why : stv_status_text(casks));
    else if (!result.has_racks && !result.has_casks)
        code =
            stv_session_fail(&session, STV_E_NO_DATA,
                             "Nothing could be learned. Racks: %s " WORDS_NO_GAUGES, result.lack);
    else
        code = answer(&session, &result);
    stv_learning_free(&learning);
    stv_cask_lesson_free(&lesson);
    return code;
}
