#include "model/byte_store.h"

#include <string.h>

#define SUM_LANES 4

/* Each step can be undone, so that no two values of one word give the same sum. */
uint64_t stv__word_sum(const void *bytes, size_t n_words)
{
    uint64_t lanes[SUM_LANES] = {1, 2, 3, 4}, sum = n_words;
    const unsigned char *at = bytes;
    for (size_t i = 0; i < n_words; i++) {
        uint64_t word, *lane = &lanes[i % SUM_LANES];
        memcpy(&word, at + i * sizeof word, sizeof word);
        *lane = (*lane ^ word) * UINT64_C(0x9E3779B97F4A7C15);
        *lane ^= *lane >> 29;
    }
    for (size_t l = 0; l < SUM_LANES; l++)
        sum = (sum ^ lanes[l]) * UINT64_C(0xD6E8FEB86659FD93);
    return sum;
}
