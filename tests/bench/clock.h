/* Seconds that only go on. */
#ifndef STV_TESTS_BENCH_CLOCK_H
#define STV_TESTS_BENCH_CLOCK_H

#include <time.h>

static inline double now_s(void)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

/* Seconds that this process has worked, all threads together: steadier on a busy machine. */
static inline double cpu_s(void)
{
    struct timespec at;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

#endif
