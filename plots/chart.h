/* What all charts share: size, type, colours, panels, numbers for gnuplot, and drawing. */
#ifndef STV_PLOTS_CHART_H
#define STV_PLOTS_CHART_H

#include "model/climate_days.h"
#include "model/climate_metrics.h"
#include "model/quantiles.h"
#include "model/status.h"
#include "plots/sheet.h"
#include "plots/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* 180 mm at 96 px to the inch.  Type of 17 px is 12.7 point there and 6 point at 85 mm. */
#define STV_CHART_WIDTH_PX 680
#define STV_CHART_FONT_PX 17
#define STV_CHART_TITLE_PX 20

/* Okabe and Ito's colours (2008, "Color Universal Design"; hex from memory).  Warm and cold mean
 * the seasons in every chart and nothing else. */
#define STV_COLOUR_WARM "#D55E00"
#define STV_COLOUR_COLD "#0072B2"
#define STV_COLOUR_WARM_TEXT "#B04D00" /* for words: the other is 3.9 to 1 on white */
#define STV_COLOUR_RANGE "#009E73"
#define STV_COLOUR_POINT "#CC79A7"
#define STV_COLOUR_INK "#222222"
#define STV_COLOUR_FAINT "#666666"
#define STV_COLOUR_GRID "#dddddd"

#define STV_CHART_NAME_MAX 40

/* Kinds of picture: SVG for the page, PNG with 300 dots to the inch at 180 mm, PDF of 180 mm. */
enum stv_picture { STV_PICTURE_SVG, STV_PICTURE_PNG, STV_PICTURE_PDF, STV_PICTURE_N };
/* What the names of its files end in, without the dot: "svg". */
const char *stv_picture_ending(enum stv_picture picture);
/* The kind that a file's name asks for by its ending; false for any other ending. */
bool stv_picture_of_path(const char *path, enum stv_picture *out);

/* One chart on its way from numbers to a picture.  Start with all members zero. */
struct stv_chart {
    char name[STV_CHART_NAME_MAX]; /* file stem, made by the program */
    int height_px;
    struct stv_text title;   /* as typed, not quoted */
    struct stv_text note;    /* how to read it */
    struct stv_text words;   /* what it shows, with the main numbers: the text alternative */
    struct stv_text script;  /* gnuplot commands */
    struct stv_text layers;  /* plot parts of the panel being written */
    struct stv_text data;    /* numbers for gnuplot */
    size_t n_blocks;         /* blocks in data */
    size_t block_start;      /* where the last of them begins */
    struct stv_sheet table;  /* the data beside the chart */
    struct stv_text picture; /* empty until drawn, or when it could not be drawn */
};

struct stv_chart_frame {
    const char *name, *title, *subtitle; /* title and subtitle may hold text that was typed */
    int height_px;
    bool is_invented; /* marks the picture as an invented example */
};

/* A text in a panel.  Positions are gnuplot coordinates: "first" of the panel's axes, or "px"
 * from the upper left corner of the chart. */
struct stv_chart_label {
    const char *text;
    double x, y;
    const char *space, *align; /* "first" or "px"; "left", "center" or "right" */
    const char *colour;        /* "#rrggbb" */
    int size_px;               /* 0: STV_CHART_FONT_PX */
};

/* Opens a chart: title and subtitle. */
void stv_chart_begin(struct stv_chart *chart, const struct stv_chart_frame *frame);

/* Places the next panel's axes, pixels from the upper left corner. */
void stv_chart_panel(struct stv_chart *chart, double left_px, double right_px, double top_px,
                     double bottom_px);

/* A panel of its own that shows the ramp's colours from a least to a most, told at both ends and in
 * the middle with so many decimals. */
struct stv_chart_key {
    double left_px, right_px, top_px, bottom_px;
    double least, most;
    int n_decimals;
};
void stv_chart_ramp_key(struct stv_chart *chart, const struct stv_chart_key *key);

/* Sets the range of an axis, 'x' or 'y'; from < to. */
void stv_chart_axis(struct stv_chart *chart, char axis, double from, double to);

/* Adds a text; it belongs to the panel being written. */
void stv_chart_label(struct stv_chart *chart, const struct stv_chart_label *label);

/* The same with white behind the text, where lines would cross it. */
void stv_chart_boxed_label(struct stv_chart *chart, const struct stv_chart_label *label);

/* Says in a chart of days, up to x_px at a height of y_px, that so many have weather of other
 * years, and how they are drawn. */
void stv_chart_made_up_label(struct stv_chart *chart, size_t n_days, const char *how, double x_px,
                             double y_px);

/* Starts a new block of numbers and returns its index; a block that stayed empty is taken again,
 * since gnuplot does not count it. */
size_t stv_chart_block(struct stv_chart *chart);

/* Adds a row of n numbers to the block; n 0 adds an empty line, which parts two lines. */
void stv_chart_row(struct stv_chart *chart, const double *values, size_t n);
/* Adds a straight stroke; a layer of strokes alone begins with STV_CHART_STROKES.  As a line of two
 * rows its end would stick out in a PNG. */
void stv_chart_stroke(struct stv_chart *chart, const double from[2], const double to[2]);
#define STV_CHART_STROKES "using 1:2:3:4 with vectors nohead "

/* Adds a layer of the panel: a block and the gnuplot words after it ("using 1:2 with lines"). */
void stv_chart_layer(struct stv_chart *chart, size_t block, const char *how);

/* Writes the panel's plot command and forgets its labels. */
void stv_chart_panel_end(struct stv_chart *chart);

/* Closes the chart. */
void stv_chart_end(struct stv_chart *chart);

/* Step of about span / n_most that is 1, 2 or 5 times a power of ten. */
double stv_chart_nice_step(double span, int n_most);

/* Ticks of a time axis in days with at most about n_most labels: years, or months,
 * or the day in the middle where no month begins.  The labels are left out where another
 * panel below has them (has_labels). */
void stv_chart_time_tics(struct stv_chart *chart, int64_t from_day_d, int64_t to_day_d, int n_most,
                         bool has_labels);

/* Colour of a share 0..1 (kept inside) on the viridis ramp, 0xRRGGBB, and whether white text
 * reads better on it than black. */
unsigned stv_chart_ramp(double share_frac);
bool stv_chart_is_dark(unsigned rgb);

/* Adds "14 May" for a day 0..364 of the 365-day year. */
void stv_chart_day_of_year(struct stv_text *out, int doy);

/* Adds "14 May to 12 Aug" for a season of the 365-day year. */
void stv_chart_season_dates(struct stv_text *out, const struct stv_season_span *span);

/* Adds ", 15 years, 1998 to 2012" of a climate, or ", 1 year". */
void stv_chart_add_years(struct stv_text *out, const struct stv_warehouse_climate *climate);

/* Adds "2026" for a year of stv_climate_year_day, "2026/27" where years begin in July, or
 * "typical". */
void stv_chart_year_name(struct stv_text *out, const struct stv_climate_days *days, int first_month,
                         int32_t year);

/* The tier that stands for a warehouse, as everywhere; NULL without tiers. */
const struct stv_position_metrics *
stv_chart_middle_tier(const struct stv_warehouse_climate *climate);

/* Adds " (179 to 190)": where nine trials in ten lie. */
void stv_chart_add_ends(struct stv_text *out, struct stv_range range, int n_decimals);

/* STV_E_MEMORY when any text or the table of the chart had failed. */
STV_MUST_CHECK enum stv_status stv_chart_status(const struct stv_chart *chart);

/* Draws n charts in one gnuplot, or in one more after each chart that fails.  The same charts give
 * the same bytes at any time.
 *
 * why     size bytes; receives the first reason, or what gnuplot warned of
 * Errors: STV_E_PROGRAM  gnuplot missing, or a chart failed; the others have their picture
 *         STV_E_IO, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_charts_draw(struct stv_chart *charts, size_t n,
                                               enum stv_picture picture, char *why, size_t size);

/* Gives the memory back and makes the chart empty again. */
void stv_chart_free(struct stv_chart *chart);

#endif
