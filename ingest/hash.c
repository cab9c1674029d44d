/* SHA-256 by nettle, read in blocks so that a large logger file costs no memory. */
#include "ingest/hash.h"

#include <nettle/sha2.h>

#include <stdint.h>
#include <stdio.h>

#define BLOCK_BYTES 65536
#define OWN_PROGRAM "/proc/self/exe" /* where the system has it */

static void write_digest(struct sha256_ctx *context, char out[STV_SHA256_TEXT])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(context, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        out[2 * i] = digits[digest[i] >> 4];
        out[2 * i + 1] = digits[digest[i] & 15];
    }
    out[STV_SHA256_TEXT - 1] = '\0';
}

enum stv_status stv_file_sha256(const char *path, char out[STV_SHA256_TEXT])
{
    uint8_t block[BLOCK_BYTES];
    struct sha256_ctx context;
    size_t n;
    out[0] = '\0';
    FILE *file = fopen(path, "rb");
    if (!file)
        return STV_E_IO;
    sha256_init(&context);
    while ((n = fread(block, 1, sizeof block, file)) > 0)
        sha256_update(&context, n, block);
    /* A folder opens but does not read. */
    int failed = ferror(file);
    if (fclose(file) != 0 || failed)
        return STV_E_IO;
    write_digest(&context, out);
    return STV_OK;
}

void stv_runs_sha256(const struct stv_byte_run *runs, size_t n_runs, char out[STV_SHA256_TEXT])
{
    struct sha256_ctx context;
    sha256_init(&context);
    for (size_t i = 0; i < n_runs; i++)
        sha256_update(&context, runs[i].n, runs[i].bytes);
    write_digest(&context, out);
}

void stv_bytes_sha256(const void *bytes, size_t n, char out[STV_SHA256_TEXT])
{
    const struct stv_byte_run run = {bytes, n};
    stv_runs_sha256(&run, 1, out);
}

enum stv_status stv_program_sha256(char out[STV_SHA256_TEXT])
{
    return stv_file_sha256(OWN_PROGRAM, out);
}
