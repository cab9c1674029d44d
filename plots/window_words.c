/* Alike on the terminal, in charts and in the report's tables. */
#include "plots/window_words.h"

#include "model/window_clear.h"

#include <string.h>

void stv_window_add_surest(struct stv_text *out, const struct stv_window *window,
                           const int64_t *months_d)
{
    struct stv_text from = {0}, to = {0};
    stv_text_add_month(&from, months_d[window->surest_from_idx]);
    stv_text_add_month(&to, months_d[window->surest_to_idx]);
    const char *first = stv_text_string(&from), *last = stv_text_string(&to);
    if (!stv_window_surest_is_clear(window))
        stv_text_add(out, "not clear");
    else if (strcmp(first, last) == 0 || strlen(first) < 6 || strlen(last) < 6)
        stv_text_add(out, last);
    else if (strcmp(first + 4, last + 4) == 0)
        stv_text_format(out, "%.3s-%s", first, last);
    else
        stv_text_format(out, "%.3s %s-%.3s %s", first, first + 6, last, last + 6);
    stv_text_free(&from);
    stv_text_free(&to);
}
