/* A few fixed forms of sentence, each with holes; nothing is guessed. */
#include "cli/what_if.h"

#include "cli/format.h"
#include "ingest/quantity.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HOLE_MAX 128
#define HOLES_MOST 4
#define WHY_MAX 256

struct reading {
    const struct stv_chain *chain;
    char holes[HOLES_MOST][HOLE_MAX];
    char *why; /* WHY_MAX */
};

/* Words apart by one blank each. */
static bool tidy(const char *text, char *out, size_t size)
{
    size_t n = 0;
    for (const char *at = text; *at; at++) {
        bool is_blank = *at == ' ' || *at == '\t';
        if (is_blank && (n == 0 || out[n - 1] == ' '))
            continue;
        if (n + 1 >= size)
            return false;
        out[n++] = is_blank ? ' ' : *at;
    }
    n -= n > 0 && out[n - 1] == ' ';
    out[n] = '\0';
    return n > 0;
}

/* "move cask * to * on *": what stands between the fixed words goes into the holes. */
static bool fits(struct reading *reading, const char *text, const char *form)
{
    size_t hole = 0;
    while (*form) {
        if (*form != '*') {
            size_t n = strcspn(form, "*");
            if (strncmp(text, form, n) != 0)
                return false;
            text += n;
            form += n;
            continue;
        }
        form++;
        size_t n_fixed = strcspn(form, "*");
        char fixed[HOLE_MAX];
        snprintf(fixed, sizeof fixed, "%.*s", (int)n_fixed, form);
        const char *end = n_fixed ? strstr(text, fixed) : text + strlen(text);
        if (!end || end == text || (size_t)(end - text) >= HOLE_MAX || hole == HOLES_MOST)
            return false;
        snprintf(reading->holes[hole++], HOLE_MAX, "%.*s", (int)(end - text), text);
        text = end;
    }
    return *text == '\0';
}

static bool read_cask(struct reading *reading, size_t hole, int *out)
{
    *out = stv_chain_cask(reading->chain, reading->holes[hole]);
    if (*out >= 0)
        return true;
    const char *nearest = stv_chain_nearest_cask(reading->chain, reading->holes[hole]);
    if (nearest)
        snprintf(reading->why, WHY_MAX, "there is no cask \"%.40s\"; did you mean \"%s\"?",
                 reading->holes[hole], nearest);
    else
        snprintf(reading->why, WHY_MAX, "there is no cask \"%.40s\" in casks.csv",
                 reading->holes[hole]);
    return false;
}

static bool read_amount(struct reading *reading, size_t hole, enum stv_dimension dimension,
                        double *out)
{
    char reason[WHY_MAX];
    if (stv_quantity_parse(reading->holes[hole], dimension, NULL, out, reason, sizeof reason) ==
            STV_OK &&
        *out > 0.0)
        return true;
    snprintf(reading->why, WHY_MAX, "\"%.40s\" is no amount: write it with its unit, as %s",
             reading->holes[hole], dimension == STV_DIM_MASS ? "11.7 kg" : "50 L");
    return false;
}

/* One-based, from 1 to most. */
static bool read_number(struct reading *reading, const char *word, const char *text, size_t most,
                        int *out)
{
    char reason[WHY_MAX];
    size_t value = 0;
    const size_t range[2] = {1, most};
    if (text && stv_count_parse(text, range, &value, reason, sizeof reason) == STV_OK) {
        *out = (int)value - 1;
        return true;
    }
    snprintf(reading->why, WHY_MAX, "%s \"%.20s\" is none of 1 to %zu", word, text ? text : "",
             most);
    return false;
}

/* The store that is named before "tier", else the one the cask lies in, else the only one. */
static bool read_warehouse(struct reading *reading, const char *name, int cask_idx, int *out)
{
    const struct stv_book *book = &reading->chain->book;
    if (name[0] == '\0') {
        *out = stv_lineage_place(reading->chain->lineage, cask_idx).warehouse_idx;
        if (*out < 0 && book->n_warehouses == 1)
            *out = 0;
        if (*out < 0)
            snprintf(reading->why, WHY_MAX, "name the store: \"to STORE tier 2 bay 7\"");
        return *out >= 0;
    }
    for (size_t w = 0; w < book->n_warehouses; w++) {
        if (strcmp(book->warehouses[w].name, name) != 0)
            continue;
        *out = (int)w;
        return true;
    }
    snprintf(reading->why, WHY_MAX, "there is no store \"%.60s\" in book.yaml", name);
    return false;
}

static bool read_place_word(struct reading *reading, const struct stv_building *building,
                            const char *word, char **rest, struct stv_place *out)
{
    const struct {
        const char *word;
        size_t most;
        int *to_idx;
        int said_idx; /* the word says it alone; -1: a number stands behind it */
    } parts[] = {
        {"tier", building->n_tiers, &out->tier_idx, -1},
        {"bay", building->n_bays, &out->bay_idx, -1},
        {"depth", building->n_depth, &out->depth_idx, -1},
        {"front", 1, &out->depth_idx, 0},
        {"behind", building->n_depth, &out->depth_idx, 1},
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (strcmp(word, parts[i].word) != 0 || parts[i].said_idx >= (int)parts[i].most)
            continue;
        if (*parts[i].to_idx >= 0) {
            snprintf(reading->why, WHY_MAX, "\"%s\" says once more what was said before it", word);
            return false;
        }
        if (parts[i].said_idx < 0)
            return read_number(reading, word, strtok_r(NULL, " ", rest), parts[i].most,
                               parts[i].to_idx);
        *parts[i].to_idx = parts[i].said_idx;
        return true;
    }
    snprintf(reading->why, WHY_MAX, "\"%.40s\" is no part of a place: write \"tier 2 bay 7 front\"",
             word);
    return false;
}

/* Which store it was taken for, and how another is named. */
static void name_store(struct reading *reading, int warehouse_idx)
{
    const struct stv_book *book = &reading->chain->book;
    size_t length = strlen(reading->why);
    if (book->n_warehouses > 1)
        snprintf(reading->why + length, WHY_MAX - length,
                 " in %.40s, where it lies; another store is named before the tier: \"to %.40s "
                 "tier 2\"",
                 book->warehouses[warehouse_idx].name,
                 book->warehouses[warehouse_idx > 0 ? 0 : 1].name);
}

/* "tier 2 bay 7 front", with the store's name before it where there are several. */
static bool read_place(struct reading *reading, size_t hole, int cask_idx, struct stv_place *out)
{
    char *text = reading->holes[hole], name[HOLE_MAX] = "", *rest = NULL;
    *out = (struct stv_place){-1, -1, -1, -1};
    char *tier = strncmp(text, "tier ", 5) == 0 ? text : strstr(text, " tier ");
    if (!tier) {
        snprintf(reading->why, WHY_MAX, "\"%.40s\" names no tier: write \"tier 2 bay 7\"", text);
        return false;
    }
    if (tier != text)
        snprintf(name, sizeof name, "%.*s", (int)(tier - text), text);
    if (!read_warehouse(reading, name, cask_idx, &out->warehouse_idx))
        return false;
    const struct stv_building *building =
        &reading->chain->book.warehouses[out->warehouse_idx].building;
    for (char *word = strtok_r(tier, " ", &rest); word; word = strtok_r(NULL, " ", &rest))
        if (!read_place_word(reading, building, word, &rest, out)) {
            if (!name[0])
                name_store(reading, out->warehouse_idx);
            return false;
        }
    return true;
}

static bool read_day(struct reading *reading, size_t hole, int64_t until_day_d, int64_t *out)
{
    char reason[WHY_MAX];
    int64_t as_of_d = reading->chain->as_of_day_d;
    if (stv_date_parse(reading->holes[hole], out, reason, sizeof reason) != STV_OK) {
        snprintf(reading->why, WHY_MAX, "\"%.30s\" is not a day written as 2028-10-01",
                 reading->holes[hole]);
        return false;
    }
    if (*out >= as_of_d && *out <= until_day_d)
        return true;
    snprintf(reading->why, WHY_MAX,
             "%s lies outside what is told, %s to %s: --date and --until move the ends",
             stv_format_iso_day(*out).text, stv_format_iso_day(as_of_d).text,
             stv_format_iso_day(until_day_d).text);
    return false;
}

static bool read_event(struct reading *reading, const char *text, int64_t until_day_d,
                       struct stv_event *event)
{
    *event = (struct stv_event){.other_idx = -1,
                                .volume20_l = NAN,
                                .abv20_frac = NAN,
                                .water_kg = NAN,
                                .place = {-1, -1, -1, -1}};
    if (fits(reading, text, "move cask * to * on *")) {
        event->kind = STV_EVENT_MOVE;
        return read_cask(reading, 0, &event->cask_idx) &&
               read_place(reading, 1, event->cask_idx, &event->place) &&
               read_day(reading, 2, until_day_d, &event->day_d);
    }
    if (fits(reading, text, "transfer cask * into cask * on *")) {
        event->kind = STV_EVENT_TRANSFER;
        return read_cask(reading, 0, &event->cask_idx) &&
               read_cask(reading, 1, &event->other_idx) &&
               read_day(reading, 2, until_day_d, &event->day_d);
    }
    if (fits(reading, text, "transfer * of cask * into cask * on *")) {
        event->kind = STV_EVENT_TRANSFER;
        return read_amount(reading, 0, STV_DIM_VOLUME, &event->volume20_l) &&
               read_cask(reading, 1, &event->cask_idx) &&
               read_cask(reading, 2, &event->other_idx) &&
               read_day(reading, 3, until_day_d, &event->day_d);
    }
    if (fits(reading, text, "add * water to cask * on *")) {
        event->kind = STV_EVENT_ADD_WATER;
        return read_amount(reading, 0, STV_DIM_MASS, &event->water_kg) &&
               read_cask(reading, 1, &event->cask_idx) &&
               read_day(reading, 2, until_day_d, &event->day_d);
    }
    snprintf(reading->why, WHY_MAX, "not understood");
    return false;
}

/* The book's events with these behind each day's rows. */
static enum stv_status join(const struct stv_chain *chain, struct stv_what_if *out)
{
    const struct stv_ledger *book = &chain->book.ledger;
    size_t n = book->n_events + out->n_events;
    out->ledger = (struct stv_ledger){.casks = malloc((book->n_casks + 1) * sizeof *book->casks),
                                      .n_casks = book->n_casks,
                                      .events = malloc((n + 1) * sizeof *book->events),
                                      .n_events = n};
    if (!out->ledger.casks || !out->ledger.events)
        return STV_E_MEMORY;
    memcpy(out->ledger.casks, book->casks, book->n_casks * sizeof *book->casks);
    memcpy(out->ledger.events, book->events, book->n_events * sizeof *book->events);
    memcpy(out->ledger.events + book->n_events, out->events, out->n_events * sizeof *out->events);
    return stv_ledger_sort(&out->ledger);
}

/* Row of the first of n sentences: behind all rows of a file, in the order in which they were said.
 */
static size_t first_row(size_t n)
{
    return SIZE_MAX - n;
}

static bool is_ours(const struct stv_what_if *what_if, const struct stv_event *event)
{
    return event->row >= first_row(what_if->n_events);
}

static const char *sentence_of(const struct stv_what_if *what_if, const char *const *sentences,
                               const struct stv_event *event)
{
    return sentences[event->row - first_row(what_if->n_events)];
}

static enum stv_status check_faults(const struct stv_what_if *what_if, const char *const *sentences,
                                    char *why, size_t size)
{
    struct stv_ledger_fault fault;
    size_t n = 0;
    enum stv_status status = stv_ledger_check(&what_if->ledger, &fault, 1, &n);
    if (status != STV_E_CONSISTENCY)
        return status;
    const struct stv_event *event = &what_if->ledger.events[fault.event_idx];
    if (is_ours(what_if, event))
        snprintf(why, size, "--what-if \"%.100s\": %s.", sentence_of(what_if, sentences, event),
                 fault.why);
    else
        snprintf(why, size, "With --what-if, line %zu of history.csv (%s) cannot be: %s.",
                 event->row, stv_format_iso_day(event->day_d).text, fault.why);
    return status;
}

/* Moving an empty cask is no contradiction in a book, but nothing to compare either. */
static enum stv_status check_moves(const struct stv_what_if *what_if, const char *const *sentences,
                                   char *why, size_t size)
{
    size_t n = 0;
    size_t *idx = malloc((what_if->ledger.n_events + 1) * sizeof *idx);
    enum stv_status status = idx ? stv_ledger_empty_moves(&what_if->ledger, idx, &n) : STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        const struct stv_event *event = &what_if->ledger.events[idx[i]];
        if (!is_ours(what_if, event))
            continue;
        snprintf(why, size, "--what-if \"%.100s\": the cask is empty when that day is over.",
                 sentence_of(what_if, sentences, event));
        status = STV_E_CONSISTENCY;
    }
    free(idx);
    return status;
}

enum stv_status stv_what_if_read(const struct stv_chain *chain, const char *const *sentences,
                                 size_t n, int64_t until_day_d, struct stv_what_if *out, char *why,
                                 size_t size)
{
    char reason[WHY_MAX] = "", text[2 * HOLE_MAX];
    struct reading reading = {.chain = chain, .why = reason};
    *out = (struct stv_what_if){.events = calloc(n + 1, sizeof *out->events)};
    enum stv_status status = out->events ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        snprintf(reason, sizeof reason, "not understood");
        if (!tidy(sentences[i], text, sizeof text) ||
            !read_event(&reading, text, until_day_d, &out->events[i])) {
            snprintf(why, size, "--what-if \"%.100s\": %s. Forms: " STV_WHAT_IF_FORMS ".",
                     sentences[i], reason);
            status = STV_E_USAGE;
        }
        out->events[i].row = first_row(n) + i;
        out->n_events++;
    }
    if (status == STV_OK)
        status = join(chain, out);
    if (status == STV_OK)
        status = check_faults(out, sentences, why, size);
    if (status == STV_OK)
        status = check_moves(out, sentences, why, size);
    if (status != STV_OK)
        stv_what_if_free(out);
    return status;
}

void stv_what_if_free(struct stv_what_if *what_if)
{
    stv_ledger_free(&what_if->ledger);
    free(what_if->events);
    *what_if = (struct stv_what_if){0};
}

int stv_what_if_holder(const struct stv_what_if *what_if, int cask_idx)
{
    for (size_t e = 0; e < what_if->ledger.n_events; e++) {
        const struct stv_event *event = &what_if->ledger.events[e];
        if (is_ours(what_if, event) && event->cask_idx == cask_idx && event->other_idx >= 0 &&
            !isfinite(event->volume20_l))
            cask_idx = event->other_idx;
    }
    return cask_idx;
}
