/* What every test of charts asks of a chart: drawn by the real gnuplot, well-formed, small, silent,
 * and with a table that holds the structs' own numbers; 9 significant digits are what CSV
 * promises. */
#ifndef STV_TESTS_CHART_CHECK_H
#define STV_TESTS_CHART_CHECK_H

#include "tests/check.h"
#include "tests/csv_cells.h"
#include "tests/xml_scan.h"

#include "plots/chart.h"

#define CSV_REL 1e-8
#define SVG_MOST_BYTES 100000

/* Draws one chart and looks at the picture and at what gnuplot said. */
static inline void draw(struct stv_chart *chart)
{
    char why[400];
    enum stv_status status = stv_charts_draw(chart, 1, STV_PICTURE_SVG, why, sizeof why);
    if (status != STV_OK)
        print_error("%s: %s\n", chart->name, why);
    stv_assert_ok(status);
    assert_string_equal(why, "");
    if (chart->picture.n >= SVG_MOST_BYTES)
        print_error("%s has %zu bytes\n", chart->name, chart->picture.n);
    assert_true(chart->picture.n > 1000 && chart->picture.n < SVG_MOST_BYTES);
    const char *fault = xml_fault(chart->picture.bytes);
    if (fault != NULL)
        print_error("%s is not well-formed at: %.60s\n", chart->name, fault);
    assert_null(fault);
    assert_non_null(strstr(chart->picture.bytes, "invented example"));
    assert_true(chart->words.n > 40 && chart->note.n > 20);
}

static inline struct csv_cells cells_of(const struct stv_chart *chart)
{
    struct stv_text csv = {0};
    stv_sheet_csv(&chart->table, &csv);
    struct csv_cells cells = csv_cells_of(stv_text_string(&csv));
    stv_text_free(&csv);
    return cells;
}

static inline void has_words(const struct stv_chart *chart, const char *part)
{
    if (strstr(chart->words.bytes, part) == NULL)
        print_error("\"%s\" is not in: %s\n", part, chart->words.bytes);
    assert_non_null(strstr(chart->words.bytes, part));
}

/* Where a label is told to stand, left to right: a share of the picture's width, or on the axis. */
static inline double label_at(const struct stv_chart *chart, const char *text)
{
    char quoted[120];
    snprintf(quoted, sizeof quoted, "'%s' at ", text);
    const char *found = strstr(chart->script.bytes, quoted);
    if (found == NULL)
        print_error("no label says %s\n", text);
    assert_non_null(found);
    found += strlen(quoted);
    return strtod(found + strcspn(found, " "), NULL);
}

#endif
