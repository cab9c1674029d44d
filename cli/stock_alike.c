#include "cli/stock_alike.h"

#include "cli/casks_alike.h"

#include <stdlib.h>

/* Run casks of a label: half of the log-variance of a loss is the cask's own, so that 192 of them
 * widen the range of what a sum holds by some 3 in 1000; that of leaks, which are a cask's own
 * alone, by more.  Judgement. */
#define RUN_LEAST 192

/* Casks of one kind under the same labels. */
struct unit {
    size_t kind, label[2], n_casks, n_run;
};

struct sorting {
    const struct stv_chain *chain;
    const size_t *const *labels;
    struct stv_alike_kinds kinds;
    struct unit *units;
    size_t n_units;
    size_t *unit_of; /* per cask of the book */
    size_t *n_units_of_label;
    int *casks; /* n_run: those that run */
    size_t n_run;
};

static void list_units(struct sorting *to)
{
    for (size_t c = 0; c < to->chain->book.ledger.n_casks; c++) {
        const struct unit own = {.kind = to->kinds.of_cask[c],
                                 .label = {to->labels[0][c], to->labels[1][c]}};
        size_t u = 0;
        while (u < to->n_units &&
               (to->units[u].kind != own.kind || to->units[u].label[0] != own.label[0] ||
                to->units[u].label[1] != own.label[1]))
            u++;
        if (u == to->n_units) {
            to->units[to->n_units++] = own;
            to->n_units_of_label[own.label[0]]++;
            to->n_units_of_label[own.label[1]] += own.label[1] != own.label[0];
        }
        to->unit_of[c] = u;
        to->units[u].n_casks++;
    }
}

static void count_run(struct sorting *to)
{
    for (size_t u = 0; u < to->n_units; u++) {
        struct unit *unit = &to->units[u];
        size_t n0 = to->n_units_of_label[unit->label[0]];
        size_t n1 = to->n_units_of_label[unit->label[1]];
        size_t fewest = n0 < n1 ? n0 : n1, most = (RUN_LEAST + fewest - 1) / fewest;
        unit->n_run = unit->n_casks < most ? unit->n_casks : most;
    }
}

/* The first of each unit; each stands for as many of the others as any, or one more. */
static void list_run(struct sorting *to, size_t *n_alike)
{
    for (size_t c = 0; c < to->chain->book.ledger.n_casks; c++) {
        struct unit *unit = &to->units[to->unit_of[c]];
        if (unit->n_run == 0)
            continue;
        n_alike[to->n_run] = unit->n_casks / unit->n_run;
        unit->n_casks -= n_alike[to->n_run];
        unit->n_run--;
        to->casks[to->n_run++] = (int)c;
    }
}

static enum stv_status sorting_new(const struct stv_chain *chain, const size_t *const labels[2],
                                   size_t n_labels, struct sorting *out)
{
    size_t n = chain->book.ledger.n_casks;
    *out = (struct sorting){
        .chain = chain,
        .labels = labels,
        .units = malloc((n + 1) * sizeof *out->units),
        .unit_of = malloc((n + 1) * sizeof *out->unit_of),
        .n_units_of_label = calloc(n_labels + 1, sizeof *out->n_units_of_label),
        .casks = malloc((n + 1) * sizeof *out->casks),
    };
    if (!out->units || !out->unit_of || !out->n_units_of_label || !out->casks)
        return STV_E_MEMORY;
    return stv_alike_kinds_find(chain, &out->kinds);
}

static void sorting_free(struct sorting *sorting)
{
    stv_alike_kinds_free(&sorting->kinds);
    free(sorting->units);
    free(sorting->unit_of);
    free(sorting->n_units_of_label);
    free(sorting->casks);
}

enum stv_status stv__stock_part_new(const struct stv_chain *chain, const size_t *const labels[2],
                                    size_t n_labels, struct stv__stock_part *out)
{
    size_t n = chain->book.ledger.n_casks;
    struct sorting sorting;
    int *idx_of = malloc((n + 1) * sizeof *idx_of);
    *out = (struct stv__stock_part){
        .labels = {malloc((n + 1) * sizeof(size_t)), malloc((n + 1) * sizeof(size_t))},
        .n_alike = malloc((n + 1) * sizeof(size_t))};
    enum stv_status status = sorting_new(chain, labels, n_labels, &sorting);
    if (!idx_of || !out->labels[0] || !out->labels[1] || !out->n_alike)
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        list_units(&sorting);
        count_run(&sorting);
        list_run(&sorting, out->n_alike);
        status = stv_ledger_part(&chain->book.ledger, sorting.casks, sorting.n_run, &out->ledger,
                                 idx_of);
    }
    /* Who exchanges spirit with another is alike to none: the part holds those that run, in order.
     */
    for (size_t r = 0; r < sorting.n_run && status == STV_OK; r++)
        for (size_t l = 0; l < 2; l++)
            out->labels[l][r] = labels[l][sorting.casks[r]];
    sorting_free(&sorting);
    free(idx_of);
    return status;
}

void stv__stock_part_free(struct stv__stock_part *part)
{
    stv_ledger_free(&part->ledger);
    free(part->labels[0]);
    free(part->labels[1]);
    free(part->n_alike);
    *part = (struct stv__stock_part){0};
}
