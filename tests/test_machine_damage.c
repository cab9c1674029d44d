/* Laws of the logger reader that hold whatever a file looks like: k bad rows of n give n - k rows
 * and k located findings; counts add up under any damage; no whole row is lost or changed; the fast
 * path reads what the general one reads. */
#include "ingest/logger_parts.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/check.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define ROWS 700 /* half hours, beyond the 12th: the order of dates is not open */
#define STEP_S 1800
#define LINE_BYTES 96
#define TEXT_BYTES ((ROWS + 2) * LINE_BYTES * 2)

/* A generator of the test's own, so that a failure comes again. */
static uint64_t seed;

static uint32_t chance(uint32_t below)
{
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((seed >> 33) % below);
}

enum layout { ISO, GERMAN, AMERICAN, ALONE, QUOTED, LAYOUTS };

static const char *const headers[LAYOUTS] = {
    "time,temperature [C],humidity [%]\n",
    "Datum;Temperatur (C);Feuchte (%)\n",
    "Date Time,Temp (C),RH (%)\n",
    "time,temperature [C]\n",
    "\"time\",\"temperature [C]\",\"humidity [%]\"\r\n",
};

struct row {
    int64_t time_s;
    int hundredths_c, tenths_pct;
};

static struct row row_of(size_t k)
{
    struct row row = {
        stv_day_from_date((struct stv_date){2024, 3, 1}) * STV_DAY_S + (int64_t)k * STEP_S,
        1500 + 700 * (int)(k % 48) / 48 + (int)(k * 7919 % 37), 500 + (int)(k * 104729 % 211)};
    return row;
}

/* The row as a logger of that layout writes it. */
static size_t write_row(enum layout layout, struct row row, char *out)
{
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(row.time_s, 0, &second_s));
    int hour = second_s / STV_HOUR_S, minute = second_s / 60 % 60;
    int c = row.hundredths_c / 100, c_part = row.hundredths_c % 100;
    int pct = row.tenths_pct / 10, pct_part = row.tenths_pct % 10;
    switch (layout) {
    case GERMAN:
        return (size_t)snprintf(out, LINE_BYTES, "%02d.%02d.%04d %02d:%02d;%d,%02d;%d,%d\n",
                                date.day, date.month, date.year, hour, minute, c, c_part, pct,
                                pct_part);
    case AMERICAN:
        return (size_t)snprintf(out, LINE_BYTES, "%d/%d/%04d %d:%02d %s,%d.%02d,%d.%d\n",
                                date.month, date.day, date.year, hour % 12 ? hour % 12 : 12, minute,
                                hour < 12 ? "AM" : "PM", c, c_part, pct, pct_part);
    case ALONE:
        return (size_t)snprintf(out, LINE_BYTES, "%04d-%02d-%02d %02d:%02d:00,%d.%02d\n", date.year,
                                date.month, date.day, hour, minute, c, c_part);
    case QUOTED:
        return (size_t)snprintf(out, LINE_BYTES,
                                "\"%04d-%02d-%02d %02d:%02d\",\"%d.%02d\",\"%d.%d\"\r\n", date.year,
                                date.month, date.day, hour, minute, c, c_part, pct, pct_part);
    default:
        return (size_t)snprintf(out, LINE_BYTES, "%04d-%02d-%02dT%02d:%02d:00,%d.%02d,%d.%d\n",
                                date.year, date.month, date.day, hour, minute, c, c_part, pct,
                                pct_part);
    }
}

/* A row that no reading can use, in one of several ways. */
static size_t write_bad_row(enum layout layout, size_t k, char *out)
{
    char good[LINE_BYTES];
    const char *end = layout == QUOTED ? "\r\n" : "\n";
    size_t n = write_row(layout, row_of(k), good);
    switch (chance(3)) {
    case 0: /* a day that does not exist */
        return (size_t)snprintf(out, LINE_BYTES, "2024-02-31 00:00:00%s%s", strpbrk(good, ",;"),
                                "");
    case 1: /* cut within the stamp */
        return (size_t)snprintf(out, LINE_BYTES, "%.5s%s", good + (layout == QUOTED), end);
    default: /* letters in the stamp */
        memcpy(out, good, n + 1);
        memcpy(out + 3 + (layout == QUOTED), "??", 2);
        return n;
    }
}

struct reading {
    struct stv_text_file text;
    struct stv_problems problems;
    struct stv_logger_report report;
    struct stv_machine machine;
    enum stv_status status;
};

/* Up to the rows in file order, as the reader of logger files does. */
static void read_text(struct reading *one, const char *text, size_t n)
{
    char why[200];
    *one = (struct reading){.status = STV_OK};
    stv_problems_init(&one->problems);
    one->status = stv_text_file_parse(text, n, &one->text, why, sizeof why);
    if (one->status == STV_OK)
        stv_text_file_end_lines(&one->text);
    one->machine = (struct stv_machine){.text = &one->text,
                                        .file = "damaged",
                                        .problems = &one->problems,
                                        .from_s = INT64_MIN,
                                        .to_s = INT64_MAX,
                                        .latest_s = INT64_MAX};
    if (one->status == STV_OK)
        one->status = stv__logger_header(&one->machine, "", &one->report);
    if (one->status == STV_OK)
        one->status = stv__machine_scan(&one->machine);
    if (one->status == STV_OK)
        one->status = stv__machine_read(&one->machine);
}

static void free_reading(struct reading *one)
{
    stv__machine_free(&one->machine);
    stv_problems_free(&one->problems);
    stv_text_file_free(&one->text);
}

/* Whether a row that was set aside stands on that line. */
static bool is_told(const struct stv_problems *problems, size_t line)
{
    for (size_t i = 0; i < problems->n; i++)
        if (problems->items[i].severity == STV_SET_ASIDE && problems->items[i].row <= line &&
            line <= problems->items[i].last_row)
            return true;
    return false;
}

static void check_bad_rows(enum layout layout, size_t n_bad)
{
    static char text[TEXT_BYTES];
    bool is_bad[ROWS] = {false};
    size_t n = strlen(headers[layout]);
    for (size_t left = n_bad; left > 0;) {
        size_t k = chance(ROWS);
        left -= !is_bad[k];
        is_bad[k] = true;
    }
    memcpy(text, headers[layout], n + 1);
    for (size_t k = 0; k < ROWS; k++)
        n +=
            is_bad[k] ? write_bad_row(layout, k, text + n) : write_row(layout, row_of(k), text + n);
    struct reading one;
    read_text(&one, text, n);
    if (n_bad == ROWS) { /* nothing is left to be read: refused, and said */
        assert_true(one.status != STV_OK || one.machine.samples.n == 0);
        free_reading(&one);
        return;
    }
    stv_assert_status(one.status, STV_OK);
    assert_int_equal(one.machine.samples.n, ROWS - n_bad);
    assert_int_equal(one.machine.n_set_aside, n_bad);
    assert_int_equal(one.machine.n_rows, ROWS);
    assert_int_equal(one.problems.n_by_severity[STV_SET_ASIDE], n_bad);
    size_t at = 0;
    for (size_t k = 0; k < ROWS; k++) {
        assert_int_equal(is_told(&one.problems, k + 2), is_bad[k]);
        if (is_bad[k])
            continue;
        struct row row = row_of(k);
        assert_int_equal(one.machine.samples.time_s[at], row.time_s);
        assert_true(one.machine.samples.values[STV_WQ_TEMP_C][at] == row.hundredths_c / 100.0);
        at++;
    }
    free_reading(&one);
}

static void bad_rows_are_located(void **state)
{
    (void)state;
    static const size_t counts[] = {0, 1, 2, 7, 50, 100, 350, 600, 690, ROWS};
    for (int layout = 0; layout < LAYOUTS; layout++)
        for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
            seed = 1000 * (uint64_t)layout + i;
            check_bad_rows((enum layout)layout, counts[i]);
        }
}

/* A few blows at random places; returns the new length. */
static size_t damage(char *text, size_t n)
{
    for (uint32_t blow = 1 + chance(20); blow > 0 && n > 200; blow--) {
        size_t at = chance((uint32_t)n), length = 1 + chance(60);
        char *stop = memchr(text + at, '\n', n - at);
        switch (chance(6)) {
        case 0: /* a bit */
            text[at] = (char)(text[at] ^ (1 << chance(8)));
            break;
        case 1: /* a piece is missing */
            length = at + length > n ? n - at : length;
            memmove(text + at, text + at + length, n - at - length);
            n -= length;
            break;
        case 2: /* a line stands twice */
            if (stop && n + LINE_BYTES < TEXT_BYTES) {
                char *next = memchr(stop + 1, '\n', n - (size_t)(stop + 1 - text));
                length = next ? (size_t)(next - stop) : 0;
                if (length > 0 && length < LINE_BYTES) {
                    memmove(next + 1 + length, next + 1, n - (size_t)(next + 1 - text));
                    memcpy(next + 1, stop + 1, length);
                    n += length;
                }
            }
            break;
        case 3: /* a blank line */
            if (stop && n + 1 < TEXT_BYTES) {
                memmove(stop + 1, stop, n - (size_t)(stop - text));
                n++;
            }
            break;
        case 4: /* NULs, as of a disk that was full */
            memset(text + at, 0, at + length > n ? n - at : length);
            break;
        default: /* the end is missing */
            if (chance(8) == 0)
                n -= chance(500);
        }
    }
    return n;
}

static size_t n_lines(const struct stv_text_file *text)
{
    struct stv_lines lines = {.text = text->text, .n = text->n};
    struct stv_line line = {.number = 0};
    while (stv_lines_next(&lines, &line))
        ;
    return line.number;
}

/* A line that is exactly a row as it was written; its number, or ROWS.  Most are the one that
 * follows on the last. */
static size_t whole_row(enum layout layout, size_t after, const char *line, size_t n)
{
    char want[LINE_BYTES];
    for (size_t i = 1; i <= ROWS; i++) {
        size_t k = (after + i) % ROWS;
        size_t n_want = write_row(layout, row_of(k), want);
        while (n_want > 0 && (want[n_want - 1] == '\n' || want[n_want - 1] == '\r'))
            n_want--;
        if (n_want == n && memcmp(want, line, n) == 0)
            return k;
    }
    return ROWS;
}

/* Every whole row that is left was read as it was written, or is told to be set aside. */
static void check_whole_rows(enum layout layout, const struct reading *one)
{
    struct stv_lines lines = {.text = one->text.text, .n = one->text.n};
    struct stv_line line;
    size_t at = 0, last = ROWS - 1;
    while (stv_lines_next(&lines, &line)) {
        size_t k = line.number > 1 ? whole_row(layout, last, line.all.text, line.all.n) : ROWS;
        while (at < one->machine.samples.n && one->machine.samples.at[at] < line.at)
            at++;
        bool is_used = at < one->machine.samples.n && one->machine.samples.at[at] == line.at;
        if (k == ROWS)
            continue;
        last = k;
        if (!is_used && !is_told(&one->problems, line.number)) {
            print_error("seed %llu: line %zu is lost\n", (unsigned long long)seed, line.number);
            fail();
        }
        if (is_used) {
            struct row row = row_of(k);
            assert_int_equal(one->machine.samples.time_s[at], row.time_s);
            assert_true(one->machine.samples.values[STV_WQ_TEMP_C][at] == row.hundredths_c / 100.0);
        }
    }
}

static void damage_loses_nothing(void **state)
{
    (void)state;
    static char text[TEXT_BYTES];
    size_t n_read = 0;
    for (uint64_t run = 1; run <= 400; run++) {
        seed = run;
        enum layout layout = (enum layout)chance(LAYOUTS);
        size_t n = strlen(headers[layout]);
        memcpy(text, headers[layout], n + 1);
        for (size_t k = 0; k < ROWS; k++)
            n += write_row(layout, row_of(k), text + n);
        n = damage(text, n);
        struct reading one;
        read_text(&one, text, n);
        if (one.status == STV_OK) {
            n_read++;
            assert_int_equal(one.machine.n_rows, one.machine.samples.n + one.machine.n_set_aside);
            for (size_t i = 0; i < one.problems.n; i++)
                assert_true(one.problems.items[i].last_row <= n_lines(&one.text));
            check_whole_rows(layout, &one);
        } else {
            assert_true(one.problems.n_by_severity[STV_REFUSED] > 0 || !one.text.text);
        }
        free_reading(&one);
    }
    assert_true(n_read > 300);
}

/* A number as loggers write them, now and then at the limit of what the fast path takes. */
static void number(char out[24])
{
    static const char *const odd[] = {"-0.0",  "0",   "75",          "-60",    "75.1",
                                      "-60.1", "1e1", "+3.5",        "12.",    ".5",
                                      "007.5", "--1", "9.999999999", "12.3.4", " 4.5"};
    if (chance(8) == 0) {
        snprintf(out, 24, "%s", odd[chance(sizeof odd / sizeof odd[0])]);
        return;
    }
    int decimals = (int)chance(7);
    snprintf(out, 24, "%s%u", chance(3) == 0 ? "-" : "", chance(80));
    if (decimals > 0) {
        size_t n = strlen(out);
        out[n++] = '.';
        while (decimals-- > 0)
            out[n++] = (char)('0' + chance(10));
        out[n] = '\0';
    }
}

static void stamp(char out[24], int64_t *time_s, char mark, bool has_seconds)
{
    *time_s += chance(30) == 0 ? -(int64_t)chance(4000) : (int64_t)chance(4000);
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(*time_s, 0, &second_s));
    int hour = second_s / STV_HOUR_S, minute = second_s / 60 % 60, second = second_s % 60;
    if (chance(40) == 0)
        hour = 24;
    if (chance(40) == 0)
        minute = 60;
    int n = snprintf(out, 24, "%04d-%02d-%02d%c%02d:%02d", date.year, date.month, date.day, mark,
                     hour, minute);
    if (has_seconds)
        snprintf(out + n, 24 - (size_t)n, ":%02d", chance(40) == 0 ? 60 : second);
}

static void both_paths_agree(void **state)
{
    (void)state;
    static char plain[TEXT_BYTES], quoted[TEXT_BYTES];
    for (uint64_t run = 1; run <= 60; run++) {
        seed = 77 * run;
        bool has_two = chance(2), has_seconds = chance(2);
        char mark = chance(2) ? 'T' : ' ';
        const char *end = chance(2) ? "\r\n" : "\n";
        const char *head = has_two ? "time,temperature [F],humidity [%]" : "time,temperature [C]";
        size_t n = (size_t)sprintf(plain, "%s%s", head, end);
        size_t m = (size_t)sprintf(quoted, "%s%s", head, end);
        int64_t time_s = stv_day_from_date((struct stv_date){2024, 2, 20}) * STV_DAY_S;
        for (size_t k = 0; k < ROWS; k++) {
            char when[24], one[24], two[24];
            stamp(when, &time_s, mark, has_seconds);
            number(one);
            number(two);
            n += (size_t)sprintf(plain + n, has_two ? "%s,%s,%s%s" : "%s,%s%.0s%s", when, one, two,
                                 end);
            m += (size_t)sprintf(quoted + m,
                                 has_two ? "\"%s\",\"%s\",\"%s\"%s" : "\"%s\",\"%s\"%.0s%s", when,
                                 one, two, end);
        }
        struct reading a, b;
        read_text(&a, plain, n);
        read_text(&b, quoted, m);
        stv_assert_status(a.status, STV_OK);
        stv_assert_status(b.status, STV_OK);
        assert_int_equal(a.machine.n_rows, b.machine.n_rows);
        assert_int_equal(a.machine.n_set_aside, b.machine.n_set_aside);
        assert_int_equal(a.machine.samples.n, b.machine.samples.n);
        assert_int_equal(a.problems.n_total, b.problems.n_total);
        size_t bytes = a.machine.samples.n * sizeof(double);
        assert_memory_equal(a.machine.samples.time_s, b.machine.samples.time_s, bytes);
        assert_memory_equal(a.machine.samples.values[STV_WQ_TEMP_C],
                            b.machine.samples.values[STV_WQ_TEMP_C], bytes);
        if (has_two)
            assert_memory_equal(a.machine.samples.values[STV_WQ_RH_FRAC],
                                b.machine.samples.values[STV_WQ_RH_FRAC], bytes);
        free_reading(&a);
        free_reading(&b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_rows_are_located),
        cmocka_unit_test(damage_loses_nothing),
        cmocka_unit_test(both_paths_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
