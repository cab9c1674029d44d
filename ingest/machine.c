/* Rows from the text of a file, each in exactly one state: used, set aside, or outside the wanted
 * time.  A row with one bad value keeps its others.  Nothing is repaired or filled in here.
 *
 * Lines behind the last good row that look like no row at all (a count of readings, a battery's
 * state) are the file's end and no faults; the same lines between rows are. */
#include "ingest/machine.h"

#include "ingest/machine_parts.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD_BYTES ((size_t)1 << 16)
#define PENDING_MOST 1000
#define LEAST_LINE 12
#define HALF_DAYS_LEAST 2
#define NUL_MARK '\x1A'

enum stv_status stv__machine_head(struct stv_machine *machine, size_t from_byte, char *why,
                                  size_t size)
{
    const struct stv_text_file *text = machine->text;
    size_t n = text->n - from_byte;
    if (n > HEAD_BYTES) {
        n = HEAD_BYTES;
        while (n > 0 && text->text[from_byte + n - 1] != '\n')
            n--; /* a last line cut in the middle would be one of other cells */
        n = n ? n : HEAD_BYTES;
    }
    stv_csv_free(&machine->head);
    machine->data_at = from_byte;
    return stv_csv_parse(text->text + from_byte, n, &machine->head, why, size);
}

size_t stv__machine_behind(const struct stv_machine *machine, size_t n_lines)
{
    size_t at = machine->data_at;
    while (n_lines > 0 && at < machine->text->n) {
        const char *stop = memchr(machine->text->text + at, '\n', machine->text->n - at);
        at = stop ? (size_t)(stop + 1 - machine->text->text) : machine->text->n;
        n_lines--;
    }
    return at;
}

/* The cell that starts at *at of an unquoted or quoted line. */
static struct stv_slice next_cell(struct stv_slice line, char delimiter, size_t *at)
{
    const char *start = line.text + *at, *end = line.text + line.n;
    while (start < end && *start == ' ')
        start++;
    const char *stop = NULL;
    if (start < end && *start == '"') {
        const char *close = memchr(start + 1, '"', (size_t)(end - start - 1));
        if (close && (close + 1 == end || close[1] == delimiter)) {
            struct stv_slice cell = {start + 1, (size_t)(close - start - 1)};
            bool is_bare = cell.n > 0 && cell.text[0] > ' ' && close[-1] > ' ';
            *at = (size_t)(close + 1 - line.text);
            return is_bare ? cell : stv_slice_trimmed(cell);
        }
        if (close) { /* doubled quotes, blanks behind: rare, read with care */
            struct stv_slice rest = {start, (size_t)(end - start)}, cell;
            size_t n = stv_line_cells(rest, delimiter, &cell, 1);
            if (n > 0 && cell.text == start + 1) {
                const char *behind = memchr(cell.text + cell.n, delimiter,
                                            (size_t)(end - cell.text - (ptrdiff_t)cell.n));
                *at = behind ? (size_t)(behind - line.text) : line.n;
                return stv_slice_trimmed(cell);
            }
        }
    }
    stop = memchr(start, delimiter, (size_t)(end - start));
    stop = stop ? stop : end;
    *at = (size_t)(stop - line.text);
    while (stop > start && (stop[-1] == ' ' || stop[-1] == '\t'))
        stop--;
    return (struct stv_slice){start, (size_t)(stop - start)};
}

void stv__row_cut(struct stv__rows *rows, struct stv_slice line)
{
    char delimiter = rows->machine->head.delimiter;
    size_t at = 0;
    rows->n_cells = 0;
    for (bool goes_on = true; goes_on; rows->n_cells++) {
        struct stv_slice cell = next_cell(line, delimiter, &at);
        if (rows->n_cells < STV__CELLS_MAX)
            rows->cells[rows->n_cells] = cell;
        goes_on = at < line.n;
        at += goes_on;
    }
}

void stv__row_take(struct stv__rows *rows, int64_t time_s, size_t at, const double *values)
{
    struct stv_machine *machine = rows->machine;
    struct stv_samples *samples = &machine->samples;
    if (samples->n == samples->capacity) {
        enum stv_status status = stv_samples_add(samples, time_s, at, values);
        rows->status = status != STV_OK ? status : rows->status;
        return;
    }
    size_t k = samples->n++;
    samples->time_s[k] = time_s;
    samples->at[k] = (uint32_t)at;
    for (size_t j = 0; j < machine->n_columns; j++)
        samples->values[machine->columns[j].quantity][k] = values[machine->columns[j].quantity];
}

void stv__row_aside(struct stv__rows *rows, const struct stv_line *line, const char *rule,
                    struct stv_slice found, const char *what)
{
    struct stv_machine *machine = rows->machine;
    char text[96];
    stv_slice_copy(found, text, sizeof text);
    bool is_inside = found.text >= line->all.text && found.text <= line->all.text + line->all.n;
    struct stv_finding finding = {.severity = STV_SET_ASIDE,
                                  .rule = rule,
                                  .file = machine->file,
                                  .row = stv_line_of(machine->text->text, line->at, &rows->cursor),
                                  .column =
                                      is_inside ? (size_t)(found.text - line->all.text) + 1 : 0,
                                  .found = text};
    machine->n_rows++;
    machine->n_set_aside++;
    stv_finding_add(machine->problems, &finding, "%s", what);
}

static struct stv_slice cell_at(const struct stv__rows *rows, size_t idx)
{
    return idx < rows->n_cells && idx < STV__CELLS_MAX ? rows->cells[idx]
                                                       : (struct stv_slice){"", 0};
}

static bool is_of_station(const struct stv__rows *rows)
{
    const struct stv_machine *machine = rows->machine;
    return machine->station_cell == STV_NO_CELL ||
           stv_slice_is(cell_at(rows, machine->station_cell), machine->station);
}

static bool has_more_text(const struct stv__rows *rows)
{
    for (size_t i = rows->machine->usual_cells; i < rows->n_cells; i++)
        if (i >= STV__CELLS_MAX || rows->cells[i].n > 0)
            return true;
    return false;
}

/* Digits after the decimal mark. */
static size_t n_decimals(struct stv_slice cell)
{
    size_t mark = 0, n = 0;
    while (mark < cell.n && cell.text[mark] != '.' && cell.text[mark] != ',')
        mark++;
    for (size_t i = mark + 1; i < cell.n && isdigit((unsigned char)cell.text[i]); i++)
        n++;
    return n;
}

/* A last line without its end may be cut inside its last number: fewer decimals than the first row
 * has. */
static bool is_cut_short(const struct stv__rows *rows, const struct stv_line *line)
{
    const struct stv_machine *machine = rows->machine;
    if (line->has_end || machine->head.n_rows < machine->header_row + 2 || rows->n_cells == 0)
        return false;
    const char *first = stv_csv_text(&machine->head, machine->header_row + 1, rows->n_cells - 1);
    return n_decimals(cell_at(rows, rows->n_cells - 1)) < n_decimals(stv_slice_of(first));
}

/* What is wrong with the shape of a row, or NULL. */
static const char *shape_fault(const struct stv__rows *rows, const struct stv_line *line,
                               const char **out_rule)
{
    *out_rule = "cut";
    if (rows->n_cells < rows->machine->usual_cells)
        return "the row has fewer cells than the others: cut short, not used";
    if (is_cut_short(rows, line))
        return "the last line has no end and a shorter number than the others: cut short, not used";
    *out_rule = "row";
    if (rows->machine->text->n_nul > 0 && memchr(line->all.text, NUL_MARK, line->all.n))
        return "the row has NULs in it, as after a power cut: not used";
    if (rows->n_cells > rows->machine->usual_cells && has_more_text(rows))
        return "the row has more cells than the others, so its columns are in doubt: not used; is "
               "a decimal comma the separator as well?";
    return NULL;
}

/* NULs in front of a row are left out; those inside it are not. */
static void strip_nuls(struct stv_line *line)
{
    size_t n = 0;
    while (n < line->all.n && line->all.text[n] == NUL_MARK)
        n++;
    line->all.text += n;
    line->all.n -= n;
}

/* Lines that are no rows of the table and no faults: the header again, or an event. */
static bool is_no_row(struct stv__rows *rows)
{
    struct stv_machine *machine = rows->machine;
    const char *head = stv_csv_text(&machine->head, machine->header_row, machine->time_cell);
    struct stv_slice time = cell_at(rows, machine->time_cell);
    if (!machine->has_no_header && time.n > 0 && stv_slice_is(time, head)) {
        bool is_same = true;
        for (size_t j = 0; j < machine->n_columns; j++)
            is_same = is_same && stv_slice_is(cell_at(rows, machine->columns[j].cell_idx),
                                              stv_csv_text(&machine->head, machine->header_row,
                                                           machine->columns[j].cell_idx));
        rows->has_new_header = rows->has_new_header || !is_same;
        return true;
    }
    return false;
}

/* Empty value cells beside another cell that says something. */
static bool is_event(const struct stv__rows *rows)
{
    const struct stv_machine *machine = rows->machine;
    bool says_more = false;
    for (size_t i = 0; i < rows->n_cells && i < STV__CELLS_MAX; i++) {
        bool is_value = false;
        for (size_t j = 0; j < machine->n_columns; j++)
            is_value = is_value || machine->columns[j].cell_idx == i;
        if (is_value && rows->cells[i].n > 0)
            return false;
        bool has_letter = rows->cells[i].n > 1 && isalpha((unsigned char)rows->cells[i].text[0]);
        says_more = says_more || (!is_value && i != machine->time_cell &&
                                  i != machine->time_of_day_cell && has_letter);
    }
    return says_more;
}

static void add_pending(struct stv__rows *rows, const struct stv_line *line)
{
    if (rows->n_pending == rows->pending_room) {
        size_t room = rows->pending_room ? 2 * rows->pending_room : 16;
        size_t *grown = realloc(rows->pending, room * sizeof *grown);
        if (!grown) {
            rows->status = STV_E_MEMORY;
            return;
        }
        rows->pending = grown;
        rows->pending_room = room;
    }
    rows->pending[rows->n_pending++] = line->at;
}

/* The line that starts at a byte. */
static struct stv_line line_at(const struct stv_machine *machine, size_t at)
{
    struct stv_lines lines = {.text = machine->text->text, .n = machine->text->n, .next = at};
    struct stv_line line = {.at = at};
    (void)stv_lines_next(&lines, &line);
    return line;
}

static void flush_pending(struct stv__rows *rows)
{
    for (size_t i = 0; i < rows->n_pending; i++) {
        struct stv_line line = line_at(rows->machine, rows->pending[i]);
        stv__row_aside(rows, &line, "time", line.all,
                       "is not a date and time: the row is not used");
    }
    rows->n_pending = 0;
}

static void note_trailer(struct stv__rows *rows)
{
    if (rows->n_pending == 0)
        return;
    struct stv_line line = line_at(rows->machine, rows->pending[0]);
    char found[96];
    stv_slice_copy(line.all, found, sizeof found);
    struct stv_finding finding = {
        .severity = STV_NOTED,
        .rule = "trailer",
        .file = rows->machine->file,
        .row = stv_line_of(rows->machine->text->text, line.at, &rows->cursor),
        .count = rows->n_pending,
        .found = found};
    stv_finding_add(rows->machine->problems, &finding,
                    "lines behind the last row are no rows: passed over");
}

/* A line with fewer cells than a row and no digit at its start is no damaged row. */
static bool is_status_line(const struct stv__rows *rows, const struct stv_line *line)
{
    return rows->n_cells < rows->machine->usual_cells && line->all.n > 0 &&
           !isdigit((unsigned char)line->all.text[0]);
}

/* A value with a clock of its own is a sample of its own. */
static void take_alone(struct stv__rows *rows, const struct stv_line *line,
                       const struct stv_machine_column *column, double value)
{
    double alone[STV_WQ_N];
    int64_t own_s;
    for (size_t i = 0; i < STV_WQ_N; i++)
        alone[i] = (double)NAN;
    alone[column->quantity] = value;
    rows->machine->has_own_clocks = true;
    if (!stv__row_time(rows, column->time_cell, &own_s))
        stv__row_take(rows, own_s, line->at, alone);
}

static void count_empty(struct stv__rows *rows, const struct stv_line *line, size_t n_aside_before)
{
    struct stv_machine *machine = rows->machine;
    if (is_event(rows)) {
        machine->n_events++;
        return;
    }
    machine->n_rows++;
    machine->n_set_aside++;
    if (machine->n_values_set_aside > n_aside_before) { /* each was said: now they are a row */
        machine->n_values_set_aside = n_aside_before;
        return;
    }
    machine->n_empty++;
    rows->last_empty_at = line->at;
    if (machine->n_empty == 1)
        rows->first_empty_at = line->at;
}

static void read_values(struct stv__rows *rows, const struct stv_line *line, int64_t time_s)
{
    struct stv_machine *machine = rows->machine;
    double values[STV_WQ_N];
    bool has_value = false;
    size_t n_before = machine->n_values_set_aside;
    for (size_t j = 0; j < machine->n_columns; j++) {
        const struct stv_machine_column *column = &machine->columns[j];
        double value = stv__row_value(rows, line, j);
        bool is_alone = column->time_cell != STV_NO_CELL && isfinite(value);
        has_value = has_value || isfinite(value);
        values[column->quantity] = is_alone ? (double)NAN : value;
        if (is_alone)
            take_alone(rows, line, column, value);
    }
    if (!has_value) {
        count_empty(rows, line, n_before);
        return;
    }
    machine->n_rows++;
    stv__row_take(rows, time_s, line->at, values);
}

static void read_row(struct stv__rows *rows, struct stv_line *line)
{
    struct stv_machine *machine = rows->machine;
    const char *rule;
    int64_t time_s;
    strip_nuls(line);
    if (line->all.n == 0 || line->all.text[0] == '#')
        return;
    stv__row_cut(rows, line->all);
    if (!is_of_station(rows))
        return;
    if (rows->has_new_header) {
        stv__row_aside(rows, line, "header", line->all,
                       "another header stands above in the middle of the file, and the columns "
                       "under it are in doubt: not used; split the file there");
        return;
    }
    const char *fault = stv__row_time(rows, machine->time_cell, &time_s);
    if (fault && is_no_row(rows)) {
        machine->n_events++;
        return;
    }
    if (fault && is_status_line(rows, line) && rows->n_pending < PENDING_MOST) {
        add_pending(rows, line);
        return;
    }
    flush_pending(rows);
    rule = "time";
    struct stv_slice found = cell_at(rows, machine->time_cell);
    if (!fault)
        fault = shape_fault(rows, line, &rule);
    if (fault && rows->n_cells < machine->usual_cells && !line->has_end) {
        rule = "cut";
        fault = "the last line has no end and fewer cells than the others: cut short, not used";
    }
    if (fault) {
        stv__row_aside(rows, line, rule, found, fault);
    } else if (time_s > machine->latest_s) {
        stv__row_aside(rows, line, "time", found, "the date is in the future: the row is not used");
    } else if (time_s < machine->from_s || time_s > machine->to_s) {
        machine->n_outside++;
    } else {
        read_values(rows, line, time_s);
    }
}

/* Whether rows may have the layout that stv__rows_fast knows: the cells are the time and then the
 * columns, in order, and the clock never changes. */
static bool may_be_fast(const struct stv_machine *machine)
{
    if (machine->time_cell != 0 || machine->time_of_day_cell != STV_NO_CELL ||
        machine->station_cell != STV_NO_CELL || machine->clock.has_summer || machine->is_daily ||
        machine->is_typical || machine->n_columns == 0 || machine->n_columns > 2 ||
        machine->head.delimiter == '.' || machine->usual_cells != machine->n_columns + 1)
        return false;
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].cell_idx != j + 1 || isnan(machine->columns[j].scale.factor) ||
            machine->columns[j].time_cell != STV_NO_CELL)
            return false;
    return true;
}

static void read_lines(struct stv__rows *rows)
{
    struct stv_machine *machine = rows->machine;
    const char *text = machine->text->text, *end = text + machine->text->n;
    const char *at = text + machine->data_at;
    bool is_fast = may_be_fast(machine);
    while (at < end && rows->status == STV_OK) {
        if (is_fast && rows->n_pending == 0)
            at = stv__rows_fast(rows, at, end);
        if (at == end)
            break;
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        struct stv_line line = {.all = {at, (size_t)((stop ? stop : end) - at)},
                                .at = (size_t)(at - text),
                                .has_end = stop != NULL};
        while (line.all.n > 0 && line.all.text[line.all.n - 1] == '\r')
            line.all.n--;
        if (line.all.n > 0 && (*at > ' ' || stv_slice_trimmed(line.all).n > 0))
            read_row(rows, &line);
        at = stop ? stop + 1 : end;
    }
    note_trailer(rows);
}

static void note_once(const struct stv_machine *machine, const char *rule, size_t count,
                      const char *what)
{
    struct stv_finding finding = {
        .severity = STV_NOTED, .rule = rule, .file = machine->file, .count = count};
    if (count > 0)
        stv_finding_add(machine->problems, &finding, "%s", what);
}

static void note_empty(const struct stv__rows *rows)
{
    const struct stv_machine *machine = rows->machine;
    struct stv_line_cursor cursor = {0};
    struct stv_finding finding = {
        .severity = STV_NOTED, .rule = "gap", .file = machine->file, .count = machine->n_empty};
    if (machine->n_empty == 0)
        return;
    finding.row = stv_line_of(machine->text->text, rows->first_empty_at, &cursor);
    finding.last_row = stv_line_of(machine->text->text, rows->last_empty_at, &cursor);
    stv_finding_add(machine->problems, &finding, "rows without any value: the same as a gap");
}

/* What only the whole file shows. */
static enum stv_status judge_whole(const struct stv__rows *rows)
{
    const struct stv_machine *machine = rows->machine;
    if (!rows->has_afternoon && rows->n_back_half_day >= HALF_DAYS_LEAST) {
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL,
                        "no time of day is 13:00 or later and the time goes back by half a day "
                        "again and again: a clock of twelve hours without AM and PM, so that "
                        "morning and afternoon cannot be told apart; export with 24 hours");
        return STV_E_PARSE;
    }
    note_once(machine, "time", rows->n_serial,
              "stamps are a spreadsheet's day numbers, read in its usual system of 1900; one that "
              "counts from 1904 would be four years and a day later");
    note_once(machine, "event", machine->n_events,
              "lines that tell of an event, or the header again: passed over");
    note_empty(rows);
    if (machine->text->n_nul) {
        struct stv_finding finding = {.severity = STV_NOTED,
                                      .rule = "row",
                                      .file = machine->file,
                                      .row = machine->text->nul_line,
                                      .last_row = machine->text->nul_last_line,
                                      .count = machine->text->n_nul};
        stv_finding_add(machine->problems, &finding,
                        "NULs in the file, as after a power cut: left out");
    }
    if (machine->n_other_units) {
        struct stv_finding finding = {.severity = STV_SUSPECT,
                                      .rule = "unit",
                                      .file = machine->file,
                                      .count = machine->n_other_units};
        stv_finding_add(machine->problems, &finding,
                        "the unit changes inside the file: each cell is read in the unit that it "
                        "names");
    }
    return STV_OK;
}

static size_t expected_rows(const struct stv_machine *machine)
{
    size_t n = machine->text->n - machine->data_at, shortest = SIZE_MAX;
    for (size_t row = machine->header_row + 1; row + 1 < machine->head.n_rows; row++) {
        const char *this = stv_csv_text(&machine->head, row, 0);
        size_t length = (size_t)(stv_csv_text(&machine->head, row + 1, 0) - this);
        if (*this && length < shortest)
            shortest = length;
    }
    return n / (shortest < LEAST_LINE || shortest > n ? LEAST_LINE : shortest) + 2;
}

enum stv_status stv__machine_read(struct stv_machine *machine)
{
    unsigned set = 0;
    struct stv__rows rows = {.machine = machine, .last_second_s = -1};
    rows.walk.clock = machine->clock;
    for (size_t j = 0; j < machine->n_columns; j++) {
        set |= STV_SAMPLES_BIT(machine->columns[j].quantity);
        rows.n_needed = machine->columns[j].cell_idx + 1 > rows.n_needed
                            ? machine->columns[j].cell_idx + 1
                            : rows.n_needed;
    }
    for (int j = 0; j < STV_WQ_N; j++)
        stv_reading_limits((enum stv_weather_quantity)j, &rows.least[j], &rows.most[j]);
    enum stv_status status = stv_samples_init(&machine->samples, set, expected_rows(machine));
    if (status != STV_OK)
        return status;
    read_lines(&rows);
    status = rows.status == STV_OK ? judge_whole(&rows) : rows.status;
    free(rows.pending);
    return status;
}

void stv__machine_free(struct stv_machine *machine)
{
    stv_samples_free(&machine->samples);
    stv_csv_free(&machine->head);
}
