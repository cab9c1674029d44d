#!/bin/sh
# Types every command of a page in order and looks for every line that the page quotes.
#
#     typed_page.sh SOURCE_DIR STAVECAST PAGE COMMANDS QUOTES
#
# A `sh` block holds commands.  Each must end with 0, or with 1 (done, and something wants a look),
# and print something unless it writes a file or makes a book.  The two set-up scripts are not run
# again here: they are what runs this test, and the demo.  Each line of the `text` block after it
# must stand in what the block printed.  At least so many commands and quoted lines must be found.
set -eu
source_dir=$1
program=$2
page=$3
least_commands=$4
least_quotes=$5
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
mkdir "$work/build"
ln -s "$program" "$work/build/stavecast"
cp -R "$source_dir/examples" "$source_dir/weather-samples" "$work/"
cd "$work"

n_commands=0
n_quotes=0
failed=0
fail() {
    echo "$1"
    failed=1
}

type_command() {
    n_commands=$((n_commands + 1))
    case $1 in
    "sh examples/run"* | "sh tests/run"*)
        script=$(echo "${1%%#*}" | sed 's/^sh //; s/ *$//')
        [ -f "$source_dir/$script" ] || fail "missing: $script"
        return
        ;;
    esac
    code=0
    sh -c "$1" >"$work/out" 2>"$work/err" </dev/null || code=$?
    cat "$work/out" >>"$work/printed"
    [ "$code" -le 1 ] || fail "exit $code: $1
$(cat "$work/err")"
    [ -s "$work/out" ] || echo "$1" | grep -q -e "--output" -e " new " || fail "printed nothing: $1"
}

block=none
while IFS= read -r line <&3; do
    case $block:$line in
    *:'```sh')
        block=sh
        : >"$work/printed"
        ;;
    *:'```text') block=text ;;
    *:'```'*) block=none ;;
    sh:*) type_command "$line" ;;
    text:*)
        n_quotes=$((n_quotes + 1))
        grep -qF -e "$line" "$work/printed" || fail "not printed: $line"
        ;;
    esac
done 3<"$source_dir/$page"
[ "$n_commands" -ge "$least_commands" ] && [ "$n_quotes" -ge "$least_quotes" ] ||
    fail "$page: only $n_commands commands and $n_quotes quoted lines found"
exit "$failed"
