/* The book a distillery keeps: book.yaml, casks.csv, history.csv, gauges.csv, loggers.csv. */
#ifndef STV_INGEST_BOOK_H
#define STV_INGEST_BOOK_H

#include "ingest/book_stock.h"
#include "ingest/gauge_numbers.h"
#include "ingest/logger_file.h"
#include "ingest/market.h"
#include "ingest/problem.h"
#include "ingest/weather_file.h"
#include "model/bottling_plan.h"
#include "model/building.h"
#include "model/cask_numbers.h"
#include "model/gap_fill.h"
#include "model/ledger.h"
#include "model/outlook.h"
#include "model/reduction.h"
#include "model/transfer.h"

#include <stdbool.h>

struct stv_warehouse {
    char name[STV_NAME_MAX];
    struct stv_building building;
    size_t by_hand_tiers;   /* tiers a hand reaches from the floor */
    size_t with_lift_tiers; /* tiers the gear reaches */
    /* Of each tier: the most that one of its bays may bear, all depths together; 0: not said. */
    double plate_kg[STV_TIERS_MAX];
    char filled_in[512]; /* keys the kind filled in, for "how we know" */
};

/* What a nose said; they are an order. */
enum stv_nose {
    STV_NOSE_NONE,
    STV_NOSE_NOT_YET,
    STV_NOSE_NEARLY,
    STV_NOSE_READY,
    STV_NOSE_OVER,
    STV_NOSE_N
};
/* "not yet", "nearly", "ready", "over"; "" for none. */
const char *stv_nose_name(enum stv_nose nose);

/* Wood drinks 3 to 6 L after it was weighed dry. */
enum stv_tare_was { STV_TARE_UNSAID, STV_TARE_DRY, STV_TARE_WET };

/* What the litres of a gauge come from. */
enum stv_volume_from {
    STV_VOLUME_NONE,
    STV_VOLUME_LITRES,
    STV_VOLUME_DIP,
    STV_VOLUME_DRY_DIP,
    STV_VOLUME_WEIGHT /* worked out of liquid_kg and the strength: the same knowledge, once */
};

/* A figure as it stands on paper, in whatever unit; 0 when there is none, or it is a sum. */
struct stv_typed_figure {
    double value_nd;
    int n_decimals;
};

/* A row of gauges.csv.  Numbers are NaN where nothing was measured; an sd is one standard
 * deviation, as typed or of ingest/gauge_numbers.h. */
struct stv_gauge {
    int64_t day_d;
    int cask_idx;
    double volume20_l, volume_sd_l; /* at 20 C */
    enum stv_volume_from volume_from;
    double abv20_frac, abv_sd_frac;                       /* true, whatever the instrument showed */
    struct stv_typed_figure litres_typed, strength_typed; /* of the cells behind these two */
    bool is_reading;                /* abv20_frac comes of the instrument and the temperature */
    double temp_c;                  /* of the spirit */
    double liquid_kg, liquid_sd_kg; /* mass of the spirit: of net, or of gross less a wet tare */
    double gross_kg, gross_sd_kg;   /* weighed in air: cask, what it drank, and spirit */
    double tare_kg, tare_sd_kg;     /* weighed in air */
    enum stv_tare_was tare_was;     /* when tare_kg was weighed */
    double colour_card;             /* by the house's card, 1..colour_of: an order, no measure */
    double colour_of;               /* how many the card has */
    bool is_colour_of_other_liquid; /* wine coloured the wood too: the colour is not wood's alone */
    enum stv_nose nose;             /* of this nose alone: noses do not share a scale */
    double nose_score;              /* 0..10 */
    bool is_blind;                  /* nosed, or held to the card, without knowing the cask */
    bool seeps;                     /* it weeps somewhere: a tick, no measure */
    char by[32];
    size_t row;            /* line of gauges.csv */
    double day_width_d;    /* as in struct stv_event */
    bool is_suspect;       /* a typing error by all that stands around it: listed, never used */
    bool may_not_be_mixed; /* water, a top-up or a transfer came in shortly before */
};

struct stv_months {
    bool is_said;
    bool holds[12];
};

/* One planned bottling of `bottlings:`, or one release of a series of it. */
struct stv_book_bottling {
    char name[STV_NAME_MAX];
    struct stv_planned_bottling wish;
    double day_width_d;            /* as in struct stv_event: a month is its middle, give or take */
    double samples_nd, archive_nd; /* bottles; together the wish's kept_back_nd */
    size_t release, n_releases;    /* 1 of 1 outside a series */
};

/* How casks are brought down (`water:`). */
struct stv_water_house {
    bool is_said; /* else the rest means nothing */
    struct stv_reduction_rules rules;
    int64_t by_day_d; /* the last day; INT64_MIN: at an age */
    double age_y;     /* of the youngest part; the planned age unless said */
};

/* Who says what range of wood the house calls ready. */
enum stv_wood_from { STV_WOOD_USUAL, STV_WOOD_BOOK, STV_WOOD_LEARNED };

#define STV_OVERRIDDEN_MAX 8192 /* room for every name */

/* The market that the book names; which there are is not the book's to know. */
struct stv_book_market {
    char name[STV_MARKET_NAME_MAX]; /* "" for none */
    size_t line, column;            /* of book.yaml */
    /* Its rules ask more than the book's own and stand in its `rules` in their place. */
    bool sets_strength, sets_age;
};

struct stv_book {
    char folder[512];
    /* Per cask of the ledger: from when its rows are left out, for one that fills, empties or pours
     * it was refused or hangs on such a row; INT64_MAX: none.  NULL: no cask's are. */
    int64_t *cut_from_d;
    char name[STV_NAME_MAX];
    bool is_invented;
    int64_t as_of_day_d;     /* the day the answers speak of; INT64_MIN when nothing says */
    const char *as_of_table; /* whose latest row says it; NULL: book.yaml does, or nothing */
    struct stv_site_position site;
    bool has_site;
    struct stv_clock clock; /* the site's; fixed offset for local days */
    struct stv_weather_source weather;
    bool has_weather;
    struct stv_warehouse *warehouses;
    size_t n_warehouses;
    struct stv_months warm_months, cold_months;
    struct stv_gap_rules gaps; /* how holes in the loggers' hours are filled */
    struct stv_book_market market;
    struct stv_house_rules rules;
    enum stv_wood_from wood_from; /* of the rules' wood_least_nd and wood_most_nd */
    double least_bottles_nd;
    struct stv_book_bottling *bottlings; /* by day */
    size_t n_bottlings;
    struct stv_prices prices;
    struct stv_cask_plan cask_plan;
    struct stv_wood_rules wood_rules;
    bool has_wood_rules; /* the book says some of them */
    struct stv_water_house water;
    struct stv_params params;
    struct stv_cask_numbers numbers;
    struct stv_gauge_numbers gauge_numbers;
    char overridden[STV_OVERRIDDEN_MAX]; /* names of all that the book sets, comma-separated */
    struct stv_ledger ledger;
    struct stv_gauge *gauges;
    size_t n_gauges;
    struct stv_logger_source *loggers;
    size_t n_loggers;
};

/* Reads a book.
 *
 * folder      where book.yaml is; a slash at its end does not matter
 * keep_going  rows that are refused are left out with all that hangs on them (the later rows of a
 *             cask after a refused fill, transfer or emptying), and the rest is returned;
 *             a note says how many hang, and each cask whose history is cut short so is named, as
 *             STV_REFUSED
 * problems    every fault of the whole book, each with file, line, column and the text found, as
 *             STV_REFUSED; gauges that look like typing errors as STV_SET_ASIDE; things worth
 *             saying as STV_NOTED
 * out         free with stv_book_free; empty after a failure
 *
 * Files:    casks.csv, history.csv, gauges.csv and loggers.csv may be absent; history.csv needs
 *           casks.csv.  A file that the book names must be there.
 * Defaults: rules and parameters those of the model; the clock UTC; as_of the latest day that a
 *           table says, INT64_MIN when none does.  A fill of casks.csv is an event with row 0:
 *           its line is the cask's.
 * Errors:   STV_E_IO           no such folder, no book.yaml, or a table that cannot be opened
 *           STV_E_PARSE        something was refused (with keep_going only: book.yaml or a table
 *                              cannot be read at all)
 *           STV_E_CONSISTENCY  the ledger contradicts itself
 *           STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_book_read(const char *folder, bool keep_going,
                                             struct stv_problems *problems, struct stv_book *out);

/* What stands in where neither a weather file nor the file beside it says its place and clock. */
void stv_book_weather_fallbacks(const struct stv_book *book, struct stv_weather_source *source);

/* Empties a book; accepts NULL. */
void stv_book_free(struct stv_book *book);

/* Writes a new book: every file with a word on each key and column and one example that holds
 * together, and the empty folders loggers/ and weather/.  It passes stv_book_read as it is.
 *
 * folder  made when it is not there; beside other files in it nothing is touched
 * why     size bytes; on failure what was wrong and what to do
 *
 * Whole or not at all: a failure leaves nothing behind.
 * Errors: STV_E_USAGE  any of the parts is there already, or the name is that of a file
 *         STV_E_IO     the disk says no
 *         STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_book_new(const char *folder, char *why, size_t size);

#endif
