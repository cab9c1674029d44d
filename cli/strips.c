/* Hours' marks become shares of days, for both forms alike. */
#include "cli/strips.h"

#include "cli/messages.h"
#include "cli/picture.h"
#include "cli/prose.h"
#include "ingest/quality.h"
#include "model/calendar.h"
#include "plots/charts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MONTHS_BY_DAY 36 /* longer spans are told by the week */
#define WEEK_D 7
#define WEEKS_A_LINE 52
#define WHOLE 0.99

/* A logger's days, owned. */
struct days {
    int64_t first_day_d;
    size_t n;
    float *used_frac, *suspect_frac;
};

static void free_days(struct days *days)
{
    free(days->used_frac);
    free(days->suspect_frac);
}

static bool days_of(const struct stv_logger_hours *hours, const struct stv_logger_report *report,
                    struct days *out)
{
    const struct stv_grid *grid = &hours->grid;
    *out = (struct days){0};
    if (grid->n == 0 || !report->marks)
        return false;
    out->first_day_d = stv_grid_local_day(grid, 0, NULL);
    out->n = (size_t)(stv_grid_local_day(grid, grid->n - 1, NULL) - out->first_day_d) + 1;
    out->used_frac = calloc(out->n, sizeof *out->used_frac);
    out->suspect_frac = calloc(out->n, sizeof *out->suspect_frac);
    size_t *n_hours = calloc(out->n, sizeof *n_hours);
    bool has_memory = out->used_frac && out->suspect_frac && n_hours;
    for (size_t k = 0; has_memory && k < grid->n; k++) {
        size_t day = (size_t)(stv_grid_local_day(grid, k, NULL) - out->first_day_d);
        n_hours[day]++;
        out->used_frac[day] += report->marks[k] == STV_MARK_USED;
        out->suspect_frac[day] +=
            report->marks[k] == STV_MARK_SUSPECT || report->marks[k] == STV_MARK_DEAD;
    }
    for (size_t day = 0; has_memory && day < out->n; day++) {
        out->used_frac[day] /= (float)(n_hours[day] ? n_hours[day] : 1);
        out->suspect_frac[day] /= (float)(n_hours[day] ? n_hours[day] : 1);
    }
    free(n_hours);
    if (!has_memory)
        free_days(out);
    return has_memory;
}

/* Of days from..to the worst: '.' missing, '?' suspect, '+' in part, '#' used. */
static char letter_of(const struct days *days, size_t from, size_t to)
{
    static const char worse[] = "#+?.";
    size_t worst = 0;
    for (size_t d = from; d < to && d < days->n; d++) {
        float used = days->used_frac[d], suspect = days->suspect_frac[d];
        size_t state = used + suspect <= 0.0f ? 3 : suspect > 0.0f ? 2 : used < (float)WHOLE;
        worst = state > worst ? state : worst;
    }
    return worse[worst];
}

static void add_by_day(struct stv_text *text, const struct days *days)
{
    for (size_t d = 0; d < days->n;) {
        struct stv_date date = stv_date_from_day(days->first_day_d + (int64_t)d);
        char line[40] = "";
        memset(line, ' ', 31);
        int month = date.month;
        for (; d < days->n; d++) {
            struct stv_date now = stv_date_from_day(days->first_day_d + (int64_t)d);
            if (now.month != month)
                break;
            line[now.day - 1] = letter_of(days, d, d + 1);
        }
        size_t n = 31;
        while (n > 0 && line[n - 1] == ' ')
            line[--n] = '\0';
        stv_prose_add(text, "    %04d-%02d %s\n", (int)date.year, (int)month, line);
    }
}

static void add_by_week(struct stv_text *text, const struct days *days)
{
    for (size_t d = 0; d < days->n; d += WEEK_D * WEEKS_A_LINE) {
        struct stv_date date = stv_date_from_day(days->first_day_d + (int64_t)d);
        char line[WEEKS_A_LINE + 1] = "";
        size_t n = 0;
        for (; n < WEEKS_A_LINE && d + n * WEEK_D < days->n; n++)
            line[n] = letter_of(days, d + n * WEEK_D, d + (n + 1) * WEEK_D);
        line[n] = '\0';
        stv_prose_add(text, "    %04d-%02d-%02d %s\n", (int)date.year, (int)date.month,
                      (int)date.day, line);
    }
}

/* How a logger's file was read. */
static void add_reading(struct stv_text *text, const struct stv_chain *chain, size_t logger_idx)
{
    const struct stv_logger_report *report = &chain->logger_reports[logger_idx];
    const char *between = !report->has_hours_between ? ""
                          : chain->book.gaps.longest_h > 0.0
                              ? " (the hours between by a straight line)"
                              : " (the hours between stay unknown)";
    stv_prose_wrap(text, 2, "%s: temperature in %s%s, %sdates %s, clock %s, every %s%s, %s.%s%s%s",
                   chain->book.loggers[logger_idx].label, report->unit,
                   report->is_unit_assumed ? ", unit taken for granted" : "",
                   report->has_humidity ? "" : "no humidity, ", report->dates, report->clock,
                   report->intervals[0] ? report->intervals : "so often", between, report->encoding,
                   report->unread[0] ? " Not read: " : "", report->unread,
                   report->unread[0] ? "." : "");
}

void stv_words_strips(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->book.n_loggers == 0 || !chain->logger_reports)
        return;
    stv_text_add(text, "\n");
    stv_prose_heading(text, "Day by day: # used, + in part, ? suspect or dead, . missing");
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        const struct stv_logger_report *report = &chain->logger_reports[i];
        struct days days;
        if (!days_of(&chain->loggers[i], report, &days))
            continue;
        add_reading(text, chain, i);
        bool by_day = days.n <= MONTHS_BY_DAY * 31u;
        if (by_day)
            add_by_day(text, &days);
        else
            add_by_week(text, &days);
        free_days(&days);
    }
}

enum stv_status stv_strips_draw(const struct stv_options *options, const struct stv_chain *chain,
                                const char *path)
{
    size_t n = 0, n_most = chain->book.n_loggers;
    struct stv_strip strips[STV_STRIPS_MAX];
    struct days days[STV_STRIPS_MAX];
    struct stv_chart chart = {0};
    for (size_t i = 0; chain->logger_reports && i < n_most && n < STV_STRIPS_MAX; i++) {
        if (!days_of(&chain->loggers[i], &chain->logger_reports[i], &days[n]))
            continue;
        strips[n] = (struct stv_strip){chain->book.loggers[i].label, days[n].first_day_d, days[n].n,
                                       days[n].used_frac, days[n].suspect_frac};
        n++;
    }
    if (n_most > STV_STRIPS_MAX)
        stv_messages_note(options, "The picture shows the first %d of %zu loggers.", STV_STRIPS_MAX,
                          n_most);
    enum stv_status status = stv_chart_strips(strips, n, chain->book.is_invented, &chart);
    if (status == STV_OK)
        status = stv_picture_write(options, path, &chart);
    else if (status == STV_E_NO_DATA)
        stv_messages_error("There is no logger with hours to draw.");
    stv_chart_free(&chart);
    for (size_t i = 0; i < n; i++)
        free_days(&days[i]);
    return status;
}
