/* The hours in the order of time, tiers from the floor up within each hour. */
#include "cli/hourly.h"

#include "cli/format.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "plots/quote.h"

#include <math.h>
#include <stdlib.h>

static void add_value(struct stv_text *text, double value)
{
    stv_text_add(text, ",");
    if (isfinite(value))
        stv_text_add_exact(text, value);
}

static void add_hours(struct stv_text *text, const struct stv_chain_warehouse *warehouse,
                      const double *liquid_c, const char *name)
{
    const struct stv_grid *grid = &warehouse->positions[0].grid;
    for (size_t k = 0; k < grid->n && !text->has_failed; k++) {
        struct stv_formatted stamp = stv_format_iso_time(stv_grid_start_s(grid, k) + grid->step_s);
        for (size_t tier = 0; tier < warehouse->n_tiers; tier++) {
            const struct stv_position *position = &warehouse->positions[tier];
            stv_text_format(text, "%s,%zu", stamp.text, tier + 1);
            add_value(text, position->air_c[k]);
            add_value(text, position->rh_frac[k]);
            add_value(text, liquid_c[tier * grid->n + k]);
            if (name) {
                stv_text_add(text, ",");
                stv_quote_csv(text, name, STV_QUOTE_MAX_CHARS);
            }
            stv_text_add(text, "\n");
        }
    }
}

static enum stv_status add_warehouse(struct stv_text *text, const struct stv_chain *chain,
                                     size_t warehouse_idx)
{
    const struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    const struct stv_warehouse *named = &chain->book.warehouses[warehouse_idx];
    if (warehouse->n_tiers == 0)
        return STV_OK;
    size_t n = warehouse->positions[0].grid.n;
    double *liquid_c = malloc(warehouse->n_tiers * n * sizeof *liquid_c);
    enum stv_status status = liquid_c ? STV_OK : STV_E_MEMORY;
    for (size_t tier = 0; tier < warehouse->n_tiers && status == STV_OK; tier++)
        status = stv_position_liquid_c(&warehouse->positions[tier], named->building.exposed_frac,
                                       &chain->book.numbers, liquid_c + tier * n);
    if (status == STV_OK)
        add_hours(text, warehouse, liquid_c, chain->book.n_warehouses > 1 ? named->name : NULL);
    free(liquid_c);
    return status;
}

enum stv_status stv_hourly_write(const struct stv_options *options, const struct stv_chain *chain,
                                 const char *path)
{
    struct stv_text text = {0};
    stv_text_add(&text, "time_utc,tier,air_c,rh_frac,liquid_c");
    stv_text_add(&text, chain->book.n_warehouses > 1 ? ",warehouse\n" : "\n");
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < chain->book.n_warehouses && status == STV_OK; i++)
        status = add_warehouse(&text, chain, i);
    if (status != STV_OK)
        stv_messages_error("The hours could not be worked out: %s.", stv_status_text(status));
    else
        status = stv_output_file(path, &text);
    if (status == STV_OK)
        stv_messages_note(options, "Written: %s", path);
    stv_text_free(&text);
    return status;
}
