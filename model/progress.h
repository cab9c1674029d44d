/* How far a long computation has come, for whoever waits for it. */
#ifndef STV_MODEL_PROGRESS_H
#define STV_MODEL_PROGRESS_H

#include <stddef.h>

/* Called from several threads at once; the last call of a computation that has begun says 1, from
 * one thread, whether it went well or not.  Answers never depend on it. */
struct stv_progress {
    void (*tell)(void *context, double done_frac);
    void *context;
};

/* Parts of a computation that are done, whichever thread did them. */
struct stv_progress_count {
    const struct stv_progress *progress; /* NULL: nobody waits */
    size_t n_done, n;
};
void stv_progress_one_more(struct stv_progress_count *count);
void stv_progress_end(const struct stv_progress_count *count);

#endif
