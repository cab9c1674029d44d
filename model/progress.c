#include "model/progress.h"

void stv_progress_one_more(struct stv_progress_count *count)
{
    size_t n_done;
#pragma omp atomic capture
    n_done = ++count->n_done;
    if (count->progress && n_done < count->n)
        count->progress->tell(count->progress->context, (double)n_done / (double)count->n);
}

void stv_progress_end(const struct stv_progress_count *count)
{
    if (count->progress)
        count->progress->tell(count->progress->context, 1.0);
}
