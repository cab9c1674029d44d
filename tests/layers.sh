#!/bin/sh
# Who may include whom, and what the pure model may not call.
#
#     sh tests/layers.sh SOURCE [MODEL_ARCHIVE]
#
# 1  folders: model includes model; ingest and plots include model and themselves; cli may include
#    all four; tests may also include tests; nobody writes "..", nobody leaves the folder out
# 2  inside model: a module includes its own layer or lower ones, and no modules form a ring
# 3  a table in model/tables belongs to one module
# 4  the archive calls no stream, file, socket, process, clock, environment, chance or exit, and
#    holds nothing that changes
# Ends with 1 and one line for each breach.
set -eu
export LC_ALL=C
source=${1:?usage: layers.sh SOURCE [MODEL_ARCHIVE]}
archive=${2:-}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$source"
: >"$work/breaches"
breach() { printf '%s\n' "$*" >>"$work/breaches"; }

# Layer, name, and the module it is a part of when that is not itself.  The longest name that a
# file's stem starts with counts: building_air.c is `building`.
cat >"$work/layers" <<'LAYERS'
0 status
0 units
0 calendar
0 days
0 series
0 params
0 cask_numbers
0 lanes
0 panel_fit
0 byte_store
0 row_pool
0 draws
0 score_words draws
0 quantiles
0 assignment
0 crossing
0 progress
1 spirit
1 air
1 sun
1 wood
1 cooperage
1 gauge
1 dip
1 cask_room
1 fill_run
1 reduce
1 marry
2 weather
2 yard
3 constructions
3 envelope
3 glazing
3 building
3 rack_fit
3 rack_columns
4 rack
4 position
4 cask_heat
4 cycles
4 gap_fill
5 cask_functions
5 cask_hour
5 evaporation
5 extraction
5 esters
5 lane_rows
5 lane_sums lane_rows
5 lane_rows_parts lane_rows
6 climate_metrics
6 climate_days
6 season_sums climate_metrics
6 seasons climate_metrics
6 climate_result
6 climate_table
6 climate_cell climate_table
6 climate_liquid climate_table
6 table_bytes climate_table
6 ledger
6 lineage
6 cask_kinds
6 path
8 kept_tables outlook
8 reference_run
6 cask_posterior
8 ensemble outlook
7 gauge_fit
7 gauge_verdict
8 outlook
8 retarget outlook
8 cask_learning
8 cask_probe cask_learning
8 cask_worth cask_learning
8 cask_leak cask_learning
8 leak_stops cask_learning
8 gauge_agree cask_learning
8 gauge_judge cask_learning
8 place_offset outlook
8 placement
8 exchange
5 crew_list
8 transfer
8 reduction
8 bottling
8 window_clear bottling
8 buying
8 sampling
8 leak_walk
8 stock
8 vapour
8 sites
LAYERS

# folder file line included
find model ingest plots cli tests examples -name '*.[ch]' -exec \
    grep -Hn '^[[:space:]]*#[[:space:]]*include[[:space:]]*"' {} + |
    sed 's/^\([^:]*\):\([0-9]*\):[^"]*"\([^"]*\)".*/\1 \2 \3/' >"$work/includes"
[ -s "$work/includes" ] || breach "no #include was found under $source"

check_folder() {
    allowed=$1
    shift
    awk -v folder="$1" -v allowed=" $allowed " '
        substr($1, 1, length(folder) + 1) == folder "/" {
            target = $3
            sub(/\/.*/, "", target)
            if ($3 ~ /\.\./)
                print $1 ":" $2 ": includes \"" $3 "\": write it from the root, without .."
            else if ($3 !~ /\//)
                print $1 ":" $2 ": includes \"" $3 "\": write the folder in front"
            else if (!index(allowed, " " target " "))
                print $1 ":" $2 ": " folder " may not include \"" $3 "\""
        }' "$work/includes" >>"$work/breaches"
}
check_folder 'model' model
check_folder 'model ingest' ingest
check_folder 'model plots' plots
check_folder 'model ingest plots cli' cli
check_folder 'model ingest plots cli tests' tests
check_folder 'none' examples

# Modules of model/, their layers, and the edges between them.
awk -v edges="$work/edges" '
    function stem(path) { sub(/^model\//, "", path); sub(/\.[ch]$/, "", path); return path }
    function module(path,    name, best, i) {
        name = stem(path); best = ""
        for (i in layer)
            if ((name == i || index(name, i "_") == 1) && length(i) > length(best))
                best = i
        return best == "" ? "" : part_of[best]
    }
    NR == FNR { layer[$2] = $1; part_of[$2] = NF > 2 ? $3 : $2; next }
    $1 !~ /^model\/[^\/]*$/ { next }
    {
        from = module($1)
        if (from == "" && !($1 in told)) {
            print $1 ": belongs to no layer; add its module to tests/layers.sh"
            told[$1] = 1
        }
    }
    $3 ~ /^model\/tables\// {
        if (($3 in owner) && owner[$3] != from)
            print $1 ":" $2 ": " $3 " belongs to " owner[$3] " already"
        owner[$3] = from
        next
    }
    $3 ~ /^model\// && from != "" {
        to = module($3)
        if (to == "" || to == from) next
        if (layer[to] > layer[from])
            print $1 ":" $2 ": layer " layer[from] " (" from ") includes layer " layer[to] " (" to ")"
        print to, from > edges
    }' "$work/layers" "$work/includes" >>"$work/breaches"
if [ -s "$work/edges" ] && ! sort -u "$work/edges" | tsort >/dev/null 2>"$work/rings"; then
    breach "modules of model/ form a ring: $(sed 's/^tsort: //' "$work/rings" | tr '\n' ' ')"
fi

check_archive() {
    nm -u "$archive" >"$work/undefined" || breach "nm cannot read $archive"
    [ -s "$work/undefined" ] || breach "$archive calls nothing at all: is it the model?"
    names='v?f?printf|vdprintf|dprintf|puts|fputs|putchar|fputc|putc|perror|psignal'
    names="$names|f?open|openat|creat|f?close|freopen|fdopen|tmpfile|mkstemp|fread|fwrite|fflush"
    names="$names|f?gets|f?getc|getchar|getline|getdelim|v?f?scanf|read|write|pread|pwrite|fseek"
    names="$names|stdin|stdout|stderr|stat|fstat|opendir|readdir|remove|unlink|rename|mkdir|chdir"
    names="$names|socket|connect|bind|listen|accept|send|recv|getaddrinfo|curl_[a-z_]*"
    names="$names|system|popen|pclose|fork|vfork|exec[lv]p?e?|posix_spawnp?|wait|waitpid|kill"
    names="$names|raise|signal|sigaction|sleep|usleep|nanosleep"
    names="$names|time|clock|clock_gettime|gettimeofday|times|localtime(_r)?|gmtime(_r)?|mktime"
    names="$names|strftime|tzset|getenv|secure_getenv|setenv|putenv|setlocale"
    names="$names|s?rand|rand_r|s?random|[demnjls]rand48|srand48|getrandom|getentropy|arc4random"
    names="$names|exit|_exit|_Exit|quick_exit|atexit|abort|assert_fail"
    awk '$1 == "U" || $1 == "w" { print $2 }' "$work/undefined" | sort -u |
        grep -E "^(__|__isoc[0-9]*_)?($names)(64)?(_chk|_2)?\$" |
        sed 's/^/the model calls /' >>"$work/breaches" || true
    if grep -q '__asan_' "$work/undefined"; then
        echo "layers: the archive carries the address sanitizer, whose own globals change;" \
            "the look for globals of the model is left to the plain build"
        return
    fi
    objdump -t "$archive" |
        awk '/ O / && ($0 ~ / \.(data|bss|tdata|tbss)(\.|\t| )/ || / \*COM\*/) &&
             $0 !~ / \.data\.rel\.ro/ { print "the model has a global that can change: " $NF }' \
            >>"$work/breaches"
}
[ -z "$archive" ] || check_archive

if [ -s "$work/breaches" ]; then
    sort "$work/breaches"
    exit 1
fi
echo "layers: $(wc -l <"$work/includes") includes and $(sort -u "$work/edges" | wc -l) edges" \
    "between modules of the model, all allowed${archive:+; the archive is pure}"
