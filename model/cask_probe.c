/* All derivatives of a cask in one run: each lane is the cask with one score moved.  Scores of the
 * climate member move tables, which are made once about the middle of these scores; their effect
 * is taken as a straight line.  The other scores are moved about wherever the fit stands. */
#include "model/cask_probe.h"

#include "model/calendar.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PLAIN_PROBE_ND 0.05
#define PROBE_PACKETS 4 /* member lanes, eight plain probes, member lanes again, eight more */
_Static_assert(STV__PLAIN_PROBES == 2 * STV__PACKET, "the plain probes fill two packets");
_Static_assert(STV_SCORE_MEMBER_N + 1 <= STV__PACKET, "the member's probes fit into one packet");

/* What one lane of one moment shows. */
struct seen {
    double value[STV_FIT_QUANTITIES]; /* ln of the wood's phenolics per litre of alcohol, yet */
};

struct stv__probe_reference {
    double top_nd[STV_SCORE_N]; /* NaN before the first */
    struct seen seen[PROBE_PACKETS * STV__PACKET];
};

size_t stv__cask_probe_top(const struct stv__cask_probe *probe)
{
    return STV_SCORE_N + probe->ensemble.kinds.n * STV_KIND_SCORE_N;
}

static enum stv_status map_groups(struct stv__cask_probe *probe)
{
    const struct stv__ensemble *ensemble = &probe->ensemble;
    probe->group_of = malloc((probe->n_casks + 1) * sizeof *probe->group_of);
    if (!probe->group_of)
        return STV_E_MEMORY;
    for (size_t g = 0; g < ensemble->n_groups; g++)
        for (size_t m = 0; m < ensemble->groups[g].n_members; m++)
            probe->group_of[ensemble->groups[g].members[m]] = g;
    return STV_OK;
}

/* First and last moment of all casks, so that the tables know their years. */
static size_t find_span(int64_t *const *days_d, const size_t *n_days, size_t n_casks,
                        int64_t out_d[2])
{
    size_t n = 0;
    for (size_t c = 0; c < n_casks; c++) {
        for (size_t i = 0; i < n_days[c]; i++, n++) {
            out_d[0] = n == 0 || days_d[c][i] < out_d[0] ? days_d[c][i] : out_d[0];
            out_d[1] = n == 0 || days_d[c][i] > out_d[1] ? days_d[c][i] : out_d[1];
        }
    }
    return n;
}

enum stv_status stv__cask_probe_new(const struct stv_outlook_request *house, int64_t **days_d,
                                    size_t *n_days, struct stv__cask_probe *out)
{
    int64_t span_d[2];
    *out = (struct stv__cask_probe){.n_casks = house->ledger->n_casks,
                                    .rules = house->rules,
                                    .days_d = days_d,
                                    .n_days = n_days};
    if (find_span(days_d, n_days, out->n_casks, span_d) == 0)
        return STV_E_NO_DATA;
    struct stv_outlook_request request = *house;
    request.days_d = span_d;
    request.n_days = 2;
    enum stv_status status = stv__ensemble_new_probing(&request, &out->ensemble);
    if (status != STV_OK)
        return status;
    out->ensemble.n_packets = PROBE_PACKETS;
    status = map_groups(out);
    out->reference = malloc(sizeof *out->reference);
    if (!out->reference)
        return STV_E_MEMORY;
    out->reference->top_nd[0] = NAN;
    if (status == STV_OK)
        status = stv__ensemble_all_tables(&out->ensemble);
    return status;
}

void stv__cask_probe_free(struct stv__cask_probe *probe)
{
    for (size_t c = 0; probe->days_d && c < probe->n_casks; c++)
        free(probe->days_d[c]);
    for (size_t c = 0; probe->slopes && c < probe->n_casks; c++)
        free(probe->slopes[c]);
    free(probe->slopes);
    free(probe->days_d);
    free(probe->n_days);
    free(probe->group_of);
    free(probe->reference);
    stv__ensemble_free(&probe->ensemble);
    *probe = (struct stv__cask_probe){0};
}

/* Scores of one lane: those of the point, one of them moved. */
struct lane_scores {
    double house_nd[STV_SCORE_N], kind_nd[STV_KIND_SCORE_N], own_nd[STV_OWN_SCORE_N];
};

static void move_plain(size_t probe_idx, struct lane_scores *scores)
{
    if (probe_idx < STV__HOUSE_PROBES)
        scores->house_nd[STV_SCORE_MEMBER_N + probe_idx] += PLAIN_PROBE_ND;
    else if (probe_idx < STV__HOUSE_PROBES + STV_KIND_SCORE_N)
        scores->kind_nd[probe_idx - STV__HOUSE_PROBES] += PLAIN_PROBE_ND;
    else
        scores->own_nd[probe_idx - STV__HOUSE_PROBES - STV_KIND_SCORE_N] += PLAIN_PROBE_ND;
}

const struct stv__probe_leak stv__probe_no_leak = {0.0, INT64_MIN, INT64_MAX};

/* Where the lanes of one cask stand: NULL is the middle, and what is NULL is not probed. */
struct lane_point {
    const double *top_nd, *kind_nd, *own_nd;
    bool probes_kind;
    struct stv__probe_leak leak;
};

static void fill_lanes(const struct stv__cask_probe *probe, const struct lane_point *at,
                       const struct stv_cask_geometry *geometry, struct stv__lane_cask *out)
{
    const struct stv__ensemble *ensemble = &probe->ensemble;
    struct lane_scores point = {{0.0}, {0.0}, {0.0}};
    memcpy(point.house_nd + STV_SCORE_MEMBER_N, at->top_nd + STV_SCORE_MEMBER_N,
           STV__HOUSE_PROBES * sizeof *at->top_nd);
    if (at->kind_nd)
        memcpy(point.kind_nd, at->kind_nd, sizeof point.kind_nd);
    if (at->own_nd)
        memcpy(point.own_nd, at->own_nd, sizeof point.own_nd);
    for (size_t p = 0; p < PROBE_PACKETS; p++) {
        struct stv_params params[STV__PACKET];
        const struct stv_params *lanes[STV__PACKET];
        for (size_t l = 0; l < STV__PACKET; l++) {
            struct lane_scores moved = point;
            if (p % 2 == 1)
                move_plain(p / 2 * STV__PACKET + l, &moved);
            else if (l > 0)
                moved.house_nd[l - 1] = STV__PROBE_ND;
            struct stv_scores scores = {.house_nd = moved.house_nd,
                                        .kind_nd = at->probes_kind ? moved.kind_nd : point.kind_nd,
                                        .leak_per_y = at->leak.per_y};
            if (at->own_nd)
                memcpy(scores.own_nd, moved.own_nd, sizeof scores.own_nd);
            params[l] = stv_params_of_scores(&ensemble->base, &ensemble->numbers, &scores);
            lanes[l] = &params[l];
        }
        const struct stv__lane_cask_source source = {geometry, lanes, &ensemble->numbers};
        stv__lane_cask_of(&source, &out[p]);
        out[p].leak_from_d = at->leak.from_d;
        out[p].leak_to_d = at->leak.to_d;
    }
}

struct listener {
    size_t member_idx;
    struct seen (*seen)[PROBE_PACKETS * STV__PACKET]; /* [day][packet * STV__PACKET + lane] */
};

static void listen(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                   const struct stv__packet *packet)
{
    const struct listener *listener = context;
    if (member_idx != listener->member_idx)
        return;
    for (size_t l = 0; l < STV__PACKET; l++) {
        struct stv_spirit_amount amount =
            stv_spirit_amount(packet->ethanol_kg[l], packet->water_kg[l]);
        double *value = listener->seen[day_idx][packet_idx * STV__PACKET + l].value;
        value[STV_FIT_VOLUME20_L] = amount.volume20_l;
        value[STV_FIT_ABV20_FRAC] = amount.abv20_frac;
        value[STV_FIT_LIQUID_KG] = packet->ethanol_kg[l] + packet->water_kg[l];
        value[STV_FIT_LN_WOOD] = log(packet->content_mg[STV_OAK_PHENOLICS][l] / amount.lpa_l);
    }
}

/* Derivatives from the lanes; the reference's wood is taken off. */
static enum stv_status derive(const struct stv__member_slopes *slopes, size_t kind_idx,
                              const double *top_nd, const struct seen *seen,
                              const struct seen *reference, struct stv_fit_moment *out)
{
    memset(out, 0, sizeof *out);
    for (size_t q = 0; q < STV_FIT_QUANTITIES; q++) {
        double of_lane[PROBE_PACKETS * STV__PACKET];
        for (size_t l = 0; l < PROBE_PACKETS * STV__PACKET; l++)
            of_lane[l] = seen[l].value[q] -
                         (q == STV_FIT_LN_WOOD ? reference[l].value[STV_FIT_LN_WOOD] : 0.0);
        out->value[q] = of_lane[0];
        for (size_t s = 0; s < STV_SCORE_MEMBER_N; s++) {
            out->by_top_nd[q][s] =
                slopes ? slopes->by_score_nd[q][s] : (of_lane[1 + s] - of_lane[0]) / STV__PROBE_ND;
            out->value[q] += out->by_top_nd[q][s] * top_nd[s];
        }
        for (size_t i = 0; i < STV__PLAIN_PROBES; i++) {
            size_t packet = i < STV__PACKET ? 1 : 3;
            double slope =
                (of_lane[packet * STV__PACKET + i % STV__PACKET] - of_lane[0]) / PLAIN_PROBE_ND;
            size_t kind = STV_SCORE_N + kind_idx * STV_KIND_SCORE_N;
            if (i < STV__HOUSE_PROBES)
                out->by_top_nd[q][STV_SCORE_MEMBER_N + i] = slope;
            else if (i < STV__HOUSE_PROBES + STV_KIND_SCORE_N)
                out->by_top_nd[q][kind + i - STV__HOUSE_PROBES] = slope;
            else
                out->by_own_nd[q][i - STV__HOUSE_PROBES - STV_KIND_SCORE_N] = slope;
        }
        if (!isfinite(out->value[q]))
            return STV_E_DOMAIN;
    }
    return STV_OK;
}

/* The reference cask of the same lanes at its age. */
static enum stv_status run_reference(const struct stv__cask_probe *probe, const double *top_nd,
                                     struct seen out[PROBE_PACKETS * STV__PACKET])
{
    const struct stv__ensemble *ensemble = &probe->ensemble;
    struct stv__reference_run run;
    enum stv_status status = stv__reference_run_of(ensemble, probe->rules, &run);
    struct stv__lane_cask *lanes = aligned_alloc(64, PROBE_PACKETS * sizeof *lanes);
    if (!lanes)
        return STV_E_MEMORY;
    struct listener listener = {0, (struct seen(*)[PROBE_PACKETS * STV__PACKET]) out};
    if (status == STV_OK) {
        const struct lane_point middle = {top_nd, NULL, NULL, false, stv__probe_no_leak};
        fill_lanes(probe, &middle, &run.cask.geometry, lanes);
        status = stv__reference_run(ensemble, &run, lanes, listen, &listener);
    }
    free(lanes);
    return status;
}

/* The same, run once for all casks of a point. */
static enum stv_status see_reference(const struct stv__cask_probe *probe, const double *top_nd,
                                     struct seen out[PROBE_PACKETS * STV__PACKET])
{
    struct stv__probe_reference *kept = probe->reference;
    enum stv_status status = STV_OK;
#pragma omp critical
    {
        if (memcmp(kept->top_nd, top_nd, sizeof kept->top_nd) != 0) {
            status = run_reference(probe, top_nd, kept->seen);
            memcpy(kept->top_nd, top_nd, sizeof kept->top_nd);
            if (status != STV_OK)
                kept->top_nd[0] = NAN;
        }
        memcpy(out, kept->seen, sizeof kept->seen);
    }
    return status;
}

/* The cask itself, or another of its group: of that its own scores are the middle, and its kind's,
 * if another, stay where they were frozen. */
static struct lane_point point_of_member(const struct stv__cask_probe *probe, size_t member_idx,
                                         size_t cask_idx, const double *top_nd,
                                         const double *own_nd)
{
    const size_t *kind_of = probe->ensemble.kinds.of_cask;
    bool is_same_kind = kind_of[member_idx] == kind_of[cask_idx];
    const double *kinds_top_nd = is_same_kind || !probe->slopes ? top_nd : probe->frozen_top_nd;
    return (struct lane_point){top_nd,
                               kinds_top_nd + STV_SCORE_N + kind_of[member_idx] * STV_KIND_SCORE_N,
                               member_idx == cask_idx ? own_nd : NULL, is_same_kind,
                               probe->leaks ? probe->leaks[member_idx] : stv__probe_no_leak};
}

enum stv_status stv__cask_probe_tell(void *context, size_t cask_idx, const double *top_nd,
                                     const double *own_nd, struct stv_fit_moment *out_moments)
{
    const struct stv__cask_probe *probe = context;
    const struct stv__ensemble *ensemble = &probe->ensemble;
    const struct stv_path_group *group = &ensemble->groups[probe->group_of[cask_idx]];
    size_t n_days = probe->n_days[cask_idx];
    struct stv__lane_cask *lanes =
        aligned_alloc(64, group->n_members * PROBE_PACKETS * sizeof *lanes);
    struct seen(*seen)[PROBE_PACKETS * STV__PACKET] = malloc((n_days + 1) * sizeof *seen);
    enum stv_status status = lanes && seen ? STV_OK : STV_E_MEMORY;
    struct listener listener = {0, seen};
    for (size_t m = 0; m < group->n_members && status == STV_OK; m++) {
        size_t cask = group->members[m];
        if (cask == cask_idx)
            listener.member_idx = m;
        const struct lane_point at = point_of_member(probe, cask, cask_idx, top_nd, own_nd);
        fill_lanes(probe, &at, &ensemble->ledger->casks[cask].geometry, lanes + m * PROBE_PACKETS);
    }
    if (status == STV_OK) {
        struct stv_path_input input = stv__ensemble_path(ensemble);
        input.days_d = probe->days_d[cask_idx];
        input.n_days = n_days;
        status = stv_path_run(&input, group, lanes, listen, &listener);
    }
    if (status == STV_OK)
        status = see_reference(probe, top_nd, seen[n_days]);
    for (size_t d = 0; d < n_days && status == STV_OK; d++)
        status = derive(probe->slopes ? &probe->slopes[cask_idx][d] : NULL,
                        ensemble->kinds.of_cask[cask_idx], top_nd, seen[d], seen[n_days],
                        &out_moments[d]);
    free(lanes);
    free(seen);
    return status;
}

static enum stv_status slopes_of(struct stv__cask_probe *probe, const struct stv_fit *fit,
                                 size_t cask_idx, struct stv__member_slopes **out)
{
    static const double middle_nd[STV_FIT_TOP_MOST];
    size_t n_days = probe->n_days[cask_idx];
    struct stv_fit_moment *moments = malloc((n_days + 1) * sizeof *moments);
    *out = malloc((n_days + 1) * sizeof **out);
    enum stv_status status = moments && *out ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv__cask_probe_tell(probe, cask_idx, fit ? fit->shared_nd : middle_nd,
                                      fit ? fit->block_nd + cask_idx * fit->n_block : middle_nd,
                                      moments);
    for (size_t d = 0; d < n_days && status == STV_OK; d++)
        for (size_t q = 0; q < STV_FIT_QUANTITIES; q++)
            memcpy((*out)[d].by_score_nd[q], moments[d].by_top_nd[q],
                   sizeof(*out)[d].by_score_nd[q]);
    free(moments);
    return status;
}

enum stv_status stv__cask_probe_freeze(struct stv__cask_probe *probe, const struct stv_fit *fit)
{
    size_t n_casks = probe->n_casks;
    struct stv__member_slopes **slopes = calloc(n_casks + 1, sizeof *slopes);
    enum stv_status worst = slopes ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; probe->slopes && c < n_casks; c++)
        free(probe->slopes[c]);
    free(probe->slopes);
    probe->slopes = NULL;
#pragma omp parallel for schedule(dynamic)
    for (size_t c = 0; c < n_casks; c++) {
        if (!slopes || probe->n_days[c] == 0)
            continue;
        enum stv_status status = slopes_of(probe, fit, c, &slopes[c]);
#pragma omp critical
        worst = status != STV_OK ? status : worst;
    }
    probe->slopes = slopes;
    memset(probe->frozen_top_nd, 0, sizeof probe->frozen_top_nd);
    if (fit)
        memcpy(probe->frozen_top_nd, fit->shared_nd, fit->n_top * sizeof *fit->shared_nd);
    return worst;
}
