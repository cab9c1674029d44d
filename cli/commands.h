/* The commands; each returns the exit code. */
#ifndef STV_CLI_COMMANDS_H
#define STV_CLI_COMMANDS_H

#include "cli/options.h"

int stv_cmd_new(const struct stv_options *options);
int stv_cmd_fetch(const struct stv_options *options);
int stv_cmd_check(const struct stv_options *options);
int stv_cmd_learn(const struct stv_options *options);
int stv_cmd_climate(const struct stv_options *options);
int stv_cmd_forecast(const struct stv_options *options);
int stv_cmd_place(const struct stv_options *options);
int stv_cmd_transfer(const struct stv_options *options);
int stv_cmd_bottling(const struct stv_options *options);
int stv_cmd_stock(const struct stv_options *options);
int stv_cmd_month(const struct stv_options *options);
int stv_cmd_water(const struct stv_options *options);
int stv_cmd_sites(const struct stv_options *options);
int stv_cmd_rerun(const struct stv_options *options);
int stv_cmd_report(const struct stv_options *options);
int stv_cmd_vapour(const struct stv_options *options);
int stv_cmd_gauge(const struct stv_options *options);
int stv_cmd_fill(const struct stv_options *options);
int stv_cmd_reduce(const struct stv_options *options);
int stv_cmd_marry(const struct stv_options *options);
int stv_cmd_help(const struct stv_options *options);

/* --version and --parameters, with or without a command. */
int stv_cmd_version(const struct stv_options *options);
int stv_cmd_parameters(const struct stv_options *options);

#endif
