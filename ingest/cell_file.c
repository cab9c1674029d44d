/* One line of text, with the key, the sizes and the check sum of what follows, then the columns. */
#include "ingest/cell_file.h"

#include "ingest/whole_file.h"
#include "ingest/write_file.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD_BYTES 320
#define CELL_BYTES_MOST ((size_t)1 << 31)
#define YEARS_MOST 4096 /* so that no product of sizes runs over */
#define DRAWS_MOST 100000
#define COLUMNS 5

struct column {
    void *bytes;
    size_t n;
};

static void columns_of(const struct stv_study_cell *cell, struct column out[COLUMNS])
{
    size_t n_months = stv_cell_n_month_values(cell) * sizeof(double);
    out[0] = (struct column){cell->years, cell->n_years * sizeof *cell->years};
    out[1] = (struct column){cell->values, stv_cell_n_values(cell) * sizeof(double)};
    out[2] = (struct column){cell->month_oak_mg, n_months};
    out[3] = (struct column){cell->month_abv20_frac, n_months};
    out[4] = (struct column){cell->reference_oak_mg, cell->n_draws * sizeof(double)};
}

static size_t body_bytes(const struct column columns[COLUMNS])
{
    size_t n = 0;
    for (int c = 0; c < COLUMNS; c++)
        n += columns[c].n;
    return n;
}

enum stv_status stv_cell_file_write(const char *path, const char key[STV_SHA256_TEXT],
                                    const struct stv_study_cell *cell, char *why, size_t size)
{
    struct column columns[COLUMNS];
    columns_of(cell, columns);
    size_t n_body = body_bytes(columns), at = 0;
    char *body = malloc(n_body + 1), *file = malloc(HEAD_BYTES + n_body);
    enum stv_status status = body && file ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        char sha256[STV_SHA256_TEXT];
        for (int c = 0; c < COLUMNS; c++) {
            memcpy(body + at, columns[c].bytes, columns[c].n);
            at += columns[c].n;
        }
        stv_bytes_sha256(body, n_body, sha256);
        int n_head = snprintf(file, HEAD_BYTES, "stavecast cell 1 %s %zu %zu %zu %zu %d %s\n", key,
                              cell->n_tiers, cell->n_years, cell->n_draws, cell->follow_y,
                              cell->is_typical, sha256);
        memcpy(file + n_head, body, n_body);
        status = stv_write_file(path, file, (size_t)n_head + n_body, why, size);
    } else if (size) {
        snprintf(why, size, "out of memory");
    }
    free(body);
    free(file);
    return status;
}

/* Sizes and check sum of the head; false when it is none of this key. */
static bool read_head(const char *bytes, const char key[STV_SHA256_TEXT],
                      struct stv_study_cell *cell, char sha256[STV_SHA256_TEXT])
{
    char found[STV_SHA256_TEXT];
    int is_typical;
    if (sscanf(bytes, "stavecast cell 1 %64s %zu %zu %zu %zu %d %64s", found, &cell->n_tiers,
               &cell->n_years, &cell->n_draws, &cell->follow_y, &is_typical, sha256) != 7)
        return false;
    cell->is_typical = is_typical != 0;
    return strcmp(found, key) == 0 && cell->n_tiers <= STV_TIERS_MAX &&
           cell->n_years <= YEARS_MOST && cell->n_draws <= DRAWS_MOST &&
           cell->follow_y <= STV_FOLLOW_MOST_Y;
}

static enum stv_status read_cell(const char *bytes, size_t n, const char key[STV_SHA256_TEXT],
                                 struct stv_study_cell *out)
{
    char told[STV_SHA256_TEXT], found[STV_SHA256_TEXT];
    const char *line_end = memchr(bytes, '\n', n < HEAD_BYTES ? n : HEAD_BYTES);
    if (!line_end || !read_head(bytes, key, out, told))
        return STV_E_PARSE;
    const char *body = line_end + 1;
    size_t n_body = n - (size_t)(body - bytes);
    stv_bytes_sha256(body, n_body, found);
    if (strcmp(told, found) != 0)
        return STV_E_PARSE;
    struct column columns[COLUMNS];
    columns_of(out, columns); /* sizes alone: nothing is allocated yet */
    if (body_bytes(columns) != n_body)
        return STV_E_PARSE;
    enum stv_status status = stv_cell_allocate(out);
    if (status != STV_OK)
        return status;
    columns_of(out, columns);
    for (int c = 0; c < COLUMNS; c++) {
        memcpy(columns[c].bytes, body, columns[c].n);
        body += columns[c].n;
    }
    return STV_OK;
}

enum stv_status stv_cell_file_read(const char *path, const char key[STV_SHA256_TEXT],
                                   struct stv_study_cell *out)
{
    char *bytes, why[256];
    size_t n;
    *out = (struct stv_study_cell){0};
    enum stv_status status = stv__whole_file(path, CELL_BYTES_MOST, &bytes, &n, why, sizeof why);
    if (status != STV_OK)
        return status == STV_E_MEMORY ? status : STV_E_NO_DATA;
    status = read_cell(bytes, n, key, out);
    free(bytes);
    if (status != STV_OK)
        stv_cell_free(out);
    return status;
}
