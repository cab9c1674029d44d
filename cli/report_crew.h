/* The sheets that the report prints for the crew, made of the month's and the water's answers. */
#ifndef STV_CLI_REPORT_CREW_H
#define STV_CLI_REPORT_CREW_H

#include "cli/report_answers.h"
#include "plots/crew_sheets.h"
#include "plots/text.h"

#define STV_CREW_SHEETS_MOST 4

struct stv_report_crew {
    struct stv_crew_sheet sheets[STV_CREW_SHEETS_MOST];
    struct stv_text texts[STV_CREW_SHEETS_MOST];
    char *copies[STV_CREW_SHEETS_MOST]; /* what the lines point into */
    const char **lines[STV_CREW_SHEETS_MOST];
    size_t n;
};

/* Sheets that have a row, in the order of a day's work; all begin with airing.
 * Errors: STV_E_MEMORY.  Free with stv_report_crew_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_report_crew_make(const struct stv_report_answers *answers,
                                                    struct stv_report_crew *out);
void stv_report_crew_free(struct stv_report_crew *crew);

#endif
