/* Numbers of one kind stand in one text, parted by blanks: a file of thousands of casks is then
 * read in a fraction of a second, which a YAML sequence of a million scalars is not.  "12x0" stands
 * for twelve zeros. */
#include "ingest/learned_casks_parts.h"

#include "ingest/book_parts.h"
#include "ingest/learned_parts.h"

#include <math.h>
#include <stdlib.h>

#define OWN_DIGITS 9
#define SHARED_DIGITS 7

const char *const stv__last_words[STV_LAST_N] = {
    [STV_LAST_VOLUME20_L] = "litres",
    [STV_LAST_ABV20_FRAC] = "strength",
};

const char *const stv__told_words[STV_FIT_KINDS] = {
    [STV_FIT_VOLUME] = "litres",  [STV_FIT_STRENGTH] = "strength", [STV_FIT_LIQUID] = "net_kg",
    [STV_FIT_GROSS] = "gross_kg", [STV_FIT_READING] = "reading",   [STV_FIT_VERDICT] = "nose",
};

enum stv_status stv_learned_casks_inputs(const struct stv_book *book,
                                         struct stv_learned_input **out, size_t *out_n)
{
    static const char *const names[] = {"book.yaml", "casks.csv", "history.csv", "gauges.csv",
                                        STV_LEARNED_FILE};
    struct stv_learned_input *inputs = NULL;
    size_t n = 0;
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < sizeof names / sizeof names[0] && status == STV_OK; i++) {
        char path[STV__PATH_MAX];
        if (stv__join_path(book->folder, names[i], path) && stv__exists(path))
            status = stv__learned_add_file(book, names[i], &inputs, &n);
    }
    if (status != STV_OK) {
        free(inputs);
        inputs = NULL;
        n = 0;
    }
    *out = inputs;
    *out_n = n;
    return status;
}

static void write_numbers(FILE *file, const double *values, size_t n, int n_digits)
{
    for (size_t i = 0; i < n;) {
        size_t end = i;
        while (end < n && values[end] == 0.0)
            end++;
        if (end - i > 1) {
            fprintf(file, "%s%zux0", i ? " " : "", end - i);
            i = end;
            continue;
        }
        fprintf(file, "%s%.*g", i ? " " : "", n_digits, values[i]);
        i++;
    }
}

/* The lower triangle of n x n by rows. */
static void write_triangle(FILE *file, const double *values, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        fputs(i ? " " : "", file);
        write_numbers(file, values + i * n, i + 1, OWN_DIGITS);
    }
}

static void write_known(FILE *file, double value)
{
    if (isfinite(value))
        fprintf(file, " %.9g", value);
    else
        fputs(" " STV__NO_NUMBER, file);
}

const char *stv__kind_of_key(const struct stv_ledger *ledger, uint64_t key)
{
    for (size_t c = 0; c < ledger->n_casks; c++)
        if (stv_key_of(ledger->casks[c].kind_name) == key)
            return ledger->casks[c].kind_name;
    return NULL;
}

static void write_kinds(FILE *file, const struct stv_book *book,
                        const struct stv_posterior *posterior)
{
    fprintf(file, "kinds:\n");
    for (size_t k = 0; k < posterior->n_kinds; k++) {
        const char *name = stv__kind_of_key(&book->ledger, posterior->kind_keys[k]);
        fprintf(file, "  - ");
        stv__learned_write_text(file, name ? name : "");
        fputc('\n', file);
    }
}

static void write_shared(FILE *file, const struct stv_posterior *posterior)
{
    fprintf(file, "shared:\n  scores: %zu\n  mean: \"", posterior->n_shared);
    write_numbers(file, posterior->mean_nd, posterior->n_shared, OWN_DIGITS);
    fprintf(file, "\"\n  triangle: \"");
    write_triangle(file, posterior->chol_nd, posterior->n_shared);
    fprintf(file, "\"\n");
}

static void write_day_if(FILE *file, int64_t day_d, bool is_known)
{
    if (!is_known)
        return;
    fputc(' ', file);
    stv__learned_write_day(file, day_d);
}

/* Litres and strength at the last gauge at which they counted, and how they move with every score.
 */
static void write_last(FILE *file, const struct stv_posterior *posterior,
                       const struct stv_posterior_cask *entry, enum stv_last which)
{
    const struct stv_posterior_last *last = &entry->last[which];
    const char *name = stv__last_words[which];
    size_t at = (size_t)(entry - posterior->casks) * STV_LAST_N + (size_t)which;
    if (last->day_d == INT64_MIN)
        return;
    fprintf(file, "    last_%s: \"", name);
    stv__learned_write_day(file, last->day_d);
    fprintf(file, " %.*g", OWN_DIGITS, last->value);
    write_day_if(file, last->from_d, last->from_d > INT64_MIN);
    fprintf(file, "\"\n    last_%s_by_own: \"", name);
    write_numbers(file, last->by_own_nd, STV_OWN_SCORE_N, SHARED_DIGITS);
    fprintf(file, "\"\n    last_%s_by_shared: \"", name);
    write_numbers(file, posterior->last_by_shared_nd + at * posterior->n_shared,
                  posterior->n_shared, SHARED_DIGITS);
    fprintf(file, "\"\n");
}

static void write_leak(FILE *file, const struct stv_posterior_leak *leak)
{
    if (leak->chance_frac <= 0.0)
        return;
    fprintf(file, "    leak: \"%.9g %.9g ", leak->chance_frac, leak->per_y);
    stv__learned_write_day(file, leak->from_d);
    fputc(' ', file);
    stv__learned_write_day(file, leak->found_d);
    fprintf(file, " %.9g %.9g %.9g %.9g", leak->found_l, leak->found_sd_l, leak->leaking_y,
            leak->gone_frac);
    write_day_if(file, leak->to_d, leak->to_d < INT64_MAX);
    write_day_if(file, leak->again_d, leak->again_d < INT64_MAX);
    fprintf(file, "\"\n");
}

static void write_own(FILE *file, const struct stv_posterior *posterior,
                      const struct stv_posterior_cask *entry)
{
    size_t n = STV_OWN_SCORE_N * posterior->n_shared;
    fprintf(file, "    mean: \"");
    write_numbers(file, entry->mean_nd, STV_OWN_SCORE_N, OWN_DIGITS);
    fprintf(file, "\"\n    triangle: \"");
    write_triangle(file, entry->chol_nd[0], STV_OWN_SCORE_N);
    fprintf(file, "\"\n    by_shared: \"");
    write_numbers(file, posterior->by_shared_nd + (size_t)(entry - posterior->casks) * n, n,
                  SHARED_DIGITS);
    fprintf(file, "\"\n");
    for (int k = 0; k < STV_LAST_N; k++)
        write_last(file, posterior, entry, (enum stv_last)k);
    write_leak(file, &entry->leak);
}

static void write_verdict(FILE *file, const struct stv_learned_verdict *verdict)
{
    fprintf(file, "      - \"");
    stv__learned_write_day(file, verdict->since_day_d);
    fputc(' ', file);
    stv__learned_write_day(file, verdict->day_d);
    fprintf(file, " %.9g %.9g %.9g", verdict->evaporation_frac, verdict->leak_frac,
            verdict->misread_frac);
    write_known(file, verdict->excess_l);
    write_known(file, verdict->excess_error_l);
    write_known(file, verdict->rise_abv20_frac);
    write_known(file, verdict->meant_litres_nd);
    write_known(file, verdict->meant_strength_nd);
    fprintf(file, " %d\"\n", verdict->agrees);
}

static void write_told(FILE *file, const struct stv_learned_told *told)
{
    fprintf(file, "      - \"");
    stv__learned_write_day(file, told->day_d);
    fprintf(file, " %s %.9g %.9g %.9g%s\"\n", stv__told_words[told->kind], told->then_value,
            told->then_error, told->value, told->is_left_out ? " left_out" : "");
}

/* How far the lists have been written. */
struct cursor {
    size_t told, verdict;
};

static void write_cask(FILE *file, const struct stv_book *book,
                       const struct stv_learned_casks *learned, int cask_idx, struct cursor *cursor)
{
    const struct stv_posterior_cask *entry =
        stv_posterior_find(&learned->posterior, stv_key_of(book->ledger.casks[cask_idx].id));
    if (!entry)
        return;
    fprintf(file, "  - cask: ");
    stv__learned_write_text(file, book->ledger.casks[cask_idx].id);
    fputc('\n', file);
    write_own(file, &learned->posterior, entry);
    bool is_first = true;
    for (; cursor->verdict < learned->n_verdicts &&
           learned->verdicts[cursor->verdict].cask_idx == cask_idx;
         cursor->verdict++) {
        fprintf(file, "%s", is_first ? "    verdicts:\n" : "");
        write_verdict(file, &learned->verdicts[cursor->verdict]);
        is_first = false;
    }
    is_first = true;
    for (; cursor->told < learned->n_told && learned->told[cursor->told].cask_idx == cask_idx;
         cursor->told++) {
        fprintf(file, "%s", is_first ? "    told:\n" : "");
        write_told(file, &learned->told[cursor->told]);
        is_first = false;
    }
}

static void write_all(FILE *file, const struct stv_book *book, const void *what)
{
    const struct stv_learned_casks *learned = what;
    struct cursor cursor = {0, 0};
    fprintf(
        file,
        "# Written by `stavecast learn`, and made anew by it: nothing here wants typing.\n"
        "# Without this file the answers take every cask as one that was never gauged.\n"
        "# Scores are in standard deviations of what is assumed of any cask; \"12x0\" is twelve "
        "zeros.\n"
        "# last_litres, last_strength: the last gauge at which they counted, as learned; with a\n"
        "#   second day what came since, after a leak was stopped.\n"
        "# leak: odds, share of what it holds a year, since; the last gauge that says so, litres\n"
        "#   found, their error, years that it leaked until then, odds that these litres are "
        "gone,\n"
        "#   by a leak or else; when it was stopped, and began again.\n"
        "# verdicts: since, day, odds of evaporation, leak and misreading, litres beyond the "
        "air's and\n"
        "#   their error, strength gained, litres and strength that were meant, 1 where\n"
        "#   another gauge agrees.\n"
        "# told: day, figure, what was predicted, its error, what was measured.\n"
        "learned_casks: %d\nas_of: ",
        STV__LEARNED_CASKS_FORM);
    stv__learned_write_day(file, learned->as_of_day_d);
    fprintf(file, "\ngauges: %zu\ngauged_casks: %zu\nnose_verdicts: %zu\ninputs:\n",
            learned->n_gauges, learned->n_gauged_casks, learned->n_verdicts_of_noses);
    stv__learned_write_inputs(file, learned->inputs, learned->n_inputs);
    fprintf(file, "ready_ln: \"%.9g %.9g %.9g %.9g\"\n", learned->ready_ln_nd[0],
            learned->ready_error_ln_nd[0], learned->ready_ln_nd[1], learned->ready_error_ln_nd[1]);
    write_kinds(file, book, &learned->posterior);
    write_shared(file, &learned->posterior);
    fprintf(file, "casks:\n");
    for (size_t c = 0; c < book->ledger.n_casks; c++)
        write_cask(file, book, learned, (int)c, &cursor);
}

enum stv_status stv_learned_casks_write(const struct stv_book *book,
                                        const struct stv_learned_casks *learned, char *why,
                                        size_t size)
{
    return stv__learned_write(book, STV_LEARNED_CASKS_FILE, write_all, learned, why, size);
}
