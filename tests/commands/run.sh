#!/bin/sh
# Runs the command tests: each NAME.case beside this file is a list of calls and of what must come
# out of them.
#
#     sh tests/commands/run.sh STAVECAST JSON_GET SOURCE [NAME...]
#
# A line of a case is `word: value`; lines of blanks and those that begin with # do not count.
#
#     setup: COMMAND         a shell command, run in the case's own empty folder
#     stdin: TEXT            standard input of the next call (else none)
#     env: NAME=VALUE        environment of the next call
#     in: FOLDER             folder of the next call (else the case's own)
#     terminal:              the next call writes to a terminal
#     args: ...              the call; quoted as in a shell
#     exit: N                its exit code: asked for after every call
#     stdout has: TEXT       stdout lacks: TEXT      stderr has: TEXT      stderr lacks: TEXT
#     stdout empty:          stderr empty:
#     stdout columns: N      no line is wider
#     stdout lines: N to M   how many there are
#     stdout into: COMMAND   which must take it and end with 0
#     same stdout: ...       another call, which must print the same
#     file has: FILE TEXT    file: FILE              no file: FILE
#     json: PATH = VALUE     also >=, <= for numbers, `PATH near VALUE TOLERANCE`, `PATH is KIND`
#                            and `PATH absent`
#
# What a call keeps for the next lies in the case's own folder, under cache/.
# @SOURCE@ stands for the project's folder, @WORK@ for the case's own.
# Ends with 1 and one line for each thing that is not so.
set -u
export LC_ALL=C TZ=UTC
stavecast=${1:?usage: run.sh STAVECAST JSON_GET SOURCE [NAME...]}
json_get=${2:?usage: run.sh STAVECAST JSON_GET SOURCE [NAME...]}
source=${3:?usage: run.sh STAVECAST JSON_GET SOURCE [NAME...]}
shift 3
unset NO_COLOR
here=$source/tests/commands
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
# By this name a case calls the project: that of its folder may hold blanks, which a call is cut at.
ln -s "$(cd "$source" && pwd)" "$scratch/source"
export XDG_CACHE_HOME="$scratch/work/cache"
n_calls=0
n_checks=0
n_wrong=0

wrong() {
    n_wrong=$((n_wrong + 1))
    echo "$name: after \`$call\`: $1"
}

# Runs the program with arguments written as in a shell; stdout into the file $1.
run_call() {
    out=$1
    shift
    (
        cd "$folder" || exit 99
        if [ -n "$terminal" ]; then
            TERM=xterm script -qec "'$stavecast' $*" "$scratch/seen" >"$scratch/seen-too"
            code=$?
            tr -d '\r' <"$scratch/seen-too"
            exit "$code"
        fi
        eval "set -- $*"
        if [ -n "$environment" ]; then
            env "$environment" "$stavecast" "$@"
        else
            "$stavecast" "$@"
        fi
    ) <"$input" >"$out" 2>"$scratch/err"
}

check_json() {
    path=${1%% *}
    rest=${1#* }
    operator=${rest%% *}
    wanted=${rest#"$operator"}
    wanted=${wanted# }
    found=$("$json_get" "$scratch/out" "$path" 2>"$scratch/json-err")
    code=$?
    if [ "$code" -eq 2 ]; then
        wrong "no JSON on stdout: $(head -n 1 "$scratch/json-err")"
        return
    fi
    case $operator in
    absent) [ "$code" -eq 1 ] || wrong "json $path is there: $found" ;;
    =) [ "$code" -eq 0 ] && [ "$found" = "$wanted" ] || wrong "json $path is \"$found\", not \"$wanted\"" ;;
    '>=' | '<=')
        awk -v a="$found" -v b="$wanted" "BEGIN { exit !(a != \"\" && a + 0 $operator b + 0) }" ||
            wrong "json $path is $found, not $operator $wanted"
        ;;
    near)
        awk -v a="$found" -v b="${wanted% *}" -v room="${wanted#* }" \
            'BEGIN { off = a - b; exit !(a != "" && off <= room && -off <= room) }' ||
            wrong "json $path is $found, not within ${wanted#* } of ${wanted% *}"
        ;;
    is)
        kind=$("$json_get" "$scratch/out" "$path" kind 2>"$scratch/json-err")
        [ "$code" -eq 0 ] && [ "$kind" = "$wanted" ] || wrong "json $path is a $kind, not a $wanted"
        ;;
    *) wrong "json: unknown operator $operator" ;;
    esac
}

check() {
    word=$1
    value=$2
    n_checks=$((n_checks + 1))
    case $word in
    "stdout has") grep -qF -e "$value" "$scratch/out" || wrong "stdout has not: $value" ;;
    "stdout lacks") ! grep -qF -e "$value" "$scratch/out" || wrong "stdout has: $value" ;;
    "stderr has") grep -qF -e "$value" "$scratch/err" || wrong "stderr has not: $value" ;;
    "stderr lacks") ! grep -qF -e "$value" "$scratch/err" || wrong "stderr has: $value" ;;
    "stdout empty") [ ! -s "$scratch/out" ] || wrong "stdout is not empty" ;;
    "stderr empty") [ ! -s "$scratch/err" ] || wrong "stderr: $(head -n 1 "$scratch/err")" ;;
    "stdout columns")
        widest=$(awk '{ if (length($0) > most) most = length($0) } END { print most + 0 }' "$scratch/out")
        [ "$widest" -le "$value" ] || wrong "stdout has a line of $widest columns"
        ;;
    "stdout lines")
        lines=$(wc -l <"$scratch/out")
        [ "$lines" -ge "${value%% to *}" ] && [ "$lines" -le "${value##* to }" ] ||
            wrong "stdout has $lines lines"
        ;;
    "stdout into") (cd "$work" && sh -c "$value") <"$scratch/out" >/dev/null 2>"$scratch/into" ||
        wrong "$value: $(head -n 1 "$scratch/into")" ;;
    "same stdout")
        run_call "$scratch/out2" "$value"
        cmp -s "$scratch/out" "$scratch/out2" || wrong "\`$value\` prints something else"
        ;;
    "file has") grep -qF -e "${value#* }" "$work/${value%% *}" 2>/dev/null ||
        wrong "${value%% *} has not: ${value#* }" ;;
    "file") [ -s "$work/$value" ] || wrong "$value was not written" ;;
    "no file") [ ! -e "$work/$value" ] || wrong "$value was written" ;;
    "json") check_json "$value" ;;
    *) wrong "unknown word: $word" ;;
    esac
}

make_call() {
    [ "$wants_exit" -eq 0 ] || wrong "no exit: line"
    call=$1
    n_calls=$((n_calls + 1))
    run_call "$scratch/out" "$1"
    exit_code=$?
    wants_exit=1
}

run_case() {
    name=$1
    work=$scratch/work
    rm -rf "$work"
    mkdir "$work"
    call="nothing"
    wants_exit=0
    fresh
    sed -e "s|@SOURCE@|$scratch/source|g" -e "s|@WORK@|$work|g" "$here/$name.case" >"$scratch/case"
    while IFS= read -r line <&3; do
        case $line in
        '' | '#'*) continue ;;
        esac
        word=${line%%:*}
        value=${line#*:}
        value=${value# }
        case $word in
        setup) (cd "$work" && sh -c "$value") || wrong "setup failed: $value" ;;
        stdin)
            printf '%s\n' "$value" >"$scratch/in"
            input=$scratch/in
            ;;
        env) environment=$value ;;
        terminal) terminal=yes ;;
        in) folder=$work/$value ;;
        args)
            make_call "$value"
            fresh
            ;;
        exit)
            n_checks=$((n_checks + 1))
            wants_exit=0
            [ "$exit_code" -eq "$value" ] ||
                wrong "exit code $exit_code, not $value: $(tail -n 1 "$scratch/err")"
            ;;
        *) check "$word" "$value" ;;
        esac
    done 3<"$scratch/case"
    [ "$wants_exit" -eq 0 ] || wrong "no exit: line"
    [ "$call" != nothing ] || wrong "no call"
}

# What only holds for the next call.
fresh() {
    input=/dev/null
    environment=
    terminal=
    folder=$work
}

if [ $# -eq 0 ]; then
    for file in "$here"/*.case; do
        file=${file##*/}
        set -- "$@" "${file%.case}"
    done
fi
n_cases=$#
for case_name; do
    run_case "$case_name"
done
echo "$n_cases cases, $n_calls calls, $n_checks checks, $n_wrong wrong"
[ "$n_wrong" -eq 0 ] && [ "$n_checks" -gt 0 ]
