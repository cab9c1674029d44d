/* Between two additions of liquid a cask only loses, by no more than wood, air and a leak can take,
 * and its strength drifts by a point or two a year: a row that breaks one of these laws is a slip
 * of the pen, a wrong cask or a missing row of the history.  What this does not do: correct a
 * figure, or know what the air takes. */
#include "ingest/gauge_check.h"

#include "ingest/gauge_parts.h"
#include "model/calendar.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* All judgement: a person reads a hydrometer to half a point and a dip to a litre or two. */
#define OFF_FRAC 0.05
#define NEAR_FRAC 0.01
#define RISE_SDS 2.0
#define RISE_FRAC 0.015
#define CELL_MAX 96
#define USUAL_LOSS_PER_Y 0.04 /* to wood and air; judgement */
#define CLEARLY 3.0
#define CLEARLY_LN 0.05
#define USUAL_CASK_L 200.0 /* whose pace of loss the book's number is */

/* A day of a cask on which something was measured or put in. */
struct point {
    int cask_idx;
    int64_t day_d;
    double width_d, volume_l, volume_sd_l, abv_frac;
    struct stv_gauge *gauge; /* NULL for what was put in */
    bool is_fill;
    bool is_left_alone; /* too near to an addition to stand on one side of it */
    bool is_abv_wrong, is_litres_wrong;
};

static int by_cask_and_day(const void *a, const void *b)
{
    const struct point *x = a, *y = b;
    if (x->cask_idx != y->cask_idx)
        return x->cask_idx < y->cask_idx ? -1 : 1;
    if (x->day_d != y->day_d)
        return x->day_d < y->day_d ? -1 : 1;
    if (!x->gauge != !y->gauge)
        return x->gauge ? 1 : -1;
    size_t row_x = x->gauge ? x->gauge->row : 0, row_y = y->gauge ? y->gauge->row : 0;
    return (row_x > row_y) - (row_x < row_y);
}

/* The cask that an event puts liquid into; -1 for none. */
static int receiver_of(const struct stv_event *event)
{
    switch (event->kind) {
    case STV_EVENT_FILL:
    case STV_EVENT_ADD_WATER:
    case STV_EVENT_TOP_UP:
        return event->cask_idx;
    case STV_EVENT_TRANSFER:
        return event->other_idx;
    default:
        return -1;
    }
}

static struct point point_of_event(const struct stv_event *event)
{
    bool is_fill = event->kind == STV_EVENT_FILL;
    return (struct point){.cask_idx = receiver_of(event),
                          .day_d = event->day_d,
                          .width_d = event->day_width_d,
                          .volume_l = is_fill ? event->volume20_l : (double)NAN,
                          .abv_frac = is_fill ? event->abv20_frac : (double)NAN,
                          .is_fill = is_fill};
}

/* All points, sorted; NULL without memory. */
static struct point *gather(struct stv_book *book, size_t *out_n)
{
    const struct stv_ledger *ledger = &book->ledger;
    struct point *points = malloc((book->n_gauges + ledger->n_events + 1) * sizeof *points);
    size_t n = 0;
    for (size_t i = 0; points && i < book->n_gauges; i++) {
        struct stv_gauge *gauge = &book->gauges[i];
        points[n++] = (struct point){.cask_idx = gauge->cask_idx,
                                     .day_d = gauge->day_d,
                                     .width_d = gauge->day_width_d,
                                     .volume_l = gauge->volume20_l,
                                     .volume_sd_l = gauge->volume_sd_l,
                                     .abv_frac = gauge->abv20_frac,
                                     .gauge = gauge};
    }
    for (size_t i = 0; points && i < ledger->n_events; i++)
        if (receiver_of(&ledger->events[i]) >= 0)
            points[n++] = point_of_event(&ledger->events[i]);
    if (points)
        qsort(points, n, sizeof *points, by_cask_and_day);
    *out_n = n;
    return points;
}

/* Nobody knows on which side of an addition of its own day a gauge lies, a fill apart: nothing can
 * be gauged before it. */
static bool may_be_either_side(const struct point *gauge, const struct point *addition)
{
    double apart_d = fabs((double)(gauge->day_d - addition->day_d));
    double width_d = gauge->width_d + addition->width_d;
    return apart_d <= width_d && !(addition->is_fill && width_d <= 0.0);
}

static void leave_alone(struct point *points, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (points[i].gauge)
            continue;
        for (size_t k = i; k-- > 0 && points[k].cask_idx == points[i].cask_idx && points[k].gauge;)
            points[k].is_left_alone |= may_be_either_side(&points[k], &points[i]);
        for (size_t k = i + 1; k < n && points[k].cask_idx == points[i].cask_idx && points[k].gauge;
             k++)
            points[k].is_left_alone |= may_be_either_side(&points[k], &points[i]);
    }
}

/* What a rule looks at: the points of one stretch whose value is known. */
struct stretch {
    struct stv__book_reader *reader;
    struct point *points;
    size_t n;
};

static double value_of(const struct point *point, bool is_litres)
{
    if (point->is_left_alone || (is_litres ? point->is_litres_wrong : point->is_abv_wrong))
        return (double)NAN;
    return is_litres ? point->volume_l : point->abv_frac;
}

/* The next point before (step -1) or after (+1) one that has a value; NULL when there is none. */
static struct point *next_of(const struct stretch *stretch, const struct point *from, int step,
                             bool is_litres)
{
    ptrdiff_t at = from - stretch->points;
    for (at += step; at >= 0 && at < (ptrdiff_t)stretch->n; at += step)
        if (isfinite(value_of(&stretch->points[at], is_litres)))
            return &stretch->points[at];
    return NULL;
}

/* Strength on a day by the points around it; NaN when they are too few or do not agree. */
static double expected_frac(const struct stretch *stretch, const struct point *point)
{
    const struct point *before = next_of(stretch, point, -1, false);
    const struct point *after = next_of(stretch, point, +1, false);
    const struct point *near = before ? before : after;
    const struct point *other = before && after ? after : NULL;
    if (near && !other)
        other = near->is_fill ? near : next_of(stretch, near, before ? -1 : +1, false);
    if (!near || !other || fabs(near->abv_frac - other->abv_frac) > OFF_FRAC)
        return (double)NAN;
    if (!before || !after || after->day_d == before->day_d)
        return near->abv_frac;
    double part = (double)(point->day_d - before->day_d) / (double)(after->day_d - before->day_d);
    return before->abv_frac + part * (after->abv_frac - before->abv_frac);
}

/* The cell as typed with two neighbouring figures changed, that comes nearest to a strength as
 * shown; false when none comes near. */
static bool find_swap(const struct stv_table *table, size_t column, double wanted_frac,
                      char out[CELL_MAX])
{
    struct stv_measured value;
    const char *typed = stv_csv_text(&table->csv, table->row, table->index[column]);
    char text[CELL_MAX], why[192];
    double least = NEAR_FRAC;
    bool is_found = false;
    if (strlen(typed) >= sizeof text)
        return false;
    for (size_t i = 0; typed[i]; i++) {
        size_t next = i + 1 + (typed[i + 1] == '.' || typed[i + 1] == ',');
        if (!isdigit((unsigned char)typed[i]) || !isdigit((unsigned char)typed[next]))
            continue;
        snprintf(text, sizeof text, "%s", typed);
        text[i] = typed[next];
        text[next] = typed[i];
        if (stv_table_reading(table, column, text, &value, why, sizeof why) != STV_OK ||
            !(fabs(value.value - wanted_frac) <= least))
            continue;
        least = fabs(value.value - wanted_frac);
        snprintf(out, CELL_MAX, "%s", text);
        is_found = true;
    }
    return is_found;
}

static void judge_strength(const struct stretch *stretch, struct point *point)
{
    struct stv_table *table = &stretch->reader->gauges;
    size_t column = stv__gauge_strength_column(point->gauge);
    struct stv_measured shown;
    char swapped[CELL_MAX], why[192];
    double wanted_frac = expected_frac(stretch, point);
    double off_frac = fabs(point->abv_frac - wanted_frac);
    if (!(off_frac > OFF_FRAC))
        return;
    stv_table_go_to(table, point->gauge->row);
    const char *typed = stv_csv_text(&table->csv, table->row, table->index[column]);
    /* The temperature moves a reading about alike, whichever of two figures comes first. */
    if (stv_table_reading(table, column, typed, &shown, why, sizeof why) != STV_OK ||
        !find_swap(table, column, wanted_frac + shown.value - point->abv_frac, swapped))
        return;
    point->is_abv_wrong = point->gauge->is_suspect = true;
    stv_table_say(table, STV_SET_ASIDE, column,
                  "is %.1f %%vol off what was measured around it, and \"%s\" would not be: did two "
                  "figures change places? The row is not used, and not corrected",
                  100.0 * off_frac, swapped);
}

/* How two points of a stretch contradict each other. */
enum clash { CLASH_NONE, CLASH_RISE, CLASH_FALL };

/* Litres that went out of a cask by the history between two days. */
static double drawn_l(const struct stretch *stretch, const struct point *from,
                      const struct point *to)
{
    const struct stv_ledger *ledger = &stretch->reader->book->ledger;
    double sum_l = 0.0;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool is_out = event->kind == STV_EVENT_SAMPLE || event->kind == STV_EVENT_TRANSFER;
        double width_d = event->day_width_d + fmax(from->width_d, to->width_d);
        if (is_out && event->cask_idx == from->cask_idx && isfinite(event->volume20_l) &&
            (double)event->day_d + width_d >= (double)from->day_d &&
            (double)event->day_d - width_d <= (double)to->day_d)
            sum_l += event->volume20_l;
    }
    return sum_l;
}

/* The least that a cask may hold after some time; small casks lose faster, as surface to litres. */
static double least_l(const struct stretch *stretch, const struct point *from,
                      const struct point *to)
{
    const struct stv_book *book = stretch->reader->book;
    const struct stv_gauge_numbers *numbers = &book->gauge_numbers;
    double cask_l = book->ledger.casks[from->cask_idx].geometry.capacity_l;
    double years_y = ((double)(to->day_d - from->day_d) + from->width_d + to->width_d) / STV_YEAR_D;
    double pace_per_y = numbers->most_loss_per_y * fmax(1.0, cbrt(USUAL_CASK_L / cask_l));
    return from->volume_l * (exp(-pace_per_y * years_y) - numbers->sudden_loss_frac);
}

static enum clash clash_of(const struct stretch *stretch, const struct point *earlier,
                           const struct point *later)
{
    if (!earlier || !later)
        return CLASH_NONE;
    double width_d = earlier->width_d + later->width_d;
    bool has_order = width_d <= 0.0 || (double)(later->day_d - earlier->day_d) > width_d;
    double rise_l = later->volume_l - earlier->volume_l;
    double sd_l = hypot(later->volume_sd_l, earlier->volume_sd_l);
    if (!has_order)
        return CLASH_NONE;
    if (rise_l > fmax(RISE_SDS * sd_l, RISE_FRAC * earlier->volume_l))
        return CLASH_RISE;
    double short_l = least_l(stretch, earlier, later) - later->volume_l - RISE_SDS * sd_l;
    return short_l > 0.0 && short_l > drawn_l(stretch, earlier, later) ? CLASH_FALL : CLASH_NONE;
}

/* How many other points of its stretch a point contradicts. */
static size_t count_clashes(const struct stretch *stretch, const struct point *point)
{
    size_t n = 0;
    for (const struct point *p = next_of(stretch, point, -1, true); p;
         p = next_of(stretch, p, -1, true))
        n += clash_of(stretch, p, point) != CLASH_NONE;
    for (const struct point *p = next_of(stretch, point, +1, true); p;
         p = next_of(stretch, p, +1, true))
        n += clash_of(stretch, point, p) != CLASH_NONE;
    return n;
}

static const char *why_not(enum clash clash, bool is_later)
{
    if (clash == CLASH_RISE)
        return "and nothing was put in between: a slip, or a row missing in history.csv?";
    return is_later ? "more than wood and air take in that time: look at the cask for a leak, then "
                      "for a slip here or a row missing in history.csv; gauge it again."
                    : "more than wood and air take in that time: a slip, or a row missing in "
                      "history.csv?";
}

/* Names both rows: which of the two is wrong is the house's to say. */
static void say_clash(const struct stretch *stretch, struct point *suspect,
                      const struct point *other, enum clash clash, bool is_told_apart)
{
    struct stv_table *table = &stretch->reader->gauges;
    struct stv_date date = stv_date_from_day(other->day_d);
    bool is_later = suspect > other;
    char where[64] = "", which[96] = "This row is not used";
    if (other->gauge) {
        snprintf(where, sizeof where, " (line %zu)", other->gauge->row);
        snprintf(which, sizeof which,
                 is_told_apart ? "Line %zu fits the others; this row is not used"
                               : "Line %zu may be the wrong one as well; this row is not used",
                 other->gauge->row);
    }
    stv_table_go_to(table, suspect->gauge->row);
    suspect->is_litres_wrong = suspect->gauge->is_suspect = true;
    stv_table_say(table, STV_SET_ASIDE, stv__gauge_litres_column(suspect->gauge),
                  "is %.1f L %s than the %.1f L %s on %d-%02d-%02d%s, %s %s",
                  fabs(suspect->volume_l - other->volume_l),
                  suspect->volume_l > other->volume_l ? "more" : "less", other->volume_l,
                  other->is_fill ? "filled" : "gauged", date.year, date.month, date.day, where,
                  why_not(clash, is_later), which);
}

/* How far litres lie from what a usual store leaves of earlier ones, in ln. */
static double off_pace(const struct stretch *stretch, const struct point *from,
                       const struct point *to)
{
    double cask_l = stretch->reader->book->ledger.casks[from->cask_idx].geometry.capacity_l;
    double faster = fmax(1.0, cbrt(USUAL_CASK_L / cask_l));
    double years_y = (double)(to->day_d - from->day_d) / STV_YEAR_D;
    return fabs(log(to->volume_l / from->volume_l) + USUAL_LOSS_PER_Y * faster * years_y);
}

/* Of two that contradict each other and nobody else: the earlier one, by what lies before both. */
static bool is_earlier_off(const struct stretch *stretch, const struct point *first,
                           const struct point *earlier, const struct point *later)
{
    return off_pace(stretch, first, earlier) >
           CLEARLY * off_pace(stretch, first, later) + CLEARLY_LN;
}

/* A fall that later gauges bear out, or of a cask that was seen to weep, is a leak, and left to
 * what learns from gauges. */
static void judge_litres(const struct stretch *stretch, struct point *later)
{
    struct point *earlier = next_of(stretch, later, -1, true);
    enum clash clash = clash_of(stretch, earlier, later);
    if (clash == CLASH_NONE)
        return;
    const struct point *first = next_of(stretch, earlier, -1, true);
    size_t n_earlier = count_clashes(stretch, earlier), n_later = count_clashes(stretch, later);
    bool is_first_kept = !first || clash_of(stretch, first, later) == CLASH_NONE;
    bool is_off = first && n_earlier == n_later && clash == CLASH_RISE &&
                  is_earlier_off(stretch, first, earlier, later);
    bool is_earlier_wrong = earlier->gauge && is_first_kept && (n_earlier > n_later || is_off);
    bool is_borne_out =
        clash == CLASH_FALL &&
        (later->gauge->seeps || (n_later <= n_earlier && next_of(stretch, later, +1, true)));
    if (is_earlier_wrong)
        say_clash(stretch, earlier, later, clash, n_earlier > n_later);
    else if (!is_borne_out)
        say_clash(stretch, later, earlier, clash, n_later > n_earlier);
}

static void judge_stretch(const struct stretch *stretch)
{
    for (size_t i = 0; i < stretch->n; i++)
        if (stretch->points[i].gauge && isfinite(value_of(&stretch->points[i], false)))
            judge_strength(stretch, &stretch->points[i]);
    for (size_t i = 0; i < stretch->n; i++)
        if (stretch->points[i].gauge && isfinite(value_of(&stretch->points[i], true)))
            judge_litres(stretch, &stretch->points[i]);
}

void stv__gauge_check(struct stv__book_reader *reader)
{
    size_t n = 0;
    struct point *points = reader->has_gauges ? gather(reader->book, &n) : NULL;
    if (!points)
        return;
    leave_alone(points, n);
    for (size_t first = 0, end = 0; first < n; first = end) {
        end = first + 1;
        while (end < n && points[end].cask_idx == points[first].cask_idx && points[end].gauge)
            end++;
        judge_stretch(&(struct stretch){reader, points + first, end - first});
    }
    free(points);
}
