/* Private to outlook.c: trials of gauged casks held to their last gauges. */
#ifndef STV_MODEL_RETARGET_H
#define STV_MODEL_RETARGET_H

#include "model/ensemble.h"

/* Numbers of a group's casks, [member * n_packets + packet], with what was learned.
 *
 * What was learned is a normal distribution of scores; where several of them trade against each
 * other a straight line of equal loss is not one, for losses are convex in the scores, and trials
 * far out would all lose too much.  So each trial is run to the cask's last litres and strength,
 * and the cask's own scores are moved until it shows there what the straight line says of that
 * trial.  Where the cask leaks, the leak is moved until it holds what was found of it.
 *
 * Errors: those of stv_path_run */
STV_MUST_CHECK enum stv_status stv__retarget(const struct stv__ensemble *ensemble,
                                             const struct stv_path_group *group,
                                             struct stv__lane_cask *out);

#endif
