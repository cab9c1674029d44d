/* The answers of other commands that the report repeats: month, bottling, stock and water, made by
 * those commands' own functions, so that page and commands never tell two numbers. */
#ifndef STV_CLI_REPORT_ANSWERS_H
#define STV_CLI_REPORT_ANSWERS_H

#include "cli/bottling.h"
#include "cli/month.h"
#include "cli/stock.h"
#include "cli/water.h"

/* With more full casks slow water is left to its own command, which takes minutes then. */
#define STV_REPORT_WATER_CASKS 1000

struct stv_report_answers {
    bool has_month, has_release, has_stock, has_water;
    struct stv_month_answer month;
    struct stv_bottling_answer release;
    struct stv_stock_answer stock;
    struct stv_reduction water;
    struct stv_water_row *water_rows; /* of the coming year, in the crew's order */
    size_t n_water_rows;
};

/* What a command asks where nothing else is said. */
struct stv_report_wishes {
    struct stv_sampling_limits limits;
    size_t n_months, n_years;
    const struct stv_outlook *half_years; /* as in struct stv_bottling_ask */
};

/* chain  with its climate, outlives the answers.  Without a full cask nothing is made.
 * Errors: those of the commands.  Free with stv_report_answers_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_report_answers_make(const struct stv_chain *chain,
                                                       const struct stv_report_wishes *wishes,
                                                       struct stv_report_answers *out);
void stv_report_answers_free(struct stv_report_answers *answers);

#endif
