/* A small good book in a folder of its own, of which a test changes one file. */
#ifndef STV_TESTS_BOOK_CASE_H
#define STV_TESTS_BOOK_CASE_H

#include "tests/check.h"

#include "ingest/book.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Lines are counted from 1 in the tests: keep one string per line. */
static const char good_yaml[] =
    "name: Quill Basin\n"
    "invented: true\n"
    "units: {strength: \"%vol\"}\n"
    "site: {latitude: 35.2, longitude: -101.7, elevation: 1100 m, "
    "clock: \"UTC-06:00\"}\n"
    "warehouses:\n"
    "  - name: Long Shed\n"
    "    kind: racked shed\n"
    "    tiers: 6\n"
    "    bays: 12\n"
    "    depth: 2\n"
    "  - {name: Low Store, kind: dunnage, tiers: 3, bays: 5, depth: 1}\n";

static const char good_casks[] = "cask,size,held,uses\n"
                                 "12,200 L,new,0\n"
                                 "18,200 L,bourbon,1\n"
                                 "A-26,500 L,sherry,0\n";

static const char good_history[] =
    "date,what,cask,to,litres,strength,water,warehouse,tier,bay,depth,soaked,note\n"
    "2024-03-14,fill,12,,195 L,60 %vol,,Long Shed,5,4,1,no,\n"
    "2024-03-14,fill,18,,190 L,63.5,,Long Shed,2,7,1,yes,\n"
    "2024-10-12,move,12,,,,,Low Store,3,1,,,\n"
    "2025-04-02,add water,12,,,,11.7 kg,,,,,,in two turns\n"
    "2025-06-30,transfer,18,A-26,,,,Long Shed,1,1,2,,\n";

static const char good_gauges[] = "date,cask,litres,strength,nose,by,note\n"
                                  "2025-09-24,12,184 L,56.0,nearly,AB,\n";

static const char good_loggers[] =
    "file,warehouse,tier,bay,depth,clock,from,to,temp_correction,rh_correction\n"
    "rack.csv,Long Shed,5,4,1,UTC-06:00,2024-03-15,2024-12-31,-0.3 K,2 %\n"
    "loggers/rack.csv,outdoors,,,,UTC,,,,\n";

struct stv_book_case {
    char folder[128];
    struct stv_problems problems;
    struct stv_book book;
    bool is_read;
};

static const char *const case_files[] = {"book.yaml",  "casks.csv",   "history.csv",
                                         "gauges.csv", "loggers.csv", "loggers/rack.csv"};

static inline void case_write(const struct stv_book_case *one, const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", one->folder, name);
    if (!text) {
        unlink(path);
        return;
    }
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
    assert_int_equal(fclose(file), 0);
}

static inline void case_open(struct stv_book_case *one)
{
    const char *base = getenv("TMPDIR");
    char path[256];
    *one = (struct stv_book_case){0};
    stv_problems_init(&one->problems);
    snprintf(one->folder, sizeof one->folder, "%.90s/stv-book-XXXXXX", base ? base : "/tmp");
    assert_non_null(mkdtemp(one->folder));
    snprintf(path, sizeof path, "%s/loggers", one->folder);
    assert_int_equal(mkdir(path, 0777), 0);
    const char *const texts[] = {good_yaml,   good_casks,   good_history,
                                 good_gauges, good_loggers, "time,temperature [C]\n"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        case_write(one, case_files[i], texts[i]);
}

static inline enum stv_status case_read(struct stv_book_case *one, bool keep_going)
{
    enum stv_status status = stv_book_read(one->folder, keep_going, &one->problems, &one->book);
    one->is_read = true;
    return status;
}

static inline void case_close(struct stv_book_case *one)
{
    char path[256];
    for (size_t i = 0; i < sizeof case_files / sizeof case_files[0]; i++)
        case_write(one, case_files[i], NULL);
    snprintf(path, sizeof path, "%s/loggers", one->folder);
    rmdir(path);
    assert_int_equal(rmdir(one->folder), 0);
    if (one->is_read)
        stv_book_free(&one->book);
    stv_problems_free(&one->problems);
}

static inline void case_print(const struct stv_book_case *one)
{
    for (size_t i = 0; i < one->problems.n; i++) {
        char text[700];
        stv_problem_text(&one->problems.items[i], text, sizeof text);
        print_error("  %s\n", text);
    }
}

/* One slip of the pen: a file's text, and the one refusal that it must give. */
struct stv_slip {
    const char *file, *text;
    size_t row, column;
    const char *found, *phrase;
};

/* True when the first refusal is the wanted one, at its place, and the only one. */
static inline bool case_says(const struct stv_book_case *one, const struct stv_slip *slip)
{
    if (one->problems.n_by_severity[STV_REFUSED] != 1 || one->problems.n < 1)
        return false;
    const struct stv_problem *problem = &one->problems.items[0];
    size_t n = strlen(problem->file), n_file = strlen(slip->file);
    return n >= n_file && strcmp(problem->file + n - n_file, slip->file) == 0 &&
           problem->row == slip->row && problem->column == slip->column &&
           strcmp(problem->found, slip->found) == 0 && strstr(problem->message, slip->phrase);
}

/* Writes the file, reads the book, and wants exactly that refusal. */
static inline void assert_slip(const struct stv_slip *slip)
{
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, slip->file, slip->text);
    enum stv_status status = case_read(&one, false);
    if (!case_says(&one, slip)) {
        print_error("wanted %s:%zu:%zu \"%s\" ... %s; said:\n", slip->file, slip->row, slip->column,
                    slip->found, slip->phrase);
        case_print(&one);
        case_close(&one);
        fail();
    }
    assert_true(status == STV_E_PARSE || status == STV_E_CONSISTENCY || status == STV_E_IO);
    assert_int_equal(one.book.n_warehouses, 0);
    assert_null(one.book.ledger.casks);
    case_close(&one);
}

#endif
