/* The CSV reader on friendly and hostile bytes: delimiters, quotes, line ends, places, and what is
 * not CSV at all. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/csv.h"

#include <stdint.h>
#include <string.h>

#define WHY 192

static struct stv_csv parse(const char *bytes, size_t n)
{
    struct stv_csv csv;
    char why[WHY] = "";
    enum stv_status status = stv_csv_parse(bytes, n, &csv, why, sizeof why);
    if (status != STV_OK)
        print_error("%s\n", why);
    stv_assert_ok(status);
    return csv;
}

static struct stv_csv parse_text(const char *text)
{
    return parse(text, strlen(text));
}

static void assert_cell(const struct stv_csv *csv, size_t row, size_t index, const char *want)
{
    assert_string_equal(stv_csv_text(csv, row, index), want);
}

static size_t column_of(const struct stv_csv *csv, size_t row, size_t index)
{
    return csv->cells[csv->rows[row].first_cell + index].column;
}

static void assert_refused(const char *bytes, size_t n, const char *phrase)
{
    struct stv_csv csv;
    char why[WHY] = "";
    enum stv_status status = stv_csv_parse(bytes, n, &csv, why, sizeof why);
    stv_csv_free(&csv);
    if (!strstr(why, phrase))
        print_error("said: %s\n", why);
    stv_assert_status(status, STV_E_PARSE);
    assert_non_null(strstr(why, phrase));
}

static void plain_table(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("cask, size ,note\n"
                                    "# a remark, with commas\n"
                                    "\n"
                                    "12,200 L,  two words  \n"
                                    "  \n"
                                    "13,,x\n");
    assert_int_equal(csv.delimiter, ',');
    assert_int_equal(csv.n_rows, 3);
    assert_cell(&csv, 0, 1, "size");
    assert_cell(&csv, 1, 2, "two words");
    assert_cell(&csv, 2, 1, "");
    assert_cell(&csv, 2, 9, "");
    assert_cell(&csv, 9, 0, "");
    assert_int_equal(csv.rows[1].line, 4);
    assert_int_equal(csv.rows[2].line, 6);
    assert_int_equal(column_of(&csv, 1, 1), 4);
    assert_int_equal(column_of(&csv, 1, 2), 12);
    assert_true(csv.rows[2].has_line_end);
    assert_int_equal(stv_csv_find(&csv, 0, "SIZE"), 1);
    assert_int_equal(stv_csv_find(&csv, 0, "siz"), SIZE_MAX);
    stv_csv_free(&csv);
    assert_null(csv.text);
    stv_csv_free(&csv);
    stv_csv_free(NULL);
}

static void delimiters(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("a;b;c\n1,5;2,5;3\n");
    assert_int_equal(csv.delimiter, ';');
    assert_cell(&csv, 1, 0, "1,5");
    stv_csv_free(&csv);
    csv = parse_text("a\tb\tc\n\t2\t\n");
    assert_int_equal(csv.delimiter, '\t');
    assert_int_equal(csv.rows[1].n_cells, 3);
    assert_cell(&csv, 1, 1, "2");
    stv_csv_free(&csv);
    /* As many commas as semicolons: the semicolon parts, the comma is inside. */
    csv = parse_text("time;temp, C;rh, %\n1;2;3\n");
    assert_int_equal(csv.delimiter, ';');
    stv_csv_free(&csv);
    /* A quoted delimiter does not count; a line without any leaves the choice to the next. */
    csv = parse_text("My logger\n\"a,b,c,d\";e\n");
    assert_int_equal(csv.delimiter, ';');
    assert_cell(&csv, 1, 0, "a,b,c,d");
    stv_csv_free(&csv);
    csv = parse_text("alone\n");
    assert_int_equal(csv.delimiter, ',');
    stv_csv_free(&csv);
    /* A first column that is headed "#" is no remark. */
    csv = parse_text("#,time\n1,2\n");
    assert_int_equal(csv.n_rows, 2);
    stv_csv_free(&csv);
}

static void quotes(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("a,b,c\n"
                                    "\"one, two\",\"say \"\"when\"\"\",\"\"\n"
                                    "\"two\nlines\",x,y\n"
                                    "p,q,r\n");
    assert_cell(&csv, 1, 0, "one, two");
    assert_cell(&csv, 1, 1, "say \"when\"");
    assert_cell(&csv, 1, 2, "");
    assert_int_equal(column_of(&csv, 1, 1), 12);
    assert_cell(&csv, 2, 0, "two\nlines");
    assert_cell(&csv, 2, 1, "x");
    assert_int_equal(csv.rows[2].line, 3);
    assert_int_equal(csv.rows[3].line, 5);
    stv_csv_free(&csv);
    /* Inches, and text after a closing quote. */
    csv = parse_text("a,b\n3\" deep,\"x\"y\n");
    assert_cell(&csv, 1, 0, "3\" deep");
    assert_cell(&csv, 1, 1, "xy");
    stv_csv_free(&csv);
}

static void open_quote_costs_one_row(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("a,b\n\"open,1\nc,2\nd,3\n");
    assert_int_equal(csv.n_rows, 4);
    assert_cell(&csv, 1, 0, "\"open");
    assert_cell(&csv, 1, 1, "1");
    assert_cell(&csv, 3, 1, "3");
    stv_csv_free(&csv);
    /* Closed, but far below: not meant either. */
    char text[400] = "a,b\n\"open,1\n";
    for (int i = 0; i < STV_CSV_QUOTED_LINES_MAX + 5; i++)
        strcat(text, "c,2\n");
    strcat(text, "\"late\",9\n");
    csv = parse_text(text);
    assert_int_equal(csv.n_rows, STV_CSV_QUOTED_LINES_MAX + 8);
    stv_csv_free(&csv);
}

static void line_ends_and_marks(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("\xEF\xBB\xBF"
                                    "a,b\r\n1,2\r\n\r\n3,4");
    assert_cell(&csv, 0, 0, "a");
    assert_int_equal(column_of(&csv, 0, 0), 1);
    assert_cell(&csv, 1, 1, "2");
    assert_int_equal(csv.rows[2].line, 4);
    assert_false(csv.rows[2].has_line_end);
    stv_csv_free(&csv);
    csv = parse_text("a,b\r1,2\r\r3,4\r");
    assert_int_equal(csv.n_rows, 3);
    assert_int_equal(csv.rows[2].line, 4);
    assert_cell(&csv, 2, 1, "4");
    assert_true(csv.rows[2].has_line_end);
    stv_csv_free(&csv);
}

static void letters_beyond_ascii(void **state)
{
    (void)state;
    struct stv_csv csv = parse_text("t\xC3\xA9l\xC3\xA9,b\n\xE6\x97\xA5\xE6\x9C\xAC,2\n");
    assert_int_equal(csv.bad_utf8_line, 0);
    assert_int_equal(column_of(&csv, 0, 1), 6);
    assert_int_equal(column_of(&csv, 1, 1), 4);
    stv_csv_free(&csv);
    /* Latin-1 degree sign, as many loggers write it. */
    csv = parse_text("time,temp \xB0"
                     "C\n1,\xE9\x85\n");
    assert_int_equal(csv.bad_utf8_line, 1);
    assert_int_equal(csv.bad_utf8_column, 11);
    assert_cell(&csv, 0, 1,
                "temp \xC2\xB0"
                "C");
    assert_cell(&csv, 1, 1, "\xC3\xA9?");
    stv_csv_free(&csv);
}

static void late_nul_hides_nothing(void **state)
{
    (void)state;
    size_t n = 6000;
    char *bytes = malloc(n);
    assert_non_null(bytes);
    for (size_t i = 0; i < n; i++)
        bytes[i] = "1,2\n"[i % 4];
    bytes[5000] = '\0'; /* in the place of a "1" */
    struct stv_csv csv = parse(bytes, n);
    assert_cell(&csv, 1250, 0, "\x1A");
    assert_cell(&csv, 1250, 1, "2");
    stv_csv_free(&csv);
    free(bytes);
}

static void not_csv(void **state)
{
    (void)state;
    assert_refused("", 0, "empty");
    assert_refused(" \r\n\n# only a remark\n", 20, "empty");
    assert_refused("%PDF-1.7 and so on", 18, "PDF");
    assert_refused("PK\x03\x04rest", 8, "spreadsheet");
    assert_refused("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8, "office");
    assert_refused("\x89PNG\r\n\x1A\n", 8, "picture");
    assert_refused("\x1F\x8B\x08", 3, "gzip");
    assert_refused("a\0\0\0,\0", 6, "not a text file");
    assert_refused("a\x01\x02,b", 5, "not a text file");
    assert_refused("  <!DOCTYPE html>\n<html>", 24, "web page");
    assert_refused("<?xml version=\"1.0\"?>", 21, "web page");
}

static void other_encodings(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t n;
    } same[] = {
        {"\xFF\xFE"
         "a\0,\0\xE9\0\n\0",
         10},
        {"\xFE\xFF\0a\0,\0\xE9\0\n", 10},
        {"a\0,\0\xE9\0\n\0", 8}, /* UTF-16 without its mark */
        {"a,\xE9\n", 4},         /* Latin-1 */
        {"\xEF\xBB\xBF"
         "a,\xC3\xA9\n",
         8},
    };
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        struct stv_csv csv = parse(same[i].bytes, same[i].n);
        assert_cell(&csv, 0, 0, "a");
        assert_cell(&csv, 0, 1, "\xC3\xA9");
        stv_csv_free(&csv);
    }
}

static void long_line_and_many_cells(void **state)
{
    (void)state;
    size_t n = 1 << 20;
    char *bytes = malloc(n);
    assert_non_null(bytes);
    memset(bytes, 'x', n);
    memcpy(bytes, "a,b\n", 4);
    bytes[n - 1] = '\n';
    struct stv_csv csv = parse(bytes, n);
    assert_int_equal(strlen(stv_csv_text(&csv, 1, 0)), n - 5);
    stv_csv_free(&csv);
    memset(bytes, ',', n);
    csv = parse(bytes, n);
    assert_int_equal(csv.n_rows, 1);
    assert_int_equal(csv.rows[0].n_cells, n + 1);
    stv_csv_free(&csv);
    free(bytes);
}

static void every_short_text_is_harmless(void **state)
{
    (void)state;
    /* All texts of six letters out of a nasty alphabet: nothing is read twice or out of bounds
     * (the sanitizers watch), and cells never outnumber what the letters can part. */
    static const char letters[] = "a,\"\n\r;";
    size_t n_letters = sizeof letters - 1, n_texts = 1;
    for (int i = 0; i < 6; i++)
        n_texts *= n_letters;
    for (size_t k = 0; k < n_texts; k++) {
        char text[6];
        for (size_t i = 0, rest = k; i < sizeof text; i++, rest /= n_letters)
            text[i] = letters[rest % n_letters];
        struct stv_csv csv;
        char why[WHY];
        enum stv_status status = stv_csv_parse(text, sizeof text, &csv, why, sizeof why);
        size_t n_cells = 0;
        for (size_t row = 0; status == STV_OK && row < csv.n_rows; row++)
            n_cells += csv.rows[row].n_cells;
        assert_true(n_cells <= 7);
        stv_csv_free(&csv);
    }
}

static void files(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct stv_csv csv;
    char why[WHY] = "";
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "t.csv", "a,b\n1,2\n");
    stv_assert_ok(stv_csv_read(path, &csv, why, sizeof why));
    assert_cell(&csv, 1, 1, "2");
    stv_csv_free(&csv);
    stv_assert_status(stv_csv_read(scratch.folder, &csv, why, sizeof why), STV_E_IO);
    assert_non_null(strstr(why, "folder"));
    stv_csv_free(&csv);
    char absent[200];
    snprintf(absent, sizeof absent, "%s/absent.csv", scratch.folder);
    stv_assert_status(stv_csv_read(absent, &csv, why, sizeof why), STV_E_IO);
    assert_non_null(strstr(why, "no such file"));
    stv_csv_free(&csv);
    stv_scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_table),
        cmocka_unit_test(delimiters),
        cmocka_unit_test(quotes),
        cmocka_unit_test(open_quote_costs_one_row),
        cmocka_unit_test(line_ends_and_marks),
        cmocka_unit_test(letters_beyond_ascii),
        cmocka_unit_test(late_nul_hides_nothing),
        cmocka_unit_test(not_csv),
        cmocka_unit_test(other_encodings),
        cmocka_unit_test(long_line_and_many_cells),
        cmocka_unit_test(every_short_text_is_harmless),
        cmocka_unit_test(files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
