/* Reads a typed weather file through one format's reader. */
#ifndef STV_TESTS_FORMAT_CASE_H
#define STV_TESTS_FORMAT_CASE_H

#include "ingest/weather_format.h"
#include "ingest/weather_meta.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/check.h"

#include <string.h>

struct format_case {
    struct stv_weather_text file;
    struct stv_problems problems;
    enum stv_status status;
};

/* True when the format says that the text is its own. */
static inline bool format_is_mine(const struct stv_weather_format *format, const char *text)
{
    struct stv_lines lines = {.text = text, .n = strlen(text)};
    struct stv_line head[STV_HEAD_LINES];
    size_t n = 0;
    while (n < STV_HEAD_LINES && stv_lines_next(&lines, &head[n]))
        n++;
    return n > 0 && format->is_mine(head, n);
}

/* Reads; free with format_case_free. */
static inline void format_case_read(struct format_case *one,
                                    const struct stv_weather_format *format, const char *text,
                                    const char *station)
{
    *one = (struct format_case){0};
    stv_problems_init(&one->problems);
    one->file = (struct stv_weather_text){.text = text,
                                          .n = strlen(text),
                                          .file = "typed",
                                          .problems = &one->problems,
                                          .station = station};
    stv_weather_meta_init(&one->file.meta);
    one->status = format->read(&one->file);
    if (one->status == STV_OK)
        one->status = one->file.status;
}

static inline void format_case_free(struct format_case *one)
{
    stv_samples_free(&one->file.samples);
    stv_problems_free(&one->problems);
}

/* UTC seconds of a date and time. */
static inline int64_t format_at(int year, int month, int day, int hour, int minute)
{
    return stv_day_from_date((struct stv_date){year, month, day}) * STV_DAY_S + hour * STV_HOUR_S +
           minute * 60;
}

/* Value of the k-th sample that was read. */
static inline double format_value(const struct format_case *one, enum stv_weather_quantity quantity,
                                  size_t k)
{
    assert_non_null(one->file.samples.values[quantity]);
    return one->file.samples.values[quantity][k];
}

/* The counts add up: every row is a sample, set aside or empty. */
static inline void format_case_assert_counts(const struct format_case *one)
{
    assert_int_equal(one->file.n_rows,
                     one->file.samples.n + one->file.n_set_aside + one->file.n_empty);
}

#endif
