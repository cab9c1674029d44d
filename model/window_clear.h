/* What of a bottling window the trials agree on well enough to be told as a month. */
#ifndef STV_MODEL_WINDOW_CLEAR_H
#define STV_MODEL_WINDOW_CLEAR_H

#include "model/bottling.h"

#include <stdbool.h>

/* False when wood decides the side and its crossing is not known to the half year. */
bool stv_window_side_is_clear(enum stv_window_side side, const struct stv_crossing *wood);

/* The same of a window's ends; an end that is open, from today or at the last month, is clear. */
bool stv_window_opens_clear(const struct stv_window *window);
bool stv_window_closes_clear(const struct stv_window *window);

/* "Surest" only means something when most trials agree: 7 in 10, a house's usual odds. */
bool stv_window_surest_is_clear(const struct stv_window *window);

#endif
