#include "tests/accuracy/table.h"

#include <stdio.h>

#define MODEL_TEXT_MAX 160
#define AGREES_FROM_FRAC 0.90
#define MOSTLY_FROM_FRAC 0.50

static const char *const verdict_words[ACC_VERDICTS] = {
    "inside", "overlaps", "**outside**", "agrees", "mostly agrees", "**disagrees**", "used"};

static double held_share(const struct acc_row *row, const double *values, size_t n)
{
    size_t n_held = 0;
    for (size_t i = 0; i < n; i++)
        n_held += values[i] >= row->least && values[i] <= row->most;
    return (double)n_held / (double)n;
}

static enum acc_verdict verdict_of(const struct acc_row *row, const struct stv_range *range,
                                   double held_frac)
{
    if (row->kind == ACC_USED)
        return ACC_NO_CHECK;
    if (row->kind == ACC_LAW)
        return held_frac >= AGREES_FROM_FRAC   ? ACC_AGREES
               : held_frac >= MOSTLY_FROM_FRAC ? ACC_MOSTLY
                                               : ACC_DISAGREES;
    if (!(range->p05 <= row->most && range->p95 >= row->least))
        return ACC_OUTSIDE;
    int is_figure = row->least == row->most;
    return is_figure || (range->p50 >= row->least && range->p50 <= row->most) ? ACC_INSIDE
                                                                              : ACC_OVERLAPS;
}

/* On which side the model lies, where it does not agree. */
static const char *side_of(const struct acc_row *row, const struct stv_range *range,
                           enum acc_verdict verdict)
{
    if (verdict != ACC_OUTSIDE && verdict != ACC_OVERLAPS)
        return "";
    return range->p50 > row->most ? ", model high" : ", model low";
}

/* Figures that may lie on either side of zero carry their sign. */
static void tell_figures(const struct acc_row *row, const struct stv_range *range, char *out,
                         size_t size)
{
    const char *form =
        range->p05 < 0.0 || row->least < 0.0 ? "%+.*f (%+.*f to %+.*f)%s" : "%.*f (%.*f to %.*f)%s";
    snprintf(out, size, form, row->digits, range->p50, row->digits, range->p05, row->digits,
             range->p95, row->unit);
}

static void tell_place(struct acc_table *table, enum acc_place place, const char *before)
{
    if (place == ACC_NOWHERE)
        return;
    table->is_used[place] = 1;
    printf("%s%s", before, acc_climate_of(place)->key);
}

void acc_print(struct acc_table *table, const struct acc_row *row, double *values, size_t n)
{
    double held_frac = held_share(row, values, n);
    struct stv_range range = stv_range_of(values, n);
    enum acc_verdict verdict = verdict_of(row, &range, held_frac);
    char text[MODEL_TEXT_MAX];
    tell_figures(row, &range, text, sizeof text);
    table->n_verdicts[verdict]++;
    printf("| %s | %s | %s", row->what, row->measured, text);
    tell_place(table, row->place, "; ");
    if (row->other_place != row->place)
        tell_place(table, row->other_place, ", ");
    if (row->kind == ACC_LAW)
        printf(" | %s, %.0f %% of trials |\n", verdict_words[verdict], 100.0 * held_frac);
    else
        printf(" | %s%s |\n", verdict_words[verdict], side_of(row, &range, verdict));
}

void acc_print_climates(const struct acc_table *table)
{
    const char *between = "";
    for (int i = 0; i < ACC_PLACES; i++) {
        if (!table->is_used[i])
            continue;
        const struct acc_climate *climate = acc_climate_of((enum acc_place)i);
        printf("%s**%s** %s", between, climate->key, climate->words);
        between = ";\n";
    }
    printf(".\n");
}

void acc_print_tally(const struct acc_table *table)
{
    const size_t *n = table->n_verdicts;
    printf("Of %zu sizes %zu lie inside, %zu overlap and %zu lie outside; of %zu signs, orders and "
           "shapes %zu agree, %zu mostly agree and %zu disagree.\n",
           n[ACC_INSIDE] + n[ACC_OVERLAPS] + n[ACC_OUTSIDE], n[ACC_INSIDE], n[ACC_OVERLAPS],
           n[ACC_OUTSIDE], n[ACC_AGREES] + n[ACC_MOSTLY] + n[ACC_DISAGREES], n[ACC_AGREES],
           n[ACC_MOSTLY], n[ACC_DISAGREES]);
}
