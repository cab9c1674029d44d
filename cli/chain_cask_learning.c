/* One row of gauges.csv may hold several figures.  None is counted twice: litres worked out of a
 * weight stand for that weight. */
#include "cli/chain_cask_learning.h"

#include "model/gauge.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIGURES_MOST 7      /* of one row */
#define LEAST_WOOD 0.05     /* where the house says none at all */
#define LEAST_GAP_LN 0.1    /* between ready and over */
#define UNSAID_TARE_KG 2.25 /* half of what wood drinks: dry or wet, nobody said; judgement */
#define UNSAID_TARE_ERROR_KG 2.5
#define USUAL_LOSS_PER_Y 0.02 /* by which a vague day makes an amount vague; judgement */
#define USUAL_RHO_KG_M3 910.0 /* of spirit at 60 %vol; for the air's buoyancy alone */

/* --- which rows ------------------------------------------------------------------------------ */

/* Whether liquid came in, or went over into another cask, on that very day. */
static bool has_addition(const struct stv_ledger *ledger, int cask_idx, int64_t day_d)
{
    for (size_t e = 0; e < ledger->n_events && ledger->events[e].day_d <= day_d; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool is_own = event->cask_idx == cask_idx;
        if (event->day_d != day_d)
            continue;
        if (event->kind == STV_EVENT_TRANSFER && (is_own || event->other_idx == cask_idx))
            return true;
        if (is_own && (event->kind == STV_EVENT_ADD_WATER || event->kind == STV_EVENT_TOP_UP))
            return true;
    }
    return false;
}

/* --- scales and tares ------------------------------------------------------------------------ */

/* Index of a scale by its name, made when it is new; STV_FIT_SCALES_MOST when there are too many.
 */
static size_t scale_of(struct stv_cask_lesson *lesson, const char *name, struct stv_fit_scale scale)
{
    size_t n = lesson->request.n_scales;
    for (size_t s = 0; s < n; s++)
        if (strcmp(lesson->scale_names[s], name) == 0)
            return s;
    if (n == STV_FIT_SCALES_MOST) {
        lesson->unused.n_scales_over++;
        return n;
    }
    snprintf(lesson->scale_names[n], STV_SCALE_NAME_MAX, "%s", name);
    lesson->scales[n] = scale;
    return lesson->request.n_scales++;
}

/* The tare of a gauge's own row says most, then the head's, then the weight of such wood. */
static struct stv_fit_tare tare_of_gauge(const struct stv_gauge *gauge)
{
    struct stv_fit_tare tare = stv_fit_tare_of(
        gauge->tare_was == STV_TARE_WET ? STV_FIT_TARE_WET : STV_FIT_TARE_DRY, gauge->tare_kg);
    if (gauge->tare_was == STV_TARE_UNSAID)
        tare = (struct stv_fit_tare){gauge->tare_kg + UNSAID_TARE_KG, UNSAID_TARE_ERROR_KG};
    return tare;
}

static enum stv_status list_tares(const struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    lesson->tares = calloc(ledger->n_casks + 1, sizeof *lesson->tares);
    if (!lesson->tares)
        return STV_E_MEMORY;
    for (size_t c = 0; c < ledger->n_casks; c++) {
        const struct stv_cask *cask = &ledger->casks[c];
        lesson->tares[c] = cask->tare_kg > 0.0
                               ? stv_fit_tare_of(STV_FIT_TARE_DRY, cask->tare_kg)
                               : stv_fit_tare_of(STV_FIT_TARE_UNKNOWN, cask->geometry.wood_kg);
    }
    for (size_t i = 0; i < chain->book.n_gauges; i++) {
        const struct stv_gauge *gauge = &chain->book.gauges[i];
        struct stv_fit_tare *tare = &lesson->tares[gauge->cask_idx];
        if (!isfinite(gauge->tare_kg) || gauge->is_suspect)
            continue;
        struct stv_fit_tare own = tare_of_gauge(gauge);
        if (own.error_kg < tare->error_kg)
            *tare = own;
    }
    return STV_OK;
}

/* --- figures --------------------------------------------------------------------------------- */

/* What is common to the figures of a row. */
struct row {
    struct stv_cask_lesson *lesson;
    const struct stv_gauge *gauge;
    size_t gauge_idx, n_before;
    double day_error_frac; /* of an amount, from a day that was vague */
};

static struct stv_cask_observation *add(const struct row *row, enum stv_fit_kind kind, double value,
                                        double error)
{
    struct stv_cask_lesson *lesson = row->lesson;
    struct stv_cask_observation *seen = &lesson->observations[lesson->request.n_observations++];
    *seen = (struct stv_cask_observation){.cask_idx = (size_t)row->gauge->cask_idx,
                                          .day_d = row->gauge->day_d,
                                          .kind = kind,
                                          .value = value,
                                          .error = fmax(error, 1e-6),
                                          .is_unmixed = row->gauge->may_not_be_mixed,
                                          .is_set_aside = row->gauge->is_suspect,
                                          .gauge_idx = row->gauge_idx};
    return seen;
}

static void set_typed(struct stv_cask_observation *seen, struct stv_typed_figure typed)
{
    if (typed.value_nd <= 0.0)
        return;
    seen->typed_nd = typed.value_nd;
    seen->n_decimals = typed.n_decimals;
    seen->per_typed_nd = seen->value / typed.value_nd;
}

static double amount_error(const struct row *row, double value, double error)
{
    return hypot(error, row->day_error_frac * value);
}

/* A weight in air as the mass that the model adds up. */
static double gross_mass_kg(const struct row *row)
{
    double tare_kg = row->lesson->tares[row->gauge->cask_idx].tare_kg;
    double net_kg = fmax(0.0, row->gauge->gross_kg - tare_kg);
    return tare_kg + stv_mass_from_net_kg(net_kg, USUAL_RHO_KG_M3) +
           (row->gauge->gross_kg - tare_kg - net_kg);
}

static void add_amounts(const struct row *row)
{
    const struct stv_gauge *gauge = row->gauge;
    if (isfinite(gauge->volume20_l))
        set_typed(add(row, STV_FIT_VOLUME, gauge->volume20_l,
                      amount_error(row, gauge->volume20_l, gauge->volume_sd_l)),
                  gauge->volume_from == STV_VOLUME_LITRES ? gauge->litres_typed
                                                          : (struct stv_typed_figure){0.0, 0});
    if (isfinite(gauge->abv20_frac))
        set_typed(add(row, STV_FIT_STRENGTH, gauge->abv20_frac, gauge->abv_sd_frac),
                  gauge->strength_typed);
    if (gauge->volume_from == STV_VOLUME_WEIGHT || gauge->is_suspect)
        return;
    if (isfinite(gauge->liquid_kg))
        add(row, STV_FIT_LIQUID, gauge->liquid_kg,
            amount_error(row, gauge->liquid_kg, gauge->liquid_sd_kg));
    else if (isfinite(gauge->gross_kg))
        add(row, STV_FIT_GROSS, gross_mass_kg(row),
            amount_error(row, gauge->gross_kg, gauge->gross_sd_kg));
}

static void add_reading(const struct row *row, const char *name, struct stv_fit_scale scale,
                        double value)
{
    size_t scale_idx = scale_of(row->lesson, name, scale);
    if (scale_idx < STV_FIT_SCALES_MOST)
        add(row, STV_FIT_READING, value, STV_FIT_NOSE_ERROR_LN)->scale_idx = scale_idx;
}

static void add_senses(const struct row *row)
{
    const struct stv_gauge *gauge = row->gauge;
    char name[STV_SCALE_NAME_MAX];
    if (gauge->nose != STV_NOSE_NONE) {
        add(row, STV_FIT_VERDICT, (double)gauge->nose - (double)STV_NOSE_NOT_YET,
            STV_FIT_NOSE_ERROR_LN);
        row->lesson->n_nose_verdicts++;
    }
    if (isfinite(gauge->nose_score)) {
        snprintf(name, sizeof name, "nose %s", gauge->by[0] ? gauge->by : "of nobody named");
        add_reading(row, name, stv_fit_points(), gauge->nose_score);
    }
    if (!isfinite(gauge->colour_card) || gauge->colour_of < 2.0)
        return;
    if (gauge->is_colour_of_other_liquid) {
        row->lesson->unused.n_other_wood++;
        return;
    }
    snprintf(name, sizeof name, "card of %.0f", gauge->colour_of);
    add_reading(row, name, stv_fit_card((size_t)gauge->colour_of), gauge->colour_card);
}

static void take_row(const struct stv_chain *chain, struct stv_cask_lesson *lesson,
                     size_t gauge_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_gauge *gauge = &chain->book.gauges[gauge_idx];
    const struct row row = {lesson, gauge, gauge_idx, lesson->request.n_observations,
                            USUAL_LOSS_PER_Y * gauge->day_width_d / STV_YEAR_D};
    lesson->unused.n_suspect += gauge->is_suspect;
    if (gauge->day_d > chain->as_of_day_d) {
        lesson->unused.n_later++;
        return;
    }
    if (!stv_ledger_is_full(ledger, gauge->cask_idx, gauge->day_d)) {
        lesson->unused.n_empty++;
        return;
    }
    if (!has_addition(ledger, gauge->cask_idx, gauge->day_d))
        add_amounts(&row);
    else
        lesson->unused.n_same_day +=
            isfinite(gauge->volume20_l) || isfinite(gauge->abv20_frac) || isfinite(gauge->gross_kg);
    if (!gauge->is_suspect)
        add_senses(&row);
    lesson->n_gauges += lesson->request.n_observations > row.n_before && !gauge->is_suspect;
}

static double ln_of_wood(double wood_nd)
{
    return log(fmax(wood_nd, LEAST_WOOD));
}

/* By what the book says: what its noses said before must not be learned from again. */
static struct stv_fit_ready ready_of(const struct stv_book *book)
{
    struct stv_house_rules rules = book->rules;
    if (book->wood_from == STV_WOOD_LEARNED)
        rules = stv_house_rules_default();
    double ready_ln = ln_of_wood(rules.wood_least_nd);
    double over_ln = fmax(ln_of_wood(rules.wood_most_nd), ready_ln + LEAST_GAP_LN);
    return (struct stv_fit_ready){{ready_ln - STV_NOT_YET_TO_READY_LN, ready_ln, over_ln},
                                  STV_READY_ERROR_LN};
}

static enum stv_status prepare(const struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    lesson->request.house = stv_chain_request(chain);
    lesson->request.ready = ready_of(&chain->book);
    lesson->observations =
        calloc(FIGURES_MOST * chain->book.n_gauges + 1, sizeof *lesson->observations);
    enum stv_status status = list_tares(chain, lesson);
    if (status != STV_OK || !lesson->observations)
        return STV_E_MEMORY;
    for (size_t i = 0; i < chain->book.n_gauges; i++)
        take_row(chain, lesson, i);
    lesson->request.observations = lesson->observations;
    lesson->request.tares = lesson->tares;
    lesson->request.scales = lesson->scales;
    return lesson->n_gauges ? STV_OK : STV_E_NO_DATA;
}

/* --- what is kept ---------------------------------------------------------------------------- */

static int compare_told(const void *a, const void *b)
{
    const struct stv_learned_told *x = a, *y = b;
    if (x->cask_idx != y->cask_idx)
        return x->cask_idx < y->cask_idx ? -1 : 1;
    if (x->day_d != y->day_d)
        return x->day_d < y->day_d ? -1 : 1;
    return (x->kind > y->kind) - (x->kind < y->kind);
}

static enum stv_status keep_told(struct stv_cask_lesson *lesson)
{
    struct stv_learned_casks *kept = &lesson->kept;
    const struct stv_cask_learning *learning = &lesson->learning;
    size_t n = lesson->request.n_observations;
    kept->told = calloc(n + 1, sizeof *kept->told);
    if (!kept->told)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        const struct stv_cask_observation *seen = &lesson->observations[i];
        const struct stv_cask_told *told = &learning->told[i];
        kept->told[i] = (struct stv_learned_told){
            (int)seen->cask_idx, seen->day_d, seen->kind,       told->then_nd,
            told->then_error_nd, seen->value, told->is_left_out};
    }
    kept->n_told = n;
    qsort(kept->told, n, sizeof *kept->told, compare_told);
    return STV_OK;
}

static enum stv_status keep_verdicts(struct stv_cask_lesson *lesson)
{
    struct stv_learned_casks *kept = &lesson->kept;
    const struct stv_cask_learning *learning = &lesson->learning;
    kept->verdicts = calloc(learning->n_verdicts + 1, sizeof *kept->verdicts);
    if (!kept->verdicts)
        return STV_E_MEMORY;
    for (size_t v = 0; v < learning->n_verdicts; v++) {
        const struct stv_cask_verdict *verdict = &learning->verdicts[v];
        const struct stv_gauge_odds *odds = &verdict->odds;
        kept->verdicts[v] = (struct stv_learned_verdict){
            .cask_idx = (int)verdict->cask_idx,
            .since_day_d = verdict->since_day_d,
            .day_d = verdict->day_d,
            .evaporation_frac = odds->evaporation_frac,
            .leak_frac = odds->leak_frac,
            .misread_frac = odds->misread_frac,
            .excess_l = odds->excess_l,
            .excess_error_l = odds->excess_error_l,
            .rise_abv20_frac = verdict->change.strength.value - verdict->change.strength_then.value,
            .meant_litres_nd = odds->swapped_volume_nd,
            .meant_strength_nd = odds->swapped_strength_nd,
            .agrees = verdict->agrees,
        };
    }
    kept->n_verdicts = learning->n_verdicts;
    return STV_OK;
}

static enum stv_status count_casks(const struct stv_cask_lesson *lesson, size_t *out_n)
{
    size_t n_ledger = lesson->request.house.ledger->n_casks;
    bool *has_any = calloc(n_ledger + 1, sizeof *has_any);
    if (!has_any)
        return STV_E_MEMORY;
    for (size_t i = 0; i < lesson->request.n_observations; i++)
        has_any[lesson->observations[i].cask_idx] |= !lesson->observations[i].is_set_aside;
    *out_n = 0;
    for (size_t c = 0; c < n_ledger; c++)
        *out_n += has_any[c];
    free(has_any);
    return STV_OK;
}

/* The posterior moves over; the rest of the learning stays. */
static enum stv_status keep(const struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    struct stv_learned_casks *kept = &lesson->kept;
    kept->posterior = lesson->learning.posterior;
    lesson->learning.posterior = (struct stv_posterior){0};
    memcpy(kept->ready_ln_nd, lesson->learning.ready_ln_nd, sizeof kept->ready_ln_nd);
    memcpy(kept->ready_error_ln_nd, lesson->learning.ready_error_ln_nd,
           sizeof kept->ready_error_ln_nd);
    kept->n_gauges = lesson->n_gauges;
    kept->n_verdicts_of_noses = lesson->n_nose_verdicts;
    kept->as_of_day_d = chain->as_of_day_d;
    enum stv_status status = count_casks(lesson, &kept->n_gauged_casks);
    if (status == STV_OK)
        status = keep_told(lesson);
    if (status == STV_OK)
        status = keep_verdicts(lesson);
    if (status == STV_OK)
        status = stv_learned_casks_inputs(&chain->book, &kept->inputs, &kept->n_inputs);
    return status;
}

/* --- what the next gauge would narrow -------------------------------------------------------- */

static enum stv_status list_wishes(const struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    lesson->wishes = calloc(ledger->n_casks + 1, sizeof *lesson->wishes);
    if (!lesson->wishes)
        return STV_E_MEMORY;
    for (int c = 0; c < (int)ledger->n_casks; c++) {
        int64_t target_d = stv_chain_planned_day(chain, c);
        if (stv_lineage_spirit(chain->lineage, c).is_there &&
            stv_ledger_is_full(ledger, c, target_d))
            lesson->wishes[lesson->n_wishes++] =
                (struct stv_cask_wish){(size_t)c, chain->as_of_day_d, target_d};
    }
    return STV_OK;
}

static enum stv_status look_ahead(const struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    enum stv_status status = list_wishes(chain, lesson);
    lesson->worths = calloc(lesson->n_wishes + 1, sizeof *lesson->worths);
    if (status != STV_OK || !lesson->worths)
        return STV_E_MEMORY;
    return stv_cask_worth_of(&lesson->request, &lesson->learning, lesson->wishes, lesson->n_wishes,
                             lesson->worths);
}

/* Sets all figures of the cask that holds the fit up aside; false when there is no more to try. */
static bool set_stuck_aside(struct stv_cask_lesson *lesson)
{
    size_t cask_idx = lesson->learning.stuck_cask_idx, last_gauge_idx = SIZE_MAX;
    bool is_any = false;
    if (lesson->n_stuck == STV_STUCK_MOST)
        return false;
    for (size_t i = 0; i < lesson->request.n_observations; i++) {
        struct stv_cask_observation *seen = &lesson->observations[i];
        if (seen->cask_idx != cask_idx || seen->is_set_aside)
            continue;
        seen->is_set_aside = is_any = true;
        lesson->n_gauges -= seen->gauge_idx != last_gauge_idx;
        last_gauge_idx = seen->gauge_idx;
    }
    if (is_any)
        lesson->stuck[lesson->n_stuck++] = cask_idx;
    return is_any && lesson->n_gauges > 0;
}

enum stv_status stv_chain_learn_casks(const struct stv_chain *chain, struct stv_cask_lesson *out)
{
    *out = (struct stv_cask_lesson){0};
    enum stv_status status = prepare(chain, out);
    if (status == STV_OK)
        do
            status = stv_cask_learn(&out->request, &out->learning);
        while (status == STV_E_NO_CONVERGENCE && set_stuck_aside(out));
    if (status == STV_OK)
        status = look_ahead(chain, out);
    if (status == STV_OK)
        status = keep(chain, out);
    return status;
}

void stv_cask_lesson_free(struct stv_cask_lesson *lesson)
{
    free(lesson->observations);
    free(lesson->tares);
    free(lesson->wishes);
    free(lesson->worths);
    stv_cask_learning_free(&lesson->learning);
    stv_learned_casks_free(&lesson->kept);
    *lesson = (struct stv_cask_lesson){0};
}

/* --- what was kept --------------------------------------------------------------------------- */

static const struct stv_learned_input *input_of(const struct stv_learned_input *inputs, size_t n,
                                                const char *file)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(inputs[i].file, file) == 0)
            return &inputs[i];
    return NULL;
}

size_t stv_chain_casks_changed(const struct stv_chain *chain, struct stv_text *names)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    struct stv_learned_input *inputs = NULL;
    size_t n = 0, n_changed = 0;
    if (stv_learned_casks_inputs(&chain->book, &inputs, &n) != STV_OK)
        return 0;
    for (size_t i = 0; i < n; i++) {
        const struct stv_learned_input *then =
            input_of(learned->inputs, learned->n_inputs, inputs[i].file);
        if (!then || strcmp(then->sha256, inputs[i].sha256) != 0)
            stv_text_format(names, "%s%s", n_changed++ ? ", " : "", inputs[i].file);
    }
    for (size_t k = 0; k < learned->n_inputs; k++)
        if (!input_of(inputs, n, learned->inputs[k].file))
            stv_text_format(names, "%s%s (gone)", n_changed++ ? ", " : "", learned->inputs[k].file);
    free(inputs);
    return n_changed;
}

bool stv_chain_casks_are_current(const struct stv_chain *chain)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    struct stv_text names = {0};
    int64_t first_d = learned->as_of_day_d, last_d = chain->as_of_day_d;
    bool is_current = learned->posterior.n_casks && stv_chain_casks_changed(chain, &names) == 0;
    stv_text_free(&names);
    if (first_d > last_d) {
        first_d = chain->as_of_day_d;
        last_d = learned->as_of_day_d;
    }
    for (size_t i = 0; i < chain->book.n_gauges; i++) {
        int64_t day_d = chain->book.gauges[i].day_d;
        is_current = is_current && (day_d <= first_d || day_d > last_d);
    }
    return is_current;
}

enum stv_status stv_chain_lesson_kept(const struct stv_chain *chain, struct stv_cask_lesson *out)
{
    *out = (struct stv_cask_lesson){0};
    enum stv_status status = prepare(chain, out);
    if (status == STV_OK)
        status = list_wishes(chain, out);
    if (status == STV_OK)
        status = stv_cask_fit_of_posterior(&out->request, &chain->learned_casks.posterior,
                                           &out->learning.fit);
    return status;
}

void stv_chain_forget_casks(struct stv_chain *chain)
{
    const struct stv_house_rules usual = stv_house_rules_default();
    stv_learned_casks_free(&chain->learned_casks);
    if (chain->book.wood_from != STV_WOOD_LEARNED)
        return;
    chain->book.wood_from = STV_WOOD_USUAL;
    chain->book.rules.wood_least_nd = usual.wood_least_nd;
    chain->book.rules.wood_most_nd = usual.wood_most_nd;
}

void stv_chain_take_lesson(struct stv_chain *chain, struct stv_cask_lesson *lesson)
{
    stv_chain_forget_casks(chain);
    chain->learned_casks = lesson->kept;
    lesson->kept = (struct stv_learned_casks){0};
    stv_chain_take_noses(chain);
}
