/* Rainflow counting: which swings of a temperature record pair up into cycles.
 *
 * Reversals go on a stack.  With X the latest range and Y the one before it, X < Y waits; else Y
 * is one cycle and its two points leave, or half a cycle when it holds the first point, which then
 * leaves alone (ASTM E1049-85, 5.4.4).  What is left at the end is halves.  Every reversal enters
 * and leaves the stack once, so the work is proportional to the record.  No damage is summed here:
 * what a cycle does to wood is not known well enough. */
#include "model/cycles.h"

#include <math.h>
#include <stdlib.h>

struct counter {
    double *stack_c;
    size_t depth;
    double least_k;
    struct stv_cycle *out; /* NULL when they are not wanted one by one */
    size_t n_out;
    const struct stv_cycle_bins *bins; /* NULL likewise */
    double *count_nd;                  /* of each bin */
    double sum_nd;
};

static void report(struct counter *counter, double a_c, double b_c, double count_nd)
{
    double range_k = fabs(a_c - b_c);
    if (range_k < counter->least_k)
        return;
    if (counter->out)
        counter->out[counter->n_out++] = (struct stv_cycle){range_k, 0.5 * (a_c + b_c), count_nd};
    if (counter->bins) {
        double place = (range_k - counter->least_k) / counter->bins->step_k;
        size_t last = counter->bins->n - 1;
        counter->count_nd[place < (double)last ? (size_t)place : last] += count_nd;
    }
    counter->sum_nd += count_nd;
}

static void push_reversal(struct counter *counter, double value_c)
{
    double *stack_c = counter->stack_c;
    stack_c[counter->depth++] = value_c;
    while (counter->depth >= 3) {
        size_t top = counter->depth - 1;
        double latest_k = fabs(stack_c[top] - stack_c[top - 1]);
        double before_k = fabs(stack_c[top - 1] - stack_c[top - 2]);
        if (latest_k < before_k)
            return;
        if (counter->depth == 3) {
            report(counter, stack_c[0], stack_c[1], 0.5);
            stack_c[0] = stack_c[1];
            stack_c[1] = stack_c[2];
            counter->depth = 2;
        } else {
            report(counter, stack_c[top - 2], stack_c[top - 1], 1.0);
            stack_c[top - 2] = stack_c[top];
            counter->depth -= 2;
        }
    }
}

/* Finds the reversals and counts them as they come. */
static void count_series(struct counter *counter, const double *values_c, size_t n)
{
    double last_c = NAN;
    int direction = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(values_c[i]) || values_c[i] == last_c)
            continue;
        if (isnan(last_c)) {
            push_reversal(counter, values_c[i]);
        } else {
            int turn = values_c[i] > last_c ? 1 : -1;
            if (direction != 0 && turn != direction)
                push_reversal(counter, last_c);
            direction = turn;
        }
        last_c = values_c[i];
    }
    if (direction != 0)
        push_reversal(counter, last_c);
    for (size_t i = 0; i + 1 < counter->depth; i++)
        report(counter, counter->stack_c[i], counter->stack_c[i + 1], 0.5);
}

static enum stv_status run(struct counter *counter, const double *values_c, size_t n)
{
    if ((!values_c && n > 0) || !(counter->least_k >= 0.0))
        return STV_E_ARG;
    if (n == 0)
        return STV_OK;
    counter->stack_c = malloc(n * sizeof *counter->stack_c);
    if (!counter->stack_c)
        return STV_E_MEMORY;
    count_series(counter, values_c, n);
    free(counter->stack_c);
    return STV_OK;
}

enum stv_status stv_cycles_count(const double *values_c, size_t n, double least_k,
                                 struct stv_cycle *out_cycles, size_t *out_n)
{
    if (!out_n)
        return STV_E_ARG;
    *out_n = 0;
    if (!out_cycles)
        return STV_E_ARG;
    struct counter counter = {.least_k = least_k, .out = out_cycles};
    enum stv_status status = run(&counter, values_c, n);
    if (status == STV_OK)
        *out_n = counter.n_out;
    return status;
}

enum stv_status stv_cycles_add_bins_nd(const double *values_c, size_t n,
                                       const struct stv_cycle_bins *bins, double *io_count_nd)
{
    if (!bins || !io_count_nd || bins->n == 0 || !(bins->step_k > 0.0))
        return STV_E_ARG;
    struct counter counter = {.least_k = bins->least_k, .bins = bins, .count_nd = io_count_nd};
    return run(&counter, values_c, n);
}

enum stv_status stv_cycles_sum_nd(const double *values_c, size_t n, double least_k,
                                  double *out_count_nd)
{
    if (!out_count_nd)
        return STV_E_ARG;
    struct counter counter = {.least_k = least_k};
    enum stv_status status = run(&counter, values_c, n);
    *out_count_nd = counter.sum_nd;
    if (status != STV_OK)
        *out_count_nd = NAN;
    return status;
}
