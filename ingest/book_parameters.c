/* `parameters:` of book.yaml: any number of the cask model under its own name, whether trials draw
 * it (model/params.h) or not (model/cask_numbers.h), and what is assumed of gauges
 * (ingest/gauge_numbers.h). */
#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
#define ONE(...) +1
    N_DRAWN = STV_PARAM_TABLE(ONE),
    N_FIXED = STV_CASK_NUMBERS(ONE),
    N_GAUGE = STV_GAUGE_NUMBERS(ONE),
    N_ALL = N_DRAWN + N_FIXED + N_GAUGE
#undef ONE
};

/* One row of a table. */
struct row {
    const char *name, *unit;
    double least_nd, most_nd;
    double *value_nd; /* in the book */
};

static struct row drawn_row(size_t row_idx, struct stv_book *book)
{
    size_t n;
    const struct stv_param_info *info = &stv_param_table(&n)[row_idx];
    return (struct row){info->name, info->unit, info->least_nd, info->most_nd,
                        (double *)(void *)((char *)&book->params + info->offset)};
}

static struct row fixed_row(size_t row_idx, struct stv_book *book)
{
    size_t n;
    const struct stv_cask_number_info *info = &stv_cask_number_table(&n)[row_idx];
    return (struct row){info->name, info->unit, info->least_nd, info->most_nd,
                        (double *)(void *)((char *)&book->numbers + info->offset)};
}

static struct row gauge_row(size_t row_idx, struct stv_book *book)
{
    size_t n;
    const struct stv_gauge_number_info *info = &stv_gauge_number_table(&n)[row_idx];
    return (struct row){info->name, info->unit, info->least_nd, info->most_nd,
                        (double *)(void *)((char *)&book->gauge_numbers + info->offset)};
}

static struct row row_of(size_t row_idx, struct stv_book *book)
{
    if (row_idx < N_DRAWN)
        return drawn_row(row_idx, book);
    row_idx -= N_DRAWN;
    return row_idx < N_FIXED ? fixed_row(row_idx, book) : gauge_row(row_idx - N_FIXED, book);
}

static void read_row(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                     const struct row *row, struct stv_book *book)
{
    struct stv_yaml_want want = {STV_DIM_NUMBER, NULL, -INFINITY, INFINITY};
    double value_nd = NAN;
    if (!stv_yaml_quantity(context, map, row->name, want, &value_nd))
        return;
    if (!(value_nd >= row->least_nd && value_nd <= row->most_nd)) {
        stv_yaml_refuse(context, stv_yaml_find(map, row->name), "is outside %g to %g %s",
                        row->least_nd, row->most_nd, row->unit);
        return;
    }
    *row->value_nd = value_nd;
    size_t used = strlen(book->overridden);
    snprintf(book->overridden + used, sizeof book->overridden - used, "%s%s", used ? "," : "",
             row->name);
}

/* Two numbers that crossed are refused where the book says one of them. */
static void refuse_crossed(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_book *book)
{
    const char *other;
    const char *less = stv_cask_numbers_crossed(&book->numbers, &other);
    if (!less && book->gauge_numbers.soak_least_l > book->gauge_numbers.soak_most_l) {
        less = "gauge_soak_least_l";
        other = "gauge_soak_most_l";
    }
    if (!less)
        return;
    const struct stv_yaml_node *node = stv_yaml_find(map, less);
    if (node)
        stv_yaml_refuse(context, node, "must not be above %s", other);
    else
        stv_yaml_refuse(context, stv_yaml_find(map, other), "must not be below %s", less);
}

void stv__parameters_from_yaml(const struct stv_yaml_context *context,
                               const struct stv_yaml_node *map, struct stv_book *book)
{
    struct row rows[N_ALL];
    const char *names[N_ALL];
    for (size_t i = 0; i < N_ALL; i++) {
        rows[i] = row_of(i, book);
        names[i] = rows[i].name;
    }
    stv_yaml_known_keys(context, map, names, N_ALL);
    for (size_t i = 0; i < N_ALL; i++)
        read_row(context, map, &rows[i], book);
    refuse_crossed(context, map, book);
}
