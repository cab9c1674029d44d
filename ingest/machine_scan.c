/* What the whole file says about its dates and its cells, before a row is read.
 *
 * Where the year stands first nothing has to be decided, which the first rows tell.  Else every
 * date of the file is looked at, each once for as long as it stays the same. */
#include "ingest/machine_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLED_ROWS 1000
#define CELLS_COUNTED 256
#define WHY_MAX 320

struct survey {
    struct stv_stamp_vote vote;
    size_t n_stamps, n_with_time, n_year_last, n_over;
    size_t counts[CELLS_COUNTED];
    int32_t second_s;
    bool has_second, has_many_times;
    char first[STV__STAMP_MAX];
};

/* The text of a row's stamp; false when it has none. */
static bool stamp_text(struct stv__rows *rows, char out[STV__STAMP_MAX])
{
    const struct stv_machine *machine = rows->machine;
    if (machine->time_cell >= rows->n_cells || machine->time_cell >= STV__CELLS_MAX)
        return false;
    struct stv_slice date = rows->cells[machine->time_cell];
    if (date.n == 0 || date.n >= STV__STAMP_MAX)
        return false;
    if (machine->time_of_day_cell == STV_NO_CELL || machine->time_of_day_cell >= rows->n_cells ||
        machine->time_of_day_cell >= STV__CELLS_MAX) {
        stv_slice_copy(date, out, STV__STAMP_MAX);
        return true;
    }
    struct stv_slice time = rows->cells[machine->time_of_day_cell];
    int n = snprintf(out, STV__STAMP_MAX, "%.*s %.*s", (int)date.n, date.text,
                     (int)(time.n < STV__STAMP_MAX ? time.n : STV__STAMP_MAX), time.text);
    return n > 0 && n < STV__STAMP_MAX;
}

static void add_stamp(struct survey *survey, const char *text)
{
    struct stv_stamp stamp;
    if (!stv_stamp_read(text, &stamp))
        return;
    if (survey->n_stamps == 0)
        snprintf(survey->first, sizeof survey->first, "%s", text);
    survey->n_stamps++;
    survey->n_with_time += stamp.has_time;
    survey->n_year_last += !stamp.is_year_first;
    survey->has_many_times =
        survey->has_many_times || (survey->has_second && stamp.second_s != survey->second_s);
    survey->second_s = stamp.second_s;
    survey->has_second = true;
    stv_stamp_vote_add(&survey->vote, &stamp);
}

static void count_cells(const struct stv__rows *rows, size_t n_named, struct survey *survey)
{
    bool is_over = false;
    if (rows->n_cells < CELLS_COUNTED)
        survey->counts[rows->n_cells]++;
    for (size_t i = n_named; i < rows->n_cells && i < STV__CELLS_MAX; i++)
        is_over = is_over || rows->cells[i].n > 0;
    survey->n_over += is_over;
}

/* The first cell of a line, up to the time of day, without an opening quote. */
static struct stv_slice date_part(const char *at, const char *stop)
{
    size_t n = 0;
    at += at < stop && *at == '"';
    while (at + n < stop && at[n] != ' ' && at[n] != 'T' && n < STV__DATE_MAX)
        n++;
    return (struct stv_slice){at, n};
}

/* Whether a date, and the blank or T that ends it, stand at `at`. */
static bool starts_same(const char *at, const char *stop, struct stv_slice date)
{
    return stop - at > (ptrdiff_t)date.n && (at[date.n] == ' ' || at[date.n] == 'T') &&
           stv__same_bytes(at, date.text, date.n);
}

/* Dates behind the sampled rows: lines whose first cell starts with the same date are passed over
 * unread. */
static void look_on(struct stv_machine *machine, size_t from, struct survey *survey)
{
    struct stv__rows rows = {.machine = machine};
    const char *at = machine->text->text + from;
    const char *end = machine->text->text + machine->text->n;
    struct stv_slice last = {at, 0};
    char text[STV__STAMP_MAX];
    while (at < end) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        stop = stop ? stop : end;
        bool is_same =
            machine->time_cell == 0 && last.n > 0 && starts_same(at + (*at == '"'), stop, last);
        if (!is_same && stop > at && *at != '#') {
            stv__row_cut(&rows, (struct stv_slice){at, (size_t)(stop - at)});
            if (stamp_text(&rows, text))
                add_stamp(survey, text);
            last = date_part(at, stop);
        }
        at = stop + 1;
    }
}

/* Looks at the first rows, and at all of them where years stand last. */
static void look(struct stv_machine *machine, struct survey *survey)
{
    struct stv__rows rows = {.machine = machine};
    struct stv_lines lines = {
        .text = machine->text->text, .n = machine->text->n, .next = machine->data_at};
    struct stv_line line;
    char text[STV__STAMP_MAX];
    size_t n_named = machine->head.rows[machine->header_row].n_cells, n_rows = 0;
    while (n_rows < SAMPLED_ROWS && stv_lines_next(&lines, &line)) {
        struct stv_stamp stamp;
        if (line.all.text[0] == '#')
            continue;
        stv__row_cut(&rows, line.all);
        if (!stamp_text(&rows, text) || !stv_stamp_read(text, &stamp))
            continue;
        count_cells(&rows, n_named, survey);
        add_stamp(survey, text);
        n_rows++;
    }
    if (survey->n_year_last > 0 || !survey->has_many_times)
        look_on(machine, lines.next, survey);
}

static enum stv_status decide_order(struct stv_machine *machine, const struct survey *survey)
{
    char why[WHY_MAX];
    if (machine->has_order) {
        machine->order_why = "as loggers.csv says";
        return STV_OK;
    }
    machine->order_why = survey->n_year_last == 0 ? "the year stands first"
                         : survey->vote.n_first_day || survey->vote.n_second_day
                             ? "a number above 12 decides"
                             : "the steps from day to day decide";
    enum stv_status status = stv_stamp_vote_order(&survey->vote, &machine->order, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, survey->first, "%s",
                        why);
    return status;
}

enum stv_status stv__machine_scan(struct stv_machine *machine)
{
    struct survey *survey = calloc(1, sizeof *survey);
    if (!survey)
        return STV_E_MEMORY;
    look(machine, survey);
    size_t best = 0, n_rows = 0;
    for (size_t i = 0; i < CELLS_COUNTED; i++) {
        best = survey->counts[i] > survey->counts[best] ? i : best;
        n_rows += survey->counts[i];
    }
    machine->usual_cells =
        survey->counts[best] ? best : machine->head.rows[machine->header_row].n_cells;
    machine->has_stamps = survey->n_stamps > 0;
    machine->has_times = survey->n_with_time > 0;
    machine->has_one_time = !survey->has_many_times && survey->n_stamps > 0 &&
                            (survey->n_stamps > 1 || survey->n_with_time == 0);
    enum stv_status status = STV_OK;
    if (2 * survey->n_over > n_rows && !machine->has_no_header) {
        stv_problem_add(
            machine->problems, STV_REFUSED, machine->file,
            machine->head.rows[machine->header_row].line, 0, NULL,
            "most rows have more cells than the header has names, so the columns are in "
            "doubt: if the numbers have decimal commas, export with ; between columns");
        status = STV_E_PARSE;
    }
    if (status == STV_OK)
        status = decide_order(machine, survey);
    free(survey);
    return status;
}
