/* Chooses which charts a report has and fills them; drawing them is one step later, so that all
 * go through one gnuplot.  A chart that has nothing to show is left out. */
#include "plots/report_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Room for one more chart, all zero; NULL when memory ran out. */
static struct stv_chart *next_chart(struct stv_chart_list *list)
{
    if (list->status == STV_OK && list->n == list->room) {
        size_t room = list->room == 0 ? 16 : 2 * list->room;
        struct stv_chart *charts = realloc(list->charts, room * sizeof *charts);
        if (charts == NULL) {
            list->status = STV_E_MEMORY;
        } else {
            list->charts = charts;
            list->room = room;
        }
    }
    if (list->status != STV_OK)
        return NULL;
    memset(&list->charts[list->n], 0, sizeof list->charts[0]);
    return &list->charts[list->n];
}

/* Keeps a filled chart, or gives it back when there was nothing to show. */
static void settle(struct stv_chart_list *list, struct stv_chart *chart, enum stv_status status)
{
    if (status == STV_OK) {
        list->n++;
        return;
    }
    stv_chart_free(chart);
    if (status != STV_E_NO_DATA)
        list->status = status;
}

static void add_days(const struct stv_report_input *input, size_t w, struct stv_chart_list *list)
{
    const struct stv_days_input days = {&input->climate->warehouses[w], &input->days[w], w + 1,
                                        input->is_invented};
    struct stv_chart *chart;
    if ((chart = next_chart(list)) != NULL)
        settle(list, chart, stv_chart_degree_days(&days, chart));
    if ((chart = next_chart(list)) != NULL)
        settle(list, chart, stv_chart_calendar(&days, chart));
}

static void add_climate(const struct stv_report_input *input, struct stv_chart_list *list)
{
    for (size_t w = 0; w < input->climate->n_warehouses; w++) {
        const struct stv_warehouse_climate *climate = &input->climate->warehouses[w];
        struct stv_chart *chart;
        for (int q = 0; q < STV_RACK_N; q++)
            if ((chart = next_chart(list)) != NULL)
                settle(list, chart,
                       stv_chart_rack(climate, (enum stv_rack_quantity)q, w + 1, input->is_invented,
                                      chart));
        if ((chart = next_chart(list)) != NULL)
            settle(list, chart, stv_chart_ridges(climate, w + 1, input->is_invented, chart));
        if (input->losses != NULL && (chart = next_chart(list)) != NULL)
            settle(list, chart,
                   stv_chart_losses(&input->losses[w], w + 1, input->is_invented, chart));
        if (input->paths != NULL && (chart = next_chart(list)) != NULL)
            settle(list, chart,
                   stv_chart_paths(&input->paths[w], w + 1, input->is_invented, chart));
        if (input->vapour != NULL && (chart = next_chart(list)) != NULL)
            settle(list, chart,
                   stv_chart_vapour(&input->vapour[w], climate, w + 1, input->is_invented, chart));
        if ((chart = next_chart(list)) != NULL)
            settle(list, chart, stv_chart_cycles(climate, w + 1, input->is_invented, chart));
        if (input->days != NULL)
            add_days(input, w, list);
    }
}

static void add_fan(const struct stv_fan_input *fan, struct stv_chart_list *list)
{
    struct stv_chart *chart = next_chart(list);
    if (chart != NULL)
        settle(list, chart, stv_chart_fan(fan, chart));
}

static void add_cask(const struct stv_report_input *input, size_t cask_idx,
                     struct stv_chart_list *list)
{
    const struct stv_fan_input fan = {.ledger = input->ledger,
                                      .outlook = input->outlook,
                                      .own_days =
                                          input->own_days ? &input->own_days[cask_idx] : NULL,
                                      .rules = input->rules,
                                      .gauges = input->gauges,
                                      .n_gauges = input->n_gauges,
                                      .cask_idx = cask_idx,
                                      .as_of_day_d = input->as_of_day_d,
                                      .is_invented = input->is_invented};
    add_fan(&fan, list);
}

static bool is_flagged(const struct stv_report_input *input, size_t cask_idx)
{
    struct stv_text why = {0};
    stv__report_flag(input, cask_idx, &why);
    bool is_any = why.n > 0;
    stv_text_free(&why);
    return is_any;
}

/* Gauges are of single casks, and so not on a kind's chart. */
static void add_kinds(const struct stv_report_input *input, struct stv_chart_list *list)
{
    for (size_t k = 0; k < input->kinds->ledger.n_casks; k++) {
        const struct stv_fan_input fan = {.ledger = &input->kinds->ledger,
                                          .outlook = &input->kinds->outlook,
                                          .rules = input->rules,
                                          .cask_idx = k,
                                          .n_alike = input->kinds->n_casks[k],
                                          .as_of_day_d = input->as_of_day_d,
                                          .is_invented = input->is_invented};
        add_fan(&fan, list);
    }
}

/* All full casks; of a large house its kinds, and casks that ask for a look. */
static void add_casks(const struct stv_report_input *input, struct stv_chart_list *list)
{
    size_t n_casks = input->ledger->n_casks, now = stv__report_day_now(input);
    size_t n_left = input->kinds != NULL ? STV_REPORT_FLAGGED_MOST : n_casks;
    if (input->kinds != NULL)
        add_kinds(input, list);
    for (size_t c = 0; c < n_casks && n_left > 0; c++) {
        if (!stv__report_is_full(input->outlook, c, now) ||
            (input->kinds != NULL && !is_flagged(input, c)))
            continue;
        add_cask(input, c, list);
        n_left--;
    }
}

const struct stv_chart *stv__report_cask_chart(const struct stv_chart_list *list, size_t cask_idx)
{
    char name[STV_CHART_NAME_MAX];
    snprintf(name, sizeof name, "cask-%03zu", cask_idx + 1);
    return stv_chart_list_find(list, name);
}

const struct stv_bottling *stv__report_drawn_windows(const struct stv_report_input *input)
{
    return input->kinds != NULL ? &input->kinds->windows : input->bottling;
}

static void add_windows(const struct stv_report_input *input, struct stv_chart_list *list)
{
    const struct stv_bottling *bottling = stv__report_drawn_windows(input);
    size_t n = bottling->n_windows;
    for (size_t first = 0, number = 1; first < n; first += STV_WINDOW_ROWS_MAX, number++) {
        size_t n_left = n - first;
        const struct stv_windows_input windows = {
            .ledger = input->kinds != NULL ? &input->kinds->ledger : input->ledger,
            .months = input->months,
            .bottling = bottling,
            .first_row = first,
            .n_rows = n_left < STV_WINDOW_ROWS_MAX ? n_left : STV_WINDOW_ROWS_MAX,
            .is_of_kinds = input->kinds != NULL,
            .as_of_day_d = input->as_of_day_d,
            .is_invented = input->is_invented,
            .number = number};
        struct stv_chart *chart = next_chart(list);
        if (chart != NULL)
            settle(list, chart, stv_chart_windows(&windows, chart));
    }
}

enum stv_status stv_chart_list_fill(struct stv_chart_list *list,
                                    const struct stv_report_input *input)
{
    struct stv_chart *chart;
    if (input->climate != NULL)
        add_climate(input, list);
    if (stv__report_has_casks(input))
        add_casks(input, list);
    if (stv__report_has_windows(input))
        add_windows(input, list);
    if (input->told_figures != NULL && (chart = next_chart(list)) != NULL)
        settle(list, chart, stv_chart_gauges(input->told_figures, input->is_invented, chart));
    if (input->sites != NULL && (chart = next_chart(list)) != NULL)
        settle(list, chart, stv_chart_sites(input->sites, input->is_invented, chart));
    return list->status;
}

struct stv_chart *stv_chart_list_find(const struct stv_chart_list *list, const char *name)
{
    for (size_t i = 0; i < list->n; i++)
        if (strcmp(list->charts[i].name, name) == 0)
            return &list->charts[i];
    return NULL;
}

void stv_chart_list_free(struct stv_chart_list *list)
{
    for (size_t i = 0; i < list->n; i++)
        stv_chart_free(&list->charts[i]);
    free(list->charts);
    *list = (struct stv_chart_list){0};
}
