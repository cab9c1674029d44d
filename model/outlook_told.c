/* What is told of casks: quantities of a trial, their ranges, their sums. */
#include "model/outlook_told.h"

#include "model/days.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define L_PER_M3 1000.0
enum { RANGE_N = 5 };

int stv_quantity_adds_up(enum stv_quantity quantity)
{
    switch (quantity) {
    case STV_Q_VOLUME20_L:
    case STV_Q_LPA_L:
    case STV_Q_WATER_LOST_KG:
    case STV_Q_ETHANOL_LOST_KG:
    case STV_Q_AIR_LPA_L:
    case STV_Q_JOINT_LPA_L:
    case STV_Q_INDRINK_LPA_L:
    case STV_Q_SAMPLE_LPA_L:
    case STV_Q_LEAK_LPA_L:
    case STV_Q_BOTTLES_ND:
    case STV_Q_AIR_L:
    case STV_Q_JOINT_L:
    case STV_Q_INDRINK_L:
    case STV_Q_SAMPLE_L:
    case STV_Q_LEAK_L:
        return 1;
    default:
        return 0;
    }
}

struct stv__reference stv__reference_of(const struct stv__packet *packet, size_t lane)
{
    struct stv__reference reference;
    struct stv_spirit_amount amount =
        stv_spirit_amount(packet->ethanol_kg[lane], packet->water_kg[lane]);
    for (size_t k = 0; k < STV_OAK_N; k++)
        reference.content_per_lpa_mg_l[k] = packet->content_mg[k][lane] / amount.lpa_l;
    reference.esters_mg_l = packet->ester_mg[lane] / amount.volume20_l;
    return reference;
}

static double lpa_of_kg(double ethanol_kg)
{
    return ethanol_kg / STV_ETHANOL_RHO20_KG_M3 * L_PER_M3;
}

double stv_bottles_of_lpa_nd(const struct stv_house_rules *rules, double lpa_l)
{
    if (!(rules->bottling_abv20_frac > 0.0 && rules->bottle_l > 0.0))
        return NAN;
    return lpa_l / rules->bottling_abv20_frac * (1.0 - rules->bottling_loss_frac) / rules->bottle_l;
}

static double bottles_of(const struct stv_spirit_amount *amount,
                         const struct stv_house_rules *rules)
{
    if (amount->abv20_frac >= rules->bottling_abv20_frac)
        return stv_bottles_of_lpa_nd(rules, amount->lpa_l);
    return amount->volume20_l * (1.0 - rules->bottling_loss_frac) / rules->bottle_l;
}

struct stv__partial stv__partial_volumes(double ethanol_kg, double water_kg)
{
    const double step_frac = 1e-4;
    double p = fmin(1.0 - step_frac, fmax(step_frac, ethanol_kg / (ethanol_kg + water_kg)));
    double below = L_PER_M3 / stv_spirit_rho20_kg_m3(p - step_frac);
    double above = L_PER_M3 / stv_spirit_rho20_kg_m3(p + step_frac);
    double here = 0.5 * (below + above), slope = (above - below) / (2.0 * step_frac);
    return (struct stv__partial){here + (1.0 - p) * slope, here - p * slope};
}

static void tell_losses(const struct stv__packet *packet, size_t lane, double out[STV_Q_N])
{
    const struct stv__losses *lost = &packet->losses;
    struct stv__partial of = stv__partial_volumes(packet->ethanol_kg[lane], packet->water_kg[lane]);
    const struct {
        enum stv_quantity lpa, litres;
        double ethanol_kg, water_kg;
    } parts[] = {
        {STV_Q_AIR_LPA_L, STV_Q_AIR_L, lost->air_ethanol_kg[lane], lost->air_water_kg[lane]},
        {STV_Q_JOINT_LPA_L, STV_Q_JOINT_L, lost->joint_ethanol_kg[lane],
         lost->joint_water_kg[lane]},
        {STV_Q_INDRINK_LPA_L, STV_Q_INDRINK_L, lost->indrink_ethanol_kg[lane],
         lost->indrink_water_kg[lane]},
        {STV_Q_SAMPLE_LPA_L, STV_Q_SAMPLE_L, lost->sample_ethanol_kg[lane],
         lost->sample_water_kg[lane]},
        {STV_Q_LEAK_LPA_L, STV_Q_LEAK_L, lost->leak_ethanol_kg[lane], lost->leak_water_kg[lane]},
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        out[parts[i].lpa] = lpa_of_kg(parts[i].ethanol_kg);
        out[parts[i].litres] =
            parts[i].ethanol_kg * of.ethanol_l_kg + parts[i].water_kg * of.water_l_kg;
    }
    out[STV_Q_WATER_LOST_KG] = lost->air_water_kg[lane] + lost->joint_water_kg[lane];
    out[STV_Q_ETHANOL_LOST_KG] = lost->air_ethanol_kg[lane] + lost->joint_ethanol_kg[lane];
}

void stv__quantities_of(const struct stv__packet *packet, size_t lane,
                        const struct stv_house_rules *rules, const struct stv__reference *reference,
                        double out[STV_Q_N])
{
    static const enum stv_quantity oak[STV_OAK_N] = {
        [STV_OAK_PHENOLICS] = STV_Q_WOOD_INDEX_ND, [STV_OAK_LACTONE] = STV_Q_LACTONE_ND,
        [STV_OAK_ALDEHYDES] = STV_Q_ALDEHYDES_ND,  [STV_OAK_TANNINS] = STV_Q_TANNINS_ND,
        [STV_OAK_ACIDS] = STV_Q_ACIDS_ND,          [STV_OAK_SUGARS] = STV_Q_SUGARS_ND};
    struct stv_spirit_amount amount =
        stv_spirit_amount(packet->ethanol_kg[lane], packet->water_kg[lane]);
    if (!(amount.lpa_l > 0.0)) {
        for (size_t q = 0; q < STV_Q_N; q++)
            out[q] = NAN;
        return;
    }
    out[STV_Q_VOLUME20_L] = amount.volume20_l;
    out[STV_Q_ABV20_FRAC] = amount.abv20_frac;
    out[STV_Q_LPA_L] = amount.lpa_l;
    for (size_t k = 0; k < STV_OAK_N; k++)
        out[oak[k]] =
            packet->content_mg[k][lane] / amount.lpa_l / reference->content_per_lpa_mg_l[k];
    out[STV_Q_OAK_MG_PER_LPA_L] = packet->content_mg[STV_OAK_PHENOLICS][lane] / amount.lpa_l;
    out[STV_Q_CASK_ESTERS_ND] = packet->ester_mg[lane] / amount.volume20_l / reference->esters_mg_l;
    out[STV_Q_STILL_FRUIT_ND] = packet->fruit_nd[lane];
    out[STV_Q_BOTTLES_ND] = bottles_of(&amount, rules);
    tell_losses(packet, lane, out);
}

double stv__residual_frac(const struct stv__packet *packet, size_t lane)
{
    double ethanol = packet->in_ethanol_kg[lane] - packet->gone_ethanol_kg[lane] -
                     packet->out_ethanol_kg[lane] - packet->ethanol_kg[lane];
    double water = packet->in_water_kg[lane] - packet->gone_water_kg[lane] -
                   packet->out_water_kg[lane] - packet->water_kg[lane];
    double scale = packet->in_ethanol_kg[lane] + packet->in_water_kg[lane];
    return scale > 0.0 ? fmax(fabs(ethanol), fabs(water)) / scale : 0.0;
}

static size_t block_of(const struct stv_outlook *outlook)
{
    return outlook->n_days * STV_Q_N;
}

/* Quantities whose values an outlook keeps. */
static size_t told_n(const struct stv_outlook *outlook)
{
    return outlook->n_told > 0 ? outlook->n_told : STV_Q_N;
}

static size_t place_of(const struct stv_outlook *outlook, size_t quantity)
{
    return outlook->n_told > 0 ? outlook->place_of[quantity] : quantity;
}

/* Room for n_days of an outlook whose casks, draws and kind of keeping are set. */
static enum stv_status allocate(const int64_t *days_d, size_t n_days, bool keeps_values,
                                struct stv_outlook *out)
{
    size_t n_ranges = out->n_casks * n_days * STV_Q_N;
    out->n_days = n_days;
    out->values = NULL;
    out->ranges = NULL;
    out->days_d = malloc((n_days + 1) * sizeof *out->days_d);
    out->in_record = calloc(n_days + 1, sizeof *out->in_record);
    if (keeps_values)
        out->values =
            malloc((out->n_casks * n_days * told_n(out) * out->n_draws + 1) * sizeof *out->values);
    else
        out->ranges = malloc((n_ranges * RANGE_N + 1) * sizeof *out->ranges);
    if (!out->days_d || !(out->values || out->ranges) || !out->in_record)
        return STV_E_MEMORY;
    if (n_days > 0) /* rows alone may be asked for, with no days at all */
        memcpy(out->days_d, days_d, n_days * sizeof *out->days_d);
    return STV_OK;
}

/* Zeroed sums for an outlook whose days and draws are set. */
static enum stv_status sums_room(size_t n_sums, const size_t *n_labels, struct stv_outlook *out)
{
    out->sum_draws = calloc(n_sums + 1, sizeof *out->sum_draws);
    out->n_labels = malloc((n_sums + 1) * sizeof *out->n_labels);
    if (!out->sum_draws || !out->n_labels)
        return STV_E_MEMORY;
    for (size_t s = 0; s < n_sums; s++) {
        out->sum_draws[s] =
            calloc(n_labels[s] * block_of(out) * out->n_draws + 1, sizeof **out->sum_draws);
        if (!out->sum_draws[s])
            return STV_E_MEMORY;
        out->n_labels[s] = n_labels[s];
        out->n_sums++;
    }
    return STV_OK;
}

enum stv_status stv__outlook_room(const struct stv_outlook_request *request,
                                  struct stv_outlook *out)
{
    memset(out->place_of, STV_Q_N, sizeof out->place_of);
    for (size_t i = 0; request->told && i < request->n_told; i++)
        out->place_of[request->told[i]] = (unsigned char)i;
    out->n_told = request->told ? request->n_told : 0;
    enum stv_status status =
        allocate(request->days_d, request->n_days, !request->keeps_ranges_only, out);
    size_t *n_labels = malloc((request->n_sums + 1) * sizeof *n_labels);
    for (size_t s = 0; n_labels && s < request->n_sums; s++)
        n_labels[s] = request->sums[s].n_labels;
    if (status == STV_OK)
        status = n_labels ? sums_room(request->n_sums, n_labels, out) : STV_E_MEMORY;
    free(n_labels);
    return status;
}

static void keep_values(struct stv_outlook *outlook, size_t cask_idx, const double *values)
{
    size_t n_told = told_n(outlook), n_draws = outlook->n_draws;
    for (size_t d = 0; d < outlook->n_days; d++) {
        double *to = outlook->values + (cask_idx * outlook->n_days + d) * n_told * n_draws;
        for (size_t q = 0; q < STV_Q_N; q++)
            if (place_of(outlook, q) < n_told)
                memcpy(to + place_of(outlook, q) * n_draws, values + (d * STV_Q_N + q) * n_draws,
                       n_draws * sizeof *to);
    }
}

enum stv_status stv__outlook_keep(struct stv_outlook *outlook, size_t cask_idx,
                                  const double *values)
{
    size_t n = block_of(outlook), n_draws = outlook->n_draws;
    if (outlook->values) {
        keep_values(outlook, cask_idx, values);
        return STV_OK;
    }
    double *copy = malloc(n_draws * sizeof *copy);
    if (!copy)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        float *out = outlook->ranges + (cask_idx * n + i) * RANGE_N;
        memcpy(copy, values + i * n_draws, n_draws * sizeof *copy);
        struct stv_range range = stv_range_of(copy, n_draws);
        out[0] = (float)range.p05;
        out[1] = (float)range.p25;
        out[2] = (float)range.p50;
        out[3] = (float)range.p75;
        out[4] = (float)range.p95;
    }
    free(copy);
    return STV_OK;
}

static void add_cask(const struct stv_outlook *outlook, const double *values, double *sum)
{
    for (size_t i = 0; i < block_of(outlook); i++) {
        if (!stv_quantity_adds_up((enum stv_quantity)(i % STV_Q_N)))
            continue;
        const double *from = values + i * outlook->n_draws;
        double *to = sum + i * outlook->n_draws;
        for (size_t d = 0; d < outlook->n_draws; d++)
            to[d] += isnan(from[d]) ? 0.0 : from[d];
    }
}

void stv__outlook_add(struct stv_outlook *outlook, const struct stv_outlook_request *request,
                      const struct stv_path_group *group, const double *values)
{
    size_t n = block_of(outlook) * outlook->n_draws;
    for (size_t s = 0; s < request->n_sums; s++) {
        for (size_t m = 0; m < group->n_members; m++) {
            size_t label = request->sums[s].label_of_cask[group->members[m]];
            if (label != SIZE_MAX)
                add_cask(outlook, values + m * n, outlook->sum_draws[s] + label * n);
        }
    }
}

static void copy_sums(const struct stv_outlook *outlook, size_t from_day, size_t to_day,
                      struct stv_outlook *out)
{
    size_t block = STV_Q_N * outlook->n_draws;
    for (size_t s = 0; s < outlook->n_sums; s++)
        for (size_t label = 0; label < outlook->n_labels[s]; label++)
            memcpy(out->sum_draws[s] + (label * out->n_days + to_day) * block,
                   outlook->sum_draws[s] + (label * outlook->n_days + from_day) * block,
                   block * sizeof **out->sum_draws);
}

enum stv_status stv_outlook_pick(const struct stv_outlook *outlook, const int64_t *days_d,
                                 size_t n_days, struct stv_outlook *out)
{
    size_t block = told_n(outlook) * outlook->n_draws;
    *out = *outlook;
    out->sum_draws = NULL;
    out->n_labels = NULL;
    out->n_sums = 0;
    enum stv_status status = allocate(days_d, n_days, true, out);
    if (status == STV_OK)
        status = sums_room(outlook->n_sums, outlook->n_labels, out);
    for (size_t d = 0; d < n_days && status == STV_OK; d++) {
        size_t from = stv_days_find(outlook->days_d, outlook->n_days, days_d[d]);
        if (from == outlook->n_days) {
            status = STV_E_NO_DATA;
            break;
        }
        out->in_record[d] = outlook->in_record[from];
        for (size_t c = 0; c < out->n_casks; c++)
            memcpy(out->values + (c * n_days + d) * block,
                   outlook->values + (c * outlook->n_days + from) * block,
                   block * sizeof *out->values);
        copy_sums(outlook, from, d, out);
    }
    if (status != STV_OK)
        stv_outlook_free(out);
    return status;
}

void stv_outlook_free(struct stv_outlook *outlook)
{
    free(outlook->days_d);
    for (size_t s = 0; s < outlook->n_sums; s++)
        free(outlook->sum_draws[s]);
    free(outlook->sum_draws);
    free(outlook->n_labels);
    free(outlook->values);
    free(outlook->ranges);
    free(outlook->in_record);
    *outlook = (struct stv_outlook){0};
}

const double *stv_outlook_draws(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                                enum stv_quantity quantity)
{
    size_t base = (cask_idx * outlook->n_days + day_idx) * told_n(outlook) +
                  place_of(outlook, (size_t)quantity);
    return outlook->values + base * outlook->n_draws;
}

const double *stv_outlook_sum_draws(const struct stv_outlook *outlook, size_t sum_idx,
                                    size_t label_idx, size_t day_idx, enum stv_quantity quantity)
{
    size_t base = (label_idx * outlook->n_days + day_idx) * STV_Q_N + (size_t)quantity;
    return outlook->sum_draws[sum_idx] + base * outlook->n_draws;
}

struct stv_range stv_outlook_range(const struct stv_outlook *outlook, size_t cask_idx,
                                   size_t day_idx, enum stv_quantity quantity)
{
    if (outlook->ranges) {
        const float *at =
            outlook->ranges +
            ((cask_idx * outlook->n_days + day_idx) * STV_Q_N + (size_t)quantity) * RANGE_N;
        return (struct stv_range){(double)at[0], (double)at[1], (double)at[2], (double)at[3],
                                  (double)at[4]};
    }
    const double *draws = stv_outlook_draws(outlook, cask_idx, day_idx, quantity);
    double *copy = malloc(outlook->n_draws * sizeof *copy);
    if (!copy)
        return stv_range_point(NAN);
    memcpy(copy, draws, outlook->n_draws * sizeof *copy);
    struct stv_range range = stv_range_of(copy, outlook->n_draws);
    free(copy);
    return range;
}
