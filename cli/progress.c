#include "cli/progress.h"

#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define SHOWN_AFTER_S 0.5 /* what is done sooner needs no line */
#define SHOWN_EVERY_S 0.1

struct line {
    atomic_flag is_busy; /* with another thread's call: then this one is left out */
    size_t n_runs;       /* done or under way */
    bool is_running, is_shown;
    double begun_s, shown_s;
};

bool stv_progress_is_wanted(const struct stv_options *options)
{
    const char *term = getenv("TERM");
    return isatty(STDERR_FILENO) && term && strcmp(term, "dumb") != 0 &&
           !stv_options_has(options, STV_OPT_QUIET);
}

static double now_s(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void show_part(struct line *line, double done_frac)
{
    double now = now_s();
    if (!line->is_running) {
        line->n_runs++;
        line->is_running = true;
        line->begun_s = line->shown_s = now;
    }
    double run_s = now - line->begun_s;
    if (done_frac >= 1.0) {
        if (line->is_shown)
            fprintf(stderr, "\r\033[K");
        line->is_running = line->is_shown = false;
    } else if (run_s >= SHOWN_AFTER_S && now - line->shown_s >= SHOWN_EVERY_S && done_frac > 0.0) {
        fprintf(stderr, "\rpart %zu: %3.0f %%, some %.0f s left\033[K", line->n_runs,
                100.0 * done_frac, run_s * (1.0 - done_frac) / done_frac);
        line->is_shown = true;
        line->shown_s = now;
    }
}

static void show(void *context, double done_frac)
{
    struct line *line = context;
    if (atomic_flag_test_and_set(&line->is_busy))
        return;
    show_part(line, done_frac);
    atomic_flag_clear(&line->is_busy);
}

const struct stv_progress *stv_progress_line(const struct stv_options *options)
{
    static struct line line = {.is_busy = ATOMIC_FLAG_INIT};
    static const struct stv_progress progress = {show, &line};
    return stv_progress_is_wanted(options) ? &progress : NULL;
}
