/* Tables of casks: what is in them now and in the next years, what they lose, and when they can
 * be bottled.  Losses are told in bottles first, then litres of pure alcohol, then litres.  A
 * cell holds the middle and, in brackets, the range of nine trials in ten. */
#include "plots/report_parts.h"

#include "model/units.h"
#include "model/window_clear.h"
#include "plots/sheet.h"
#include "plots/window_words.h"

#include <math.h>

#define NEXT_YEARS 3
#define DAY_ROWS_MOST 14

/* Month as "2028-10", which sorts as text. */
/* "2028-01" */
static void put_month(struct stv_text *out, int64_t day_d)
{
    struct stv_text day = {0};
    stv_text_add_iso_day(&day, day_d);
    stv_text_add_bytes(out, stv_text_string(&day), day.n > 3 ? day.n - 3 : day.n);
    stv_text_free(&day);
}

static void add_month(struct stv_sheet *table, int64_t day_d)
{
    struct stv_text text = {0};
    put_month(&text, day_d);
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void add_quantity(struct stv_sheet *table, const struct stv_report_input *input,
                         size_t cask_idx, size_t day_idx, enum stv_quantity quantity)
{
    static const int n_decimals[STV_Q_N] = {
        [STV_Q_VOLUME20_L] = 0,    [STV_Q_ABV20_FRAC] = 1,     [STV_Q_LPA_L] = 1,
        [STV_Q_WOOD_INDEX_ND] = 2, [STV_Q_STILL_FRUIT_ND] = 2, [STV_Q_AIR_LPA_L] = 1,
        [STV_Q_JOINT_LPA_L] = 1,   [STV_Q_INDRINK_LPA_L] = 1,  [STV_Q_SAMPLE_LPA_L] = 1,
        [STV_Q_LEAK_LPA_L] = 1,    [STV_Q_BOTTLES_ND] = 0};
    struct stv_range range = stv_range_point(NAN);
    if (day_idx != STV_REPORT_NO_DAY)
        range = stv_outlook_range(input->outlook, cask_idx, day_idx, quantity);
    if (quantity == STV_Q_ABV20_FRAC)
        range = stv_range_scaled(range, 100.0);
    stv_sheet_add_range(table, range, n_decimals[quantity]);
}

static const char *place_of(const struct stv_report_input *input, size_t cask_idx)
{
    return input->place_texts == NULL ? "" : input->place_texts[cask_idx];
}

/* Days a year apart from now on; STV_REPORT_NO_DAY where the outlook has none. */
static void find_years(const struct stv_report_input *input, size_t days[NEXT_YEARS])
{
    size_t now = stv__report_day_now(input);
    for (int y = 0; y < NEXT_YEARS; y++)
        days[y] = stv__report_day_near(input->outlook, input->outlook->days_d[now] +
                                                           (int64_t)llround((y + 1) * STV_YEAR_D));
}

static void add_cask_heads(const struct stv_report_input *input, const size_t days[NEXT_YEARS],
                           struct stv_sheet *table)
{
    static const char *const fixed[] = {
        "cask", "kind", "lies", "litres now", "strength now, %", "alcohol now, L", "bottles now"};
    const size_t n_fixed = sizeof fixed / sizeof fixed[0];
    const char *heads[sizeof fixed / sizeof fixed[0] + NEXT_YEARS + 3];
    struct stv_text years[NEXT_YEARS] = {{0}};
    size_t n = 0;
    for (size_t i = 0; i < n_fixed; i++)
        heads[n++] = fixed[i];
    for (int y = 0; y < NEXT_YEARS; y++) {
        if (days[y] == STV_REPORT_NO_DAY)
            continue;
        stv_text_add(&years[y], "bottles ");
        stv_text_add_month(&years[y], input->outlook->days_d[days[y]]);
        heads[n++] = stv_text_string(&years[y]);
    }
    heads[n++] = "wood now, reference = 1";
    heads[n++] = "still fruit left, of 1";
    if (input->kinds != NULL)
        heads[n++] = "asks for a look";
    stv_sheet_heads(table, heads, n);
    for (int y = 0; y < NEXT_YEARS; y++)
        stv_text_free(&years[y]);
}

static void add_cask_row(const struct stv_report_input *input, size_t cask_idx,
                         const size_t days[NEXT_YEARS], struct stv_sheet *table)
{
    const struct stv_cask *cask = &input->ledger->casks[cask_idx];
    size_t now = stv__report_day_now(input);
    stv_sheet_add_text(table, cask->id);
    stv_sheet_add_text(table, cask->kind_name);
    stv_sheet_add_text(table, place_of(input, cask_idx));
    add_quantity(table, input, cask_idx, now, STV_Q_VOLUME20_L);
    add_quantity(table, input, cask_idx, now, STV_Q_ABV20_FRAC);
    add_quantity(table, input, cask_idx, now, STV_Q_LPA_L);
    add_quantity(table, input, cask_idx, now, STV_Q_BOTTLES_ND);
    for (int y = 0; y < NEXT_YEARS; y++)
        if (days[y] != STV_REPORT_NO_DAY)
            add_quantity(table, input, cask_idx, days[y], STV_Q_BOTTLES_ND);
    add_quantity(table, input, cask_idx, now, STV_Q_WOOD_INDEX_ND);
    add_quantity(table, input, cask_idx, now, STV_Q_STILL_FRUIT_ND);
    if (input->kinds == NULL)
        return;
    struct stv_text flag = {0};
    stv__report_flag(input, cask_idx, &flag);
    stv_sheet_add_text(table, stv_text_string(&flag));
    stv_text_free(&flag);
}

static void add_kind_row(const struct stv_report_input *input, size_t kind, struct stv_sheet *table)
{
    const struct stv_report_kinds *kinds = input->kinds;
    const struct stv_report_input mean = {.outlook = &kinds->outlook};
    size_t now = stv__report_day_now(input);
    struct stv_text filled = {0};
    stv_text_add_iso_day(&filled, kinds->ledger.events[kind].day_d);
    stv_sheet_add_text(table, kinds->ledger.casks[kind].id);
    stv_sheet_add_text(table, kinds->ledger.casks[kind].kind_name);
    stv_sheet_add_text(table, stv_text_string(&filled));
    stv_sheet_add_number(table, (double)kinds->n_casks[kind], 0);
    add_quantity(table, &mean, kind, now, STV_Q_VOLUME20_L);
    add_quantity(table, &mean, kind, now, STV_Q_ABV20_FRAC);
    add_quantity(table, &mean, kind, now, STV_Q_BOTTLES_ND);
    stv_text_free(&filled);
}

void stv__report_kinds_table(const struct stv_report_input *input, struct stv_text *page)
{
    static const char *const heads[] = {"kind",
                                        "casks of",
                                        "filled",
                                        "casks",
                                        "litres now, mean",
                                        "strength now, mean, %",
                                        "bottles now, mean"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t k = 0; k < input->kinds->ledger.n_casks; k++)
        add_kind_row(input, k, &table);
    stv_sheet_html(&table, "Kinds of casks, each by its mean cask", page);
    stv_sheet_free(&table);
}

void stv__report_casks_table(const struct stv_report_input *input, struct stv_text *page)
{
    size_t days[NEXT_YEARS];
    size_t n_empty = 0;
    struct stv_sheet table = {0};
    find_years(input, days);
    add_cask_heads(input, days, &table);
    for (size_t c = 0; c < input->ledger->n_casks; c++) {
        if (stv__report_is_full(input->outlook, c, stv__report_day_now(input)))
            add_cask_row(input, c, days, &table);
        else
            n_empty++;
    }
    struct stv_text caption = {0};
    stv_text_add(&caption, "Full casks on ");
    stv_text_add_day(&caption, input->outlook->days_d[stv__report_day_now(input)]);
    stv_text_format(&caption,
                    " and later as they stand; litres and strength at 20 °C; %zu %s empty", n_empty,
                    n_empty == 1 ? "cask is" : "casks are");
    stv_sheet_html(&table, stv_text_string(&caption), page);
    stv_text_free(&caption);
    stv_sheet_free(&table);
}

static void add_loss_row(const struct stv_report_input *input, size_t cask_idx,
                         struct stv_sheet *table)
{
    size_t now = stv__report_day_now(input), next = stv__report_day_next(input);
    stv_sheet_add_text(table, input->ledger->casks[cask_idx].id);
    stv_sheet_add_range(table, stv__report_drop(input, cask_idx, STV_Q_BOTTLES_ND, now, next), 1);
    stv_sheet_add_range(table, stv__report_drop(input, cask_idx, STV_Q_LPA_L, now, next), 2);
    stv_sheet_add_range(table, stv__report_drop(input, cask_idx, STV_Q_VOLUME20_L, now, next), 1);
    stv_sheet_add_range(table, stv__report_bottles_gone(input, cask_idx, now), 0);
    add_quantity(table, input, cask_idx, now, STV_Q_AIR_LPA_L);
    add_quantity(table, input, cask_idx, now, STV_Q_JOINT_LPA_L);
    add_quantity(table, input, cask_idx, now, STV_Q_SAMPLE_LPA_L);
    add_quantity(table, input, cask_idx, now, STV_Q_INDRINK_LPA_L);
    add_quantity(table, input, cask_idx, now, STV_Q_LEAK_LPA_L);
}

void stv__report_losses_table(const struct stv_report_input *input, struct stv_text *page)
{
    static const char *const heads[] = {"cask",
                                        "next 12 months: bottles",
                                        "next 12 months: alcohol, L",
                                        "next 12 months: litres",
                                        "all gone since filling, in bottles",
                                        "to the air through wood, L alcohol",
                                        "at joints, L alcohol",
                                        "samples, L alcohol",
                                        "in the staves, L alcohol",
                                        "leaks, L alcohol"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t c = 0; c < input->ledger->n_casks; c++)
        if (stv__report_is_full(input->outlook, c, stv__report_day_now(input)))
            add_loss_row(input, c, &table);
    stv_sheet_html(&table, "What the casks lose: bottles first, then pure alcohol, then litres",
                   page);
    stv_sheet_free(&table);
}

void stv__report_cask_days_table(const struct stv_report_input *input, size_t cask_idx,
                                 struct stv_text *page)
{
    static const char *const heads[] = {"date",
                                        "litres",
                                        "strength, %",
                                        "bottles",
                                        "wood, reference = 1",
                                        "still fruit left, of 1"};
    const struct stv_outlook *outlook = input->outlook;
    size_t every = 1 + outlook->n_days / DAY_ROWS_MOST;
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t d = 0; d < outlook->n_days; d++) {
        bool is_shown =
            d % every == 0 || d + 1 == outlook->n_days || d == stv__report_day_now(input);
        if (!is_shown || !stv__report_is_full(outlook, cask_idx, d))
            continue;
        struct stv_text date = {0};
        stv_text_add_iso_day(&date, outlook->days_d[d]);
        stv_sheet_add_text(&table, stv_text_string(&date));
        add_quantity(&table, input, cask_idx, d, STV_Q_VOLUME20_L);
        add_quantity(&table, input, cask_idx, d, STV_Q_ABV20_FRAC);
        add_quantity(&table, input, cask_idx, d, STV_Q_BOTTLES_ND);
        add_quantity(&table, input, cask_idx, d, STV_Q_WOOD_INDEX_ND);
        add_quantity(&table, input, cask_idx, d, STV_Q_STILL_FRUIT_ND);
        stv_text_free(&date);
    }
    stv_sheet_html(&table, "As it stands, without further water or moves", page);
    stv_sheet_free(&table);
}

/* "2028-01 to 2029-10": months as the other ends have them, so that the column sorts by time. */
static void add_surest(struct stv_sheet *table, const struct stv_window *window,
                       const int64_t *months_d)
{
    struct stv_text text = {0};
    if (!stv_window_surest_is_clear(window)) {
        stv_sheet_add_text(table, "not clear");
        return;
    }
    put_month(&text, months_d[window->surest_from_idx]);
    if (window->surest_to_idx != window->surest_from_idx) {
        stv_text_add(&text, " to ");
        put_month(&text, months_d[window->surest_to_idx]);
    }
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void add_open_window(const struct stv_report_input *input, const struct stv_window *window,
                            struct stv_sheet *table)
{
    const int64_t *days_d = input->months->days_d;
    if (stv_window_opens_clear(window))
        add_month(table, days_d[window->open_idx]);
    else
        stv_sheet_add_text(table, "not clear");
    add_surest(table, window, days_d);
    if (!window->closes)
        stv_sheet_add_text(table, "still open");
    else if (stv_window_closes_clear(window))
        add_month(table, days_d[window->close_idx]);
    else
        stv_sheet_add_text(table, "not clear");
    stv_sheet_add_text(table, stv_window_side_text(window->opens_by));
    stv_sheet_add_text(table, stv_window_side_text(window->closes_by));
    stv_sheet_add_number(table, 100.0 * window->surest_frac, 0);
    stv_sheet_add_range(table, window->bottles_nd, 0);
    stv_sheet_add_range(table, stv_range_scaled(window->abv20_frac, 100.0), 1);
    stv_sheet_add_range(table, window->wood_nd, 2);
    stv_sheet_add_number(table, window->wait_cost_bottles_nd, 1);
    stv_sheet_add_number(table, 100.0 * window->wait_over_frac, 0);
}

void stv__report_windows_table(const struct stv_report_input *input, struct stv_text *page)
{
    static const char *const heads[] = {"cask",
                                        "opens",
                                        "surest",
                                        "last month",
                                        "why it opens",
                                        "why it closes",
                                        "chance that all wishes are met, %",
                                        "bottles",
                                        "strength, %",
                                        "wood, reference = 1",
                                        "a year's wait: bottles fewer",
                                        "a year's wait: chance of too much wood, %"};
    const size_t n_heads = sizeof heads / sizeof heads[0];
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, n_heads);
    for (size_t i = 0; i < input->bottling->n_windows; i++) {
        const struct stv_window *window = &input->bottling->windows[i];
        stv_sheet_add_text(&table, input->ledger->casks[window->cask_idx].id);
        if (window->has_window) {
            add_open_window(input, window, &table);
            continue;
        }
        stv_sheet_add_text(&table, "none");
        stv_sheet_add_text(&table, "");
        stv_sheet_add_text(&table, "");
        stv_sheet_add_text(&table, stv_window_side_text(window->never_by));
        for (size_t k = 5; k < n_heads; k++)
            stv_sheet_add_text(&table, "");
    }
    stv_sheet_html(
        &table,
        "Bottling windows (ends as year-month); figures of the surest month; not clear: wood "
        "not known to the half year, or no month in which 7 trials in 10 agree; "
        "without a window: what fails most often",
        page);
    stv_sheet_free(&table);
}
