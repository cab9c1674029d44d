#!/bin/sh
# Fuzzes the readers with libFuzzer under the address and undefined-behaviour sanitizers.
#
#     sh tests/fuzz/run.sh NAME SECONDS [FOLDER]     one harness: logger, book, or a weather format
#     sh tests/fuzz/run.sh --list                    the names
#
# Needs clang and its runtime (Debian: clang, libclang-rt-14-dev).  Builds below FOLDER (default
# build-fuzz); starts from tests/fuzz/corpus/NAME; ends with the number of runs and of findings.
# A finding is left in FOLDER/NAME/found-*: make it small, mend the reader, add it to the corpus.
set -eu

here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
formats="epw tmy3 tmy2 tmy nsrdb isd_lite isd global_hourly ghcn_daily ghcn_daily_csv ghcn_daily_long
    ghcn_hourly lcd uscrn meteostat open_meteo dwd environment_canada asos asos_sheet midas pvgis"
if [ "${1:-}" = --list ]; then
    for name in logger table_weather book $formats; do echo "$name"; done
    exit 0
fi
name=${1:?"which harness? --list names them"}
seconds=${2:?"for how many seconds?"}
folder=${3:-$root/build-fuzz}
mkdir -p "$folder/$name/grown"

source=$here/fuzz_$name.c
define=
if [ ! -f "$source" ]; then
    source=$here/fuzz_weather.c
    define=-DSTV_FUZZ_FORMAT=stv__format_$name
fi
flags="-std=c17 -D_POSIX_C_SOURCE=200809L -O1 -g -ffp-contract=off -I$root
    -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all"
libraries="yaml-0.1 gsl nettle zlib"
objects=$folder/objects
mkdir -p "$objects"
# Everything but the network reader: no harness calls it.
for file in "$root"/model/*.c "$root"/ingest/*.c; do
    case $file in */fetch*.c) continue ;; esac
    object=$objects/$(basename "$(dirname "$file")")_$(basename "$file" .c).o
    [ "$object" -nt "$file" ] && [ -z "$(find "$root/model" "$root/ingest" -name '*.h' -newer "$object")" ] ||
        clang $flags $(pkg-config --cflags $libraries) -c "$file" -o "$object"
done
cmake -DINPUT="$root/ingest/markets.yaml" -DOUTPUT="$objects/markets_text.c" \
    -DNAME=stv__markets_text -P "$root/ingest/embed_text.cmake"
clang $flags -c "$objects/markets_text.c" -o "$objects/markets_text.o"
clang $flags -fsanitize=fuzzer $define $(pkg-config --cflags $libraries) "$source" "$objects"/*.o \
    $(pkg-config --libs $libraries) -lglpk -lm -o "$folder/$name/fuzz"
cd "$folder/$name"
./fuzz -max_total_time="$seconds" -max_len=16384 -timeout=10 -rss_limit_mb=2048 \
    -artifact_prefix=found- -print_final_stats=1 grown "$here/corpus/$name" >log 2>&1 && result=0 ||
    result=$?
runs=$(sed -n 's/stat::number_of_executed_units: *//p' log)
echo "$name: ${seconds} s, ${runs:-?} runs, $(find . -name 'found-*' | wc -l) findings"
exit "$result"
