/* Findings stand under their file, because a person mends one file after the other. */
#include "cli/words_check.h"

#include "cli/format.h"
#include "cli/json_document.h"
#include "cli/prose.h"
#include "model/units.h"

#include <stdlib.h>
#include <string.h>

static struct stv_formatted rows_text(const struct stv_problem *problem)
{
    if (problem->row == 0)
        return stv_format("-");
    if (problem->last_row > problem->row)
        return stv_format("%zu-%zu", problem->row, problem->last_row);
    if (problem->column)
        return stv_format("%zu:%zu", problem->row, problem->column);
    return stv_format("%zu", problem->row);
}

/* One kind: the same rule, the same words, in the same file. */
static bool is_alike(const struct stv_problem *a, const struct stv_problem *b)
{
    return a->severity == b->severity && strcmp(a->file, b->file) == 0 &&
           strcmp(a->rule, b->rule) == 0 && strcmp(a->message, b->message) == 0;
}

static void add_finding(struct stv_text *text, const struct stv_problem *problem)
{
    stv_prose_add(text, "  %-15s %-10s %-10s %zu\n", rows_text(problem).text,
                  problem->rule[0] ? problem->rule : "typed", stv_severity_text(problem->severity),
                  problem->count);
    if (problem->found[0])
        stv_prose_wrap(text, 4, "%s (found \"%s\")", problem->message, problem->found);
    else
        stv_prose_wrap(text, 4, "%s", problem->message);
}

/* The findings of a kind beyond those listed. */
struct rest {
    const struct stv_problem *first;
    size_t n, count, last_row;
};

static void add_rest(struct stv_text *text, const struct rest *rest)
{
    if (rest->n > 0)
        stv_prose_wrap(text, 4,
                       "... and %zu more like the last, for %zu rows or values, down to row %zu; "
                       "--verbose or --json lists them.",
                       rest->n, rest->count, rest->last_row);
}

/* Adds the findings of a file; marks them in is_listed. */
static size_t add_file(struct stv_text *text, const struct stv_problems *problems, size_t first,
                       size_t most_alike, char *is_listed)
{
    size_t n_alike = 0, n_counted = 0;
    struct rest rest = {0};
    const char *file = problems->items[first].file;
    stv_prose_heading(text, "%s", file[0] ? file : "the whole");
    for (size_t i = first; i < problems->n; i++) {
        const struct stv_problem *problem = &problems->items[i];
        if (is_listed[i] || strcmp(problem->file, file) != 0)
            continue;
        is_listed[i] = 1;
        n_counted += problem->count;
        if (rest.first && !is_alike(rest.first, problem)) {
            add_rest(text, &rest);
            rest = (struct rest){0};
            n_alike = 0;
        }
        rest.first = problem;
        if (n_alike++ < most_alike) {
            add_finding(text, problem);
        } else {
            rest.n++;
            rest.count += problem->count;
            rest.last_row = problem->last_row;
        }
    }
    add_rest(text, &rest);
    return n_counted;
}

/* "3 set aside", and of how many rows or values where that is not the same. */
static struct stv_formatted part_text(const struct stv_problems *problems,
                                      enum stv_severity severity, const char *done)
{
    size_t n = 0, n_values = problems->n_by_severity[severity];
    for (size_t i = 0; i < problems->n; i++)
        n += problems->items[i].severity == severity;
    if (n == n_values)
        return stv_format("%zu %s", n, done);
    return stv_format("%zu %s (%zu rows or values)", n, done, n_values);
}

void stv_words_findings(struct stv_text *text, const struct stv_problems *problems,
                        size_t most_alike)
{
    char *is_listed = calloc(problems->n + 1, 1);
    size_t n_counted = 0;
    if (!is_listed) {
        text->has_failed = true;
        return;
    }
    stv_prose_wrap(text, 0, "%s: %s, %s, %s, %s.",
                   stv_format_count(problems->n, "finding", "findings").text,
                   part_text(problems, STV_REFUSED, "refused").text,
                   part_text(problems, STV_SET_ASIDE, "set aside").text,
                   part_text(problems, STV_SUSPECT, "suspect but used").text,
                   part_text(problems, STV_NOTED, "noted").text);
    stv_prose_add(text, "\n  %-15s %-10s %-10s %s\n", "rows", "rule", "done",
                  "how many rows or values");
    for (size_t i = 0; i < problems->n; i++)
        if (!is_listed[i])
            n_counted += add_file(text, problems, i, most_alike, is_listed);
    if (problems->n_total > n_counted)
        stv_prose_add(text, "... and %zu more, beyond what is kept.\n",
                      problems->n_total - n_counted);
    free(is_listed);
}

/* A share of the hours from the first row to the last; of less than a day it would say nothing. */
static struct stv_formatted known_text(const struct stv_logger_report *report)
{
    if (report->n_hours < STV_DAY_H)
        return stv_format("%zu h", report->n_hours - report->n_hours_missing);
    return stv_format("%s %%", stv_format_number(100.0 * report->coverage_frac, 0).text);
}

void stv_words_loggers(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->book.n_loggers == 0 || !chain->logger_reports)
        return;
    stv_text_add(text, "\n");
    stv_prose_heading(text, "%-26s %9s %9s %8s %9s %8s %5s", "logger", "rows used", "set aside",
                      "suspect", "hours", "missing", "known");
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        const struct stv_logger_report *report = &chain->logger_reports[i];
        stv_prose_cell(text, chain->book.loggers[i].label, 26);
        stv_prose_add(text, " %9zu %9zu %8zu %9zu %8zu %5s\n", report->n_used,
                      report->n_set_aside + report->n_values_set_aside, report->n_suspect,
                      report->n_hours, report->n_hours_missing, known_text(report).text);
    }
}
