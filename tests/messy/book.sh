#!/bin/sh
# A book with one logger, for the cases of tests/commands/messy.case.
#
#     sh tests/messy/book.sh FILE [EXTRA_HEAD EXTRA_CELLS]
#
# Makes the folder book/ anew: FILE of this folder as its logger, at tier 1 on a clock of UTC, or as
# the extra columns of loggers.csv say: "clock" "UTC-06:00", "sensor,dates" "A,day first".
set -eu
here=$(cd "$(dirname "$0")" && pwd)
rm -rf book
mkdir -p book/loggers
cp "$here/$1" book/loggers/
cat >book/book.yaml <<YAML
name: Messy House
site: {latitude: 33, longitude: -98, elevation: 300 m, clock: "UTC-06:00"}
warehouses:
  - {name: Shed, kind: racked shed, tiers: 3, bays: 4}
YAML
extra=${2:-clock}
cells=${3:-UTC}
printf 'file,warehouse,tier,%s\n%s,Shed,1,%s\n' "$extra" "$1" "$cells" >book/loggers.csv
