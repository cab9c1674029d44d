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
#define IMPOSSIBLE_ONE_IN 20 /* fewer days that do not exist are damage, and set aside */

struct survey {
    struct stv_stamp_vote vote;
    size_t n_stamps, n_with_time, n_year_last, n_over;
    size_t counts[CELLS_COUNTED];
    int32_t second_s;
    bool has_second, has_many_times;
    char first[STV__STAMP_MAX];
    /* The first stamp that cannot be read month first, and that cannot be read day first. */
    struct odd_stamp {
        const char *at;
        char text[STV__STAMP_MAX];
    } no_month_first, no_day_first;
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

static void note_odd(struct odd_stamp *odd, size_t n_now, size_t n_before, const char *at,
                     const char *text)
{
    if (n_before > 0 || n_now == 0)
        return;
    odd->at = at;
    snprintf(odd->text, sizeof odd->text, "%s", text);
}

static void add_stamp(struct survey *survey, const char *at, const char *text)
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
    const struct stv_stamp_vote before = survey->vote;
    stv_stamp_vote_add(&survey->vote, &stamp);
    note_odd(&survey->no_month_first, survey->vote.n_first_day, before.n_first_day, at, text);
    note_odd(&survey->no_day_first, survey->vote.n_second_day, before.n_second_day, at, text);
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
                add_stamp(survey, at, text);
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
        add_stamp(survey, line.all.text, text);
        n_rows++;
    }
    if (survey->n_year_last > 0 || !survey->has_many_times)
        look_on(machine, lines.next, survey);
}

/* What a person said makes many days impossible, and the other order none: it was said wrongly. */
static bool is_said_wrongly(struct stv_machine *machine, const struct survey *survey)
{
    bool is_month = machine->order == STV_MONTH_FIRST;
    size_t n_impossible = is_month ? survey->vote.n_first_day : survey->vote.n_second_day;
    size_t n_other = is_month ? survey->vote.n_second_day : survey->vote.n_first_day;
    const struct odd_stamp *odd = is_month ? &survey->no_month_first : &survey->no_day_first;
    struct stv_line_cursor cursor = {0};
    if (machine->order == STV_YEAR_FIRST || n_other > 0 ||
        n_impossible * IMPOSSIBLE_ONE_IN <= survey->vote.n_numbers)
        return false;
    stv_problem_add(
        machine->problems, STV_REFUSED, machine->file,
        stv_line_of(machine->text->text, (size_t)(odd->at - machine->text->text), &cursor), 0,
        odd->text,
        "loggers.csv says %s first, which makes no day of this date and of others, while %s first "
        "every date of the file is one: write \"%s first\" under dates in loggers.csv, or leave it "
        "empty",
        is_month ? "month" : "day", is_month ? "day" : "month", is_month ? "day" : "month");
    return true;
}

static enum stv_status decide_order(struct stv_machine *machine, const struct survey *survey)
{
    char why[WHY_MAX];
    if (machine->has_order) {
        machine->order_why = "as loggers.csv says";
        return is_said_wrongly(machine, survey) ? STV_E_PARSE : STV_OK;
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
