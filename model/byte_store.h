/* Where results may be kept from one run of the program to the next.  The model opens no file: it
 * says in bytes what a result was made of, and whoever has room keeps the result under that. */
#ifndef STV_MODEL_BYTE_STORE_H
#define STV_MODEL_BYTE_STORE_H

#include <stddef.h>
#include <stdint.h>

/* One stretch of bytes; a key and a result are several, one behind the other. */
struct stv_byte_run {
    const void *bytes;
    size_t n;
};

/* Both may be called from several threads at once. */
struct stv_byte_store {
    /* What was kept under a key, its number of bytes in *out_n; NULL: nothing.  The caller frees
     * it, and believes nothing that does not fit. */
    void *(*find)(void *context, const struct stv_byte_run *key, size_t n_runs, size_t *out_n);
    /* Keeps bytes under a key, in the place of older ones; it may decline. */
    void (*keep)(void *context, const struct stv_byte_run *key, size_t n_runs,
                 const struct stv_byte_run *bytes, size_t n_byte_runs);
    void *context;
};

/* Shared inside model/: a sum over the words of eight bytes that all runs are, one behind the
 * other, for what is kept.  A change within one word always changes it. */
uint64_t stv__word_sum(const struct stv_byte_run *runs, size_t n_runs);

#endif
