/* A bottling window's surest months in words. */
#ifndef STV_PLOTS_WINDOW_WORDS_H
#define STV_PLOTS_WINDOW_WORDS_H

#include "model/bottling.h"
#include "plots/text.h"

/* Adds "Oct 2028", "Feb-Nov 2028", "Oct 28-Mar 29" or "not clear". */
void stv_window_add_surest(struct stv_text *out, const struct stv_window *window,
                           const int64_t *months_d);

#endif
