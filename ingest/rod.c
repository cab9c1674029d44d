/* The marks are taken as typed; a row that does not rise is refused, for nobody can tell which of
 * the two rows is the slip.  What it does not do: smooth the marks, or go on beyond the last. */
#include "ingest/rod.h"

#include "ingest/quantity.h"
#include "ingest/table.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* These only catch slips of the pen: a rod for the largest vat ends below. */
#define DEPTH_MOST_M 10.0
#define VOLUME_MOST_L 1e6

enum rod_column { DEPTH, LITRES, N_COLUMNS };

static const struct stv_table_column columns[N_COLUMNS] = {
    [DEPTH] = {"depth", true, STV_DIM_LENGTH},
    [LITRES] = {"litres", true, STV_DIM_VOLUME},
};

static const double most[N_COLUMNS] = {[DEPTH] = DEPTH_MOST_M, [LITRES] = VOLUME_MOST_L};
static const char *const wanted[N_COLUMNS] = {[DEPTH] = "the depth of the mark, like 12.5 cm",
                                              [LITRES] = "the litres at the mark, like 84 L"};

/* The value of a column that was read last, and where. */
struct last_value {
    double value; /* NaN before the first */
    size_t line;
};

/* A value is held against the one before it even when that was refused, so that one slip does not
 * set all that follows against it. */
static double rising_cell(struct stv_table *table, size_t column, struct last_value *last)
{
    double value = NAN;
    if (!stv_table_need(table, column, wanted[column]) ||
        !stv_table_quantity(table, column, 0.0, most[column], &value))
        return NAN;
    if (value <= last->value)
        stv_table_refuse(table, column,
                         "is not above that of line %zu, and %s rises from mark to mark: look for "
                         "a slip in one of the two",
                         last->line, columns[column].name);
    *last = (struct last_value){value, stv_table_line(table)};
    return value;
}

static enum stv_status make_room(size_t n, struct stv_rod *out)
{
    out->depth_m = malloc(n * sizeof *out->depth_m);
    out->volume_l = malloc(n * sizeof *out->volume_l);
    return out->depth_m && out->volume_l ? STV_OK : STV_E_MEMORY;
}

static void read_rows(struct stv_table *table, struct stv_rod *out)
{
    struct last_value last[N_COLUMNS] = {{NAN, 0}, {NAN, 0}};
    size_t n_rows = 0;
    while (stv_table_next(table)) {
        if (++n_rows > STV_ROD_MARKS_MOST) {
            stv_table_refuse(table, DEPTH, "is one mark too many: at most %d are taken",
                             STV_ROD_MARKS_MOST);
            return;
        }
        if (table->row_is_garbled)
            continue; /* what stands under a column there is not its value */
        double depth_m = rising_cell(table, DEPTH, &last[DEPTH]);
        double volume_l = rising_cell(table, LITRES, &last[LITRES]);
        if (table->row_is_refused)
            continue;
        out->depth_m[out->n] = depth_m;
        out->volume_l[out->n++] = volume_l;
    }
    if (n_rows < STV_ROD_MARKS_LEAST)
        stv_problem_add(table->problems, STV_REFUSED, table->spec.file, 0, 0, NULL,
                        "has %zu marks, and a rod needs at least %d: write a row for each mark",
                        n_rows, STV_ROD_MARKS_LEAST);
}

enum stv_status stv_rod_read(const char *path, struct stv_problems *problems, struct stv_rod *out)
{
    *out = (struct stv_rod){0};
    size_t n_before = problems->n_by_severity[STV_REFUSED];
    struct stv_table table;
    struct stv_table_spec spec = {path, columns, N_COLUMNS, NULL, STV_HEMISPHERE_UNSAID};
    enum stv_status status = stv_table_open(path, spec, problems, &table);
    if (status == STV_OK)
        status = make_room(STV_ROD_MARKS_MOST, out);
    if (status == STV_OK)
        read_rows(&table, out);
    stv_table_free(&table);
    if (status == STV_OK && problems->n_by_severity[STV_REFUSED] > n_before)
        status = STV_E_PARSE;
    if (status != STV_OK)
        stv_rod_free(out);
    return status;
}

void stv_rod_free(struct stv_rod *rod)
{
    if (!rod)
        return;
    free(rod->depth_m);
    free(rod->volume_l);
    *rod = (struct stv_rod){0};
}

double stv_rod_volume_l(const struct stv_rod *rod, double wet_m)
{
    if (!(wet_m >= 0.0 && wet_m <= stv_rod_full_m(rod)))
        return NAN;
    size_t above = 0;
    while (rod->depth_m[above] < wet_m)
        above++;
    /* At a mark itself its own litres, without rounding. */
    if (rod->depth_m[above] == wet_m)
        return rod->volume_l[above];
    double low_m = above > 0 ? rod->depth_m[above - 1] : 0.0;
    double low_l = above > 0 ? rod->volume_l[above - 1] : 0.0;
    double part = (wet_m - low_m) / (rod->depth_m[above] - low_m);
    return low_l + part * (rod->volume_l[above] - low_l);
}

double stv_rod_full_m(const struct stv_rod *rod)
{
    return rod->n > 0 ? rod->depth_m[rod->n - 1] : (double)NAN;
}
