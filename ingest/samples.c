/* Columns that grow together.  Sorting moves a permutation and then each column by it, so that
 * rows with few quantities cost no more than they hold.  What this does not do: judge a value. */
#define _DEFAULT_SOURCE /* madvise */
#include "ingest/samples.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#define ROWS_LEAST 256
#define LARGE_PAGE ((size_t)1 << 21)

/* Room for a column.  A long one asks for large pages: with small ones the system spends as long on
 * handing them out as the reader on filling them. */
static void *column_room(size_t n, size_t size)
{
    size_t n_bytes = n * size;
    if (n_bytes < LARGE_PAGE)
        return malloc(n_bytes);
    n_bytes = (n_bytes + LARGE_PAGE - 1) / LARGE_PAGE * LARGE_PAGE;
    void *room = aligned_alloc(LARGE_PAGE, n_bytes);
#ifdef MADV_HUGEPAGE
    if (room)
        (void)madvise(room, n_bytes, MADV_HUGEPAGE); /* only faster; small pages do as well */
#endif
    return room;
}

/* Makes every column longer; ranks of rows to come are 0. */
static bool grow(struct stv_samples *samples, size_t capacity)
{
    int64_t *time_s = realloc(samples->time_s, capacity * sizeof *time_s);
    samples->time_s = time_s ? time_s : samples->time_s;
    uint32_t *at = realloc(samples->at, capacity * sizeof *at);
    samples->at = at ? at : samples->at;
    uint8_t *rank = realloc(samples->rank, capacity * sizeof *rank);
    samples->rank = rank ? rank : samples->rank;
    bool is_good = time_s && at && rank;
    for (size_t j = 0; is_good && j < STV_WQ_N; j++) {
        if (!samples->values[j])
            continue;
        double *values = realloc(samples->values[j], capacity * sizeof *values);
        samples->values[j] = values ? values : samples->values[j];
        is_good = values != NULL;
    }
    if (is_good) {
        memset(samples->rank + samples->capacity, 0, capacity - samples->capacity);
        samples->capacity = capacity;
    }
    return is_good;
}

enum stv_status stv_samples_init(struct stv_samples *samples, unsigned quantities,
                                 size_t n_expected)
{
    size_t capacity = n_expected > ROWS_LEAST ? n_expected : ROWS_LEAST;
    *samples = (struct stv_samples){.capacity = capacity};
    samples->time_s = column_room(capacity, sizeof *samples->time_s);
    samples->at = column_room(capacity, sizeof *samples->at);
    samples->rank = calloc(capacity, sizeof *samples->rank);
    bool is_good = samples->time_s && samples->at && samples->rank;
    for (size_t j = 0; is_good && j < STV_WQ_N; j++) {
        if (!(quantities & STV_SAMPLES_BIT(j)))
            continue;
        samples->values[j] = column_room(capacity, sizeof *samples->values[j]);
        is_good = samples->values[j] != NULL;
    }
    return is_good ? STV_OK : STV_E_MEMORY;
}

enum stv_status stv_samples_add(struct stv_samples *samples, int64_t time_s, size_t at,
                                const double *values)
{
    if (samples->n == samples->capacity && !grow(samples, 2 * samples->capacity))
        return STV_E_MEMORY;
    size_t k = samples->n++;
    samples->time_s[k] = time_s;
    samples->at[k] = (uint32_t)at;
    samples->rank[k] = 0;
    for (size_t j = 0; j < STV_WQ_N; j++)
        if (samples->values[j])
            samples->values[j][k] = values[j];
    return STV_OK;
}

/* What sorting looks at. */
struct place {
    int64_t time_s;
    uint32_t at, from;
    uint8_t rank;
};

static int by_time(const void *a, const void *b)
{
    const struct place *left = a, *right = b;
    if (left->time_s != right->time_s)
        return left->time_s < right->time_s ? -1 : 1;
    if (left->rank != right->rank)
        return left->rank < right->rank ? -1 : 1;
    return left->from < right->from ? -1 : left->from > right->from;
}

static size_t first_back(const struct stv_samples *samples, bool *out_needs_sort)
{
    size_t found = SIZE_MAX;
    *out_needs_sort = false;
    for (size_t k = 1; k < samples->n && found == SIZE_MAX; k++) {
        if (samples->time_s[k] < samples->time_s[k - 1])
            found = k;
        else if (samples->time_s[k] == samples->time_s[k - 1] &&
                 samples->rank[k] < samples->rank[k - 1])
            *out_needs_sort = true;
    }
    *out_needs_sort = *out_needs_sort || found != SIZE_MAX;
    return found;
}

/* Puts every column into the order of places; scratch holds n doubles. */
static void reorder(struct stv_samples *samples, const struct place *places, double *scratch)
{
    for (size_t k = 0; k < samples->n; k++) {
        samples->time_s[k] = places[k].time_s;
        samples->at[k] = places[k].at;
        samples->rank[k] = places[k].rank;
    }
    for (size_t j = 0; j < STV_WQ_N; j++) {
        if (!samples->values[j])
            continue;
        for (size_t k = 0; k < samples->n; k++)
            scratch[k] = samples->values[j][places[k].from];
        memcpy(samples->values[j], scratch, samples->n * sizeof *scratch);
    }
}

enum stv_status stv_samples_sort(struct stv_samples *samples, size_t *out_first_back)
{
    bool needs_sort;
    *out_first_back = first_back(samples, &needs_sort);
    if (!needs_sort)
        return STV_OK;
    struct place *places = malloc(samples->n * sizeof *places);
    double *scratch = malloc(samples->n * sizeof *scratch);
    if (places && scratch) {
        for (size_t k = 0; k < samples->n; k++)
            places[k] =
                (struct place){samples->time_s[k], samples->at[k], (uint32_t)k, samples->rank[k]};
        qsort(places, samples->n, sizeof *places, by_time);
        reorder(samples, places, scratch);
    }
    bool has_memory = places && scratch;
    free(places);
    free(scratch);
    return has_memory ? STV_OK : STV_E_MEMORY;
}

void stv_samples_keep(struct stv_samples *samples, const uint8_t *keep)
{
    size_t kept = 0;
    for (size_t k = 0; k < samples->n; k++) {
        if (!keep[k])
            continue;
        samples->time_s[kept] = samples->time_s[k];
        samples->at[kept] = samples->at[k];
        samples->rank[kept] = samples->rank[k];
        for (size_t j = 0; j < STV_WQ_N; j++)
            if (samples->values[j])
                samples->values[j][kept] = samples->values[j][k];
        kept++;
    }
    samples->n = kept;
}

size_t stv_line_of(const char *text, size_t at, struct stv_line_cursor *cursor)
{
    if (cursor->line == 0 || at < cursor->at)
        *cursor = (struct stv_line_cursor){0, 1};
    for (size_t i = cursor->at; i < at; i++)
        cursor->line += text[i] == '\n' || (text[i] == '\r' && text[i + 1] != '\n');
    cursor->at = at;
    return cursor->line;
}

void stv_samples_free(struct stv_samples *samples)
{
    if (!samples)
        return;
    free(samples->time_s);
    free(samples->at);
    free(samples->rank);
    for (size_t j = 0; j < STV_WQ_N; j++)
        free(samples->values[j]);
    *samples = (struct stv_samples){0};
}
