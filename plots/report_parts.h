/* Shared inside plots/: the parts that the report is put together from. */
#ifndef STV_PLOTS_REPORT_PARTS_H
#define STV_PLOTS_REPORT_PARTS_H

#include "plots/charts.h"
#include "plots/report.h"
#include "plots/text.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_REPORT_FLAGGED_MOST 24 /* casks of a large house that ask for a look have a chart */
#define STV_REPORT_NO_DAY ((size_t)-1)

/* ---- report_days.c: which days of an outlook to speak of, and sums over casks */

/* Index of the outlook's day nearest to a day, within 20 days of it; else STV_REPORT_NO_DAY. */
size_t stv__report_day_near(const struct stv_outlook *outlook, int64_t day_d);

/* Index of the first day on or after as_of; the last day when all are earlier;
 * STV_REPORT_NO_DAY when there is none. */
size_t stv__report_day_now(const struct stv_report_input *input);

/* Index of the day a year after that one, or STV_REPORT_NO_DAY. */
size_t stv__report_day_next(const struct stv_report_input *input);

/* True when there are casks with an outlook, or bottling windows, to speak of. */
bool stv__report_has_casks(const struct stv_report_input *input);
bool stv__report_has_windows(const struct stv_report_input *input);

/* True when the cask holds spirit on a day of the outlook. */
bool stv__report_is_full(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx);

/* True when the cask is full on both days, and neither filled, poured nor emptied in between. */
bool stv__report_is_followed(const struct stv_report_input *input, size_t cask_idx, size_t day_idx,
                             size_t later_idx);

/* What air, joints, leaks and dry staves take of litres, pure alcohol or bottles (by the alcohol)
 * between two days, trial by trial; NaN of a cask that is not followed. */
struct stv_range stv__report_drop(const struct stv_report_input *input, size_t cask_idx,
                                  enum stv_quantity quantity, size_t day_idx, size_t later_idx);

/* The same for all casks together (those that can be told), and the plain sum on one day.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__report_total(const struct stv_report_input *input,
                                                 enum stv_quantity quantity, size_t day_idx,
                                                 struct stv_range *out);
STV_MUST_CHECK enum stv_status stv__report_total_drop(const struct stv_report_input *input,
                                                      enum stv_quantity quantity, size_t day_idx,
                                                      size_t later_idx, struct stv_range *out);

/* Why a cask asks for a look, in words; "" when nothing does. */
void stv__report_flag(const struct stv_report_input *input, size_t cask_idx, struct stv_text *out);

/* Bottles that the alcohol gone since the fill would have made, wherever it went. */
struct stv_range stv__report_bottles_gone(const struct stv_report_input *input, size_t cask_idx,
                                          size_t day_idx);

/* ---- report_charts.c: windows that charts show, of kinds in a large house; a cask's chart, NULL
 * when it has none */
const struct stv_bottling *stv__report_drawn_windows(const struct stv_report_input *input);
const struct stv_chart *stv__report_cask_chart(const struct stv_chart_list *list, size_t cask_idx);

/* ---- report_tables.c: racks and sites */
void stv__report_climate_tables(const struct stv_warehouse_climate *warehouse,
                                struct stv_text *page);
void stv__report_sites_tables(const struct stv_report_input *input, struct stv_text *page);

/* ---- report_cask_tables.c */
void stv__report_casks_table(const struct stv_report_input *input, struct stv_text *page);
void stv__report_kinds_table(const struct stv_report_input *input, struct stv_text *page);
void stv__report_losses_table(const struct stv_report_input *input, struct stv_text *page);
void stv__report_cask_days_table(const struct stv_report_input *input, size_t cask_idx,
                                 struct stv_text *page);
void stv__report_windows_table(const struct stv_report_input *input, struct stv_text *page);

/* ---- report_ledger.c: what a page without forecasts says of casks */
void stv__report_ledger_tables(const struct stv_report_input *input, struct stv_text *page);

/* ---- report_words.c: sentences made from the results */
void stv__report_stock_words(const struct stv_report_input *input, struct stv_text *page);
void stv__report_climate_words(const struct stv_warehouse_climate *warehouse,
                               struct stv_text *page);
void stv__report_windows_words(const struct stv_report_input *input, struct stv_text *page);

/* ---- report_crew.c */
void stv__report_crew_sheets(const struct stv_report_input *input, struct stv_text *page);

/* ---- report_sections.c */

/* Adds the whole page. */
void stv__report_page(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page);

/* ---- report_files.c */
struct stv_file {
    struct stv_text path, content;
};

/* Writes all files under temporary names and renames them when all are written; on failure none
 * of the earlier files has changed and no temporary file is left.
 * Errors: STV_E_IO (why has the path), STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__files_write(const struct stv_file *files, size_t n, char *why,
                                                size_t size);

/* Removes charts of an earlier report (files named as a report names them) that are not among the
 * files just written, so that no old picture stands beside new numbers. */
void stv__files_remove_old(const char *folder, const struct stv_file *files, size_t n);

/* Makes a folder and those above it where they are missing; out_n_there: bytes of the path that
 * name what was there before.  Errors: STV_E_IO, errno says why */
STV_MUST_CHECK enum stv_status stv__folder_make(const char *path, size_t *out_n_there);
/* Takes back the folders that it made, as far as they are empty. */
void stv__folder_unmake(const char *path, size_t n_there);

#endif
