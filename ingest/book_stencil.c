/* A cask's stencil beside the other cells of its row: it fills in what they do not say, and may not
 * contradict what they do.  How it was understood is always told. */
#include "ingest/book_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define ECHO_MAX 200
#define WHISKY 1 /* place in stv__held_words; 2 is its other spelling */
#define SIZE_NEAR_L 0.5

static void add_size(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                     struct stv__wood *wood)
{
    if (!isfinite(stencil->size_l))
        return;
    bool is_inside = wood->size_l >= stencil->least_l - SIZE_NEAR_L &&
                     wood->size_l <= stencil->most_l + SIZE_NEAR_L;
    if (!wood->has_size)
        wood->size_l = stencil->size_l;
    else if (!is_inside)
        stv_table_refuse(table, column,
                         "says %s%s%g L, but the row %g L: correct the one that is wrong",
                         stencil->size_name ? stencil->size_name : "",
                         stencil->size_name ? ", about " : "", stencil->size_l, wood->size_l);
    wood->has_size = true;
}

static bool is_one_liquid(size_t a, size_t b)
{
    return a == b || (a >= WHISKY && a <= WHISKY + 1 && b >= WHISKY && b <= WHISKY + 1);
}

static void add_held(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                     struct stv__wood *wood)
{
    if (stencil->held_idx < 0)
        return;
    size_t held = (size_t)stencil->held_idx;
    if (!wood->has_held)
        wood->held = held;
    else if (!is_one_liquid(wood->held, held))
        stv_table_refuse(table, column,
                         "says it held %s, but the row %s: correct the one that is wrong",
                         stv__held_words[held], stv__held_words[wood->held]);
    wood->has_held = true;
}

/* "2nd fill" is the second whisky, or the second liquid, which is the first whisky after another.
 */
static void ask_which_fill(struct stv_table *table, size_t column, int fill_no)
{
    stv_table_refuse(
        table, column,
        "\"fill %d\" can be whisky no. %d in this wood (write %d under uses) or liquid "
        "no. %d, after what it held before (write %d under uses)",
        fill_no, fill_no, fill_no - 1, fill_no, fill_no - 2);
}

static void add_uses(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                     struct stv__wood *wood)
{
    size_t fill_no = (size_t)stencil->fill_no;
    bool is_open = fill_no >= 2 && !stencil->counts_whisky;
    if (fill_no == 0 && !stencil->is_refill)
        return;
    if (!wood->has_uses && is_open) {
        ask_which_fill(table, column, stencil->fill_no);
        wood->has_held = true; /* whether it is needed depends on the answer */
        return;
    }
    if (!wood->has_uses)
        wood->n_uses = stencil->is_refill ? 1 : fill_no - 1;
    bool agrees = stencil->is_refill
                      ? wood->n_uses >= 1
                      : wood->n_uses == fill_no - 1 || (is_open && wood->n_uses == fill_no - 2);
    if (!agrees && stencil->is_refill)
        stv_table_refuse(table, column,
                         "says refill, but uses says 0: correct the one that is wrong");
    else if (!agrees)
        stv_table_refuse(table, column,
                         "says fill %zu, but uses says %zu: correct the one that is wrong", fill_no,
                         wood->n_uses);
    wood->has_uses = true;
    /* A whisky fill has taken what the wood's first liquid left, so that it need not be known. */
    if (wood->n_uses > 0 && !wood->has_held) {
        wood->held = WHISKY;
        wood->has_held = true;
    }
}

/* A cask may be filled the year after its spirit was made, and not before its year. */
static void compare_year(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                         int64_t fill_day_d, double width_d)
{
    if (!stencil->year || fill_day_d == INT64_MIN)
        return;
    int first = stv_date_from_day(fill_day_d - (int64_t)width_d).year;
    int last = stv_date_from_day(fill_day_d + (int64_t)width_d).year;
    if (stencil->year < first - 1 || stencil->year > last)
        stv_table_refuse(table, column,
                         "says %d, but the row a fill in %d: correct the one that is wrong, or "
                         "leave an older year out",
                         stencil->year, last);
}

void stv__stencil_apply(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                        const char *id, struct stv__wood *wood)
{
    char echo[ECHO_MAX];
    stv_stencil_echo(stencil, echo, sizeof echo);
    stv_table_say(table, STV_NOTED, column, "understood as %s", echo);
    if (id[0] && stencil->number[0] && strcmp(id, stencil->number) != 0)
        stv_table_refuse(table, column,
                         "says number %s, but the row is of cask %s: correct the one that is wrong",
                         stencil->number, id);
    add_size(table, column, stencil, wood);
    add_held(table, column, stencil, wood);
    add_uses(table, column, stencil, wood);
    compare_year(table, column, stencil, wood->fill_day_d, wood->fill_width_d);
    wood->tare_kg = stencil->tare_kg;
}
