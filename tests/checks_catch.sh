#!/bin/sh
# The checks of the source catch what they are for: each gets a copy with one deliberate breach.
#
#     sh tests/checks_catch.sh SOURCE COMPILER
set -eu
source=${1:?usage: checks_catch.sh SOURCE COMPILER}
compiler=${2:?usage: checks_catch.sh SOURCE COMPILER}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
copy=$work/copy
failed=0
n=0

fresh_copy() {
    rm -rf "$copy"
    mkdir "$copy"
    for folder in model ingest plots cli tests examples; do
        cp -R "$source/$folder" "$copy/"
    done
}

# must_catch WHAT PATTERN COMMAND...: the command must fail and say PATTERN.
must_catch() {
    what=$1
    pattern=$2
    shift 2
    n=$((n + 1))
    if "$@" >"$work/said" 2>&1; then
        echo "not caught: $what"
        failed=1
    elif ! grep -qE "$pattern" "$work/said"; then
        echo "caught for another reason: $what"
        sed 's/^/    /' "$work/said"
        failed=1
    fi
    # A breach in an archive leaves the copy as it was.
    case "$*" in *breach.a) ;; *) fresh_copy ;; esac
}
layers() { sh "$source/tests/layers.sh" "$copy" "$@"; }
style() { sh "$source/tests/style.sh" "$copy" "$@"; }

# An archive of one function that holds BODY.
archive_of() {
    printf '%s\n' "$1" >"$work/breach.c"
    "$compiler" -std=c17 -D_POSIX_C_SOURCE=200809L -O2 -fno-sanitize=all -c "$work/breach.c" \
        -o "$work/breach.o"
    rm -f "$work/breach.a"
    ar rcs "$work/breach.a" "$work/breach.o"
}

fresh_copy
layers >/dev/null || { echo "the source itself breaks tests/layers.sh"; failed=1; }

printf '#include "ingest/csv.h"\n' >>"$copy/model/series.c"
must_catch "model includes ingest" 'model/series.c:.* model may not include "ingest/csv.h"' layers
printf '#include "plots/report.h"\n' >>"$copy/ingest/csv.c"
must_catch "ingest includes plots" 'ingest may not include "plots/report.h"' layers
printf '#include "cli/chain.h"\n' >>"$copy/plots/report.h"
must_catch "plots includes cli" 'plots may not include "cli/chain.h"' layers
printf '#include "tests/check.h"\n' >>"$copy/cli/main.c"
must_catch "cli includes tests" 'cli may not include "tests/check.h"' layers
printf '#include "../model/series.h"\n' >>"$copy/ingest/csv.c"
must_catch "an include with .." 'without \.\.' layers
printf '#include "series.h"\n' >>"$copy/model/series.c"
must_catch "an include without its folder" 'write the folder in front' layers
printf '#include "model/outlook.h"\n' >>"$copy/model/spirit.c"
must_catch "a low layer includes a high one" 'layer 1 \(spirit\) includes layer 8' layers
printf '#include "model/cycles.h"\n' >>"$copy/model/position.h"
printf '#include "model/position.h"\n' >>"$copy/model/cycles.h"
must_catch "a ring of modules" 'form a ring' layers
printf '#include "model/series.h"\n' >"$copy/model/zebra.c"
must_catch "a module without a layer" 'model/zebra.c: belongs to no layer' layers
printf '#include "model/tables/perez.h"\n' >>"$copy/model/series.c"
must_catch "a table with two owners" 'perez.h belongs to' layers

archive_of '#include <stdio.h>
void f(const char *s); void f(const char *s) { printf("%s\n", s); }'
must_catch "the model prints" 'the model calls puts' layers "$work/breach.a"
archive_of '#include <stdio.h>
int f(const char *s); int f(const char *s) { FILE *g = fopen(s, "r"); return g ? fclose(g) : 1; }'
must_catch "the model opens a file" 'the model calls fopen' layers "$work/breach.a"
archive_of '#include <time.h>
long f(void); long f(void) { return (long)time(0); }'
must_catch "the model looks at the clock" 'the model calls time' layers "$work/breach.a"
archive_of '#include <stdlib.h>
char *f(void); char *f(void) { return getenv("HOME"); }'
must_catch "the model reads the environment" 'the model calls getenv' layers "$work/breach.a"
archive_of '#include <stdlib.h>
int f(void); int f(void) { return rand(); }'
must_catch "the model throws dice" 'the model calls rand' layers "$work/breach.a"
archive_of '#include <stdlib.h>
void f(int x); void f(int x) { if (x) exit(x); abort(); }'
must_catch "the model exits" 'the model calls (abort|exit)' layers "$work/breach.a"
archive_of '#include <unistd.h>
int f(void); int f(void) { return fork(); }'
must_catch "the model starts a process" 'the model calls fork' layers "$work/breach.a"
archive_of '#include <string.h>
int f(const char *s); int f(const char *s) { static int n; n += (int)strlen(s); return n; }'
must_catch "the model keeps a changing global" 'global that can change' layers "$work/breach.a"
archive_of '#include <stdio.h>
int f(char *s, double x); int f(char *s, double x) { return snprintf(s, 9, "%g", x); }'
layers "$work/breach.a" >/dev/null || { echo "snprintf must be allowed"; failed=1; }

awk 'BEGIN { for (i = 0; i < 601; i++) print "/* line */" }' >"$copy/cli/long.c"
must_catch "a file of 601 lines" 'cli/long.c: 601 lines' style
awk 'BEGIN { print "void stv_long(void);\nvoid stv_long(void)\n{"
             for (i = 0; i < 58; i++) print "    ;"
             print "}" }' >"$copy/plots/long.c"
must_catch "a function of 61 lines" 'stv_long has 61 lines' style
printf 'double stv_series_warmth(double temp_c);\n' >>"$copy/model/series.h"
must_catch "a function without a unit" 'stv_series_warmth has no unit' style
printf 'struct stv_bad {\n    double pressure;\n};\n' >>"$copy/model/series.h"
must_catch "a member without a unit" ' pressure has no unit' style
printf 'void stv_bad(const double *temperature, int n);\n' >>"$copy/model/series.h"
must_catch "an argument without a unit" ' temperature has no unit' style
awk 'BEGIN { for (i = 0; i < 45; i++) print "/* line */"
             print "static const double bare_nd[2] = {1.0, 2.0};" }' >"$copy/model/tables/bare.h"
must_catch "a table without its source" 'bare.h:46: numbers without a Source' style
printf '/* %s: later */\n' TODO >>"$copy/ingest/csv.c"
must_catch "a comment for later" 'ingest/csv.c:.*finish it' style
printf 'double stv_bad_h(stv_unknown_thing x);\n' >>"$copy/cli/chain.h"
must_catch "a header that leans on others" 'cli/chain.h: does not compile by itself' \
    style "$compiler"

sed 's/20271212/20271213/' "$copy/examples/quill-basin/generate.c" >"$work/other.c"
cp "$work/other.c" "$copy/examples/quill-basin/generate.c"
must_catch "another seed" 'differ' sh "$source/tests/demo_bytes.sh" "$copy" "$compiler"
printf 'time,temperature [C]\n' >"$copy/examples/quill-basin/loggers/tier7.csv"
must_catch "a logger file from nowhere" 'not made by generate.c' \
    sh "$source/tests/demo_bytes.sh" "$copy" "$compiler"

[ "$failed" -ne 0 ] || echo "checks: $n deliberate breaches, all caught"
exit "$failed"
