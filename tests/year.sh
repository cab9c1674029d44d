#!/bin/sh
# Types every command of examples/a-year.md in order and looks for every line that the page quotes.
#
#     year.sh SOURCE_DIR STAVECAST
#
# A `sh` block holds commands, each of which must end with 0 or 1 (done, and something wants a
# look); each line of the `text` block after it must stand in what they printed.
set -eu
source_dir=$1
program=$2
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
block=none
while IFS= read -r line <&3; do
    case $line in
    '```sh')
        block=sh
        : >"$work/out"
        ;;
    '```text') block=text ;;
    '```') block=none ;;
    *)
        case $block in
        sh)
            code=0
            sh -c "$line" >>"$work/out" 2>"$work/err" </dev/null || code=$?
            n_commands=$((n_commands + 1))
            [ "$code" -le 1 ] || {
                echo "exit $code: $line"
                cat "$work/err"
                failed=1
            }
            ;;
        text)
            n_quotes=$((n_quotes + 1))
            grep -qF -e "$line" "$work/out" || {
                echo "not printed: $line"
                failed=1
            }
            ;;
        esac
        ;;
    esac
done 3<"$source_dir/examples/a-year.md"
[ "$n_commands" -ge 15 ] && [ "$n_quotes" -ge 15 ] || {
    echo "year.sh: only $n_commands commands and $n_quotes quoted lines found"
    failed=1
}
exit "$failed"
