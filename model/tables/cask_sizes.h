/* Sizes of common casks by capacity.
 *
 * Unit and basis: capacity L; inner wall area (girth and heads) m2; stave thickness mm; dry wood
 * kg. Axes:      one row a size, capacity rising. Range:     50..500 L. Class:     assumed.  Makers
 * differ by about 5 % in area and 10 % in stave and wood. Source:    parameter sheet
 * (DEVELOPERS.md, Sources), section 2: typical cooperage sizes from memory, areas by a geometric
 * calculation for the usual proportions; common practice, no published source. Obtained:  typed.
 * Checked by the areas falling per litre and the published time constants of the same sheet in
 * tests/test_cooperage.c.
 */
#ifndef STV_MODEL_TABLES_CASK_SIZES_H
#define STV_MODEL_TABLES_CASK_SIZES_H

#define CASK_SIZES_N 6

static const double cask_size_capacity_l[CASK_SIZES_N] = {50.0, 100.0, 200.0, 225.0, 250.0, 500.0};
static const double cask_size_inner_area_m2[CASK_SIZES_N] = {0.72, 1.12, 1.83, 1.98, 2.09, 3.33};
static const double cask_size_stave_mm[CASK_SIZES_N] = {22.0, 25.0, 27.0, 27.0, 28.0, 31.0};
static const double cask_size_wood_kg[CASK_SIZES_N] = {13.0, 22.0, 39.0, 42.0, 46.0, 84.0};

#endif
