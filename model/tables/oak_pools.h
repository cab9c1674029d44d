/* Oak pools and rates per kind of extract, per m2 of inner wood; rates at 20 C.
 * Basis: new charred 200 L cask, spirit near 60 % vol.  All levels and rates are judgement:
 * no open table of extractives against time in spirit was found.  Class: assumed.
 * Source: parameter sheet (DEVELOPERS.md, Sources), section 4. */
#ifndef STV_MODEL_TABLES_OAK_POOLS_H
#define STV_MODEL_TABLES_OAK_POOLS_H

#include "model/extraction.h"

static const struct stv_oak_constants stv__oak_pools[STV_OAK_N] = {
    [STV_OAK_PHENOLICS] = {"phenolics and colour", 0.02, 30e3, 16000, 0.10, 45e3, 40000, 0.0, 0.0},
    [STV_OAK_LACTONE] = {"oak lactone", 0.01, 30e3, 350, 0.08, 40e3, 350, 0.01, 60e3},
    [STV_OAK_ALDEHYDES] = {"vanillin-type aldehydes", 0.012, 30e3, 250, 0.06, 75e3, 1000, 0.05,
                           60e3},
    [STV_OAK_TANNINS] = {"hydrolysable tannins", 0.02, 25e3, 20000, 0.02, 40e3, 10000, 1.2, 65e3},
    [STV_OAK_ACIDS] = {"volatile acids from wood", 0.008, 35e3, 12000, 0.05, 50e3, 30000, 0.0, 0.0},
    [STV_OAK_SUGARS] = {"sugars", 0.006, 30e3, 8000, 0.05, 50e3, 20000, 0.0, 0.0},
};

#endif
