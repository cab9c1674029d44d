/* A file for readers that take a path, written anew for each input.  It lies in memory where the
 * system has /dev/shm, else where TMPDIR points. */
#ifndef STV_TESTS_FUZZ_FILE_H
#define STV_TESTS_FUZZ_FILE_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define FUZZ_PATH 160

/* A folder of this run's own; made at the first call. */
static inline const char *fuzz_folder(void)
{
    static char folder[FUZZ_PATH / 2];
    const char *base = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : getenv("TMPDIR");
    if (folder[0])
        return folder;
    snprintf(folder, sizeof folder, "%.40s/stv-fuzz-XXXXXX", base ? base : "/tmp");
    if (!mkdtemp(folder))
        abort();
    return folder;
}

static inline const char *fuzz_path(const char *name, char out[FUZZ_PATH])
{
    snprintf(out, FUZZ_PATH, "%s/%.60s", fuzz_folder(), name);
    return out;
}

static inline const char *fuzz_write(const char *name, const uint8_t *data, size_t size,
                                     char out[FUZZ_PATH])
{
    FILE *file = fopen(fuzz_path(name, out), "wb");
    if (!file || fwrite(data, 1, size, file) != size || fclose(file) != 0)
        abort();
    return out;
}

#endif
