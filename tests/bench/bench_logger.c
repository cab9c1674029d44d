/* How fast a logger's file becomes columns, against a scan for its line ends and against the plain
 * way with fgets, strptime and strtod.
 *
 *     bench_logger [MILLIONS]     rows of each file, in millions (default 4)
 *
 * Prints rates and ratios of one run, one thread; it judges nothing, since a slow machine is no
 * fault of the program.  All ways read the same rows and must give the same sums.  Then 200 loggers
 * of ten years at five minutes are loaded as the program loads them, checks and averages included,
 * on the cores that there are. */
#define _DEFAULT_SOURCE
#define _XOPEN_SOURCE 700
#include "ingest/logger_parts.h"
#include "tests/bench/clock.h"

#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#define MILLION 1000000
#define ROW_MAX 64
#define LOGGERS 200
#define LOGGER_ROWS 1051200 /* ten years at five minutes */
#define REPEATS 3
#define LINE_MAX_BYTES 256

struct file {
    char *text;
    size_t n, n_rows;
};

/* Rows every five minutes: a day's wave and a little of its own. */
static struct file make_file(size_t n_rows, bool is_plain)
{
    struct file file = {malloc((n_rows + 1) * ROW_MAX), 0, n_rows};
    if (!file.text)
        abort();
    file.n = (size_t)sprintf(file.text, is_plain ? "time,temperature [C],humidity [%%]\n"
                                                 : "\"Zeit time\";\"Temp (C)\";\"RH (%%)\"\r\n");
    struct tm day;
    for (size_t i = 0; i < n_rows; i++) {
        time_t at = 1000000000 + (time_t)i * 300;
        if (i == 0 || at % 86400 < 300)
            gmtime_r(&at, &day);
        int second = (int)(at % 86400);
        double c = 20.0 + 6.0 * sin(second / 13751.0) + (double)(i * 7919 % 100) / 100.0;
        double rh = 55.0 + (double)(i * 104729 % 200) / 10.0;
        if (is_plain)
            file.n += (size_t)sprintf(
                file.text + file.n, "%04d-%02d-%02dT%02d:%02d:%02d,%.2f,%.1f\n", day.tm_year + 1900,
                day.tm_mon + 1, day.tm_mday, second / 3600, second / 60 % 60, second % 60, c, rh);
        else
            file.n += (size_t)sprintf(
                file.text + file.n, "\"%02d.%02d.%04d %02d:%02d\";\"%d,%02d\";\"%d,%d\"\r\n",
                day.tm_mday, day.tm_mon + 1, day.tm_year + 1900, second / 3600, second / 60 % 60,
                (int)c, (int)(c * 100) % 100, (int)rh, (int)(rh * 10) % 10);
    }
    file.text[file.n] = '\0';
    return file;
}

static size_t scan(const struct file *file)
{
    size_t n = 0;
    const char *at = file->text, *end = at + file->n;
    while ((at = memchr(at, '\n', (size_t)(end - at))) != NULL) {
        n++;
        at++;
    }
    return n;
}

/* Sum of what was read, so that no way can leave out the work. */
static double sum_of(const struct stv_machine *machine)
{
    double sum = 0.0;
    for (size_t k = 0; k < machine->samples.n; k++)
        sum +=
            machine->samples.values[STV_WQ_TEMP_C][k] + (double)(machine->samples.time_s[k] % 977);
    return sum;
}

/* Reads into columns; returns the seconds. */
static double read_columns(const struct file *file, double *out_sum)
{
    struct stv_text_file text = {.text = file->text, .n = file->n};
    struct stv_problems problems;
    struct stv_logger_report report = {0};
    struct stv_machine machine = {.text = &text,
                                  .file = "bench",
                                  .problems = &problems,
                                  .from_s = INT64_MIN,
                                  .to_s = INT64_MAX,
                                  .latest_s = INT64_MAX};
    stv_problems_init(&problems);
    double started_s = now_s();
    if (stv__logger_header(&machine, "", &report) != STV_OK ||
        stv__machine_scan(&machine) != STV_OK || stv__machine_read(&machine) != STV_OK)
        abort();
    double took_s = now_s() - started_s;
    if (machine.samples.n != file->n_rows)
        abort();
    *out_sum = sum_of(&machine);
    stv__machine_free(&machine);
    stv_problems_free(&problems);
    return took_s;
}

/* The way that comes to mind first; the file comes from memory as from a warm cache. */
static double read_plainly(const struct file *file, double *out_sum)
{
    char line[LINE_MAX_BYTES];
    double *temp_c = malloc(file->n_rows * sizeof *temp_c), *rh = malloc(file->n_rows * sizeof *rh);
    long *time_s = malloc(file->n_rows * sizeof *time_s);
    size_t n = 0;
    FILE *in = fmemopen(file->text, file->n, "r");
    if (!in || !temp_c || !rh || !time_s || !fgets(line, sizeof line, in))
        abort();
    double started_s = now_s();
    while (fgets(line, sizeof line, in)) {
        struct tm at = {0};
        char *rest = strptime(line, "%Y-%m-%dT%H:%M:%S", &at);
        if (!rest || *rest != ',')
            continue;
        temp_c[n] = strtod(rest + 1, &rest);
        rh[n] = strtod(rest + 1, NULL);
        time_s[n++] = timegm(&at);
    }
    double took_s = now_s() - started_s;
    *out_sum = 0.0;
    for (size_t k = 0; k < n; k++)
        *out_sum += temp_c[k] + (double)(time_s[k] % 977);
    fclose(in);
    free(temp_c);
    free(rh);
    free(time_s);
    return took_s;
}

static long peak_kb(void)
{
    struct rusage used;
    getrusage(RUSAGE_SELF, &used);
    return used.ru_maxrss;
}

static void rates(size_t n_rows)
{
    struct file plain = make_file(n_rows, true);
    double scan_s = HUGE_VAL, fast_s = HUGE_VAL, naive_s = HUGE_VAL, general_s = HUGE_VAL;
    double fast_sum = 0.0, naive_sum = 0.0, general_sum = 0.0;
    long before_kb = peak_kb();
    for (int i = 0; i < REPEATS; i++) {
        double started_s = now_s();
        if (scan(&plain) != n_rows + 1)
            abort();
        scan_s = fmin(scan_s, now_s() - started_s);
        fast_s = fmin(fast_s, read_columns(&plain, &fast_sum));
    }
    long after_kb = peak_kb();
    for (int i = 0; i < REPEATS; i++)
        naive_s = fmin(naive_s, read_plainly(&plain, &naive_sum));
    double mb = (double)plain.n / 1e6;
    printf("%zu rows, %.0f MB, %.1f bytes a row\n", n_rows, mb, (double)plain.n / (double)n_rows);
    printf("  scan for line ends              %7.0f MB/s\n", mb / scan_s);
    printf("  fixed layout into columns       %7.0f MB/s   %.0f %% of the scan, %.1f times the "
           "plain way\n",
           mb / fast_s, 100.0 * scan_s / fast_s, naive_s / fast_s);
    printf("  plain way (fgets, strptime)     %7.0f MB/s   sums %s\n", mb / naive_s,
           fabs(fast_sum - naive_sum) < 1e-6 * fabs(fast_sum) ? "agree" : "DIFFER");
    printf("  memory above the file           %7.1f bytes a row\n",
           1024.0 * (double)(after_kb - before_kb) / (double)n_rows);
    double naive_row_s = naive_s / (double)n_rows;
    free(plain.text);
    struct file other = make_file(n_rows, false);
    for (int i = 0; i < REPEATS; i++)
        general_s = fmin(general_s, read_columns(&other, &general_sum));
    printf("  quotes, ; and decimal commas    %7.0f MB/s   %.1f times the plain way, by the row\n",
           (double)other.n / 1e6 / general_s, naive_row_s * (double)n_rows / general_s);
    free(other.text);
}

/* One file on disk, read as 200 loggers would be. */
static void many_loggers(void)
{
    char path[] = "/tmp/stv-bench-XXXXXX";
    struct file file = make_file(LOGGER_ROWS, true);
    int handle = mkstemp(path);
    FILE *out = handle >= 0 ? fdopen(handle, "wb") : NULL;
    if (!out || fwrite(file.text, 1, file.n, out) != file.n || fclose(out) != 0)
        abort();
    double started_s = now_s();
#pragma omp parallel for schedule(dynamic)
    for (int i = 0; i < LOGGERS; i++) {
        struct stv_logger_source source = {.from_s = INT64_MIN, .to_s = INT64_MAX};
        struct stv_logger_hours hours;
        struct stv_logger_report report;
        struct stv_problems problems;
        stv_problems_init(&problems);
        memcpy(source.path, path, sizeof path);
        if (stv_logger_file_read(&source, 0, &problems, &hours, &report) != STV_OK)
            abort();
        stv_logger_hours_free(&hours);
        stv_logger_report_free(&report);
        stv_problems_free(&problems);
    }
    printf("%d loggers of ten years at five minutes, %d threads: %.1f s, checked and averaged\n",
           LOGGERS, omp_get_max_threads(), now_s() - started_s);
    unlink(path);
    free(file.text);
}

int main(int argc, char **argv)
{
    size_t millions = argc > 1 ? (size_t)strtoul(argv[1], NULL, 10) : 4;
    rates((millions ? millions : 1) * MILLION);
    many_loggers();
    return 0;
}
