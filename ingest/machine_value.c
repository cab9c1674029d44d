/* One cell to one value.  Plain digits are converted here, which gives the nearest double for up to
 * 15 digits; whatever else stands in a cell goes through stv_reading_number. */
#include "ingest/machine_parts.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELL_MAX 128
#define EXACT_DIGITS 15
#define FOUND_MAX 96
/* Temperatures of a hot day in F, which no air has in C. */
#define F_LEAST 75.0
#define F_MOST 130.0

/* Digits with one point or comma, a minus before; false for anything else.  Inside its caller, for
 * every cell comes by. */
static inline __attribute__((always_inline)) bool plain_number(struct stv_slice cell, double *out)
{
    static const double tens[EXACT_DIGITS + 1] = {1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                  1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    bool is_negative = cell.n > 0 && cell.text[0] == '-';
    const char *first = is_negative ? cell.text + 1 : cell.text, *end = cell.text + cell.n;
    const char *at = first, *mark = NULL;
    int64_t digits = 0;
    unsigned digit;
    if (end - first > EXACT_DIGITS + 1)
        return false;
    for (; at < end && (digit = (unsigned char)*at - (unsigned)'0') <= 9; at++)
        digits = digits * 10 + (int64_t)digit;
    if (at == first)
        return false;
    if (at < end && (*at == '.' || *at == ',')) {
        mark = ++at;
        for (; at < end && (digit = (unsigned char)*at - (unsigned)'0') <= 9; at++)
            digits = digits * 10 + (int64_t)digit;
    }
    if (at < end || at == mark || end - first - (mark != NULL) > EXACT_DIGITS)
        return false;
    double value = (double)digits / tens[mark ? end - mark : 0];
    *out = is_negative ? -value : value;
    return true;
}

/* A unit in the cell itself wins over the header's: some loggers write 21.4 C or 55 %RH. */
static bool scale_of_cell(struct stv__rows *rows, const struct stv_machine_column *column,
                          const char *own_unit, struct stv_scale *out)
{
    char why[8];
    *out = column->scale;
    if (own_unit[0] == '\0')
        return !isnan(out->factor);
    const char *unit = strcmp(own_unit, "%RH") == 0 ? "%" : own_unit;
    if (stv_reading_scale(column->quantity, unit, out, why, sizeof why) != STV_OK)
        return false;
    if (column->quantity == STV_WQ_TEMP_C) {
        if (rows->own_unit_factor == 0.0)
            rows->own_unit_factor = out->factor;
        rows->machine->n_other_units += out->factor != rows->own_unit_factor;
    }
    return true;
}

/* ">100" is what some sensors write for wet air. */
static bool is_above_all(const struct stv_machine_column *column, const char *text)
{
    return column->quantity == STV_WQ_RH_FRAC && strncmp(text, ">100", 4) == 0;
}

/* What is no plain number, or says its own unit: the number and its scale. */
static enum stv_reading_fault read_words(struct stv__rows *rows,
                                         const struct stv_machine_column *column,
                                         struct stv_slice cell, double *number,
                                         struct stv_scale *out_scale)
{
    char text[CELL_MAX], own_unit[STV_OWN_UNIT_MAX] = "";
    if (cell.n >= sizeof text)
        return STV_READING_WORD;
    stv_slice_copy(cell, text, sizeof text);
    if (is_above_all(column, text))
        return STV_READING_AT_LIMIT;
    return stv_reading_number(text, number, own_unit) &&
                   scale_of_cell(rows, column, own_unit, out_scale)
               ? STV_READING_GOOD
               : STV_READING_WORD;
}

static inline enum stv_reading_fault read_cell(struct stv__rows *rows,
                                               const struct stv_machine_column *column,
                                               struct stv_slice cell, double *out)
{
    struct stv_scale scale = column->scale;
    enum stv_reading_fault fault = STV_READING_GOOD;
    double number;
    if (cell.n == 0)
        return STV_READING_EMPTY;
    if (!plain_number(cell, &number) || isnan(scale.factor))
        fault = read_words(rows, column, cell, &number, &scale);
    if (fault == STV_READING_AT_LIMIT)
        *out = 1.0;
    if (fault != STV_READING_GOOD)
        return fault;
    double value = scale.offset + scale.factor * number + column->correction;
    if (!(value >= rows->least[column->quantity] && value <= rows->most[column->quantity]))
        fault = stv_reading_check(column->quantity, number, &value);
    if (fault == STV_READING_GOOD || fault == STV_READING_AT_LIMIT)
        *out = value;
    return fault;
}

static void say_value(struct stv__rows *rows, const struct stv_line *line,
                      const struct stv_machine_column *column, struct stv_slice cell,
                      enum stv_reading_fault fault)
{
    char found[FOUND_MAX];
    bool is_used = fault == STV_READING_AT_LIMIT;
    stv_slice_copy(cell, found, sizeof found);
    const char *start = line->all.text;
    struct stv_finding finding = {
        .severity = is_used ? STV_NOTED : STV_SET_ASIDE,
        .rule = fault == STV_READING_CODE   ? "code"
                : fault == STV_READING_WORD ? "value"
                                            : "range",
        .file = rows->machine->file,
        .row = stv_line_of(rows->machine->text->text, line->at, &rows->cursor),
        .column = (size_t)(cell.text - start) + 1,
        .found = found};
    double number;
    bool may_be_f = column->quantity == STV_WQ_TEMP_C && fault == STV_READING_BEYOND &&
                    plain_number(cell, &number) && number > F_LEAST && number < F_MOST;
    stv_finding_add(rows->machine->problems, &finding, "%s in column \"%.40s\" %s%s%s",
                    stv_reading_name(column->quantity), column->name,
                    stv_reading_fault_text(column->quantity, fault),
                    is_used ? "" : ": the value is not used",
                    may_be_f ? "; Fahrenheit among Celsius?" : "");
}

double stv__row_value(struct stv__rows *rows, const struct stv_line *line, size_t column_idx)
{
    struct stv_machine *machine = rows->machine;
    const struct stv_machine_column *column = &machine->columns[column_idx];
    double value = (double)NAN;
    if (column->cell_idx >= rows->n_cells || column->cell_idx >= STV__CELLS_MAX)
        return value;
    struct stv_slice cell = rows->cells[column->cell_idx];
    enum stv_reading_fault fault = read_cell(rows, column, cell, &value);
    if (fault == STV_READING_GOOD || fault == STV_READING_EMPTY)
        return value;
    if (fault == STV_READING_AT_LIMIT) {
        if (machine->n_at_limit++ > 0)
            return value; /* said once */
    } else {
        machine->n_values_set_aside++;
        machine->n_temp_beyond += column->quantity == STV_WQ_TEMP_C && fault == STV_READING_BEYOND;
    }
    say_value(rows, line, column, cell, fault);
    return value;
}
