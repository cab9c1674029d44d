/* The printed tables of `--csv` are those of plots/sheet.h, which also quotes them. */
#include "cli/csv.h"

#include "cli/output.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COLUMNS_MAX 160
#define NAME_MAX_BYTES 64

void stv_csv_heads(struct stv_sheet *table, const char *names)
{
    static const char *const points[] = {"_p05", "_p25", "_p50", "_p75", "_p95"};
    char heads[COLUMNS_MAX][NAME_MAX_BYTES];
    const char *pointers[COLUMNS_MAX];
    size_t n = 0;
    for (const char *at = names; *at;) {
        size_t length = strcspn(at, ",");
        bool is_range = length > 0 && at[length - 1] == '*';
        size_t n_columns = is_range ? sizeof points / sizeof points[0] : 1;
        for (size_t k = 0; k < n_columns && n < COLUMNS_MAX; k++, n++) {
            snprintf(heads[n], sizeof heads[n], "%.*s%s", (int)(length - is_range), at,
                     is_range ? points[k] : "");
            pointers[n] = heads[n];
        }
        at += length + (at[length] == ',');
    }
    stv_sheet_heads(table, pointers, n);
}

void stv_csv_number(struct stv_sheet *table, double value)
{
    stv_sheet_add_number(table, value, 0);
}

void stv_csv_range(struct stv_sheet *table, struct stv_range range, double factor_nd)
{
    stv_csv_number(table, range.p05 * factor_nd);
    stv_csv_number(table, range.p25 * factor_nd);
    stv_csv_number(table, range.p50 * factor_nd);
    stv_csv_number(table, range.p75 * factor_nd);
    stv_csv_number(table, range.p95 * factor_nd);
}

void stv_csv_place(struct stv_sheet *table, int idx)
{
    stv_csv_number(table, idx < 0 ? (double)NAN : idx + 1.0);
}

enum stv_status stv_csv_write(const struct stv_options *options, struct stv_sheet *table)
{
    struct stv_text text = {0};
    stv_sheet_csv(table, &text);
    stv_sheet_free(table);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}
