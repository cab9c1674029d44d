/* Reading is strict: a hand in the file is found at its line, with the number that it hit. */
#include "ingest/learned_casks_parts.h"

#include "ingest/book_parts.h"
#include "ingest/learned_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TOO_MUCH 1e6 /* of any figure; a hand was in the file */
#define WORD_MAX 48
#define SHARED_MOST (STV_FIT_TOP_MOST + STV_FIT_THRESHOLDS + 2 * (size_t)STV_FIT_SCALES_MOST)
#define N_OF(array) (sizeof(array) / sizeof(array)[0])

/* Words of a text, parted by blanks. */
struct words {
    const struct stv_yaml_context *context;
    const struct stv_yaml_node *node; /* for messages */
    const char *at;
    size_t n; /* taken */
};

static bool next_word(struct words *words, char out[WORD_MAX])
{
    words->at += strspn(words->at, " ");
    size_t length = strcspn(words->at, " ");
    if (length == 0)
        return false;
    size_t kept = length < WORD_MAX ? length : WORD_MAX - 1;
    memcpy(out, words->at, kept);
    out[kept] = '\0';
    words->at += length;
    words->n++;
    return true;
}

static bool refuse_word(const struct words *words, const char *word, const char *wanted)
{
    stv_yaml_refuse(words->context, words->node, "entry %zu, \"%s\", is no %s", words->n, word,
                    wanted);
    return false;
}

static bool is_number(const char *word, double *out)
{
    char *end = NULL;
    if (word[strspn(word, "+-0123456789.eE")])
        return false;
    *out = strtod(word, &end);
    return end != word && *end == '\0' && fabs(*out) <= TOO_MUCH;
}

static bool take_number(struct words *words, double *out)
{
    char word[WORD_MAX] = "";
    (void)next_word(words, word);
    return is_number(word, out) || refuse_word(words, word, "number");
}

/* NaN where nothing is known. */
static bool take_known(struct words *words, double *out)
{
    char word[WORD_MAX] = "";
    *out = NAN;
    (void)next_word(words, word);
    return strcmp(word, STV__NO_NUMBER) == 0 || is_number(word, out) ||
           refuse_word(words, word, "number");
}

static bool day_of_word(struct words *words, const char *word, int64_t *out)
{
    char why[160];
    return stv_date_parse(word, out, why, sizeof why) == STV_OK || refuse_word(words, word, "date");
}

static bool take_day(struct words *words, int64_t *out)
{
    char word[WORD_MAX] = "";
    (void)next_word(words, word);
    return day_of_word(words, word, out);
}

/* A day that need not be there. */
static bool take_any_day(struct words *words, int64_t *out)
{
    char word[WORD_MAX];
    return !next_word(words, word) || day_of_word(words, word, out);
}

static bool is_over(struct words *words)
{
    char word[WORD_MAX];
    return !next_word(words, word) || refuse_word(words, word, "part of this: it is one too many");
}

static bool words_of(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                     struct words *out)
{
    if (!stv_yaml_is_scalar(context, node))
        return false;
    *out = (struct words){context, node, node->text, 0};
    return true;
}

/* Exactly n numbers; "12x0" stands for twelve zeros. */
static bool read_numbers(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *key, size_t n, double *out)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    struct words words;
    char word[WORD_MAX];
    size_t n_read = 0;
    if (!node) {
        stv_yaml_refuse(context, map, "needs %s", key);
        return false;
    }
    if (!words_of(context, node, &words))
        return false;
    while (next_word(&words, word)) {
        size_t digits = strspn(word, "0123456789"), run = 1;
        double value = 0.0;
        if (digits && digits < 6 && strcmp(word + digits, "x0") == 0)
            run = (size_t)strtoul(word, NULL, 10);
        else if (!is_number(word, &value))
            return refuse_word(&words, word, "number");
        for (; run > 0; run--, n_read++)
            if (n_read < n)
                out[n_read] = value;
    }
    if (n_read != n)
        stv_yaml_refuse(context, node, "%s has %zu numbers instead of %zu", key, n_read, n);
    return n_read == n;
}

/* A triangle whose diagonal is not negative, into n x n by rows. */
static bool read_triangle(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          size_t n, double *out)
{
    double *rows = calloc(stv__n_triangle(n) + 1, sizeof *rows);
    bool is_read = rows && read_numbers(context, map, "triangle", stv__n_triangle(n), rows);
    for (size_t i = 0, k = 0; i < n && is_read; i++) {
        for (size_t j = 0; j <= i; j++)
            out[i * n + j] = rows[k++];
        if (out[i * n + i] < 0.0) {
            stv_yaml_refuse(context, stv_yaml_find(map, "triangle"),
                            "entry %zu is below 0, and it is an error", k);
            is_read = false;
        }
    }
    free(rows);
    return is_read;
}

static void read_leak(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_posterior_leak *out)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, "leak");
    struct words words;
    *out = stv_posterior_leak_none();
    if (!node || !words_of(context, node, &words) || !take_number(&words, &out->chance_frac) ||
        !take_number(&words, &out->per_y) || !take_day(&words, &out->from_d) ||
        !take_day(&words, &out->found_d) || !take_number(&words, &out->found_l) ||
        !take_number(&words, &out->found_sd_l) || !take_number(&words, &out->leaking_y) ||
        !take_number(&words, &out->gone_frac) || !take_any_day(&words, &out->to_d) ||
        !take_any_day(&words, &out->again_d) || !is_over(&words))
        return;
    if (out->chance_frac < 0.0 || out->chance_frac > 1.0 || out->per_y < 0.0 ||
        out->found_l < 0.0 || out->found_sd_l < 0.0 || out->leaking_y <= 0.0 ||
        out->gone_frac < 0.0 || out->gone_frac > 1.0)
        stv_yaml_refuse(context, node, "is no chance and rate of a leak");
}

/* Litres or strength at the last gauge at which they counted, and how they move with every score.
 */
static void read_last(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      enum stv_last which, size_t n_shared, struct stv_posterior_last *out,
                      double *by_shared_nd)
{
    char name[24], by_own[32], by_shared[40];
    snprintf(name, sizeof name, "last_%s", stv__last_words[which]);
    snprintf(by_own, sizeof by_own, "%s_by_own", name);
    snprintf(by_shared, sizeof by_shared, "%s_by_shared", name);
    const struct stv_yaml_node *node = stv_yaml_find(map, name);
    struct words words;
    *out = (struct stv_posterior_last){.day_d = INT64_MIN, .from_d = INT64_MIN};
    if (!node || !words_of(context, node, &words) || !take_day(&words, &out->day_d) ||
        !take_number(&words, &out->value) || !take_any_day(&words, &out->from_d) ||
        !is_over(&words))
        return;
    if ((out->value <= 0.0 && out->from_d == INT64_MIN) ||
        (which == STV_LAST_ABV20_FRAC && out->value >= 1.0))
        stv_yaml_refuse(context, node, "are no %s of spirit", stv__last_words[which]);
    if (out->from_d >= out->day_d || (which == STV_LAST_ABV20_FRAC && out->from_d != INT64_MIN))
        stv_yaml_refuse(context, node, "counts from no day before it");
    (void)read_numbers(context, map, by_own, STV_OWN_SCORE_N, out->by_own_nd);
    (void)read_numbers(context, map, by_shared, n_shared, by_shared_nd);
}

static void read_verdict(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                         struct stv_learned_verdict *out)
{
    struct words words;
    double agrees_nd = 0.0;
    if (words_of(context, node, &words) && take_day(&words, &out->since_day_d) &&
        take_day(&words, &out->day_d) && take_number(&words, &out->evaporation_frac) &&
        take_number(&words, &out->leak_frac) && take_number(&words, &out->misread_frac) &&
        take_known(&words, &out->excess_l) && take_known(&words, &out->excess_error_l) &&
        take_known(&words, &out->rise_abv20_frac) && take_known(&words, &out->meant_litres_nd) &&
        take_known(&words, &out->meant_strength_nd) && take_number(&words, &agrees_nd))
        (void)is_over(&words);
    out->agrees = agrees_nd > 0.0;
}

static void read_told(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                      struct stv_learned_told *out)
{
    struct words words;
    char word[WORD_MAX] = "";
    size_t kind = 0;
    if (!words_of(context, node, &words) || !take_day(&words, &out->day_d))
        return;
    (void)next_word(&words, word);
    while (kind < STV_FIT_KINDS && strcmp(word, stv__told_words[kind]) != 0)
        kind++;
    if (kind == STV_FIT_KINDS) {
        (void)refuse_word(&words, word, "figure of a gauge");
        return;
    }
    out->kind = (enum stv_fit_kind)kind;
    if (!take_number(&words, &out->then_value) || !take_number(&words, &out->then_error) ||
        !take_number(&words, &out->value) || !next_word(&words, word))
        return;
    out->is_left_out = strcmp(word, "left_out") == 0;
    if (!out->is_left_out)
        (void)refuse_word(&words, word, "\"left_out\"");
    else
        (void)is_over(&words);
}

/* One cask's lists, put behind those of the others. */
static enum stv_status read_lists(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *map, int cask_idx,
                                  struct stv_learned_casks *out)
{
    const struct stv_yaml_node *verdicts = stv_yaml_list(context, map, "verdicts");
    const struct stv_yaml_node *told = stv_yaml_list(context, map, "told");
    for (size_t i = 0; verdicts && i < verdicts->n_items; i++) {
        struct stv_learned_verdict *grown =
            stv__grown(out->verdicts, out->n_verdicts, sizeof *grown);
        if (!grown)
            return STV_E_MEMORY;
        out->verdicts = grown;
        grown[out->n_verdicts] = (struct stv_learned_verdict){.cask_idx = cask_idx};
        read_verdict(context, &verdicts->items[i], &grown[out->n_verdicts++]);
    }
    for (size_t i = 0; told && i < told->n_items; i++) {
        struct stv_learned_told *grown = stv__grown(out->told, out->n_told, sizeof *grown);
        if (!grown)
            return STV_E_MEMORY;
        out->told = grown;
        grown[out->n_told] = (struct stv_learned_told){.cask_idx = cask_idx};
        read_told(context, &told->items[i], &grown[out->n_told++]);
    }
    return STV_OK;
}

/* A place in a list, by the key of what stands there. */
struct keyed {
    uint64_t key;
    size_t at;
};

static int compare_keyed(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    return (x->key > y->key) - (x->key < y->key);
}

/* The ledger's casks by the keys of their ids. */
static struct keyed *list_known(const struct stv_ledger *ledger)
{
    struct keyed *known = calloc(ledger->n_casks + 1, sizeof *known);
    for (size_t c = 0; known && c < ledger->n_casks; c++)
        known[c] = (struct keyed){stv_key_of(ledger->casks[c].id), c};
    if (known && ledger->n_casks)
        qsort(known, ledger->n_casks, sizeof *known, compare_keyed);
    return known;
}

static const struct keyed *find_known(const struct stv_ledger *ledger, const struct keyed *known,
                                      const char *id)
{
    const struct keyed wanted = {.key = stv_key_of(id)};
    const struct keyed *found =
        ledger->n_casks ? bsearch(&wanted, known, ledger->n_casks, sizeof wanted, compare_keyed)
                        : NULL;
    return found && strcmp(ledger->casks[found->at].id, id) == 0 ? found : NULL;
}

static enum stv_status read_cask(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *map, const struct stv_ledger *ledger,
                                 const struct keyed *known, struct stv_learned_casks *out)
{
    static const char *const keys[] = {"cask",
                                       "mean",
                                       "triangle",
                                       "by_shared",
                                       "leak",
                                       "told",
                                       "verdicts",
                                       "last_litres",
                                       "last_litres_by_own",
                                       "last_litres_by_shared",
                                       "last_strength",
                                       "last_strength_by_own",
                                       "last_strength_by_shared"};
    struct stv_posterior *posterior = &out->posterior;
    size_t n = posterior->n_shared;
    struct stv_posterior_cask *entry = &posterior->casks[posterior->n_casks];
    char id[STV_ID_MAX];
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (!stv_yaml_text(context, map, "cask", id, sizeof id)) {
        stv_yaml_refuse(context, map, "needs a cask");
        return STV_OK;
    }
    const struct keyed *found = find_known(ledger, known, id);
    if (!found) {
        stv_problem_add(context->problems, STV_NOTED, context->file, map->line, map->column, id,
                        "what was learned of this cask is not used: the book no longer has it");
        return STV_OK;
    }
    entry->key = found->key;
    (void)read_numbers(context, map, "mean", STV_OWN_SCORE_N, entry->mean_nd);
    (void)read_triangle(context, map, STV_OWN_SCORE_N, entry->chol_nd[0]);
    (void)read_numbers(context, map, "by_shared", STV_OWN_SCORE_N * n,
                       posterior->by_shared_nd + posterior->n_casks * STV_OWN_SCORE_N * n);
    read_leak(context, map, &entry->leak);
    for (size_t k = 0; k < STV_LAST_N; k++)
        read_last(context, map, (enum stv_last)k, n, &entry->last[k],
                  posterior->last_by_shared_nd + (posterior->n_casks * STV_LAST_N + k) * n);
    posterior->n_casks++;
    return read_lists(context, map, (int)found->at, out);
}

/* Rows in another order. */
static enum stv_status permute(double **rows, size_t row_length, const struct keyed *order,
                               size_t n)
{
    double *moved = calloc((n + 1) * row_length, sizeof *moved);
    if (!moved)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        memcpy(moved + i * row_length, *rows + order[i].at * row_length,
               row_length * sizeof *moved);
    free(*rows);
    *rows = moved;
    return STV_OK;
}

/* Into the order of the keys, as stv_posterior_find wants them. */
static enum stv_status sort_casks(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, struct stv_posterior *posterior)
{
    size_t n = posterior->n_casks;
    struct keyed *order = calloc(n + 1, sizeof *order);
    struct stv_posterior_cask *casks = calloc(n + 1, sizeof *casks);
    enum stv_status status = order && casks ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++)
        order[i] = (struct keyed){posterior->casks[i].key, i};
    if (n && status == STV_OK)
        qsort(order, n, sizeof *order, compare_keyed);
    if (status == STV_OK)
        status = permute(&posterior->by_shared_nd, STV_OWN_SCORE_N * posterior->n_shared, order, n);
    if (status == STV_OK)
        status = permute(&posterior->last_by_shared_nd, STV_LAST_N * posterior->n_shared, order, n);
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        casks[i] = posterior->casks[order[i].at];
        if (i && order[i].key == order[i - 1].key)
            stv_yaml_refuse(context, list, "the same cask stands here twice");
    }
    if (status == STV_OK) {
        free(posterior->casks);
        posterior->casks = casks;
        casks = NULL;
    }
    free(casks);
    free(order);
    return status;
}

static enum stv_status read_casks(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, const struct stv_book *book,
                                  struct stv_learned_casks *out)
{
    struct stv_posterior *posterior = &out->posterior;
    struct keyed *known = list_known(&book->ledger);
    posterior->casks = calloc(list->n_items + 1, sizeof *posterior->casks);
    posterior->by_shared_nd = calloc((list->n_items + 1) * STV_OWN_SCORE_N * posterior->n_shared,
                                     sizeof *posterior->by_shared_nd);
    posterior->last_by_shared_nd = calloc((list->n_items + 1) * STV_LAST_N * posterior->n_shared,
                                          sizeof *posterior->last_by_shared_nd);
    bool has_memory =
        known && posterior->casks && posterior->by_shared_nd && posterior->last_by_shared_nd;
    enum stv_status status = has_memory ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items && status == STV_OK; i++)
        status = read_cask(context, &list->items[i], &book->ledger, known, out);
    if (status == STV_OK)
        status = sort_casks(context, list, posterior);
    free(known);
    return status;
}

static enum stv_status read_kinds(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, const struct stv_book *book,
                                  struct stv_posterior *out)
{
    out->kind_keys = calloc(list->n_items + 1, sizeof *out->kind_keys);
    if (!out->kind_keys)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items; i++) {
        const struct stv_yaml_node *node = &list->items[i];
        const char *name = node->type == STV_YAML_SCALAR && node->text ? node->text : "";
        uint64_t key = stv_key_of(name);
        if (i && key <= out->kind_keys[i - 1])
            stv_yaml_refuse(context, node, "stands in another order than `learn` writes");
        out->kind_keys[out->n_kinds++] = key;
        if (!stv__kind_of_key(&book->ledger, key))
            stv_problem_add(context->problems, STV_NOTED, context->file, node->line, node->column,
                            name,
                            "what was learned of this kind of cask is not used: the book no "
                            "longer has it");
    }
    return STV_OK;
}

static enum stv_status read_shared(const struct stv_yaml_context *context,
                                   const struct stv_yaml_node *map, struct stv_posterior *out)
{
    static const char *const keys[] = {"scores", "mean", "triangle"};
    size_t range[2] = {STV_SCORE_N + out->n_kinds * STV_KIND_SCORE_N + STV_FIT_THRESHOLDS,
                       SHARED_MOST};
    size_t n = 0;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (!stv_yaml_count(context, map, "scores", range, &n)) {
        stv_yaml_refuse(context, map, "needs scores");
        return STV_OK;
    }
    out->n_shared = n;
    out->mean_nd = calloc(n + 1, sizeof *out->mean_nd);
    out->chol_nd = calloc(n * n + 1, sizeof *out->chol_nd);
    if (!out->mean_nd || !out->chol_nd)
        return STV_E_MEMORY;
    (void)read_numbers(context, map, "mean", n, out->mean_nd);
    (void)read_triangle(context, map, n, out->chol_nd);
    return STV_OK;
}

static bool read_head(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                      struct stv_learned_casks *out)
{
    static const char *const keys[] = {"learned_casks", "as_of",  "gauges",   "gauged_casks",
                                       "nose_verdicts", "inputs", "ready_ln", "kinds",
                                       "shared",        "casks"};
    static const size_t forms[2] = {STV__LEARNED_CASKS_FORM, STV__LEARNED_CASKS_FORM};
    static const size_t any[2] = {0, 100000000};
    size_t form = 0;
    double ready[4];
    stv_yaml_known_keys(context, root, keys, N_OF(keys));
    if (!stv_yaml_count(context, root, "learned_casks", forms, &form)) {
        stv_yaml_refuse(context, root, "was written by another version: run `learn` again");
        return false;
    }
    stv_yaml_date(context, root, "as_of", &out->as_of_day_d);
    stv_yaml_count(context, root, "gauges", any, &out->n_gauges);
    stv_yaml_count(context, root, "gauged_casks", any, &out->n_gauged_casks);
    stv_yaml_count(context, root, "nose_verdicts", any, &out->n_verdicts_of_noses);
    if (!read_numbers(context, root, "ready_ln", N_OF(ready), ready))
        return false;
    for (size_t t = 0; t < 2; t++) {
        out->ready_ln_nd[t] = ready[2 * t];
        out->ready_error_ln_nd[t] = ready[2 * t + 1];
    }
    if (!(ready[0] < ready[2]))
        stv_yaml_refuse(context, stv_yaml_find(root, "ready_ln"), "ready comes before over");
    return true;
}

static enum stv_status read_root(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *root, const struct stv_book *book,
                                 void *what)
{
    struct stv_learned_casks *out = what;
    if (!read_head(context, root, out))
        return STV_OK;
    const struct stv_yaml_node *inputs = stv_yaml_list(context, root, "inputs");
    const struct stv_yaml_node *kinds = stv_yaml_list(context, root, "kinds");
    const struct stv_yaml_node *shared = stv_yaml_map(context, root, "shared");
    const struct stv_yaml_node *casks = stv_yaml_list(context, root, "casks");
    if (!inputs || !kinds || !shared || !casks) {
        stv_yaml_refuse(context, root, "needs inputs, kinds, shared and casks");
        return STV_OK;
    }
    enum stv_status status =
        stv__learned_read_inputs(context, inputs, &out->inputs, &out->n_inputs);
    if (status == STV_OK)
        status = read_kinds(context, kinds, book, &out->posterior);
    if (status == STV_OK)
        status = read_shared(context, shared, &out->posterior);
    if (status == STV_OK && out->posterior.n_shared)
        status = read_casks(context, casks, book, out);
    return status;
}

enum stv_status stv_learned_casks_read(const struct stv_book *book, struct stv_problems *problems,
                                       struct stv_learned_casks *out)
{
    *out = (struct stv_learned_casks){0};
    enum stv_status status = stv__learned_read(book, STV_LEARNED_CASKS_FILE,
                                               "every cask is taken as one that was never gauged",
                                               problems, read_root, out);
    if (status != STV_OK)
        stv_learned_casks_free(out);
    return status;
}

void stv_learned_casks_free(struct stv_learned_casks *learned)
{
    stv_posterior_free(&learned->posterior);
    free(learned->told);
    free(learned->verdicts);
    free(learned->inputs);
    *learned = (struct stv_learned_casks){0};
}
