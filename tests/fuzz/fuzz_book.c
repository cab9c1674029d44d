/* Any bytes as a book: its files one after the other, cut at the byte 0x1E, in the order book.yaml,
 * casks.csv, history.csv, gauges.csv, loggers.csv. */
#include "ingest/book.h"
#include "tests/fuzz/fuzz_file.h"

#include <string.h>

#define CUT 0x1E

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void write_book(const uint8_t *data, size_t size)
{
    static const char *const names[] = {"book.yaml", "casks.csv", "history.csv", "gauges.csv",
                                        "loggers.csv"};
    char path[FUZZ_PATH];
    size_t at = 0;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const uint8_t *cut = at < size ? memchr(data + at, CUT, size - at) : NULL;
        size_t end = cut ? (size_t)(cut - data) : size;
        (void)unlink(fuzz_path(names[i], path));
        if (end > at) /* an empty part leaves the file out */
            fuzz_write(names[i], data + at, end - at, path);
        at = end < size ? end + 1 : size;
    }
}

static void read_book(bool keep_going)
{
    struct stv_book book;
    struct stv_problems problems;
    stv_problems_init(&problems);
    enum stv_status status = stv_book_read(fuzz_folder(), keep_going, &problems, &book);
    if (status == STV_OK && !keep_going && problems.n_by_severity[STV_REFUSED] > 0)
        abort(); /* refused rows went through */
    if (status != STV_OK && problems.n_total == 0 && status != STV_E_MEMORY)
        abort(); /* refused without a word */
    stv_book_free(&book);
    stv_problems_free(&problems);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    write_book(data, size);
    read_book(false);
    read_book(true);
    return 0;
}
