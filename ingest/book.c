/* The order in which a book's files are read: what the later ones refer to comes first.  A fault
 * never stops the reading, so that a person fixes a book once; what is refused decides only at
 * the end whether the book is handed out. */
#include "ingest/book.h"

#include "ingest/book_parts.h"
#include "ingest/gauge_check.h"
#include "ingest/gauge_parts.h"
#include "ingest/weather_meta.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum stv_hemisphere stv__book_side(const struct stv_book *book)
{
    if (!book->has_site || book->site.latitude_deg == 0.0)
        return STV_HEMISPHERE_UNSAID;
    return book->site.latitude_deg > 0.0 ? STV_NORTH : STV_SOUTH;
}

void *stv__grown(void *items, size_t n, size_t item_size)
{
    if (n != 0 && (n < 4 || (n & (n - 1)) != 0))
        return items;
    size_t capacity = n == 0 ? 4 : 2 * n;
    return realloc(items, capacity * item_size);
}

bool stv__join_path(const char *folder, const char *name, char out[STV__PATH_MAX])
{
    bool is_alone = name[0] == '/' || strcmp(folder, ".") == 0;
    int n = is_alone ? snprintf(out, STV__PATH_MAX, "%s", name)
                     : snprintf(out, STV__PATH_MAX, "%s/%s", folder, name);
    return n >= 0 && n < STV__PATH_MAX;
}

bool stv__exists(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 || (errno != ENOENT && errno != ENOTDIR);
}

size_t stv__n_refused(const struct stv_problems *problems)
{
    return problems->n_by_severity[STV_REFUSED];
}

struct stv_book stv__book_blank(void)
{
    struct stv_book book = {.as_of_day_d = INT64_MIN,
                            .gaps = stv_gap_rules_default(),
                            .rules = stv_house_rules_default(),
                            .wood_rules = stv_wood_rules_default(),
                            .water = stv__water_unsaid(),
                            .params = stv_params_default(),
                            .numbers = stv_cask_numbers_default(),
                            .gauge_numbers = stv_gauge_numbers_default(),
                            .prices = stv_prices_unsaid(),
                            .cask_plan = stv_cask_plan_unsaid()};
    stv_weather_meta_init(&book.weather.meta);
    return book;
}

void stv_book_weather_fallbacks(const struct stv_book *book, struct stv_weather_source *source)
{
    source->has_fallback_site = book->has_site;
    source->fallback_site = book->site;
    if (book->has_site) {
        int32_t offset_min = book->clock.standard_offset_min;
        snprintf(source->fallback_clock, sizeof source->fallback_clock, "UTC%c%02d:%02d",
                 offset_min < 0 ? '-' : '+', abs(offset_min) / 60, abs(offset_min) % 60);
    }
}

static void keep_first(enum stv_status *worst, enum stv_status status)
{
    if (*worst == STV_OK || status == STV_E_MEMORY)
        *worst = status;
}

/* The tables, each even when an earlier one could not be read, as far as it can stand alone. */
static enum stv_status read_tables(struct stv__book_reader *reader)
{
    enum stv_status casks = stv__book_casks(reader);
    enum stv_status worst = casks;
    if (casks == STV_OK)
        keep_first(&worst, stv__book_history(reader));
    if (casks == STV_OK)
        keep_first(&worst, stv__book_gauges(reader));
    keep_first(&worst, stv__book_loggers(reader));
    return worst;
}

static void say_what_hangs(const struct stv__book_reader *reader)
{
    if (reader->n_hanging > 0)
        stv_problem_add(reader->problems, STV_NOTED, reader->folder, 0, 0, NULL,
                        "%zu more rows are left out because they hang on rows that were refused",
                        reader->n_hanging);
}

static bool is_refused_at(const struct stv_problems *problems, const char *path, size_t row)
{
    for (size_t i = 0; i < problems->n; i++)
        if (problems->items[i].severity == STV_REFUSED && problems->items[i].row == row &&
            strcmp(problems->items[i].file, path) == 0)
            return true;
    return false;
}

/* Casks whose later rows are left out: of what they hold after that day nothing is known. */
static enum stv_status say_what_is_cut(const struct stv__book_reader *reader)
{
    struct stv_book *book = reader->book;
    size_t n_casks = book->ledger.n_casks;
    if (!reader->breaks)
        return STV_OK;
    for (size_t c = 0; c < n_casks; c++) {
        const struct stv__break *at = &reader->breaks[c];
        if (at->day_d == INT64_MAX)
            continue;
        if (!book->cut_from_d) {
            book->cut_from_d = malloc(n_casks * sizeof *book->cut_from_d);
            if (!book->cut_from_d)
                return STV_E_MEMORY;
            for (size_t i = 0; i < n_casks; i++)
                book->cut_from_d[i] = INT64_MAX;
        }
        book->cut_from_d[c] = at->day_d;
        const char *path = at->row ? reader->history_path : reader->casks_path;
        size_t row = at->row ? at->row : book->ledger.casks[c].row;
        bool is_named = is_refused_at(reader->problems, path, row);
        if (is_named && !at->is_poured_into)
            continue;
        struct stv_date from =
            at->day_d == INT64_MIN ? (struct stv_date){0} : stv_date_from_day(at->day_d);
        char day[32] = "its first day";
        if (at->day_d != INT64_MIN)
            snprintf(day, sizeof day, "%d-%02d-%02d", (int)from.year, from.month, from.day);
        stv_problem_add(reader->problems, STV_REFUSED, path, row, 0, NULL,
                        "cask %s: its history is left out from %s on, for this row %s; what is "
                        "told of it after that is not so, nor the sums that it is part of",
                        book->ledger.casks[c].id, day,
                        is_named ? "was refused and pours into it"
                                 : "hangs on one that was refused");
    }
    return STV_OK;
}

static enum stv_status read_all(struct stv__book_reader *reader, bool *out_is_contradiction)
{
    struct stv_book *book = reader->book;
    enum stv_status status = stv__book_yaml(reader);
    if (status != STV_OK)
        return status; /* nothing else can be understood without it */
    stv__book_names(reader);
    status = read_tables(reader);
    if (status == STV_E_MEMORY || !reader->breaks)
        return status;
    enum stv_status check = stv__book_check_ledger(reader, out_is_contradiction);
    keep_first(&status, check);
    if (status == STV_OK)
        status = stv__gauge_days(reader);
    if (reader->n_hanging == 0) /* a row that is left out would pass for a slip of the gauge */
        stv__gauge_check(reader);
    if (book->as_of_day_d == INT64_MIN) {
        book->as_of_day_d = reader->last_day_d;
        book->as_of_table = reader->last_table;
    }
    return status;
}

_Static_assert(sizeof((struct stv_book *)0)->folder == STV__PATH_MAX, "one length of paths");

/* "examples/book/" as "examples/book"; false when it is too long. */
static bool tidy_folder(const char *folder, char out[STV__PATH_MAX])
{
    size_t n = strlen(folder);
    while (n > 1 && folder[n - 1] == '/')
        n--;
    if (n == 0 || n >= STV__PATH_MAX)
        return false;
    memcpy(out, folder, n);
    out[n] = '\0';
    return true;
}

static void free_reader(struct stv__book_reader *reader)
{
    stv_table_free(&reader->casks);
    stv_table_free(&reader->history);
    stv_table_free(&reader->gauges);
    stv__ids_free(&reader->ids);
    free(reader->breaks);
    free(reader->is_wine_wood);
    free(reader);
}

enum stv_status stv_book_read(const char *folder, bool keep_going, struct stv_problems *problems,
                              struct stv_book *out)
{
    *out = stv__book_blank();
    size_t n_before = stv__n_refused(problems);
    struct stv__book_reader *reader = calloc(1, sizeof *reader);
    if (!reader)
        return STV_E_MEMORY;
    reader->book = out;
    reader->problems = problems;
    reader->last_day_d = INT64_MIN;
    bool is_contradiction = false;
    enum stv_status status = STV_E_IO;
    if (!tidy_folder(folder, out->folder)) {
        stv_problem_add(problems, STV_REFUSED, folder, 0, 0, NULL, "is not a folder's path");
    } else {
        reader->folder = out->folder;
        status = read_all(reader, &is_contradiction);
        size_t n_refused = stv__n_refused(problems) - n_before;
        if (status == STV_OK && n_refused > 0 && !keep_going)
            status = is_contradiction ? STV_E_CONSISTENCY : STV_E_PARSE;
        if (keep_going && status == STV_OK) {
            say_what_hangs(reader);
            status = say_what_is_cut(reader);
        }
    }
    free_reader(reader);
    if (status != STV_OK)
        stv_book_free(out);
    return status;
}

void stv_book_free(struct stv_book *book)
{
    if (!book)
        return;
    free(book->cut_from_d);
    free(book->warehouses);
    free(book->gauges);
    free(book->loggers);
    free(book->bottlings);
    free(book->prices.casks);
    free(book->cask_plan.fills);
    stv_ledger_free(&book->ledger);
    *book = (struct stv_book){0};
}
