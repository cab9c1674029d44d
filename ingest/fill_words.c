/* The wood is read as a stencil is, so that one table knows the words of casks. */
#include "ingest/fill_words.h"

#include "ingest/book_parts.h"
#include "ingest/quantity.h"
#include "ingest/stencil.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define TEXT_MAX 256
#define PARTS_MAX 12
#define WHY_MAX 192
#define LEAST_PLAN_Y 1.0
#define MOST_PLAN_Y 60.0

struct reading {
    const struct stv_cask_numbers *numbers;
    struct stv_fill_words *out;
    char *why;
    size_t size;
};

static enum stv_status fault(struct reading *reading, enum stv_status status, const char *what,
                             const char *found)
{
    if (found)
        snprintf(reading->why, reading->size, "\"%.60s\" %s", found, what);
    else
        snprintf(reading->why, reading->size, "%s", what);
    return status;
}

static char *trimmed(char *text)
{
    while (*text == ' ' || *text == '\t')
        text++;
    for (size_t n = strlen(text); n > 0 && (text[n - 1] == ' ' || text[n - 1] == '\t');)
        text[--n] = '\0';
    return text;
}

/* Cuts at commas, each part trimmed. */
static size_t cut(char *text, char *parts[PARTS_MAX])
{
    size_t n = 0;
    for (char *at = text; at && n < PARTS_MAX;) {
        char *comma = strchr(at, ',');
        if (comma)
            *comma++ = '\0';
        parts[n++] = trimmed(at);
        at = comma;
    }
    return n;
}

/* "12 x " before the wood; *out the text behind it. */
static enum stv_status read_count(struct reading *reading, char *text, char **out)
{
    static const size_t range[2] = {1, STV_FILL_CASKS_MAX};
    char why[WHY_MAX];
    size_t n_digits = strspn(text, "0123456789");
    char *cross = text + n_digits + strspn(text + n_digits, " ");
    *out = text;
    if (n_digits == 0 || tolower((unsigned char)cross[0]) != 'x' || cross[1] != ' ')
        return STV_OK;
    text[n_digits] = '\0';
    *out = trimmed(cross + 1);
    enum stv_status status = stv_count_parse(text, range, &reading->out->n_casks, why, sizeof why);
    return status == STV_OK ? STV_OK : fault(reading, status, why, text);
}

/* "hogsheads" is read as its singular. */
static void make_singular(char *text)
{
    static const char *const plurals[] = {"hogsheads", "barrels",   "butts",
                                          "puncheons", "barriques", "casks"};
    for (size_t i = 0; i < sizeof plurals / sizeof *plurals; i++) {
        size_t n = strlen(plurals[i]);
        for (char *at = text; *at; at++)
            if (strncasecmp(at, plurals[i], n) == 0 && !isalpha((unsigned char)at[n]))
                memmove(at + n - 1, at + n, strlen(at + n) + 1);
    }
}

static enum stv_status read_wood(struct reading *reading, char *text)
{
    static const char form[] = "names no wood: write new oak, first-fill bourbon or refill";
    struct stv_cask *cask = &reading->out->cask;
    make_singular(text);
    /* An id keeps the first word from being taken for one; "first-fill" ends its own word. */
    struct stv_stencil stencil = stv_stencil_read(text, "-");
    size_t fill_no = (size_t)stencil.fill_no;
    bool is_refill = stencil.is_refill || fill_no >= 2;
    if (stencil.unknown[0])
        return fault(reading, STV_E_PARSE, "is not understood in the cask's wood and size",
                     stencil.unknown);
    if (stencil.held_idx < 0 && fill_no == 0 && !is_refill)
        return fault(reading, STV_E_PARSE, form, text);
    if (stencil.held_idx == 0 && (is_refill || fill_no > 0))
        return fault(reading, STV_E_PARSE, "says new and used at once", text);
    if (!isfinite(stencil.size_l))
        return fault(reading, STV_E_PARSE, "says no size: write it as 200 L or hogshead", text);
    size_t held = stencil.held_idx >= 0 ? (size_t)stencil.held_idx : 0;
    size_t n_uses = is_refill ? 1 : 0;
    for (size_t i = 0; stencil.held_idx < 0 && i < stv__n_held_words; i++)
        if (strcmp(stv__held_words[i], "bourbon") == 0)
            held = i;
    cask->history = stv__wood_history(held, n_uses);
    cask->tare_kg = stencil.tare_kg;
    stv__cask_kind_name(held, n_uses, stencil.size_l, cask->kind_name, sizeof cask->kind_name);
    if (stv_cask_geometry(stencil.size_l, NAN, reading->numbers, &cask->geometry) != STV_OK)
        return fault(reading, STV_E_DOMAIN, "is a size that no cask is known of: 1 to 1000 L",
                     text);
    return STV_OK;
}

static enum stv_status read_litres(struct reading *reading, const char *text)
{
    char why[WHY_MAX];
    double capacity_l = reading->out->cask.geometry.capacity_l;
    enum stv_status status =
        stv_quantity_parse(text, STV_DIM_VOLUME, NULL, &reading->out->litres_l, why, sizeof why);
    if (status != STV_OK)
        return fault(reading, status, why, text);
    if (!(reading->out->litres_l > 0.0 && reading->out->litres_l <= capacity_l)) {
        snprintf(why, sizeof why, "is more than the cask holds (%g L), or nothing", capacity_l);
        return fault(reading, STV_E_DOMAIN, why, text);
    }
    return STV_OK;
}

static enum stv_status read_plan(struct reading *reading, const char *text)
{
    char why[WHY_MAX];
    double plan_d = NAN;
    enum stv_status status = stv_quantity_parse(text, STV_DIM_TIME, NULL, &plan_d, why, sizeof why);
    if (status != STV_OK)
        return fault(reading, status, why, text);
    reading->out->plan_y = plan_d / STV_YEAR_D;
    if (reading->out->plan_y < LEAST_PLAN_Y || reading->out->plan_y > MOST_PLAN_Y)
        return fault(reading, STV_E_DOMAIN, "is outside 1 to 60 years", text);
    return STV_OK;
}

/* The unit of a strength: what stands behind its figures; "%" alone means %vol here. */
static const char *unit_of(const char *text)
{
    const char *unit = text + strspn(text, "0123456789.");
    unit += strspn(unit, " ");
    return strcmp(unit, "%") == 0 ? "%vol" : unit;
}

static enum stv_status read_strength(struct reading *reading, const char *text, const char *unit)
{
    char why[WHY_MAX], whole[TEXT_MAX];
    struct stv_fill_words *out = reading->out;
    const char *own = unit_of(text);
    int n = snprintf(whole, sizeof whole, "%.*s %s", (int)strspn(text, "0123456789."), text,
                     own[0] ? own : unit);
    if (n < 0 || (size_t)n >= sizeof whole || out->n_strengths == STV_FILL_STRENGTHS_MAX)
        return fault(reading, STV_E_PARSE, "is one strength too many: eight at most", text);
    double value_frac = NAN;
    enum stv_status status =
        stv_quantity_parse(whole, STV_DIM_STRENGTH, NULL, &value_frac, why, sizeof why);
    if (status != STV_OK)
        return fault(reading, status, why, text);
    if (value_frac < 0.2 || value_frac > 0.95)
        return fault(reading, STV_E_DOMAIN, "is no strength to fill a cask at: 20 to 95 %vol",
                     text);
    out->strengths_frac[out->n_strengths++] = value_frac;
    return STV_OK;
}

static enum stv_status read_behind(struct reading *reading, char *text)
{
    char *parts[PARTS_MAX];
    size_t n = cut(text, parts), last = SIZE_MAX;
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < n; i++)
        if (strncasecmp(parts[i], "plan ", 5) != 0)
            last = i;
    if (last == SIZE_MAX)
        return fault(reading, STV_E_PARSE, "no strength stands behind \"at\"", NULL);
    for (size_t i = 0; i < n && status == STV_OK; i++)
        status = strncasecmp(parts[i], "plan ", 5) == 0
                     ? read_plan(reading, trimmed(parts[i] + 5))
                     : read_strength(reading, parts[i], unit_of(parts[last]));
    return status;
}

enum stv_status stv_fill_words_read(const char *text, const struct stv_cask_numbers *numbers,
                                    struct stv_fill_words *out, char *why, size_t size)
{
    char copy[TEXT_MAX], *parts[PARTS_MAX], *wood;
    struct reading reading = {numbers, out, why, size};
    *out = (struct stv_fill_words){.litres_l = NAN, .plan_y = NAN};
    if ((size_t)snprintf(copy, sizeof copy, "%s", text) >= sizeof copy)
        return fault(&reading, STV_E_PARSE, "it is too long", NULL);
    char *at = strstr(copy, " at ");
    if (!at)
        return fault(&reading, STV_E_PARSE, "no strength is said: \"... at 59.2 %vol\"", NULL);
    *at = '\0';
    size_t n = cut(copy, parts);
    if (n > 2)
        return fault(&reading, STV_E_PARSE, "stands where only wood and size, and litres, belong",
                     parts[2]);
    enum stv_status status = read_count(&reading, parts[0], &wood);
    if (status == STV_OK)
        status = read_wood(&reading, wood);
    if (status == STV_OK && n == 2)
        status = read_litres(&reading, parts[1]);
    return status == STV_OK ? read_behind(&reading, at + 4) : status;
}
