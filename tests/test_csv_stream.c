/* The row by row reader against the reader of whole files, in blocks so small that every row is
 * cut somewhere, and its own limits and errors. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/csv.h"
#include "ingest/csv_stream.h"

#include <fcntl.h>
#include <stdint.h>
#include <string.h>

#define WHY 192
#define TINY_BLOCK 16
#define FILE_MAX 16384
#define KIND_BYTES 4096 /* read at once when a file is opened */
#define ROW_MAX STV_CSV_ROW_BYTES_MAX

/* Bytes of a file in the making. */
struct draft {
    char bytes[FILE_MAX];
    size_t n;
    uint64_t dice;
};

/* Source: G. Marsaglia, Xorshift RNGs, J. Stat. Softw. 8 (2003) 14, from memory. */
static size_t roll(struct draft *draft, size_t n_sides)
{
    draft->dice ^= draft->dice << 13;
    draft->dice ^= draft->dice >> 7;
    draft->dice ^= draft->dice << 17;
    return (size_t)(draft->dice >> 20) % n_sides;
}

static void add(struct draft *draft, const char *text)
{
    size_t n = strlen(text);
    assert_true(draft->n + n <= FILE_MAX);
    memcpy(draft->bytes + draft->n, text, n);
    draft->n += n;
}

static struct stv_csv_stream *open_stream(const char *path, size_t block_bytes)
{
    struct stv_csv_stream *stream;
    char why[WHY] = "";
    enum stv_status status = stv__csv_stream_open(path, block_bytes, &stream, why, sizeof why);
    if (status != STV_OK)
        print_error("%s\n", why);
    stv_assert_ok(status);
    return stream;
}

static void next_row(struct stv_csv_stream *stream, struct stv_csv_line *out)
{
    char why[WHY] = "";
    stv_assert_ok(stv_csv_stream_next(stream, out, why, sizeof why));
    assert_string_equal(why, "");
}

static void assert_end(struct stv_csv_stream *stream)
{
    struct stv_csv_line line;
    char why[WHY] = "";
    for (int i = 0; i < 2; i++)
        stv_assert_status(stv_csv_stream_next(stream, &line, why, sizeof why), STV_E_NO_DATA);
    assert_string_equal(why, "");
    stv_csv_stream_close(stream);
}

/* First failure of a stream over a path, after any rows before it. */
static enum stv_status failure_of(const char *path, size_t block_bytes, char why[WHY])
{
    struct stv_csv_stream *stream;
    struct stv_csv_line line;
    why[0] = '\0';
    enum stv_status status = stv__csv_stream_open(path, block_bytes, &stream, why, WHY);
    if (status != STV_OK)
        assert_null(stream);
    while (status == STV_OK)
        status = stv_csv_stream_next(stream, &line, why, WHY);
    stv_csv_stream_close(stream);
    return status;
}

static void assert_fails(const char *path, enum stv_status want, const char *phrase)
{
    static const size_t blocks[] = {TINY_BLOCK, STV_CSV_BLOCK_BYTES};
    for (size_t i = 0; i < 2; i++) {
        char why[WHY];
        stv_assert_status(failure_of(path, blocks[i], why), want);
        if (!strstr(why, phrase))
            print_error("said: %s\n", why);
        assert_non_null(strstr(why, phrase));
    }
}

static void assert_same_row(const struct stv_csv *csv, size_t row, const struct stv_csv_line *line)
{
    const struct stv_csv_row *want = &csv->rows[row];
    assert_int_equal(line->line, want->line);
    assert_int_equal(line->n_cells, want->n_cells);
    assert_int_equal(line->has_line_end, want->has_line_end);
    for (size_t i = 0; i < want->n_cells; i++) {
        const struct stv_csv_cell *cell = &csv->cells[want->first_cell + i];
        assert_string_equal(line->cells[i], cell->text);
        assert_int_equal(line->columns[i], cell->column);
    }
}

/* Both readers over a file: the same rows, or the same refusal. */
static void assert_same(const char *path, size_t block_bytes)
{
    struct stv_csv csv;
    char whole_why[WHY] = "", why[WHY];
    enum stv_status status = stv_csv_read(path, &csv, whole_why, sizeof whole_why);
    if (status != STV_OK) {
        stv_assert_status(failure_of(path, block_bytes, why), status);
        assert_string_equal(why, whole_why);
        stv_csv_free(&csv);
        return;
    }
    struct stv_csv_stream *stream = open_stream(path, block_bytes);
    assert_int_equal(stv_csv_stream_delimiter(stream), csv.delimiter);
    for (size_t row = 0; row < csv.n_rows; row++) {
        struct stv_csv_line line;
        next_row(stream, &line);
        assert_same_row(&csv, row, &line);
    }
    size_t column;
    assert_int_equal(stv_csv_stream_bad_utf8(stream, &column) > 0, csv.bad_utf8_line > 0);
    assert_end(stream);
    stv_csv_free(&csv);
}

static void plain_rows(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct stv_csv_line line;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "a.csv",
                                        "\xEF\xBB\xBF"
                                        "cask; size ;note\r\n"
                                        "# a remark; with semicolons\r\n"
                                        "\r\n"
                                        "t\xC3\xA9;200 L;\"two\n\"\"lines\"\"\" \r\n"
                                        "13;;x");
    struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
    assert_int_equal(stv_csv_stream_delimiter(stream), ';');
    next_row(stream, &line);
    assert_int_equal(line.n_cells, 3);
    assert_string_equal(line.cells[0], "cask");
    assert_int_equal(line.columns[0], 1);
    assert_string_equal(line.cells[1], "size");
    assert_int_equal(line.columns[1], 7);
    next_row(stream, &line);
    assert_int_equal(line.line, 4);
    assert_string_equal(line.cells[2], "two\n\"lines\"");
    assert_int_equal(line.columns[2], 10);
    assert_true(line.has_line_end);
    assert_false(line.is_latin1);
    next_row(stream, &line);
    assert_int_equal(line.line, 6);
    assert_string_equal(line.cells[1], "");
    assert_false(line.has_line_end);
    assert_end(stream);
    stv_csv_stream_close(NULL);
    stv_scratch_close(&scratch);
}

/* Rows of a sensible file, so that what follows lies behind the bytes read at the start. */
static void add_plain_rows(struct draft *draft)
{
    static const char *const heads[] = {"a,b\n", "a;b\r\n", "a\tb\r", "# none\n", "alone\n"};
    static const char *const rows[] = {"1,2\n", "\n", "2;\"3\"\r\n", "# remark \n", "4\t5.25\r"};
    add(draft, heads[roll(draft, 5)]);
    for (size_t least = KIND_BYTES - 64 + roll(draft, 128); draft->n < least;)
        add(draft, rows[roll(draft, 5)]);
}

/* Pieces of which the first few are drawn more often, for a file shall keep to a few of them. */
static void add_pieces(struct draft *draft, const char *const *pieces, size_t n_pieces)
{
    size_t n_drawn = 2 + roll(draft, n_pieces - 1);
    size_t n = roll(draft, 150);
    for (size_t i = 0; i < n; i++)
        add(draft, pieces[roll(draft, n_drawn)]);
}

/* Random files in an encoding, through both readers. */
static void compare_random_files(const char *const *pieces, size_t n_pieces, uint64_t seed)
{
    static const size_t blocks[] = {1, TINY_BLOCK, 61, STV_CSV_BLOCK_BYTES};
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "random.csv", "");
    struct draft draft = {.dice = seed};
    for (int k = 0; k < 1500; k++) {
        draft.n = 0;
        if (k % 4 == 0)
            add(&draft, "\xEF\xBB\xBF");
        if (k % 3 > 0)
            add_plain_rows(&draft);
        add_pieces(&draft, pieces, n_pieces);
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(draft.bytes, 1, draft.n, file), draft.n);
        assert_int_equal(fclose(file), 0);
        assert_same(path, blocks[k % 16 == 0 ? 3 : (size_t)k % 3]);
    }
    stv_scratch_close(&scratch);
}

static void same_as_the_whole_reader(void **state)
{
    (void)state;
    static const char *const pieces[] = {
        "ab",   ",",   "\n", "\"",   "\r\n",     ";",        " ",    "\"\"",
        "\t",   ",\"", "#",  "\r",   "\xC3\xA9", "1.5",      "\",",  "\xE6\x97\xA5",
        "\x1A", "<ab", ", ", "\n\n", "\"\n",     "\"x\"\"y", "\n#,", "\xF0\x9F\xA5\x83"};
    compare_random_files(pieces, sizeof pieces / sizeof pieces[0], 0x2385u);
}

/* No two of these letters make a UTF-8 character, so that each row with one of them is Latin-1 to
 * both readers, and the byte-order mark is dropped by both. */
static void same_in_latin1(void **state)
{
    (void)state;
    static const char *const pieces[] = {"\xE9", ",",    "\n",  "\"",   "\r\n", ";",
                                         " ",    "\xFC", "\r",  "\"\"", "#",    "x\x85y",
                                         "\t",   "1.5",  ",\"", "\"\n"};
    compare_random_files(pieces, sizeof pieces / sizeof pieces[0], 0x8532u);
}

/* Every cut of one row with everything in it, but within a character: half a character makes the
 * whole file Latin-1 to the other reader. */
static void every_cut(void **state)
{
    (void)state;
    static const char row[] = "a , \"b\"\"c\r\n,d\" ,\xC3\xA9\t,\"open,3\" deep\r\n";
    size_t n_half = (size_t)(strchr(row, '\xA9') - row);
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "cut.csv", "");
    for (size_t n = 0; n < sizeof row; n++)
        for (size_t block = 1; n != n_half && block < sizeof row; block++) {
            FILE *file = fopen(path, "wb");
            assert_non_null(file);
            fprintf(file, "h,i\n%*s\n", KIND_BYTES, "");
            assert_int_equal(fwrite(row, 1, sizeof row - 1, file), sizeof row - 1);
            assert_int_equal(fwrite(row, 1, n, file), n);
            assert_int_equal(fclose(file), 0);
            assert_same(path, block);
        }
    stv_scratch_close(&scratch);
}

static void latin1_row_by_row(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct stv_csv_line line;
    size_t column = 0;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "mixed.csv",
                                        "caf\xC3\xA9,b\n"
                                        "1,20 \xB0"
                                        "C,\x85,z\n"
                                        "\xC3\xA9,2\n"
                                        "\xFC,3\n");
    struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
    next_row(stream, &line);
    assert_string_equal(line.cells[0], "caf\xC3\xA9");
    assert_int_equal(stv_csv_stream_bad_utf8(stream, &column), 0);
    next_row(stream, &line);
    assert_true(line.is_latin1);
    assert_int_equal(line.n_cells, 4);
    assert_string_equal(line.cells[1], "20 \xC2\xB0"
                                       "C");
    assert_string_equal(line.cells[2], "?");
    assert_int_equal(line.columns[3], 11);
    next_row(stream, &line);
    assert_false(line.is_latin1);
    assert_string_equal(line.cells[0], "\xC3\xA9");
    assert_int_equal(line.columns[1], 3);
    next_row(stream, &line);
    assert_true(line.is_latin1);
    assert_int_equal(stv_csv_stream_bad_utf8(stream, &column), 2);
    assert_int_equal(column, 6);
    assert_end(stream);
    stv_scratch_close(&scratch);
}

static void open_quote_costs_one_row(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct stv_csv_line line;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "open.csv", "a,b\n\"open,1\nc,2\nd,3\n");
    struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
    next_row(stream, &line);
    next_row(stream, &line);
    assert_string_equal(line.cells[0], "\"open");
    assert_string_equal(line.cells[1], "1");
    next_row(stream, &line);
    assert_string_equal(line.cells[0], "c");
    next_row(stream, &line);
    assert_end(stream);
    stv_scratch_close(&scratch);
}

static void late_nul_hides_nothing(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct stv_csv_line line;
    char bytes[6000];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = "1,2\n"[i % 4];
    bytes[5000] = '\0'; /* in the place of a "1" */
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_bytes(&scratch, "nul.csv", bytes, sizeof bytes);
    assert_same(path, TINY_BLOCK);
    assert_same(path, STV_CSV_BLOCK_BYTES);
    struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
    for (size_t row = 0; row <= 1250; row++)
        next_row(stream, &line);
    assert_string_equal(line.cells[0], "\x1A");
    assert_string_equal(line.cells[1], "2");
    stv_csv_stream_close(stream);
    stv_scratch_close(&scratch);
}

static void refused(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t n;
        const char *phrase;
    } files[] = {
        {"", 0, "empty"},
        {" \r\n\n# only a remark\n", 20, "empty"},
        {"%PDF-1.7 and so on", 18, "PDF"},
        {"PK\x03\x04rest", 8, "spreadsheet"},
        {"\x1F\x8B\x08", 3, "gzip"},
        {"a\0\0\0,\0", 6, "not a text file"},
        {"  <!DOCTYPE html>\n<html>", 24, "web page"},
    };
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char name[16];
        snprintf(name, sizeof name, "%zu.csv", i);
        const char *path = stv_scratch_bytes(&scratch, name, files[i].bytes, files[i].n);
        assert_fails(path, STV_E_PARSE, files[i].phrase);
        if (files[i].bytes[0] != '\x1F') /* the whole-file reader unpacks, this one does not */
            assert_same(path, TINY_BLOCK);
    }
    assert_fails(scratch.folder, STV_E_IO, "folder");
    char absent[200];
    snprintf(absent, sizeof absent, "%s/absent.csv", scratch.folder);
    assert_fails(absent, STV_E_IO, "no such file");
    /* A name that cannot be one. */
    snprintf(absent, sizeof absent, "/dev/null/absent.csv");
    assert_fails(absent, STV_E_IO, "cannot be read");
    stv_scratch_close(&scratch);
}

/* A header, three rows, and a row of n bytes that ends in `end` and starts with `start`. */
static const char *long_row(struct stv_scratch *scratch, size_t n, const char *start,
                            const char *end)
{
    static const char before[] = "a,b\n1,2\n\n3,4\n";
    size_t n_before = sizeof before - 1, n_end = strlen(end);
    char *bytes = malloc(n_before + n);
    assert_non_null(bytes);
    memset(bytes, 'x', n_before + n);
    memcpy(bytes, before, n_before);
    memcpy(bytes + n_before, start, strlen(start));
    memcpy(bytes + n_before + n - n_end, end, n_end);
    char name[16];
    snprintf(name, sizeof name, "%zu.csv", scratch->n);
    const char *path = stv_scratch_bytes(scratch, name, bytes, n_before + n);
    free(bytes);
    return path;
}

static void longest_row(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    char why[WHY];
    stv_scratch_open(&scratch);
    static const char *const ends[] = {"\n", "\r\n", "\r", "x", ",9\n"};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        const char *path = long_row(&scratch, ROW_MAX, "5,", ends[i]);
        assert_same(path, TINY_BLOCK);
        assert_same(path, ROW_MAX);
        assert_fails(long_row(&scratch, ROW_MAX + 1, "5,", ends[i]), STV_E_PARSE, "line 5");
    }
    /* A quote that may be open for longer than a row. */
    assert_fails(long_row(&scratch, 2 * ROW_MAX, "5,\"open\n6,", "7,8\n"), STV_E_PARSE, "line 5");
    /* The failure repeats. */
    const char *path = long_row(&scratch, 2 * ROW_MAX, "# ", "\n");
    struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
    struct stv_csv_line line;
    for (int i = 0; i < 3; i++)
        next_row(stream, &line);
    for (int i = 0; i < 2; i++)
        stv_assert_status(stv_csv_stream_next(stream, &line, why, sizeof why), STV_E_PARSE);
    stv_csv_stream_close(stream);
    stv_scratch_close(&scratch);
}

static void many_cells(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    char *bytes = malloc(ROW_MAX);
    assert_non_null(bytes);
    memset(bytes, ',', ROW_MAX);
    bytes[ROW_MAX - 1] = '\n';
    const char *path = stv_scratch_bytes(&scratch, "wide.csv", bytes, ROW_MAX);
    free(bytes);
    struct stv_csv_stream *stream = open_stream(path, STV_CSV_BLOCK_BYTES);
    struct stv_csv_line line;
    next_row(stream, &line);
    assert_int_equal(line.n_cells, ROW_MAX);
    assert_int_equal(line.columns[ROW_MAX - 1], ROW_MAX);
    assert_end(stream);
    stv_scratch_close(&scratch);
}

/* The line that decides on the delimiter is cut anywhere by what is read at the start. */
static void deciding_line_cut(void **state)
{
    (void)state;
    static const char deciding[] = "a;b,c,d\n";
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "cut.csv", "");
    for (size_t n_before = KIND_BYTES - sizeof deciding; n_before <= KIND_BYTES; n_before++) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        fprintf(file, "#%*s\n%s", (int)n_before - 2, "", deciding);
        assert_int_equal(fclose(file), 0);
        struct stv_csv_stream *stream = open_stream(path, TINY_BLOCK);
        assert_int_equal(stv_csv_stream_delimiter(stream), ',');
        stv_csv_stream_close(stream);
        assert_same(path, TINY_BLOCK);
    }
    stv_scratch_close(&scratch);
}

/* The delimiter is looked for in the first MiB only, by both readers. */
static void late_delimiter(void **state)
{
    (void)state;
    static const size_t n_lines[] = {60000, 80000}; /* of 15 bytes: before and after 1 MiB */
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    for (size_t i = 0; i < 2; i++) {
        char name[16];
        snprintf(name, sizeof name, "%zu.csv", i);
        const char *path = stv_scratch_text(&scratch, name, "");
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        for (size_t k = 0; k < n_lines[i]; k++)
            fprintf(file, "cask %09zu\n", k % 1000);
        fprintf(file, "a;b\n");
        assert_int_equal(fclose(file), 0);
        struct stv_csv_stream *stream = open_stream(path, STV_CSV_BLOCK_BYTES);
        assert_int_equal(stv_csv_stream_delimiter(stream), i == 0 ? ';' : ',');
        stv_csv_stream_close(stream);
        assert_same(path, STV_CSV_BLOCK_BYTES);
    }
    stv_scratch_close(&scratch);
}

/* The cells of a file far longer than a block never lie further apart than the window is long. */
static void memory_is_bounded(void **state)
{
    (void)state;
    size_t n_rows = 200000, block = 4096;
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "long.csv", "");
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    for (size_t row = 0; row < n_rows; row++)
        fprintf(file, "%zu,195.25 L,\"61.5 %%vol\",bench %zu\n", row, row % 7);
    assert_int_equal(fclose(file), 0);
    struct stv_csv_stream *stream = open_stream(path, block);
    struct stv_csv_line line;
    uintptr_t lowest = UINTPTR_MAX, highest = 0;
    for (size_t row = 0; row < n_rows; row++) {
        next_row(stream, &line);
        assert_int_equal(line.line, row + 1);
        uintptr_t first = (uintptr_t)line.cells[0], last = (uintptr_t)line.cells[3];
        if (row < 1000)
            continue; /* until the window has found its length */
        lowest = first < lowest ? first : lowest;
        highest = last > highest ? last : highest;
    }
    assert_true(highest - lowest < 2 * block);
    assert_end(stream);
    stv_scratch_close(&scratch);
}

/* A pipe in the place of standard input, still open at its other end. */
static void standard_input(void **state)
{
    (void)state;
    int ends[2], input = dup(STDIN_FILENO);
    char rows[2 * KIND_BYTES + 2];
    for (size_t i = 0; i < sizeof rows; i++)
        rows[i] = "1;2\n"[i % 4];
    assert_int_equal(pipe(ends), 0);
    assert_true(dup2(ends[0], STDIN_FILENO) >= 0);
    assert_int_equal(write(ends[1], rows, sizeof rows), sizeof rows);
    struct stv_csv_stream *stream;
    struct stv_csv_line line;
    char why[WHY] = "";
    stv_assert_ok(stv_csv_stream_open("-", &stream, why, sizeof why));
    /* Whole rows come although the writer may go on. */
    for (size_t row = 0; row < sizeof rows / 4; row++)
        next_row(stream, &line);
    assert_int_equal(line.line, sizeof rows / 4);
    assert_int_equal(write(ends[1], "345\n", 4), 4);
    assert_int_equal(close(ends[1]), 0);
    next_row(stream, &line);
    assert_string_equal(line.cells[1], "345");
    assert_end(stream);
    assert_true(fcntl(STDIN_FILENO, F_GETFD) >= 0);
    if (input >= 0) {
        assert_true(dup2(input, STDIN_FILENO) >= 0);
        close(input);
    }
    close(ends[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_rows),
        cmocka_unit_test(same_as_the_whole_reader),
        cmocka_unit_test(same_in_latin1),
        cmocka_unit_test(every_cut),
        cmocka_unit_test(latin1_row_by_row),
        cmocka_unit_test(open_quote_costs_one_row),
        cmocka_unit_test(late_nul_hides_nothing),
        cmocka_unit_test(refused),
        cmocka_unit_test(longest_row),
        cmocka_unit_test(many_cells),
        cmocka_unit_test(deciding_line_cut),
        cmocka_unit_test(late_delimiter),
        cmocka_unit_test(memory_is_bounded),
        cmocka_unit_test(standard_input),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
