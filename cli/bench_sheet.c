/* A sheet worked out row by row, in memory that does not grow with it: the user's cells are given
 * back as they were, the answers stand behind them, and a row that cannot be worked out keeps its
 * place with the reason in its last cell. */
#include "cli/bench.h"

#include "cli/exit_code.h"
#include "cli/messages.h"
#include "cli/session.h"
#include "ingest/csv_stream.h"
#include "ingest/write_stream.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#define WHY_MAX 512
#define UNIT_MAX 32
#define COLUMNS_MAX 256
#define NUMBER_MAX 32
#define TYPED_MAX 128 /* a cell that is a number with its unit */

/* What a column of the sheet is for. */
struct column {
    const struct stv_bench_column *meaning; /* NULL: the user's own, kept and not read */
    char unit[UNIT_MAX];                    /* from the header; "" when the cells say it */
    bool has_bad_unit; /* named like an option, with a unit that it cannot have */
};

struct sheet {
    const struct stv_options *options;
    const struct stv_bench_sum *sum;
    const struct stv_bench_shared *shared;
    const char *file;
    struct stv_csv_stream *in;
    struct stv_write_stream *out;
    struct column columns[COLUMNS_MAX];
    size_t n_columns;
    char delimiter;
    bool has_decimal_comma;             /* answers are written with it too */
    struct stv_bench_reader line_words; /* what the command line says for every row */
    struct stv_problems problems;
    struct stv_text row; /* the row being written */
    size_t n_rows, n_bad, n_attention, n_doubtful;
    /* First decimal comma and point of a sheet that is not parted by commas; 0: none. */
    size_t comma_line, point_line;
};

/* --- the header ------------------------------------------------------------------------------ */

/* Letters alike in size, and '-', '_' and blanks alike. */
static char plain(char letter)
{
    return letter == '-' || letter == '_' ? ' ' : (char)tolower((unsigned char)letter);
}

/* Words that sheets use for a column, beside the option's own name. */
static const struct {
    const char *word;
    enum stv_option option;
} other_words[] = {{"temperature", STV_OPT_TEMP},
                   {"hydrometer", STV_OPT_READING},
                   {"gross weight", STV_OPT_GROSS},
                   {"tare weight", STV_OPT_TARE},
                   {"net weight", STV_OPT_NET}};

/* True when head is `name`, perhaps with a unit behind it, in brackets or not, which is copied; a
 * repeatable one may have a number: "part 2". */
static bool splits_into(const char *head, const char *name, bool is_numbered, char unit[UNIT_MAX])
{
    size_t n = strlen(name), used = 0;
    for (size_t i = 0; i < n; i++)
        if (!head[i] || plain(head[i]) != plain(name[i]))
            return false;
    const char *rest = head + n, *number = is_numbered ? "0123456789" : "";
    if (*rest && !strchr(" _-.[(", *rest) && !strchr(number, *rest))
        return false;
    rest += strspn(rest, " _-.");
    rest += strspn(rest, number);
    for (rest += strspn(rest, " _-.[("); *rest && used + 1 < UNIT_MAX; rest++)
        if (!strchr("])", *rest))
            unit[used++] = *rest == '_' ? ' ' : *rest;
    while (used > 0 && unit[used - 1] == ' ')
        used--;
    unit[used] = '\0';
    return true;
}

/* A unit of the column's dimension; a reading may also be a density. */
static bool unit_is_known(const struct stv_bench_column *meaning, const char *unit)
{
    char unused[WHY_MAX];
    if (!unit[0])
        return true;
    if (meaning->dimension == STV_DIM_N)
        return false;
    return stv_unit_fits(unit, meaning->dimension, unused, sizeof unused) ||
           (meaning->option == STV_OPT_READING &&
            stv_unit_fits(unit, STV_DIM_DENSITY, unused, sizeof unused));
}

/* Takes the column for a meaning when the head is its name and no longer name has taken it. */
static void try_name(const char *head, const char *name, const struct stv_bench_column *meaning,
                     size_t *longest, struct column *out)
{
    char unit[UNIT_MAX] = "";
    bool is_numbered = stv_option_table()[meaning->option].is_repeatable;
    if (strlen(name) <= *longest || !splits_into(head, name, is_numbered, unit))
        return;
    if (!unit_is_known(meaning, unit)) {
        out->has_bad_unit = out->has_bad_unit || strpbrk(head, "[(") != NULL;
        return;
    }
    out->has_bad_unit = false;
    *longest = strlen(name);
    out->meaning = meaning;
    snprintf(out->unit, sizeof out->unit, "%s", unit);
}

/* The longest name that fits decides: "filled at [C]" is not "filled". */
static void find_meaning(const struct stv_bench_sum *sum, const char *head, struct column *out)
{
    size_t longest = 0;
    *out = (struct column){0};
    for (size_t i = 0; i < sum->n_columns; i++) {
        const struct stv_bench_column *meaning = &sum->columns[i];
        try_name(head, stv_option_table()[meaning->option].name, meaning, &longest, out);
        for (size_t k = 0; k < sizeof other_words / sizeof other_words[0]; k++)
            if (other_words[k].option == meaning->option)
                try_name(head, other_words[k].word, meaning, &longest, out);
    }
}

static bool is_repeatable(enum stv_option option)
{
    return stv_option_table()[option].is_repeatable;
}

/* Two columns of one meaning would leave it open which counts. */
static const char *said_twice(const struct sheet *sheet)
{
    for (size_t i = 0; i < sheet->n_columns; i++)
        for (size_t k = 0; k < i; k++)
            if (sheet->columns[i].meaning &&
                sheet->columns[i].meaning == sheet->columns[k].meaning &&
                !is_repeatable(sheet->columns[i].meaning->option))
                return stv_option_table()[sheet->columns[i].meaning->option].name;
    return NULL;
}

/* Names of columns that are the user's own and no slip of ours. */
static bool is_known_own(const char *head)
{
    static const char *const own[] = {"cask", "date", "by", "id", "run", "vat", "note"};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        if (strcasecmp(head, own[i]) == 0)
            return true;
    return false;
}

/* A column that is kept and not read, but looks as if it were meant: named like an option, or with
 * a unit behind its name. */
static void doubt_unread(struct sheet *sheet, const struct stv_csv_line *line, size_t i)
{
    const char *names[STV_OPT_N], *head = line->cells[i];
    char plain_head[UNIT_MAX];
    size_t n = 0;
    for (int k = 0; k < STV_OPT_N; k++)
        if (stv_option_is_for((enum stv_option)k, sheet->options->command))
            names[n++] = stv_option_table()[k].name;
    snprintf(plain_head, sizeof plain_head, "%.*s", (int)strcspn(head, "[("), head);
    plain_head[strcspn(plain_head, " ")] = '\0';
    const char *nearest = stv_nearest_word(plain_head, names, n);
    if (is_known_own(head) || (!nearest && !strpbrk(head, "[(")))
        return;
    sheet->n_doubtful++;
    stv_problem_add(
        &sheet->problems, STV_NOTED, sheet->file, line->line, line->columns[i], head,
        "this column is kept but not read%s%s%s; columns are named as the options, with "
        "a unit in brackets behind",
        nearest ? ": did you mean " : "", nearest ? nearest : "",
        nearest && strcmp(nearest, "market") == 0 ? " (said once, as --market)" : "");
}

/* Which columns are read, and which only kept. */
static void note_columns(struct sheet *sheet, const struct stv_csv_line *line)
{
    struct stv_text read = {0}, kept = {0};
    for (size_t i = 0; i < line->n_cells; i++) {
        struct stv_text *list = sheet->columns[i].meaning ? &read : &kept;
        stv_text_format(list, "%s%s", list->n ? ", " : "", line->cells[i]);
    }
    stv_messages_note(sheet->options, "Columns read: %s. Kept, not read: %s.",
                      stv_text_string(&read), kept.n ? stv_text_string(&kept) : "none");
    stv_text_free(&read);
    stv_text_free(&kept);
}

static const char *read_header(struct sheet *sheet, const struct stv_csv_line *line)
{
    static char why[WHY_MAX];
    if (line->n_cells > COLUMNS_MAX)
        return "has more than 256 columns: cut it";
    sheet->n_columns = line->n_cells;
    size_t n_read = 0;
    for (size_t i = 0; i < line->n_cells; i++) {
        find_meaning(sheet->sum, line->cells[i], &sheet->columns[i]);
        n_read += sheet->columns[i].meaning != NULL;
        if (!sheet->columns[i].meaning && line->cells[i][0])
            doubt_unread(sheet, line, i);
    }
    for (size_t i = 0; i < line->n_cells; i++)
        if (sheet->columns[i].has_bad_unit) {
            snprintf(why, sizeof why,
                     "has the column \"%.60s\", whose unit is not one of what it measures%s",
                     line->cells[i],
                     strstr(line->cells[i], "gal") || strstr(line->cells[i], "proof")
                         ? ": write US or UK before it"
                         : "");
            return why;
        }
    const char *twice = said_twice(sheet);
    if (twice) {
        snprintf(why, sizeof why, "has two columns for %s: name one of them otherwise", twice);
        return why;
    }
    if (n_read > 0) {
        note_columns(sheet, line);
        return NULL;
    }
    size_t used = (size_t)snprintf(why, sizeof why, "has no column that is read. These are:");
    for (size_t i = 0; i < sheet->sum->n_columns && used < sizeof why; i++)
        used += (size_t)snprintf(why + used, sizeof why - used, "%s %s", i ? "," : "",
                                 stv_option_table()[sheet->sum->columns[i].option].name);
    return why;
}

/* --- rows ------------------------------------------------------------------------------------ */

/* A cell of the user's, as it was: quoted only where CSV needs it. */
static void add_cell(struct sheet *sheet, const char *cell)
{
    const char special[] = {sheet->delimiter, '"', '\n', '\r', '\0'};
    if (!strpbrk(cell, special)) {
        stv_text_add(&sheet->row, cell);
        return;
    }
    stv_text_add(&sheet->row, "\"");
    for (const char *at = cell; *at; at++)
        stv_text_add_bytes(&sheet->row, *at == '"' ? "\"\"" : at, *at == '"' ? 2 : 1);
    stv_text_add(&sheet->row, "\"");
}

static void add_delimiter(struct sheet *sheet)
{
    stv_text_add_bytes(&sheet->row, &sheet->delimiter, 1);
}

static void add_number(struct sheet *sheet, double value)
{
    char digits[NUMBER_MAX];
    if (!isfinite(value))
        return;
    int n = snprintf(digits, sizeof digits, "%.9g", value);
    char *point = sheet->has_decimal_comma ? memchr(digits, '.', (size_t)n) : NULL;
    if (point)
        *point = ',';
    add_cell(sheet, digits);
}

static void add_user_cells(struct sheet *sheet, const struct stv_csv_line *line)
{
    size_t n = line->n_cells > sheet->n_columns ? line->n_cells : sheet->n_columns;
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            add_delimiter(sheet);
        if (i < line->n_cells)
            add_cell(sheet, line->cells[i]);
    }
}

static void write_row(struct sheet *sheet)
{
    stv_text_add(&sheet->row, "\n");
    stv_write_stream_bytes(sheet->out, stv_text_string(&sheet->row), sheet->row.n);
    sheet->row.n = 0;
}

/* A name of ours that the user already has gets a word more. */
static void add_result_name(struct sheet *sheet, const struct stv_csv_line *header,
                            const char *name, size_t n)
{
    add_delimiter(sheet);
    stv_text_add_bytes(&sheet->row, name, n);
    for (size_t i = 0; i < header->n_cells; i++)
        if (strlen(header->cells[i]) == n && strncmp(header->cells[i], name, n) == 0) {
            stv_text_add(&sheet->row, "_worked_out");
            return;
        }
}

static size_t count_results(const struct stv_bench_sum *sum)
{
    size_t n = 1;
    for (const char *at = sum->result_names; *at; at++)
        n += *at == ',';
    return n;
}

static void write_header(struct sheet *sheet, const struct stv_csv_line *line)
{
    add_user_cells(sheet, line);
    for (const char *at = sheet->sum->result_names; *at;) {
        size_t n = strcspn(at, ",");
        add_result_name(sheet, line, at, n);
        at += n + (at[n] == ',');
    }
    add_result_name(sheet, line, "warning", strlen("warning"));
    add_result_name(sheet, line, "problem", strlen("problem"));
    write_row(sheet);
}

static bool is_blank_cell(const char *cell)
{
    return !cell[0] || strcmp(cell, "-") == 0;
}

/* Takes a row's cells into the reader; commas holds the texts that were changed for it. */
static void take_cells(struct sheet *sheet, const struct stv_csv_line *line,
                       struct stv_bench_reader *reader, char commas[][TYPED_MAX])
{
    for (size_t i = 0; i < sheet->n_columns && i < line->n_cells; i++) {
        const struct column *column = &sheet->columns[i];
        const char *cell = line->cells[i];
        if (!column->meaning || is_blank_cell(cell))
            continue;
        if (sheet->delimiter != ',' && column->meaning->dimension != STV_DIM_N &&
            stv_bench_undo_comma(cell, commas[i], sizeof commas[i]))
            cell = commas[i];
        stv_bench_take_cell(reader,
                            (struct stv_bench_word){column->meaning->option, cell,
                                                    column->unit[0] ? column->unit : NULL, i});
    }
    if (line->n_cells > sheet->n_columns)
        stv_bench_fault(
            reader, STV_E_PARSE, STV_OPT_N,
            "The row has %zu cells and the header %zu: quote a cell that holds a \"%c\".",
            line->n_cells, sheet->n_columns, sheet->delimiter);
}

static void add_warnings(struct sheet *sheet, const struct stv_bench_notes *notes)
{
    struct stv_text joined = {0};
    stv_bench_join(notes, &joined);
    add_cell(sheet, stv_text_string(&joined));
    stv_text_free(&joined);
}

static void set_aside(struct sheet *sheet, const struct stv_csv_line *line,
                      const struct stv_bench_reader *reader)
{
    bool has_cell = reader->column < line->n_cells;
    for (size_t i = 0; i < count_results(sheet->sum) + 2; i++)
        add_delimiter(sheet);
    add_cell(sheet, reader->why);
    stv_problem_add(&sheet->problems, STV_SET_ASIDE, sheet->file, line->line,
                    has_cell ? line->columns[reader->column] : 0, NULL, "%s", reader->why);
    sheet->n_bad++;
}

static void work_row(struct sheet *sheet, const struct stv_csv_line *line)
{
    static struct stv_bench_reader reader;
    static struct stv_bench_notes notes;
    static char commas[COLUMNS_MAX][TYPED_MAX];
    double numbers[STV_BENCH_RESULTS_MAX];
    reader = sheet->line_words;
    notes.n = 0;
    notes.needs_attention = false;
    take_cells(sheet, line, &reader, commas);
    if (sheet->comma_line && sheet->point_line)
        stv_bench_fault(
            &reader, STV_E_PARSE, STV_OPT_N,
            "The sheet has decimal commas (line %zu) and points (line %zu), which could be "
            "read two ways: write all alike.",
            sheet->comma_line, sheet->point_line);
    const void *sum_case = sheet->sum->work(&reader, sheet->shared, &notes);
    sheet->n_rows++;
    add_user_cells(sheet, line);
    if (reader.status != STV_OK) {
        set_aside(sheet, line, &reader);
        write_row(sheet);
        return;
    }
    sheet->sum->results(sum_case, numbers);
    for (size_t i = 0, n = count_results(sheet->sum); i < n; i++) {
        add_delimiter(sheet);
        add_number(sheet, numbers[i]);
    }
    add_delimiter(sheet);
    add_warnings(sheet, &notes);
    add_delimiter(sheet);
    sheet->n_attention += notes.needs_attention;
    write_row(sheet);
}

/* Notes the first decimal comma and the first decimal point of a row. */
static void look_at_decimals(struct sheet *sheet, const struct stv_csv_line *line)
{
    char unused[TYPED_MAX];
    for (size_t i = 0; i < line->n_cells && i < sheet->n_columns; i++) {
        const struct stv_bench_column *meaning = sheet->columns[i].meaning;
        if (!meaning || meaning->dimension == STV_DIM_N)
            continue;
        const char *point = strchr(line->cells[i], '.');
        if (!sheet->comma_line && stv_bench_undo_comma(line->cells[i], unused, sizeof unused))
            sheet->comma_line = line->line;
        if (!sheet->point_line && point && isdigit((unsigned char)point[1]))
            sheet->point_line = line->line;
    }
}

/* Reads a file once for its decimals before it is worked out: a comma in one row and a point in
 * another leave open what the point means. */
static enum stv_status settle_decimals(struct sheet *sheet, char *why, size_t size)
{
    struct stv_csv_stream *in = NULL;
    struct stv_csv_line line;
    struct stat found;
    bool can_look = sheet->delimiter != ',' && stat(sheet->file, &found) == 0 &&
                    S_ISREG(found.st_mode); /* a pipe can be read only once */
    if (!can_look || stv_csv_stream_open(sheet->file, &in, why, size) != STV_OK)
        return STV_OK; /* what is wrong with the file is said when it is worked out */
    enum stv_status status = stv_csv_stream_next(in, &line, why, size);
    while (status == STV_OK && stv_csv_stream_next(in, &line, why, size) == STV_OK)
        look_at_decimals(sheet, &line);
    stv_csv_stream_close(in);
    sheet->has_decimal_comma = sheet->comma_line > 0;
    if (!sheet->comma_line || !sheet->point_line)
        return STV_OK;
    snprintf(
        why, size,
        "has a decimal comma in line %zu and a point in line %zu, which could be read two ways: "
        "write all alike",
        sheet->comma_line, sheet->point_line);
    return STV_E_PARSE;
}

static enum stv_status work_rows(struct sheet *sheet, char *why, size_t size)
{
    struct stv_csv_line line;
    enum stv_status status = stv_csv_stream_next(sheet->in, &line, why, size);
    if (status == STV_OK) {
        const char *fault = read_header(sheet, &line);
        if (fault) {
            snprintf(why, size, "%s", fault);
            return STV_E_PARSE;
        }
        status = settle_decimals(sheet, why, size);
        if (status == STV_OK)
            write_header(sheet, &line);
    }
    while (status == STV_OK &&
           (status = stv_csv_stream_next(sheet->in, &line, why, size)) == STV_OK) {
        if (sheet->delimiter != ',')
            look_at_decimals(sheet, &line);
        if (sheet->n_rows == 0)
            sheet->has_decimal_comma = sheet->comma_line > 0;
        work_row(sheet, &line);
        if (sheet->row.has_failed)
            return STV_E_MEMORY;
    }
    return status == STV_E_NO_DATA ? STV_OK : status;
}

static int tell(struct sheet *sheet)
{
    const struct stv_options *options = sheet->options;
    stv_messages_problems(options, &sheet->problems);
    stv_messages_note(options,
                      "Rows: %zu, worked out %zu, set aside %zu (each in its place, with the "
                      "reason), to look at %zu.",
                      sheet->n_rows, sheet->n_rows - sheet->n_bad, sheet->n_bad,
                      sheet->n_attention);
    if (sheet->shared->market)
        stv_messages_note(options, "Held against the rules of %s (%s).",
                          sheet->shared->market->name, sheet->shared->market->label);
    if (sheet->has_decimal_comma)
        stv_messages_note(options, "Decimal commas were read as such, and the answers have them.");
    stv_messages_note(options, "%s %s", sheet->sum->basis, stv_bench_duty);
    for (size_t i = 0; sheet->sum->cautions[i]; i++)
        stv_messages_note(options, "%s", sheet->sum->cautions[i]);
    bool wants_look = sheet->n_bad || sheet->n_attention || sheet->n_doubtful;
    return wants_look ? STV_EXIT_ATTENTION : STV_EXIT_DONE;
}

int stv_bench_sheet(const struct stv_options *options, const struct stv_bench_sum *sum,
                    const struct stv_bench_shared *shared)
{
    static struct sheet sheet;
    char why[WHY_MAX] = "", message[2 * WHY_MAX];
    sheet = (struct sheet){.options = options, .sum = sum, .shared = shared};
    sheet.file = stv_options_text(options, STV_OPT_SHEET);
    if (stv_options_has(options, STV_OPT_JSON))
        return stv_refuse(options, NULL, STV_E_USAGE,
                          "A sheet is given back as CSV: leave --json out.");
    const char *path = stv_options_text(options, STV_OPT_OUTPUT), *about = sheet.file;
    stv_problems_init(&sheet.problems);
    sheet.line_words.is_sheet = true;
    stv_bench_take_options(&sheet.line_words, options);
    enum stv_status status = stv_csv_stream_open(sheet.file, &sheet.in, why, sizeof why);
    if (status == STV_OK) {
        sheet.delimiter = stv_csv_stream_delimiter(sheet.in);
        status = stv_write_stream_open(path, &sheet.out, why, sizeof why);
        about = status == STV_OK ? about : path;
    }
    if (status == STV_OK)
        status = work_rows(&sheet, why, sizeof why);
    if (status == STV_OK) {
        about = path;
        status = stv_write_stream_commit(sheet.out, why, sizeof why);
        sheet.out = NULL;
    }
    stv_write_stream_drop(sheet.out);
    stv_csv_stream_close(sheet.in);
    int code;
    if (status == STV_OK) {
        code = tell(&sheet);
    } else {
        snprintf(message, sizeof message, "%s: %s.", about, why[0] ? why : stv_status_text(status));
        code = stv_refuse(options, &sheet.problems, status, message);
    }
    stv_text_free(&sheet.row);
    stv_problems_free(&sheet.problems);
    return code;
}
