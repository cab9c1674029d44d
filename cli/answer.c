/* Text, JSON and CSV come from the same result, so that they cannot disagree. */
#include "cli/answer.h"

#include "cli/chain_cask_learning.h"
#include "cli/csv.h"
#include "cli/explain.h"
#include "cli/output.h"

enum stv_status stv_answer_write(const struct stv_options *options, const struct stv_chain *chain,
                                 const struct stv_problems *problems,
                                 const struct stv_answer *answer)
{
    if (stv_options_has(options, STV_OPT_JSON)) {
        json_t *document = stv_json_document(options, chain, problems);
        answer->add_json(document, answer->result);
        return stv_json_write(options, document);
    }
    if (stv_options_has(options, STV_OPT_CSV)) {
        struct stv_sheet table = {0};
        answer->add_csv(&table, answer->result);
        return stv_csv_write(options, &table);
    }
    struct stv_text text = {0};
    if (chain && options->command != STV_CMD_CLIMATE)
        stv_words_learning_left_out(&text, chain);
    answer->add_text(&text, answer->result);
    if (stv_options_has(options, STV_OPT_EXPLAIN)) {
        struct stv_sheet table = {0};
        answer->add_csv(&table, answer->result);
        stv_explain(&text, &table);
        stv_sheet_free(&table);
    }
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}
