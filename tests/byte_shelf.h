/* A store of a few results in memory, for tests: what is kept can be looked at and spoilt. */
#ifndef STV_TESTS_BYTE_SHELF_H
#define STV_TESTS_BYTE_SHELF_H

#include "model/byte_store.h"
#include "tests/check.h"

#include <stdlib.h>
#include <string.h>

#define STV_SHELF_PLACES 64

struct stv_shelf_thing {
    unsigned char *key, *bytes;
    size_t n_key, n;
};

struct stv_shelf {
    struct stv_shelf_thing things[STV_SHELF_PLACES];
    size_t n, n_found, n_kept; /* n_found: since it was last set to 0; n_kept likewise */
    struct stv_byte_store store;
};

static inline unsigned char *stv_shelf_join(const struct stv_byte_run *runs, size_t n_runs,
                                            size_t *out_n)
{
    *out_n = 0;
    for (size_t i = 0; i < n_runs; i++)
        *out_n += runs[i].n;
    unsigned char *bytes = malloc(*out_n + 1), *at = bytes;
    assert_non_null(bytes);
    for (size_t i = 0; i < n_runs; at += runs[i++].n)
        memcpy(at, runs[i].bytes, runs[i].n);
    return bytes;
}

/* With the shelf's lock held. */
static inline struct stv_shelf_thing *stv_shelf_look(struct stv_shelf *shelf,
                                                     const struct stv_byte_run *key, size_t n_runs)
{
    size_t n;
    unsigned char *joined = stv_shelf_join(key, n_runs, &n);
    struct stv_shelf_thing *thing = shelf->things;
    while (thing < shelf->things + shelf->n &&
           (thing->n_key != n || memcmp(thing->key, joined, n) != 0))
        thing++;
    if (thing < shelf->things + shelf->n) {
        free(joined);
        return thing;
    }
    assert_true(shelf->n < STV_SHELF_PLACES);
    *thing = (struct stv_shelf_thing){joined, NULL, n, 0};
    shelf->n++;
    return thing;
}

static inline void *stv_shelf_find(void *context, const struct stv_byte_run *key, size_t n_runs,
                                   size_t *out_n)
{
    struct stv_shelf *shelf = context;
    void *copy = NULL;
#pragma omp critical(shelf)
    {
        const struct stv_shelf_thing *thing = stv_shelf_look(shelf, key, n_runs);
        if (thing->bytes) {
            copy = malloc(thing->n + 1);
            assert_non_null(copy);
            memcpy(copy, thing->bytes, thing->n);
            *out_n = thing->n;
            shelf->n_found++;
        }
    }
    return copy;
}

static inline void stv_shelf_keep(void *context, const struct stv_byte_run *key, size_t n_runs,
                                  const struct stv_byte_run *bytes, size_t n_byte_runs)
{
    struct stv_shelf *shelf = context;
#pragma omp critical(shelf)
    {
        struct stv_shelf_thing *thing = stv_shelf_look(shelf, key, n_runs);
        free(thing->bytes);
        thing->bytes = stv_shelf_join(bytes, n_byte_runs, &thing->n);
        shelf->n_kept++;
    }
}

static inline void stv_shelf_open(struct stv_shelf *shelf)
{
    *shelf = (struct stv_shelf){.store = {stv_shelf_find, stv_shelf_keep, shelf}};
}

static inline void stv_shelf_close(struct stv_shelf *shelf)
{
    for (size_t i = 0; i < shelf->n; i++) {
        free(shelf->things[i].key);
        free(shelf->things[i].bytes);
    }
}

#endif
