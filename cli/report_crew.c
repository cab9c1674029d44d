#include "cli/report_crew.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Takes the next sheet, with room for n rows; NULL without memory, or when there is no row. */
static struct stv_crew_sheet *begin_sheet(struct stv_report_crew *crew, const char *name,
                                          const char *heading, size_t n, enum stv_status *status)
{
    if (n == 0 || *status != STV_OK)
        return NULL;
    struct stv_crew_sheet *sheet = &crew->sheets[crew->n];
    *sheet = (struct stv_crew_sheet){.name = name, .heading = heading};
    sheet->rows = calloc(n, sizeof *sheet->rows);
    if (!sheet->rows) {
        *status = STV_E_MEMORY;
        return NULL;
    }
    crew->n++;
    return sheet;
}

static void end_sheet(struct stv_report_crew *crew, enum stv_status *status)
{
    size_t i = crew->n - 1;
    if (stv_prose_lines(&crew->texts[i], &crew->copies[i], &crew->lines[i],
                        &crew->sheets[i].n_cautions) != STV_OK)
        *status = STV_E_MEMORY;
    crew->sheets[i].cautions = crew->lines[i];
}

static struct stv_crew_row *add_row(struct stv_crew_sheet *sheet, const struct stv_chain *chain,
                                    int cask_idx, const struct stv_place *place)
{
    struct stv_crew_row *row = &sheet->rows[sheet->n_rows++];
    row->cask_id = chain->book.ledger.casks[cask_idx].id;
    snprintf(row->place, sizeof row->place, "%s", stv_words_place_short(chain, place).text);
    row->has_box = true;
    return row;
}

__attribute__((format(printf, 2, 3))) static void say(struct stv_crew_row *row, const char *format,
                                                      ...)
{
    va_list values;
    va_start(values, format);
    vsnprintf(row->what, sizeof row->what, format, values);
    va_end(values);
}

/* Said where spirit is worked with, not where a leak is looked for. */
static void say_leak(struct stv_crew_row *row, const struct stv_chain *chain, int cask_idx)
{
    struct stv_formatted note = stv_words_doubt_note(chain, cask_idx);
    size_t n = strlen(row->what);
    if (note.text[0])
        snprintf(row->what + n, sizeof row->what - n, "; %s", note.text);
}

static void make_walk(struct stv_report_crew *crew, const struct stv_month_answer *month,
                      enum stv_status *status)
{
    struct stv_crew_sheet *sheet =
        begin_sheet(crew, "walk", "Walk for leaks", month->n_walk, status);
    if (!sheet)
        return;
    stv_words_month_air(&crew->texts[crew->n - 1], month);
    stv_words_caution_leaks(&crew->texts[crew->n - 1]);
    for (size_t i = 0; i < month->n_walk; i++) {
        const struct stv_walk_cask *cask = &month->walk[i];
        struct stv_place place = stv_lineage_place(month->chain->lineage, cask->cask_idx);
        struct stv_formatted why = cask->reason == STV_WALK_LEARNED
                                       ? stv_words_chance(cask->leak_frac)
                                       : stv_format("%s", stv_walk_reason_key(cask->reason));
        say(add_row(sheet, month->chain, cask->cask_idx, &place), "look for a leak: %s", why.text);
    }
    end_sheet(crew, status);
}

static void make_opens(struct stv_report_crew *crew, const struct stv_month_answer *month,
                       enum stv_status *status)
{
    struct stv_crew_sheet *sheet =
        begin_sheet(crew, "open", "Open to gauge and nose", month->n_visits, status);
    if (!sheet)
        return;
    stv_words_month_air(&crew->texts[crew->n - 1], month);
    stv_words_caution_leaks(&crew->texts[crew->n - 1]);
    for (size_t i = 0; i < month->n_visits; i++) {
        const struct stv_month_visit *visit = &month->visits[i];
        struct stv_place place = stv_lineage_place(month->chain->lineage, visit->cask_idx);
        say(add_row(sheet, month->chain, visit->cask_idx, &place), "%s, %.0f ml",
            visit->is_gauged && visit->is_nosed ? "gauge and nose"
            : visit->is_gauged                  ? "gauge"
                                                : "nose",
            1000.0 * visit->sample_l);
    }
    end_sheet(crew, status);
}

/* Spirit that leaves its wood for a cask that was found for it. */
static void add_leaving(struct stv_crew_sheet *sheet, const struct stv_month_answer *month)
{
    const struct stv_chain *chain = month->chain;
    for (size_t i = 0; i < month->n_leaving; i++) {
        const struct stv_transfer *item = &month->transfer.transfers.items[month->leaving_idx[i]];
        struct stv_place place = stv_lineage_place(chain->lineage, item->cask_idx);
        if (item->given_idx == SIZE_MAX)
            continue;
        const struct stv_receiver *into = &item->receivers[item->given_idx];
        struct stv_crew_row *row = add_row(sheet, chain, item->cask_idx, &place);
        say(row, "into %s by %s%s", chain->book.ledger.casks[into->cask_idx].id,
            stv_format_day(item->leaving.leave_day_d).text,
            into->is_dry ? ", soaked and tested first" : "");
        say_leak(row, chain, item->cask_idx);
    }
}

static void add_bottled(struct stv_crew_sheet *sheet, const struct stv_month_answer *month)
{
    for (int c = 0; c < (int)month->chain->book.ledger.n_casks; c++) {
        struct stv_place place = stv_lineage_place(month->chain->lineage, c);
        if (!stv_month_bottles(month, c))
            continue;
        struct stv_crew_row *row = add_row(sheet, month->chain, c, &place);
        say(row, "bottle: %s",
            stv_bottling_name(&month->bottling.planned[stv_bottling_of_cask(&month->bottling, c)])
                .text);
        say_leak(row, month->chain, c);
    }
}

static void make_moves(struct stv_report_crew *crew, const struct stv_month_answer *month,
                       enum stv_status *status)
{
    const struct stv_ledger *ledger = &month->chain->book.ledger;
    size_t n = month->n_events + month->n_leaving;
    for (int c = 0; c < (int)ledger->n_casks; c++)
        n += stv_month_bottles(month, c);
    struct stv_crew_sheet *sheet = begin_sheet(crew, "moves", "Move, fill and bottle", n, status);
    if (!sheet)
        return;
    struct stv_text *text = &crew->texts[crew->n - 1];
    stv_words_month_air(text, month);
    stv_words_caution_moving(text);
    stv_words_caution_room(text);
    stv_words_caution_vapour(text);
    for (size_t i = 0; i < month->n_events; i++) {
        const struct stv_event *event = &ledger->events[month->event_idx[i]];
        struct stv_place place = stv_month_job_place(month->chain, event);
        say(add_row(sheet, month->chain, event->cask_idx, &place), "%s: %s %s",
            stv_format_iso_day(event->day_d).text, stv_month_job_name(event),
            event->kind == STV_EVENT_MOVE ? "to this place"
                                          : stv_month_job_amount(month->chain, event).text);
    }
    add_leaving(sheet, month);
    add_bottled(sheet, month);
    end_sheet(crew, status);
}

/* The rows of a house's first day of water. */
static size_t first_day_rows(const struct stv_reduction *water, const struct stv_water_row *rows,
                             size_t n_rows)
{
    size_t n = 0;
    while (n < n_rows && water->plans[rows[n].plan_idx].steps[rows[n].step_idx].day_d ==
                             water->plans[rows[0].plan_idx].steps[rows[0].step_idx].day_d)
        n++;
    return n;
}

static void add_water_row(struct stv_crew_sheet *sheet, const struct stv_chain *chain,
                          const struct stv_reduction_plan *plan, size_t step_idx)
{
    const struct stv_reduction_step *step = &plan->steps[step_idx];
    struct stv_place place = stv_water_place(chain, plan->cask_idx);
    struct stv_crew_row *row = add_row(sheet, chain, plan->cask_idx, &place);
    say(row, "%s: %s kg (gauge first: %s to %s), %s to %s %%vol", stv_format_day(step->day_d).text,
        stv_format_number(step->added_kg, 1).text, stv_format_number(step->need_kg.p05, 1).text,
        stv_format_number(step->need_kg.p95, 1).text,
        stv_format_number(100.0 * step->before_abv20_frac.p50, 1).text,
        stv_format_number(100.0 * step->after_abv20_frac.p50, 1).text);
    row->has_box = step_idx < plan->n_fitting;
    if (!row->has_box)
        say(row, "NO ROOM: nothing goes in");
    say_leak(row, chain, plan->cask_idx);
}

/* The month's own rows where it has any, else those of the next day of the coming year that
 * has. */
static void make_water(struct stv_report_crew *crew, const struct stv_report_answers *answers,
                       enum stv_status *status)
{
    const struct stv_month_answer *month = &answers->month;
    bool is_now = month->n_water_rows > 0;
    const struct stv_reduction *water = is_now ? &month->water : &answers->water;
    const struct stv_water_row *rows = is_now ? month->water_rows : answers->water_rows;
    size_t n = is_now ? month->n_water_rows
                      : first_day_rows(water, answers->water_rows, answers->n_water_rows);
    struct stv_crew_sheet *sheet = begin_sheet(crew, "water", "Water in the cask", n, status);
    if (!sheet)
        return;
    struct stv_text *text = &crew->texts[crew->n - 1];
    stv_words_month_air(text, month);
    if (!is_now)
        stv_prose_wrap(
            text, 0, "Not this month: the water falls on %s.",
            stv_format_day(water->plans[rows[0].plan_idx].steps[rows[0].step_idx].day_d).text);
    stv_words_water_heed(text, month->chain);
    stv_words_caution_room(text);
    for (size_t i = 0; i < n; i++)
        add_water_row(sheet, month->chain, &water->plans[rows[i].plan_idx], rows[i].step_idx);
    end_sheet(crew, status);
}

enum stv_status stv_report_crew_make(const struct stv_report_answers *answers,
                                     struct stv_report_crew *out)
{
    enum stv_status status = STV_OK;
    *out = (struct stv_report_crew){0};
    if (!answers->has_month)
        return STV_OK;
    make_walk(out, &answers->month, &status);
    make_opens(out, &answers->month, &status);
    make_moves(out, &answers->month, &status);
    make_water(out, answers, &status);
    return status;
}

void stv_report_crew_free(struct stv_report_crew *crew)
{
    for (size_t i = 0; i < crew->n; i++) {
        free(crew->sheets[i].rows);
        free(crew->lines[i]);
        free(crew->copies[i]);
        stv_text_free(&crew->texts[i]);
    }
    *crew = (struct stv_report_crew){0};
}
