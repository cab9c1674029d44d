/* The words of one bench sum, from the command line or from a row of a sheet, read with their
 * units.
 *
 * The first fault stops the reading; the getters return false then, and when nothing was said. */
#ifndef STV_CLI_BENCH_READ_H
#define STV_CLI_BENCH_READ_H

#include "cli/options.h"
#include "ingest/measured.h"
#include "ingest/quantity.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_BENCH_WORDS_MAX 128
#define STV_BENCH_WHY_MAX 640

/* One thing said. */
struct stv_bench_word {
    enum stv_option option;
    const char *text;
    const char *unit; /* from a sheet's header; NULL: the text must say it */
    size_t column;    /* place of the cell in its row; SIZE_MAX: from the command line */
};

struct stv_bench_reader {
    struct stv_bench_word words[STV_BENCH_WORDS_MAX];
    size_t n_words;
    bool is_sheet;               /* of a row: faults name columns, not options */
    enum stv_status status;      /* of the first fault */
    char why[STV_BENCH_WHY_MAX]; /* a whole sentence */
    size_t column;               /* of the fault; SIZE_MAX: not of one cell */
};

/* Takes the words that the command line gives for options that a command reads itself. */
void stv_bench_take_options(struct stv_bench_reader *reader, const struct stv_options *options);

/* "57,3 %vol" to "57.3 %vol", into size bytes; false when there is no comma between digits, or one
 * that may stand between thousands and is left to be refused. */
bool stv_bench_undo_comma(const char *text, char *out, size_t size);

/* Adds one word.  A cell takes the place of what the command line says for that option, except
 * where the option may be repeated in the row itself. */
void stv_bench_take_cell(struct stv_bench_reader *reader, struct stv_bench_word word);

/* Sets the fault, when it is the first: printf-formatted, a whole sentence.  option names where;
 * STV_OPT_N when it is not about one. */
__attribute__((format(printf, 4, 5))) void stv_bench_fault(struct stv_bench_reader *reader,
                                                           enum stv_status status,
                                                           enum stv_option option,
                                                           const char *format, ...);

bool stv_bench_has(const struct stv_bench_reader *reader, enum stv_option option);

/* The k-th word of an option, NULL beyond the last. */
const struct stv_bench_word *stv_bench_word(const struct stv_bench_reader *reader,
                                            enum stv_option option, size_t k);

/* Faults that something needed is missing; true when it is there. */
bool stv_bench_need(struct stv_bench_reader *reader, enum stv_option option, const char *what);

bool stv_bench_quantity(struct stv_bench_reader *reader, enum stv_option option,
                        enum stv_dimension dimension, double *out);
bool stv_bench_measured(struct stv_bench_reader *reader, enum stv_option option,
                        enum stv_dimension dimension, struct stv_measured *out);
/* All words of the option, each a sum, added up. */
bool stv_bench_sum(struct stv_bench_reader *reader, enum stv_option option,
                   enum stv_dimension dimension, struct stv_measured *out);
/* A share; "0.5" without % could be meant either way and is a fault. */
bool stv_bench_share(struct stv_bench_reader *reader, enum stv_option option, double *out_frac);
/* A temperature of spirit, -20..50 C, at which its density is known. */
bool stv_bench_temp(struct stv_bench_reader *reader, enum stv_option option, double *out_c);
/* A volume above 0 and below what any vat holds. */
bool stv_bench_volume(struct stv_bench_reader *reader, enum stv_option option, double *out_l);
bool stv_bench_count(struct stv_bench_reader *reader, enum stv_option option, size_t most,
                     size_t *out);
bool stv_bench_date(struct stv_bench_reader *reader, enum stv_option option, int64_t *out_day_d);
/* True when one of the option's words was said; cells are held against the option's own choices. */
bool stv_bench_choice(struct stv_bench_reader *reader, enum stv_option option, const char *word);

#endif
