/* The numbers behind an answer in words: the rows of its table, written out. */
#ifndef STV_CLI_EXPLAIN_H
#define STV_CLI_EXPLAIN_H

#include "plots/sheet.h"

/* Adds each row as a paragraph of "name value", a range as "middle (5 to 95 %)"; empty cells are
 * left out.  Names and units are those of --csv. */
void stv_explain(struct stv_text *text, const struct stv_sheet *table);

#endif
