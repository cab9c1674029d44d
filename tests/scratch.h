/* Small files for tests, in a folder of their own that is removed with them. */
#ifndef STV_TESTS_SCRATCH_H
#define STV_TESTS_SCRATCH_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/check.h"

#define STV_SCRATCH_FILES 16

struct stv_scratch {
    char folder[128];
    char *paths[STV_SCRATCH_FILES];
    size_t n;
};

static inline void stv_scratch_open(struct stv_scratch *scratch)
{
    const char *base = getenv("TMPDIR");
    scratch->n = 0;
    snprintf(scratch->folder, sizeof scratch->folder, "%.100s/stv-test-XXXXXX",
             base ? base : "/tmp");
    assert_non_null(mkdtemp(scratch->folder));
}

/* Writes n bytes under a name and returns the path. */
static inline const char *stv_scratch_bytes(struct stv_scratch *scratch, const char *name,
                                            const void *bytes, size_t n)
{
    assert_true(scratch->n < STV_SCRATCH_FILES);
    size_t size = strlen(scratch->folder) + strlen(name) + 2;
    char *path = malloc(size);
    assert_non_null(path);
    snprintf(path, size, "%s/%s", scratch->folder, name);
    scratch->paths[scratch->n++] = path;
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n, file), n);
    assert_int_equal(fclose(file), 0);
    return path;
}

static inline const char *stv_scratch_text(struct stv_scratch *scratch, const char *name,
                                           const char *text)
{
    return stv_scratch_bytes(scratch, name, text, strlen(text));
}

static inline void stv_scratch_close(struct stv_scratch *scratch)
{
    for (size_t i = 0; i < scratch->n; i++) {
        unlink(scratch->paths[i]);
        free(scratch->paths[i]);
    }
    assert_int_equal(rmdir(scratch->folder), 0);
}

#endif
