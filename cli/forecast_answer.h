/* Everything that `forecast` answers at once, for its text, its JSON and its CSV. */
#ifndef STV_CLI_FORECAST_ANSWER_H
#define STV_CLI_FORECAST_ANSWER_H

#include "cli/compare.h"
#include "cli/forecast.h"
#include "cli/json.h"
#include "plots/sheet.h"
#include "plots/text.h"

struct stv_forecast_answer {
    const struct stv_chain *chain;
    const struct stv_forecast *forecast;
    enum stv_forecast_by by;
    bool is_each_in_full;
    const char *const *sentences; /* of --what-if; n_sentences */
    size_t n_sentences;
    bool is_done[STV_EVENT_N];     /* by what is said there */
    struct stv_comparison what_if; /* as it stands, and what could be done; no pairs without any */
    struct stv_comparison cycling; /* without and with it; no pairs unless asked for */
    double cycling_gain_per_k;
};

void stv_forecast_json(json_t *document, const struct stv_forecast_answer *answer);
/* What --what-if compares, else the sums asked for, else the casks' rows. */
void stv_forecast_csv(struct stv_sheet *table, const struct stv_forecast_answer *answer);

/* The text: comparisons and sums first where they were asked for, then the casks. */
void stv_words_forecast(struct stv_text *text, const struct stv_forecast_answer *answer);
void stv_words_compared(struct stv_text *text, const struct stv_forecast_answer *answer);
/* Of moving, pouring and watering, where that is what could be done. */
void stv_words_compared_cautions(struct stv_text *text, const struct stv_forecast_answer *answer);
void stv_words_cycling(struct stv_text *text, const struct stv_forecast_answer *answer);
void stv_words_sums(struct stv_text *text, const struct stv_forecast_answer *answer);
/* When a cask passes each level; and which casks do, for a house. */
void stv_words_crossings(struct stv_text *text, const struct stv_forecast *forecast,
                         const struct stv_forecast_cask *cask);
void stv_words_house_crossings(struct stv_text *text, const struct stv_forecast_answer *answer);
/* Where the spirit of a cask went, and will go in the coming year. */
void stv_words_losses(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_forecast_cask *cask);

#endif
