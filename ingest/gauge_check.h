/* Gauges that the other gauges of their cask show to be slips of the pen. */
#ifndef STV_INGEST_GAUGE_CHECK_H
#define STV_INGEST_GAUGE_CHECK_H

#include "ingest/book_parts.h"

/* Marks slips in the book's gauges as suspect and lists each as STV_SET_ASIDE at its cell.
 *
 * Compared are the gauges between two fills, top-ups, water or transfers into the cask, the fill
 * itself among them; a gauge of the very day of one of these may stand before or after it and is
 * left alone.  Two rules, all of their margins judgement:
 *
 *   strength  more than 5 %vol off the line between its neighbours, while two neighbouring figures
 *             that change places bring it within 1 %vol of it: 26.3 among 62.9 and 62.0.  At an end
 *             the two nearest, or the fill, stand for the line.  The neighbours must agree.
 *   litres    more than before by over twice their errors and over 1.5 %; also those worked out of
 * a dip or a weight.  The later is set aside, unless leaving out the earlier alone settles it.
 *
 * The ledger must be sorted.  Without memory nothing is marked. */
void stv__gauge_check(struct stv__book_reader *reader);

#endif
