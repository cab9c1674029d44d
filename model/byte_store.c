#include "model/byte_store.h"

#include <string.h>

#define SUM_LANES 4

/* Each step can be undone, so that no two values of one word give the same sum. */
uint64_t stv__word_sum(const struct stv_byte_run *runs, size_t n_runs)
{
    uint64_t lanes[SUM_LANES] = {1, 2, 3, 4}, sum;
    size_t n_words = 0;
    for (size_t r = 0; r < n_runs; r++) {
        const unsigned char *at = runs[r].bytes;
        for (const unsigned char *end = at + runs[r].n; at < end; at += sizeof(uint64_t)) {
            uint64_t word, *lane = &lanes[n_words++ % SUM_LANES];
            memcpy(&word, at, sizeof word);
            *lane = (*lane ^ word) * UINT64_C(0x9E3779B97F4A7C15);
            *lane ^= *lane >> 29;
        }
    }
    sum = n_words;
    for (size_t l = 0; l < SUM_LANES; l++)
        sum = (sum ^ lanes[l]) * UINT64_C(0xD6E8FEB86659FD93);
    return sum;
}
