/* Runs a harness over the files of its corpus, without a fuzzer: what a fuzzer once found stays
 * tested everywhere.  Usage: replay_X FILE... */
#include "ingest/whole_file.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define MOST ((size_t)1 << 24)

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        char *bytes, why[200];
        size_t n;
        if (stv__whole_file(argv[i], MOST, &bytes, &n, why, sizeof why) != STV_OK) {
            fprintf(stderr, "%s: %s\n", argv[i], why);
            return 1;
        }
        (void)LLVMFuzzerTestOneInput((const uint8_t *)bytes, n);
        free(bytes);
    }
    printf("%d files\n", argc - 1);
    return argc > 1 ? 0 : 1;
}
