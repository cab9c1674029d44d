/* The head stencil of a cask, typed whole: "112 2019 200L 1st fill bourbon T 47.5 kg". */
#ifndef STV_INGEST_STENCIL_H
#define STV_INGEST_STENCIL_H

#include "model/ledger.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_STENCIL_UNKNOWN 96

struct stv_stencil {
    char number[STV_ID_MAX];           /* the cask's; "" when not said */
    int year;                          /* 0 when not said */
    double size_l;                     /* NaN when not said */
    double least_l, most_l;            /* what a name of a size can mean; both size_l for litres */
    const char *size_name;             /* "hogshead", or NULL for litres */
    int held_idx;                      /* into stv__held_words; -1 when not said */
    int fill_no;                       /* 2 of "2nd fill"; 0 when not said */
    bool counts_whisky;                /* "2nd fill whisky": nothing else was counted */
    bool is_refill;                    /* used before, nobody says how often */
    double tare_kg;                    /* NaN when not said */
    char unknown[STV_STENCIL_UNKNOWN]; /* words that were not understood, with commas between */
};

/* Reads a stencil.  Parts stand in any order, with blanks, / | , or ; between.
 *
 * text  as typed
 * id    of the row, by which the number is known again; "" when the row does not say it: then the
 *       first word is the number, unless it is anything else
 *
 * Number (No, Nr, # before it), year of four figures, size with its unit or as hogshead, barrel,
 * butt ..., what it held, which fill, tare with T and its unit.  Of two that differ the second is
 * not understood. */
struct stv_stencil stv_stencil_read(const char *text, const char *id);

/* "number 112, year 2019, size 200 L, first fill, held bourbon, tare 47.5 kg; not understood: 14"
 * into buffer. */
void stv_stencil_echo(const struct stv_stencil *stencil, char *buffer, size_t size);

#endif
