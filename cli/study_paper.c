/* What a paper needs: how it was done, and the sources. */
#include "cli/study.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "cli/version.h"
#include "cli/words.h"

static void add_years(struct stv_text *out, const struct stv_study_run *run)
{
    const struct stv_study *study = run->study;
    for (size_t s = 0; s < study->n_sites; s++) {
        const struct stv_study_cell *cell = &run->cells[s * study->n_buildings * study->n_casks];
        if (cell->is_typical)
            stv_prose_wrap(out, 0,
                           "%s: a typical year, put together from months of several years; it "
                           "stands for every year followed and says nothing of the spread from "
                           "year to year.",
                           study->sites[s].name);
        else
            stv_prose_wrap(
                out, 0, "%s: %s, %d to %d, worth %s independent years.", study->sites[s].name,
                stv_format_count(cell->n_years, "fill year", "fill years").text,
                (int)cell->years[0], (int)cell->years[cell->n_years - 1],
                stv_format_number(stv_effective_years_y(cell->n_years, cell->follow_y), 1).text);
    }
    stv_words_study_made_up(out, run->problems, 0);
    stv_prose_add(out, "\n");
}

static void add_verdicts(struct stv_text *out, const struct stv_study_run *run)
{
    size_t follow_y = run->study->follow_y;
    stv_prose_wrap(
        out, 0,
        "Casks were compared in pairs that differ in one thing alone, in the fill years "
        "that both have and with the same trials; whole sites, buildings and casks as the "
        "mean over all that the study puts with each, each kind of cask as often as it is counted, "
        "pairs of which are families of their own.%s",
        run->study->n_casks > STV_GRID_CASKS_PAIRED_MOST
            ? " Casks were too many kinds to be compared with one another."
            : "");
    if (follow_y > 1)
        stv_prose_wrap(out, 0,
                       "Fill years in a row share weather when they are followed for %zu years: k "
                       "years apart they were taken to correlate as 1 - k/%zu, one year's weather "
                       "as independent of the next one's, and the effective number of years is "
                       "n/(1 + 2 sum (1 - k/n) rho_k) [bayley1946].",
                       follow_y, follow_y);
    else
        stv_prose_wrap(out, 0,
                       "Followed for one year, fill years share no weather and count as "
                       "independent.");
    stv_prose_wrap(out, 0,
                   "Within each trial the mean difference has Student's t with as many degrees of "
                   "freedom as effective years less one; trials count alike. A pair is called the "
                   "same when two one-sided tests put the mean inside the margin set beforehand "
                   "[schuirmann1987], more or less when zero is excluded and the mean lies outside "
                   "the margin, and not told apart otherwise; both at 5 %%, adjusted for the "
                   "number of pairs that differ in the same thing (site, building or cask), "
                   "within each figure [holm1979]; %zu pairs in all. A pair with fewer than two "
                   "effective years is judged by its trials alone. The variance of each figure "
                   "over all casks, common fill years and trials was split into main effects "
                   "[sobol2001].",
                   run->grid.n_pairs);
}

void stv_study_methods(struct stv_text *out, const struct stv_study_run *run)
{
    const struct stv_study *study = run->study;
    stv_prose_wrap(
        out, 0,
        "Hourly outdoor weather of each site was carried through a building model (walls, roof, "
        "floor, ground, air change, tiers) to the air of each tier, and that through a heat model "
        "of the cask to the spirit. A soaked cask was filled with %s %% of what it holds, at 20 C, "
        "on 1 January of every year of the record and followed for %s of 365 days. Evaporation of "
        "water and ethanol through wood and joints, extraction, esters and the fading of the "
        "still's fruit were stepped through means of at most %s days. %zu trials (seed %llu) drew "
        "the numbers that are not known "
        "(permeances, joints, oak, rates, errors of climate); stavecast --parameters lists each "
        "with its class and source. Wood is told against the house's reference cask under the "
        "first site.\n",
        stv_format_number(100.0 * STV_STUDY_FILL_FRAC, 0).text,
        stv_format_count(study->follow_y, "year", "years").text,
        stv_format_number(run->options.step_d, 0).text, run->grid.n_draws,
        (unsigned long long)run->options.seed);
    stv_words_bottle_basis(out, &study->rules, 0);
    stv_prose_add(out, "\n");
    add_years(out, run);
    add_verdicts(out, run);
    stv_prose_add(out, "\n");
    for (size_t b = 0; b < study->n_buildings; b++)
        if (study->buildings[b].checked[0])
            stv_prose_wrap(out, 0, "Building %s: the study says its model was checked (%s).",
                           study->buildings[b].name, study->buildings[b].checked);
        else
            stv_prose_wrap(out, 0,
                           "Building %s: a model that no logger checked, at no site; its errors "
                           "are the same at all sites and largely leave the differences between "
                           "them.",
                           study->buildings[b].name);
    stv_prose_add(out, "\n");
    stv_prose_wrap(out, 0,
                   "Computed with stavecast %s. The permeances, joints and wood numbers are the "
                   "authors' judgement fitted to trade figures unless a source is named; absolute "
                   "losses carry that error, differences much less of it.",
                   STV_VERSION);
}

void stv_study_bibtex(struct stv_text *out)
{
    /* As DEVELOPERS.md has them; from memory where it says M there, and the four of the tests seen
     * second-hand in the manuals of statistics packages. */
    static const char entries[] =
        "@article{bayley1946, author={Bayley, G. V. and Hammersley, J. M.}, title={The "
        "\"effective\" number of independent observations in an autocorrelated time series}, "
        "journal={Supplement to the Journal of the Royal Statistical Society}, volume={8}, "
        "number={2}, pages={184--197}, year={1946}}\n"
        "@article{schuirmann1987, author={Schuirmann, Donald J.}, title={A comparison of the two "
        "one-sided tests procedure and the power approach for assessing the equivalence of average "
        "bioavailability}, journal={Journal of Pharmacokinetics and Biopharmaceutics}, "
        "volume={15}, number={6}, pages={657--680}, year={1987}, doi={10.1007/BF01068419}}\n"
        "@article{holm1979, author={Holm, Sture}, title={A simple sequentially rejective multiple "
        "test procedure}, journal={Scandinavian Journal of Statistics}, volume={6}, number={2}, "
        "pages={65--70}, year={1979}}\n"
        "@article{sobol2001, author={Sobol, I. M.}, title={Global sensitivity indices for "
        "nonlinear "
        "mathematical models and their {Monte Carlo} estimates}, journal={Mathematics and "
        "Computers in Simulation}, volume={55}, pages={271--280}, year={2001}, note={from "
        "memory}}\n"
        "@standard{astme1049, title={Standard practices for cycle counting in fatigue analysis}, "
        "organization={ASTM International}, number={E1049-85}, year={1985}}\n"
        "@standard{oimlr22, title={International alcoholometric tables}, "
        "organization={International Organization of Legal Metrology}, number={R 22}, "
        "year={1975}}\n"
        "@book{fplhandbook, title={Wood Handbook: Wood as an Engineering Material}, "
        "publisher={Forest Products Laboratory}, note={chapter 4; from memory}}\n"
        "@article{larkin1975, author={Larkin, J. A.}, journal={Journal of Chemical "
        "Thermodynamics}, volume={7}, pages={137}, year={1975}, note={heat of mixing of ethanol "
        "and water}}\n"
        "@article{pemberton1978, author={Pemberton, R. C. and Mash, C. J.}, journal={Journal of "
        "Chemical Thermodynamics}, volume={10}, pages={867}, year={1978}, note={vapour pressures "
        "of ethanol and water}}\n";
    stv_text_add(out, entries);
}
